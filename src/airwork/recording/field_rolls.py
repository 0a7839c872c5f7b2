"""Take-off and landing rolls beside the slow phases on the ground, and touch-and-goes between them at known fields.

Thresholds are our own choice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from airwork.masks import runs
from airwork.recording.flight import Array
from airwork.recording.rolls import FASTER, first_touch, lift_off
from airwork.recording.unit_evidence import resolution
from airwork.recording.wheels import slows_unlifted
from airwork.recording.work import TAXI_MPS, Work

NEAR_FIELD_M = 4_000.0
_LEAVES_MPS = 0.35
_ROLL_FLAT_M = 1.6  # height kept within this while rolling
_ROLL_S = 2.5
_CLIMBS_OUT_S = (10.0, 40.0)  # after it left the ground
_COARSE_M = 4.0  # an altitude in larger steps than this shows no roll by itself
_SINKS_ON_S, _SINKS_ON_M = 15.0, 6.0  # more than a runway falls, and a height wanders
_HURRIED, _HURRIED_M = 1.09, 3.0  # over a usual lift-off; a low pass is faster and higher
# So low for so long: a satellite's error, and longer than who goes around stays there. So slow, of half the usual
# speed: on few fixes the slowest moment is missed.
_LOW_M, _LOW_S, _FEW_S = 10.0, 8.0, 2.0
_SLOW, _SLOW_ON_FEW, _LEVEL_MPS = 1.15, 1.6, 2.0


class LowPath:
    """How it went near the ground.

    altitude : by what shows a roll best. speed : over the ground; air : through the air. height : above the field it is
    at; away : from the nearest known one. [m, m/s]
    """

    def __init__(self, work: Work, altitude: Array, speed: Array, air: Array, height: Array, away: Array) -> None:
        self.work, self.t = work, work.time_s
        self.altitude, self.speed, self.air, self.height, self.away = altitude, speed, air, height, away
        self.climb = np.nan_to_num(work.scratch.get("climb_mps", np.zeros(self.t.size)))
        self.tolerance = _tolerance_m(work, altitude)
        self.flat = (np.abs(height) < self.tolerance) & (np.abs(self.climb) < 1.2)

    def met(self, a: int, b: int) -> int:
        """Where the wheels met the ground, of a roll that surely begins at a."""
        return _met(self.t, self.altitude, self.climb, self.flat, a, b)


def field_rolls(path: LowPath, on_ground: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], float]:
    """(take-off and landing rolls beside the slow phases and rolls near them, usual speed at lift-off)."""
    out, lifted = _rolls_beside(path, on_ground)
    if not lifted:
        return out, float("nan")
    usual = float(np.median(lifted))
    if resolution(path.altitude) <= _COARSE_M:  # in larger steps a go-around looks as flat as a roll: only speed tells
        _add_rolls_between(path, on_ground, usual, out)
    return out, usual


def held_low(path: LowPath, on_ground: NDArray[np.bool_], *, lost_only: bool = False) -> list[slice]:
    """Between two flights so low for so long, and slower than it flies: touched, though no roll shows by itself.

    lost_only : only those whose beginning was not received.
    """
    t, air = path.t, path.air
    out: list[slice] = []
    level = ~on_ground & (np.abs(path.climb) < _LEVEL_MPS)
    if not level.any() or path.work.step_s > _LOW_S:
        return out
    half = 0.5 * float(np.percentile(air[level], 75.0))
    off = [float(air[b]) for _, b in runs(on_ground) if b < t.size]
    lifted = float(np.median(off)) if off else 0.0
    slow = half * (_SLOW_ON_FEW if path.work.step_s > _FEW_S else _SLOW)
    for a, b in runs((path.height < _LOW_M) & (path.away < NEAR_FIELD_M) & ~on_ground):
        if a == 0 or b == t.size or on_ground[a - 1] or on_ground[b]:
            continue
        ends = [np.interp(_LOW_M, path.height[[i, o]], t[[i, o]]) for i, o in ((a, a - 1), (b - 1, b))]
        lost = t[a] - t[a - 1] > _LOW_S
        if lost_only and not lost:
            continue
        slowest = max(slow, lifted) if lost and lifted else slow  # no wing carries below the speed it lifted off at
        if ends[1] - ends[0] > _LOW_S and float(np.min(air[a:b])) < slowest:
            near = np.flatnonzero(path.height[a:b] < float(np.min(path.height[a:b])) + 0.5 * _LOW_M)
            out.append(slice(int(a + near[0]), int(a + near[-1]) + 1))
    return out


def _tolerance_m(work: Work, altitude: Array) -> float:
    """Within so much of the field's height it may be on it."""
    tolerance = 4.0 if "indicated_altitude_m" in work.columns or "pressure_altitude_m" in work.columns else 6.0
    column = work.columns.get("pressure_altitude_m")
    if column is not None and column.known == "derived" and "indicated_altitude_m" not in work.columns:
        tolerance = 6.0
    return max(tolerance, 1.1 * resolution(altitude))


