"""How airspeed is flown, as far as it can be known before looking: what parts a wrong wind from a change of speed.

At the right wind |ground velocity − wind| is the airspeed, and an airspeed is not free: a climb has one speed and a
cruise another, an approach slows toward the runway, height is paid for with speed. Each habit is a shape over the
flight, with the size it usually has and how far that may be off; the fit finds the size flown. Without them a traffic
pattern, always slower on final than downwind, looks like a headwind.

The sizes are those of light airplanes: an approach to 1.3 VSO on final ([AFH] chapter 9) from about 1.4 VSO on base
(from memory), the others common practice, no source; all wide on purpose.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3, standard_air
from airwork.recording.smooth import Window, unwrapped

Array = NDArray[np.float64]

TYPICAL_MPS = 50.0
STOOD_MPS = 8.0  # slower over the ground and low: standing or taxiing
CLEAR_M = 20.0  # lower over the field than this is the runway, not flight
_STOOD_S = 10.0
_NO_HEIGHT_M = 60.0  # heights that vary less than this were not recorded, or it was no flight

# Of the equivalent airspeed, m/s: (name, usual size, how far it may be off).
HABITS: tuple[tuple[str, float, float], ...] = (
    ("level", 45.0, 40.0),  # the speed of level flight: anything
    ("climb", -4.0, 4.0),  # climbs are flown slower
    ("descent", -1.0, 6.0),
    ("approach", -4.0, 3.0),  # from 300 m above the field down to it
    ("low climb", -1.0, 2.0),  # just after takeoff
    ("turn", -1.0, 1.0),  # at 45° of bank; the extra drag goes with tan² of the bank
    ("zoom", -0.5, 0.4),  # height gained within half a minute, as the speed it would cost without drag
    ("downwind", 1.0, 1.0),  # near the field faster with the runway behind than ahead
)


@dataclass(frozen=True, slots=True)
class Field:
    """Where the flight stood: height, and the mean direction of its rolls (shorter than 1 when they differ)."""

    height_m: float
    east_m: float
    north_m: float
    runway_east: float
    runway_north: float


@dataclass(frozen=True, slots=True)
class Path:
    """A flight over the ground on samples about a second apart. Arrays (n,), SI.

    east_mps, north_mps : ground velocity, known on the ground too where recorded.
    flying : surely in the air, all of the above known.
    """

    time_s: Array
    east_mps: Array
    north_mps: Array
    altitude_m: Array
    flying: NDArray[np.bool_]

    def only(self, keep: NDArray[np.bool_]) -> Path:
        """Some of its samples."""
        return Path(*(getattr(self, name)[keep] for name in Path.__slots__))


def positions_m(path: Path) -> tuple[Array, Array]:
    """East and north of the start, summed from the velocities: good enough to tell near from far."""
    steps = np.clip(np.diff(path.time_s, prepend=path.time_s[0]), 0.0, 60.0)
    return np.cumsum(np.nan_to_num(path.east_mps) * steps), np.cumsum(np.nan_to_num(path.north_mps) * steps)


def find_field(path: Path) -> Field | None:
    """The field, if the flight stood or taxied on it."""
    speed = np.hypot(path.east_mps, path.north_mps)
    known = np.isfinite(path.altitude_m) & np.isfinite(speed)
    if known.sum() < 20 or float(np.ptp(path.altitude_m[known])) < _NO_HEIGHT_M:
        return None
    lowest = float(np.percentile(path.altitude_m[known], 1.0))
    stood = known & (speed < STOOD_MPS) & (path.altitude_m < lowest + 40.0)
    step = float(np.median(np.diff(path.time_s)))
    if stood.sum() * step < _STOOD_S:
        return None
    height = float(np.median(path.altitude_m[stood]))
    east, north = positions_m(path)
    roll = known & (speed > 15.0) & (path.altitude_m < height + 30.0)
    runway = (0.0, 0.0)
    if roll.sum() > 5:
        runway = (
            float(np.mean(path.east_mps[roll] / speed[roll])),
            float(np.mean(path.north_mps[roll] / speed[roll])),
        )
    return Field(height, float(np.median(east[stood])), float(np.median(north[stood])), *runway)


@dataclass(frozen=True, slots=True)
class Shapes:
    """The habits over the samples in the air, and what else the fit asks of the flight.

    columns : (n, len(HABITS)).
    equivalent : equivalent over true airspeed, √(ρ/ρ0).
    unrest : 1/s; how much faster than usual the speed may change here, since the climb or descent is changing.
    legs : (first, one past last) of the steady legs: straight and level for long enough.
    """

    columns: Array
    equivalent: Array
    unrest: Array
    legs: tuple[tuple[int, int], ...]


_LEG_S = 25.0
_LEG_CLIMB_MPS = 1.2
_LEG_TURN_RADPS = np.radians(1.2)
_LEG_ABOVE_M = 150.0


def shapes(path: Path, air: Path, east_m: Array, north_m: Array, field: Field | None) -> Shapes:
    """The habits over `air`, the samples of `path` that are in the air.

    Parameters
    ----------
    east_m, north_m : positions of `air`.
    """
    t, h = air.time_s, air.altitude_m
    climb = Window(t, 2.0).mean(Window(t, 5.0).slope(h))
    turn = Window(t, 2.5).slope(unwrapped(np.arctan2(air.east_mps, air.north_mps)))
    slow_turn = Window(t, 7.5).slope(unwrapped(np.arctan2(air.east_mps, air.north_mps)))
    climb, turn, slow_turn = np.nan_to_num(climb), np.nan_to_num(turn), np.nan_to_num(slow_turn)
    up, down = 1.0 / (1.0 + np.exp(-(climb - 1.0) / 0.25)), 1.0 / (1.0 + np.exp((climb + 1.0) / 0.25))
    tangent2 = np.minimum((turn * TYPICAL_MPS / G0_MPS2) ** 2, 1.5)
    zoom = G0_MPS2 / TYPICAL_MPS * (h - Window(t, 15.0).mean(h))
    low = behind = np.zeros(t.size)
    above = np.full(t.size, np.inf)
    if field is not None:
        above = np.maximum(h - field.height_m, 0.0)
        low = np.clip(1.0 - above / 300.0, 0.0, 1.0)
        away = np.hypot(east_m - field.east_m, north_m - field.north_m)
        near = np.clip((4_500.0 - away) / 1_500.0, 0.0, 1.0) * np.clip((450.0 - above) / 150.0, 0.0, 1.0)
        speed = np.maximum(np.hypot(air.east_mps, air.north_mps), 1.0)
        behind = -near * (air.east_mps * field.runway_east + air.north_mps * field.runway_north) / speed
    columns = np.stack([np.ones(t.size), up, down, low * down, low * up, tangent2, zoom, behind], axis=1)
    change = np.abs(np.nan_to_num(Window(t, 4.5).slope(climb)))
    steady = (np.abs(climb) < _LEG_CLIMB_MPS) & (np.abs(slow_turn) < _LEG_TURN_RADPS) & (above > _LEG_ABOVE_M)
    return Shapes(
        columns, np.sqrt(standard_air(h).density_kgpm3 / RHO0_KGPM3), np.minimum(change, 0.5) / 0.1,
        tuple(_lasting(t, steady, _LEG_S)),
    )  # fmt: skip


def _lasting(t: Array, mask: NDArray[np.bool_], least_s: float) -> list[tuple[int, int]]:
    """Runs of the mask that last, broken where time jumps."""
    step = float(np.median(np.diff(t))) if t.size > 1 else 1.0
    after_gap = np.concatenate(([False], np.diff(t) > max(3.0, 2.5 * step)))
    out = []
    edge = np.diff(np.concatenate(([False], mask, [False])).astype(np.int8))
    for first, end in zip(np.flatnonzero(edge == 1), np.flatnonzero(edge == -1), strict=True):
        cuts = [int(first), *(int(first) + 1 + np.flatnonzero(after_gap[first + 1 : end])), int(end)]
        for a, b in pairwise(cuts):
            if t[b - 1] - t[a] >= least_s:
                out.append((int(a), int(b)))
    return out
