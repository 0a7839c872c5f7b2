"""Rolls seen by themselves: where the wheels left a runway or met it, and touch-and-goes at fields never stood on.

A roll is flat, at a local low, slower than the airplane can fly, and gains speed again without leaving the ground. A
low pass keeps its speed; a go-around turns upward within a few seconds. Thresholds are our own choice.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.masks import runs
from airwork.recording.flight import Array
from airwork.recording.smooth import Window, least_around
from airwork.recording.unit_evidence import resolution
from airwork.recording.work import Work

_TOUCHED_S, _BALLOONS_S, _BALLOON_M, _GOES_MPS = 20.0, 40.0, 20.0, 3.0  # a touch-and-go is higher soon, and faster
FLOAT_S, FLOATING_MPS = 8.0, 0.2  # 40 fpm
LOW_S = 75.0  # the lowest within this to either side
_FROM_ABOVE_M = 30.0  # came down from, and climbed away to, at least this much higher
_SHORTEST_S = 4.0
_FLAT_M = 2.0  # kept its height within this, or within the altitude's own steps
_TOO_SLOW = 0.87  # of the speed of the approach before it: slower the wings don't carry
_OF_LIFT_OFF, _OF_CRUISE = 1.0, 0.76  # nor faster than this, of a lift-off recorded, else of the usual flying speed
APPROACH_S = (35.0, 10.0)  # before the low: where the approach was steady
_LOSES_MPS, _GAINS_MPS = 2.0, 4.0  # slowed by the ground, then picked up again before leaving it
_FLARE_S = 10.0  # before the ground is met: a stall's recovery is gaining speed there
_LOWEST_SHARE = 20.0  # percentile of the heights flown: a stall's recovery levels off high up, a runway lies low
_LIFTED_M = 1.8  # higher than this over the roll before it and the wheels are off
FASTER = 0.75  # of the speed it climbs out with, before it can fly
_LATELY_S = 8.0  # of the roll: a satellite's height wanders by meters in a minute
_HOP_S, _HOP_M, _FINE_M = 12.0, 1.5, 1.0  # a bounce or a wheel set down again; seen in an altitude this fine
BOUNCED_M = 2.5  # surely no satellite's wandering within those seconds
_SLOPE, _CLIMBS_MPS = 0.04, 1.0  # the steepest runway
_NOT_MUCH, _SO_LONG_S = 0.8, 8.0
LANDED = 0.5, 1.1, 0.0  # of the speed it sank with no wing carries; a float takes part of the braking
# Down at a known aerodrome: slower than 1/1.3 of the approach no wing carries either, and a float slows as it likes.
# Level there for longer than any float it need not be as slow (an airliner brakes late).
LANDED_AT_FIELD = 0.75, 0.6, 5.0, (0.82, 12.0)
_EARLIER_S = 5.0  # the most by which the first meters of a climb or the last of a flare are drawn back to the ground


def free_rolls(
    work: Work,
    altitude: Array,
    speed: Array,
    on_ground: NDArray[np.bool_],
    lift_off_mps: float,
    at_field: NDArray[np.bool_] | None = None,
) -> list[slice]:
    """Rolls between flights, wherever they are. Samples, not beside known ground phases.

    Parameters
    ----------
    speed : through the air where it is known, else over the ground. [m/s]
    lift_off_mps : usual speed at which this airplane left the ground; NaN where none was recorded.
    at_field : at a known aerodrome's elevation, over it; there a roll needs no braking to be seen.
    """
    at = work.seconds_apart()
    t, h, v = work.time_s[at], altitude[at], speed[at]
    known = np.isfinite(h) & np.isfinite(v)
    if known.sum() < 60 or work.step_s > 6.0:
        return []
    t, h, v, index = t[known], h[known], v[known], at[known]
    flying = v[(~on_ground[index])]
    if flying.size < 30:
        return []
    cruise = float(np.percentile(flying, 75))
    limit = _OF_LIFT_OFF * lift_off_mps if np.isfinite(lift_off_mps) else _OF_CRUISE * cruise
    lowest_flown = float(np.percentile(h[~on_ground[index]], _LOWEST_SHARE))
    step = max(float(np.median(np.diff(t))), 1e-3)
    reach = max(round(LOW_S / step), 1)
    tolerance = max(_FLAT_M, 1.2 * resolution(h))
    low = (h <= least_around(h, reach) + tolerance) & ~on_ground[index]
    out = []
    for a, b in runs(low):
        if t[b - 1] - t[a] < _SHORTEST_S or b - a < 3 or a == 0 or b == t.size:
            continue
        slowest = int(a) + int(np.argmin(v[a:b]))
        first, last = np.searchsorted(t, (t[a] - APPROACH_S[0], t[a] - APPROACH_S[1]))
        if last - first < 2 or v[slowest] > min(limit, _TOO_SLOW * float(np.median(v[first:last]))):
            continue
        flare = max(int(a) - max(round(_FLARE_S / step), 1), 0)
        at_known = at_field is not None and bool(at_field[index[a:b]].all())
        slowed = float(v[flare : a + 1].max()) - v[slowest] >= _LOSES_MPS or at_known
        if v[b - 1] - v[slowest] < _GAINS_MPS or not slowed:
            continue
        if float(h[a:b].min()) > lowest_flown:
            continue
        before, after = h[max(a - reach, 0) : a], h[b : b + reach]
        lowest = float(h[a:b].min())
        if not before.size or not after.size or min(before.max(), after.max()) < lowest + _FROM_ABOVE_M:
            continue
        out.append(slice(int(index[a]), int(index[b - 1]) + 1))
    return out


def already_rolling(
    t: Array,
    altitude: Array,
    speed: Array,
    slower: float = 0.65,
    gains_mps2: float = 1.3,
    level_m: float = 1.0,
    long: tuple[float, float] = (_NOT_MUCH, _SO_LONG_S),
) -> int:
    """How many of the first samples are of a take-off run under way; backward, how many of the last of a landing's.

    It gains speed as wheels do, not by diving, begins slower than the wings carry what soon climbs, and stays flat; or,
    as flat as nobody flies while he gains so much, not much slower.
    """
    window = Window(t, max(_LATELY_S / 4.0, 1.5 * _step(t)))
    climbing = np.flatnonzero(np.nan_to_num(window.slope(altitude)) > _CLIMBS_MPS)
    if not climbing.size or not (left := int(climbing[0])) or not np.isfinite(altitude[: left + 1]).all():
        return 0
    run_s, v, h = float(t[left] - t[0]), speed[: left + 1], altitude[: left + 1]
    gone = float(np.trapezoid(v, t[: left + 1]))
    gained = 0.5 * float(v[-1] ** 2 - v[0] ** 2) + G0_MPS2 * float(h[-1] - h[0])
    slower = max(slower, long[0]) if float(np.ptp(h)) < level_m and run_s > long[1] else slower
    rolls = _SHORTEST_S < run_s < LOW_S and v[0] < slower * v[-1] and gained > gains_mps2 * gone
    return left if rolls and float(np.ptp(h)) < _FLAT_M + _SLOPE * gone else 0


def lift_off(t: Array, altitude: Array, speed: Array, start: int, end: int, tolerance_m: float) -> int:
    """One past the last sample on the ground, of a roll whose climb-out has surely begun at `end`.

    The height over the roll so far tells when it is left for good; the first meters are drawn back along a steady
    upward acceleration (h = c·τ/2).
    """
    level, left = _left_for_good(t, altitude, start, end, tolerance_m)
    if left is None:
        return end
    rise = float(altitude[left] - level)
    later = min(left + max(round(4.0 / _step(t)), 1), t.size - 1)
    climb = float((altitude[later] - altitude[left]) / max(t[later] - t[left], 1e-6))
    back = min(2.0 * rise / climb, _EARLIER_S) if climb > 0.2 else _EARLIER_S / 2.0
    fast = np.flatnonzero(speed[start:end] >= FASTER * speed[end - 1])
    slowest = start + int(fast[0]) if fast.size else start
    return max(int(np.searchsorted(t, t[left] - back)), slowest, start + 1)


def _left_for_good(t: Array, altitude: Array, start: int, end: int, tolerance_m: float) -> tuple[float, int | None]:
    """(height of the roll, first sample from which the altitude stays above it)."""
    first = max(start, int(np.searchsorted(t, t[end - 1] - 40.0)))
    past = max(end - round(8.0 / _step(t)), first + 1)
    roll = altitude[max(past - max(round(_LATELY_S / _step(t)), 3), first) : past]
    level = float(np.nanmedian(roll)) if np.isfinite(roll).any() else float("nan")
    if not np.isfinite(level):
        return level, None
    over = altitude[first : min(end + round(10.0 / _step(t)) + 1, t.size)] > level + max(_LIFTED_M, 0.6 * tolerance_m)
    down = np.flatnonzero(~over)
    if not down.size or down[-1] + 1 >= over.size:
        return level, None
    left = first + int(down[-1]) + 1
    if tolerance_m < _FINE_M:  # lifted off, then held down or set down once more
        hop = max(first, int(np.searchsorted(t, t[left] - _HOP_S)))
        up = [a for a, b in runs(over[hop - first : left - first]) if t[hop + b - 1] - t[hop + a] > 1.0]
        left = hop + int(up[0]) if up else left
    return level, left


def first_touch(t: Array, altitude: Array, start: int, end: int) -> int:
    """Where the wheels met the ground first, of a landing roll that surely began at `start`: before a bounce."""
    if resolution(altitude) > _FINE_M:
        return start
    roll = altitude[start : min(end, start + max(round(15.0 / _step(t)), 1))]
    if not np.isfinite(roll).any():
        return start
    level = float(np.nanmedian(roll))
    low = np.searchsorted(t, t[start] - _HOP_S)
    met = np.flatnonzero(altitude[low:start] < level + _LIFTED_M)
    if not met.size:
        return start
    near = np.nan_to_num(altitude[low + met[0] : start + 1], nan=np.inf)
    if float(np.nanmax(altitude[low + met[0] : start + 1])) > near[0] + _HOP_M:
        return int(low + met[0])
    top = int(np.argmax(np.where(np.isfinite(near), near, -np.inf)))
    sunk = int(np.argmin(near[: top + 1]))  # a hard one: the wheels met the runway below what the roll shows later
    return int(low + met[0] + sunk) if near[top] > near[sunk] + BOUNCED_M else start


def without_float(work: Work, on_ground: NDArray[np.bool_], altitude: Array) -> NDArray[np.bool_]:
    """Floating low over the runway is flown: the wheels meet it where a recorded sink ends, and the height with it.

    A vertical speed that lags goes on sinking at one height: that moves nothing.
    """
    rate = work.measured("vertical_speed_mps")
    if rate is None:
        return on_ground
    out = on_ground.copy()
    for a, _ in runs(on_ground):
        t = work.time_s[a : np.searchsorted(work.time_s, work.time_s[a] + FLOAT_S)]
        sinks = np.append(rate[a : a + t.size] < -FLOATING_MPS, False)
        k = int(np.argmin(sinks))  # the first that does not
        if a == 0 or not 0 < k < t.size:
            continue
        flown_m = -float(np.trapezoid(rate[a : a + k + 1], t[: k + 1]))
        sunk_m = float(np.nanmean(altitude[a - 1 : a + 2]) - np.nanmean(altitude[a + k - 1 : a + k + 2]))
        if sunk_m > 0.5 * flown_m > 0.0:
            out[a : a + k] = False
    return out


def without_balloon(
    t: Array, on_ground: NDArray[np.bool_], altitude: Array, speed: Array
) -> NDArray[np.bool_]:  # fmt: skip
    """A touch left again without speeding up, low and not for long, is the flare's: it lands where it stays down."""
    out = on_ground.copy()
    for (a, b), (again, _) in pairwise(runs(on_ground)):
        if a == 0 or t[b - 1] - t[a] > _TOUCHED_S or t[again] - t[b] > _BALLOONS_S:
            continue
        high_m = float(np.nanmax(altitude[b:again]) - np.nanmin(altitude[a : again + 1]))
        faster = float(np.nanmax(speed[b:again])) > float(speed[b - 1]) + _GOES_MPS
        out[a:b] &= faster or high_m > _BALLOON_M
    return out


def _step(t: Array) -> float:
    return max(float(np.median(np.diff(t))), 1e-3) if t.size > 1 else 1.0
