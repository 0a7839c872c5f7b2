"""Ideals tied to the ground, laid over what was flown: the same point, road, rectangle or pylons, in the recorded wind.

The mark on the ground is not recorded; it is taken from the flown path: the center of the circle flown, the line of
the crossings, the lines of the legs. The ideal keeps the flown size and shows what bank, heading and ground speed that
takes all the way round ([AFH] ch. 7: constant radius over the ground). Positions are the flight's own, east and north.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.angles import turn_from_to_rad, unwrap_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.paths.flown_over_ground import ROLL_S, STEP_M, Arc, curvature, fly_over_ground, straight
from airwork.maneuvers.paths.flown_pylons import sight_speed_mps
from airwork.maneuvers.paths.flown_trace import make_trace
from airwork.maneuvers.seeing.turns import circle
from airwork.maneuvers.setup import Array, Trace

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.maneuvers.episode import Episode, Phase
    from airwork.maneuvers.setup import Conditions
    from airwork.recording.flight import Flight

GROUND = ("turns_around_point", "s_turns", "rectangular_course", "eights_on_pylons")
LEAD_RAD = 1.0  # flown before and after what is shown, so that the roll in and out is not in it
SMALL_M, LARGE_M = 60.0, 3000.0  # radii and sides beyond these are no maneuver round a mark: our own choice
LEG_S = 2.0  # a shorter leg shows no direction
SQUARE_RAD = math.radians(45.0)  # a corner further from 90° belongs to no rectangle
STEP_S, SHOWN_S = 0.1, 0.5


def ground_ideal(
    flight: Flight, episode: Episode, airplane: Airplane, conditions: Conditions, altitude_m: float, ias_mps: float
) -> Trace | None:
    """The ideal of one episode, times from its start; None where the flown path shows no mark to fly it by."""
    east, north, track = flight.get("east_m"), flight.get("north_m"), flight.get("track_rad")
    if east is None or north is None or track is None:
        return None
    part = flight.span(episode.start_s, episode.end_s)
    if not np.isfinite(east[part]).all() or part.stop - part.start < 20:
        return None
    path = _Path(flight, east, north, unwrap_rad(track), airplane, conditions, altitude_m, ias_mps)
    make = {"turns_around_point": _around, "s_turns": _s_turns, "rectangular_course": _rectangle,
            "eights_on_pylons": _pylons}[episode.kind]  # fmt: skip
    return make(path, episode)


class _Path:
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


def _bearing(vector: Array) -> float:
    """Direction of a step (east, north) from north, clockwise. [rad]"""
    return math.atan2(float(vector[0]), float(vector[1]))


def _moved(trace: Trace, by: Array, part: slice = slice(None)) -> Trace:
    """A part of a trace, its time from zero, moved over the ground."""
    columns = {name: np.asarray(values)[part] for name, values in trace.columns.items()}
    columns["east_m"] = columns["east_m"] + by[0]
    columns["north_m"] = columns["north_m"] + by[1]
    time = np.asarray(trace.time_s)[part]
    return Trace(time - time[0], columns)


def _around(path: _Path, e: Episode) -> Trace | None:
    """Round the center of what was flown, at its radius."""
    radius, center = path.circle(e.start_s, e.end_s)
    total = path.turned(e.start_s, e.end_s)
    if not SMALL_M < radius < LARGE_M or abs(total) < math.pi:
        return None
    sign = math.copysign(1.0, total)
    begun = _bearing(path.at(e.start_s) - center) + sign * 0.5 * math.pi
    trace = path.fly([Arc(sign * (abs(total) + 2.0 * LEAD_RAD), radius)], begun - sign * LEAD_RAD)
    turned = np.abs(unwrap_rad(trace.columns["track_rad"]) - trace.columns["track_rad"][0])
    inside = np.flatnonzero((turned >= LEAD_RAD) & (turned <= LEAD_RAD + abs(total)))
    if inside.size < 8:
        return None
    part = slice(int(inside[0]), int(inside[-1]) + 1)
    _, _, *middle = circle(trace.columns["east_m"][part], trace.columns["north_m"][part])
    return _moved(trace, center - np.array(middle), part)


def _s_turns(path: _Path, e: Episode) -> Trace | None:
    """Half circles of one radius along the line through the crossings flown."""
    halves = e.phases
    if len(halves) < 2:
        return None
    crossings = [path.at(halves[0].start_s)]
    crossings += [path.at(0.5 * (a.end_s + b.start_s)) for a, b in pairwise(halves)]
    crossings.append(path.at(halves[-1].end_s))
    along = crossings[-1] - crossings[0]
    radius = float(np.hypot(*along)) / (2.0 * len(halves))
    if not SMALL_M < radius < LARGE_M:
        return None
    sign = math.copysign(1.0, path.turned(halves[0].start_s, halves[0].end_s))
    pieces = [Arc(sign * math.pi * (-1.0) ** k, radius) for k in range(len(halves))]
    trace = path.fly(pieces, _bearing(along) - sign * 0.5 * math.pi)
    return _late(_moved(trace, crossings[0]), halves[0].start_s - e.start_s)


def _late(trace: Trace, seconds: float) -> Trace:
    """Begun a moment after the episode."""
    return Trace(np.asarray(trace.time_s) + seconds, trace.columns)


def _rectangle(path: _Path, e: Episode) -> Trace | None:
    """The rectangle whose sides are the legs flown, with one radius at the corners."""
    corners = e.phases
    sign = math.copysign(1.0, path.turned(e.start_s, e.end_s))
    if len(corners) < 3 or any(abs(abs(path.turned(c.start_s, c.end_s)) - 0.5 * math.pi) > SQUARE_RAD for c in corners):
        return None
    legs = _legs(path, e, corners)
    if legs is None:
        return None
    first, offsets = _lines(legs, sign)
    if len(offsets) < 4:
        return None
    sides = [abs(offsets[(k - 1) % 4] + offsets[(k + 1) % 4]) for k in range(4)]
    radii = [r for r in (path.circle(c.start_s, c.end_s)[0] for c in corners) if math.isfinite(r)]
    radius = min(float(np.median(radii)) if radii else LARGE_M, 0.45 * min(sides))
    if radius < SMALL_M / 2.0 or max(sides) > 2.0 * LARGE_M:
        return None
    origin = np.mean([0.5 * (a + b) for a, b in legs[:4]], axis=0)
    ahead = np.array([math.sin(first), math.cos(first)])
    outside = -sign * np.array([math.cos(first), -math.sin(first)])  # away from the middle, seen along the first leg
    start = origin + ahead * float((legs[0][0] - origin) @ ahead) + outside * offsets[0]
    corner = Arc(sign * 0.5 * math.pi, radius)
    reach = path.reach_m(corner)
    left = offsets[1] - float((start - origin) @ ahead) - reach
    if left < 0.0:
        return None
    pieces = [straight(max(left, 8.0))]
    for k in range(len(corners)):
        last = k == len(corners) - 1
        flown = float(np.hypot(*(legs[k + 1][1] - legs[k + 1][0])))
        length = sides[(k + 1) % 4] - 2.0 * reach
        pieces += [corner, straight(max(min(flown, length) if last else length, 8.0))]
    return _moved(path.fly(pieces, first), start)


def _legs(path: _Path, e: Episode, corners: tuple[Phase, ...]) -> list[tuple[Array, Array]] | None:
    """Both ends of each leg, before, between and after the corners; None where one is too short to show a direction."""
    times = [e.start_s, *(t for c in corners for t in (c.start_s, c.end_s)), e.end_s]
    spans = list(zip(times[::2], times[1::2], strict=True))
    if any(end - start < LEG_S for start, end in spans):
        return None
    return [(path.at(start), path.at(end)) for start, end in spans]


def _lines(legs: list[tuple[Array, Array]], sign: float) -> tuple[float, dict[int, float]]:
    """Direction of the first leg, and how far each side lies outside of the middle of the first four legs. [rad, m]"""
    turned = [_bearing(b - a) - sign * 0.5 * math.pi * k for k, (a, b) in enumerate(legs)]
    first = turned[0] + float(np.mean([float(turn_from_to_rad(turned[0], t)) for t in turned]))
    origin = np.mean([0.5 * (a + b) for a, b in legs[:4]], axis=0)
    found: dict[int, list[float]] = {}
    for k, (a, b) in enumerate(legs):
        course = first + sign * 0.5 * math.pi * k
        outside = -sign * np.array([math.cos(course), -math.sin(course)])
        found.setdefault(k % 4, []).append(float((0.5 * (a + b) - origin) @ outside))
    return first, {k: float(np.mean(v)) for k, v in found.items()}


def _pylons(path: _Path, e: Episode) -> Trace | None:
    """Round each pylon with the wing on it, at the height that goes with the ground speed; nothing between them.

    The pylon is the place that lay best on the wing's axis; the height is above the field, pylons at its
    elevation. Equations: `maneuvers/paths/flown_pylons.py`.
    """
    air, ground = path.conditions.air, path.conditions.ground_elevation_m
    tas = path.tas_mps()
    from_rad, wind = (float(x) for x in air.wind_at(path.altitude_m))
    blown = -wind * np.array([math.sin(from_rad), math.cos(from_rad)])
    rounds: list[list[tuple[float, ...]]] = []
    for phase in e.phases:
        pylon = path.pylon(phase.start_s, phase.end_s)
        total = path.turned(phase.start_s, phase.end_s)
        place, time, turned = path.at(phase.start_s), phase.start_s - e.start_s, 0.0
        if not np.isfinite(pylon).all() or not SMALL_M < float(np.hypot(*(pylon - place))) < LARGE_M:
            continue
        sign = math.copysign(1.0, total)
        rows: list[tuple[float, ...]] = []
        while turned < abs(total) and time < phase.end_s - e.start_s + 60.0:
            away = pylon - place
            distance = float(np.hypot(*away))
            heading = _bearing(away) - sign * 0.5 * math.pi
            nose = np.array([math.sin(heading), math.cos(heading)])
            tail = float(blown @ nose)
            speed = sight_speed_mps(1.5 * tas**2 / G0_MPS2, tail)
            rate = (speed + tail) / distance
            height = ground + 1.5 * tas**2 / G0_MPS2 - 0.5 * speed**2 / G0_MPS2
            rows.append((time, heading, speed, height, sign * math.atan(speed * rate / G0_MPS2), *place))
            place = place + (speed * nose + blown) * STEP_S
            turned += rate * STEP_S
            time += STEP_S
        rounds.append(rows[:: round(SHOWN_S / STEP_S)])
    return _as_trace(path, [r for r in rounds if len(r) > 8])


def _as_trace(path: _Path, rounds: list[list[tuple[float, ...]]]) -> Trace | None:
    """The rounds as one trace, a gap between them. rounds : rows of (time, heading, true airspeed, altitude, bank,
    east, north)."""
    parts: list[Array] = []
    for rows in rounds:
        one = np.array(rows).T
        one[1] = np.unwrap(one[1])
        whole = make_trace(  # the indicated speed, by the one place that knows how
            path.airplane, path.conditions, np.arange(one.shape[1]) * SHOWN_S, one[1], one[2], one[3], one[4],
            1.0 / np.cos(one[4]),
        )  # fmt: skip
        one = np.vstack([one, whole.columns["ias_mps"][: one.shape[1]]])
        if parts:
            if one[0, 0] <= parts[-1][0, -1]:  # flown in less time than the wing on the pylon takes
                one = one[:, one[0] > parts[-1][0, -1] + SHOWN_S]
            gap = np.full((one.shape[0], 1), np.nan)
            gap[0] = parts[-1][0, -1] + 0.5 * SHOWN_S
            parts.append(gap)
        parts.append(one)
    if not parts:
        return None
    time, heading, tas, altitude, bank, east, north, ias = np.hstack(parts)
    return Trace(
        time, {"heading_rad": heading, "tas_mps": tas, "altitude_m": altitude, "bank_rad": bank, "ias_mps": ias,
               "east_m": east, "north_m": north},
    )  # fmt: skip
