"""Ideal paths over the ground in the day's wind: a ground path of straights and arcs, flown at a held airspeed. SI.

Along the path the track turns with its curvature; the airplane crabs so that its ground velocity lies on the track.
Heading, bank and time follow: ψ = χ + WCA, tan φ = V·ψ̇/g, dt = ds/GS. Each arc begins and ends with a stretch in which
the curvature grows evenly, so that the bank is rolled in and out in a realistic time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane import Airplane
from airwork.errors import NotPossible
from airwork.maneuvers.paths.flown_ideal import Line
from airwork.maneuvers.paths.flown_trace import Simulated, make_trace
from airwork.maneuvers.setup import Array, Conditions, Trace

ROLL_S = 3.0  # time to roll in or out along the path: common practice, no source
STEP_M = 4.0
TOO_MUCH_ACROSS = "the wind across the path is as strong as the airspeed; it can't be flown today."
NO_GROUNDSPEED = "the wind leaves no ground speed on this path today."


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of the ground path: straight where `radius_m` is infinite, else an arc; right turns positive."""

    turn_rad: float = 0.0
    radius_m: float = math.inf
    length_m: float = 0.0


def straight(length_m: float) -> Arc:
    """A straight piece."""
    return Arc(length_m=length_m)


def curvature(pieces: Sequence[Arc], ramp_m: float) -> Array:
    """Curvature at each step of the path. [1/m]  Ramps of `ramp_m` at both ends of each arc, its turn kept exactly.

    shape (n,), one value every STEP_M meters of path.
    """
    parts = []
    for piece in pieces:
        if not math.isfinite(piece.radius_m):
            parts.append(np.zeros(max(1, round(piece.length_m / STEP_M))))
            continue
        ramp = min(ramp_m, 0.45 * abs(piece.turn_rad) * piece.radius_m)
        whole = abs(piece.turn_rad) * piece.radius_m + ramp
        count = max(4, round(whole / STEP_M))
        s = (np.arange(count) + 0.5) / count * whole
        shape = np.minimum(1.0, np.minimum(s, whole - s) / ramp)
        shape *= abs(piece.turn_rad) / (shape.sum() * STEP_M)
        parts.append(math.copysign(1.0, piece.turn_rad) * shape)
    return np.concatenate(parts)


def fly_over_ground(
    airplane: Airplane,
    conditions: Conditions,
    pieces: Sequence[Arc],
    *,
    track_rad: float,
    altitude_m: float,
    ias_mps: float,
    climb_mps: Callable[[float, float, float], float] | None = None,
) -> Trace:
    """The trace of a ground path at a held calibrated speed.

    Parameters
    ----------
    track_rad : true track at the start.
    climb_mps : vertical speed as a function of (path flown [m], bank [rad], altitude [m]); level without.

    Raises
    ------
    NotPossible : somewhere the wind leaves no ground speed on the track.
    """
    cas = float(airplane.cas_from_ias_mps(ias_mps))
    heights = altitude_m + np.linspace(-2500.0, 2500.0, 201)
    air = conditions.air
    speeds = tas_from_cas_mps(cas, air.pressure_altitude_m(heights), air.temperature_at_k(heights))
    from_all, wind_all = air.wind_at(heights)
    east_at, north_at = Line(heights, -wind_all * np.sin(from_all)), Line(heights, -wind_all * np.cos(from_all))
    tas_at = Line(heights, speeds)
    fastest = float(np.max(speeds)) + float(np.max(wind_all))
    bends = curvature(pieces, ROLL_S * min(fastest, tas_at(altitude_m)))
    if climb_mps is None:
        held, blows = tas_at(altitude_m), (east_at(altitude_m), north_at(altitude_m))
        when, nose, lean = _level(bends, track_rad, held, blows)
        return make_trace(airplane, conditions, Simulated(when, nose, held, altitude_m, lean))
    rows: list[tuple[float, ...]] = []
    time, track, altitude, bank, before = 0.0, track_rad, altitude_m, 0.0, math.nan
    for k, bend in enumerate(bends.tolist()):
        tas = tas_at(altitude)
        climb = climb_mps(k * STEP_M, bank, altitude)
        level = math.sqrt(max(tas**2 - climb**2, 1.0))
        wind = east_at(altitude), north_at(altitude)
        track += 0.5 * bend * STEP_M
        across = wind[0] * math.cos(track) - wind[1] * math.sin(track)  # to the right of the track
        along = wind[0] * math.sin(track) + wind[1] * math.cos(track)
        if abs(across) >= level:
            raise NotPossible(TOO_MUCH_ACROSS)
        crab = -math.asin(across / level)
        groundspeed = level * math.cos(crab) + along
        if groundspeed < 5.0:
            raise NotPossible(NO_GROUNDSPEED)
        heading, seconds = track + crab, STEP_M / groundspeed
        turn = 0.0 if math.isnan(before) else (heading - before) / seconds
        before = heading
        bank = math.atan(level * turn / G0_MPS2)
        rows.append((time + 0.5 * seconds, heading, tas, altitude + 0.5 * climb * seconds, bank))
        time += seconds
        altitude += climb * seconds
        track += 0.5 * bend * STEP_M
    times, headings, tas_all, altitudes, banks = np.array(rows).T
    return make_trace(airplane, conditions, Simulated(times, headings, tas_all, altitudes, banks))


def _level(bends: Array, track_rad: float, tas: float, wind: tuple[float, float]) -> tuple[Array, Array, Array]:
    """(time, heading, bank) in the middle of each step of a path flown level: the loop above, all steps at once."""
    track = track_rad + STEP_M * (np.cumsum(bends) - 0.5 * bends)
    sine, cosine = np.sin(track), np.cos(track)
    across, along = wind[0] * cosine - wind[1] * sine, wind[0] * sine + wind[1] * cosine
    if np.any(np.abs(across) >= tas):
        raise NotPossible(TOO_MUCH_ACROSS)
    groundspeed = np.sqrt(tas * tas - across * across) + along
    if np.any(groundspeed < 5.0):
        raise NotPossible(NO_GROUNDSPEED)
    heading, seconds = track - np.arcsin(across / tas), STEP_M / groundspeed
    turn = np.diff(heading, prepend=heading[:1]) / seconds
    return np.cumsum(seconds) - 0.5 * seconds, heading, np.arctan(tas * turn / G0_MPS2)
