"""What was flown over the ground, and the airplane to fly it ideally: the same point, road, rectangle or pylons.

The mark on the ground is not recorded; it is taken from the flown path: the center of the circle flown, the line of
the crossings, the lines of the legs. The ideal keeps the flown size and shows what bank, heading and ground speed that
takes all the way round ([AFH] ch. 7: constant radius over the ground). Positions are the flight's own, east and north.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.angles import unwrap_rad
from airwork.airplane import Airplane
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.paths.flown_over_ground import ROLL_S, STEP_M, Arc, curvature, fly_over_ground
from airwork.maneuvers.seeing.turns import circle
from airwork.maneuvers.setup import Array, Conditions, Trace

if TYPE_CHECKING:
    from airwork.recording.flight import Flight

LEAD_RAD = 1.0  # flown before and after what is shown, so that the roll in and out is not in it
SMALL_M, LARGE_M = 60.0, 3000.0  # radii and sides beyond these are no maneuver round a mark: our own choice


def flown_path(
    flight: Flight, episode: Episode, airplane: Airplane, conditions: Conditions, altitude_m: float, ias_mps: float
) -> FlownPath | None:
    """The path of one episode; None where positions or track are missing in it."""
    east, north, track = flight.get("east_m"), flight.get("north_m"), flight.get("track_rad")
    if east is None or north is None or track is None:
        return None
    part = flight.span(episode.start_s, episode.end_s)
    if not np.isfinite(east[part]).all() or part.stop - part.start < 20:
        return None
    return FlownPath(flight, east, north, unwrap_rad(track), airplane, conditions, altitude_m, ias_mps)


class FlownPath:
    """What was flown over the ground, and the airplane to fly it ideally."""

    def __init__(
        self, flight: Flight, east: Array, north: Array, track: Array, airplane: Airplane, conditions: Conditions,
        altitude_m: float, ias_mps: float,
    ) -> None:  # fmt: skip
        self.flight, self.east, self.north, self.track = flight, east, north, track
        self.airplane, self.conditions, self.altitude_m, self.ias_mps = airplane, conditions, altitude_m, ias_mps

    def at(self, time_s: float) -> Array:
        """Position at a time: (east, north)."""
        i = self.flight.index_at(time_s)
        return np.array([self.east[i], self.north[i]])

    def turned(self, start_s: float, end_s: float) -> float:
        """Change of track, right positive. [rad]"""
        return float(self.track[self.flight.index_at(end_s)] - self.track[self.flight.index_at(start_s)])

    def circle(self, start_s: float, end_s: float) -> tuple[float, Array]:
        """Radius and center of the circle flown."""
        part = self.flight.span(start_s, end_s)
        radius, _, east, north = circle(self.east[part], self.north[part])
        return radius, np.array([east, north])

    def pylon(self, start_s: float, end_s: float) -> Array:
        """The place that lay best on the wing's axis all the way: least squares of (P − p)·nose = 0."""
        part, heading = self.flight.span(start_s, end_s), self.flight.get("heading_rad")
        if heading is None or not np.isfinite(heading[part]).all():
            return self.circle(start_s, end_s)[1]
        nose = np.column_stack([np.sin(heading[part]), np.cos(heading[part])])
        place = np.column_stack([self.east[part], self.north[part]])
        found, _, rank, _ = np.linalg.lstsq(nose, (nose * place).sum(axis=1), rcond=None)
        return np.asarray(found) if rank == 2 else np.full(2, np.nan)

    def tas_mps(self) -> float:
        """True airspeed of the held speed at the altitude."""
        air, cas = self.conditions.air, float(self.airplane.cas_from_ias_mps(self.ias_mps))
        pressure, temperature = air.pressure_altitude_m(self.altitude_m), air.temperature_at_k(self.altitude_m)
        return float(tas_from_cas_mps(cas, pressure, temperature))

    def reach_m(self, corner: Arc) -> float:
        """How far before the lines' crossing a corner begins, the roll in and out in it."""
        bends = curvature((corner,), ROLL_S * self.tas_mps())
        turned = np.cumsum(bends) * STEP_M - 0.5 * bends * STEP_M
        return float(np.cos(turned).sum() * STEP_M)

    def fly(self, pieces: list[Arc], track_rad: float) -> Trace:
        """The ground path at the held speed."""
        return fly_over_ground(
            self.airplane, self.conditions, pieces, track_rad=track_rad, altitude_m=self.altitude_m,
            ias_mps=self.ias_mps,
        )  # fmt: skip


def bearing(vector: Array) -> float:
    """Direction of a step (east, north) from north, clockwise. [rad]"""
    return math.atan2(float(vector[0]), float(vector[1]))


def moved(trace: Trace, by: Array, part: slice = slice(None)) -> Trace:
    """A part of a trace, its time from zero, moved over the ground."""
    columns = {name: np.asarray(values)[part] for name, values in trace.columns.items()}
    columns["east_m"] = columns["east_m"] + by[0]
    columns["north_m"] = columns["north_m"] + by[1]
    time = np.asarray(trace.time_s)[part]
    return Trace(time - time[0], columns)


def late(trace: Trace, seconds: float) -> Trace:
    """Begun a moment after the episode."""
    return Trace(np.asarray(trace.time_s) + seconds, trace.columns)