def _rolls_beside(path: LowPath, on_ground: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], list[float]]:
    """(rolls right before and after the slow phases, the speeds it lifted off at)."""
    t, altitude, climb, speed, tolerance = path.t, path.altitude, path.climb, path.speed, path.tolerance
    out = np.zeros(t.size, dtype=bool)
    lifted: list[float] = []
    for a, b in runs(on_ground):
        end = int(b)
        while end < t.size and t[end] - t[b - 1] < 60.0 and path.flat[end]:
            end += 1
        climbed = end
        while end > b and climb[end - 1] > _LEAVES_MPS:  # near the ground is not on it: back to where the climb began
            end -= 1
        if climbed < t.size:
            end = min(end, max(lift_off(t, altitude, speed, int(a), climbed, resolution(altitude)), int(b)))
        out_at, past = np.searchsorted(t, t[min(end, t.size - 1)] + np.array(_CLIMBS_OUT_S))
        climbing = speed[out_at:past][np.isfinite(speed[out_at:past])]
        flies = FASTER * float(np.median(climbing)) if climbing.size else 0.0
        while end < t.size and speed[end] < flies and path.height[end] < 2.0 * tolerance and t[end] - t[b - 1] < 60.0:
            end += 1  # in steps of 25 ft the altitude rises and falls while it still rolls
        if b < climbed < t.size and speed[climbed - 1] > TAXI_MPS:
            lifted.append(float(speed[climbed - 1]))
        out[path.met(int(a), int(b)) : a] = True
        out[b:end] = True
    return out, lifted


def _add_rolls_between(path: LowPath, on_ground: NDArray[np.bool_], usual: float, out: NDArray[np.bool_]) -> None:
    """Rolls between flights: near a known field, at its height, flat, and slower than the airplane lifted off."""
    low = (np.abs(path.height) < 2.0 * path.tolerance) & (path.away < NEAR_FIELD_M) & ~on_ground & ~out
    for a, b in runs(low):
        if (a > 0 and (on_ground | out)[a - 1]) or (b < path.t.size and (on_ground | out)[b]):
            continue  # low beside a roll: just lifted off, or floating before the touchdown
        rolling = _rolling(path, slice(int(a), int(b)), 1.03 * usual)
        if rolling is not None and not _sinks_on(path.t, path.altitude, rolling):
            nose = path.work.measured("pitch_rad") is not None  # which tells a float before it from the roll
            met = path.met(rolling.start, rolling.stop) if nose else rolling.start
            out[met : rolling.stop] = True


def _rolling(path: LowPath, part: slice, slowest: float) -> slice | None:
    """The roll in a low stretch, None where it flew through it."""
    t, altitude, climb, speed = path.t, path.altitude, path.climb, path.speed
    rolling = _flat_roll(t, altitude, climb, speed, part, slowest)
    if rolling is None:  # hurried through: a little faster, but surely at the field's height
        rolling = _flat_roll(t, altitude, climb, speed, part, _HURRIED * slowest)
        if rolling is not None and abs(float(np.median(path.height[rolling]))) > _HURRIED_M:
            rolling = None
    if rolling is None:
        rolling = _flat_roll(t, altitude, climb, speed, part, np.inf)
        if rolling is not None and not slows_unlifted(path.work, altitude, path.air, rolling):
            rolling = None
    return rolling


def _met(t: Array, altitude: Array, climb: Array, flat: NDArray[np.bool_], a: int, b: int) -> int:
    """Where the wheels met the ground, of a roll that surely begins at a: flat before it, back to where it sank."""
    start = a
    while start > 0 and t[a] - t[start - 1] < 60.0 and flat[start - 1]:
        start -= 1
    while start < a and climb[start] < -_LEAVES_MPS:
        start += 1
    return first_touch(t, altitude, start, b) if start > 0 else 0


def _sinks_on(t: Array, altitude: Array, roll: slice) -> bool:
    """It is lower soon after it than in it: a go-around levels off first and sinks while it gains speed."""
    after = altitude[roll.stop : np.searchsorted(t, t[roll.stop - 1] + _SINKS_ON_S)]
    return after.size > 0 and float(np.nanmin(after)) < float(np.nanmedian(altitude[roll])) - _SINKS_ON_M


def _flat_roll(t: Array, altitude: Array, climb: Array, speed: Array, part: slice, slowest: float) -> slice | None:
    """The longest stretch that keeps its height within a hand's breadth of noise and is somewhere below lift-off speed.

    None if none. Only somewhere: after a touch-and-go the wheels stay on the runway well beyond the speed of another
    take-off, while a low pass or a go-around is never so slow at a constant height.
    """
    best: slice | None = None
    for a, b in runs(np.abs(climb[part]) < 0.6):
        i, j = part.start + int(a), part.start + int(b)
        if t[j - 1] - t[i] < _ROLL_S or float(np.ptp(altitude[i:j])) > _ROLL_FLAT_M + 0.4 * (t[j - 1] - t[i]):
            continue
        if float(np.nanmin(speed[i:j])) >= slowest:
            continue
        if best is None or t[j - 1] - t[i] > t[best.stop - 1] - t[best.start]:
            best = slice(i, j)
    return best
