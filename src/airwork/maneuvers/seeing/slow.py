"""Slow stretches and stall breaks: what slow flight and the three stalls are told apart by.

A slow stretch is flight under about a third more than the 1 g stall speed, away from the ground. It begins where the
slowing began and ends where the speed has come back. A break is the moment the wing lets go (or the pilot does): the
speed's minimum with the sink, the nose drop and the gain of speed after it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.seeing.signal import Mask, bridged, percentile, ramp, running_max, runs, smooth
from airwork.maneuvers.seeing.view import STEP_S

if TYPE_CHECKING:
    from airwork.maneuvers.seeing.view import View

SLOW = 1.33  # times the stall speed; slow flight is flown 5 to 10 kt above the stall (AFH ch. 5), an approach at 1.3
STRAYED, STRAYED_S = 1.5, 14.0
HUNTED_S = 30.0  # a pilot who hunts for the speed comes back within half a minute: common practice, no source
HELD_LONG_S = 40.0  # the slow part of a stall, level, is over in half of it
HELD_FIRST_S = 12.0  # of it before any break: what is held only after one is the climb back from it
HUNTED_M = 60.0  # and at the same height: what regained its speed by diving or climbed away is over
CRUISING = 1.5  # a speed held above this is where the slowing began; below, it is a stabilized descent on the way
SETTLED_S = 8.0  # a speed held this long above CRUISING ends the search for where slowing began
DESCENT_S = 50.0  # a stabilized descent before a stall lasts rarely longer
LONGEST_SLOWING_S = 120.0
NOT_HELD_MPS = 2.0
TURNING_RAD = np.radians(10.0)
ROUNDED_S, FLAT_MPS = 5.0, 0.06  # the speed rounds off for some seconds; per half second: a quarter of a knot a second
GAIN_MPS = 0.6  # speed still changing by more than this over the settling time is not settled
NEAR_GROUND_S = 45.0  # this close to the wheels leaving or touching, slow is normal
LOW_M = 180.0  # 600 ft: no stall or slow flight is practiced below; an approach is
BANKED_RAD = np.radians(30.0)  # turning stalls have up to 20° (±10°)
NO_STALL, STALLED = 1.30, 1.15  # 1 g speed over the stall speed, itself known to some 5 %
LITTLE_SINK_MPS, SURE_SINK_MPS = 0.7, 2.2  # 140 and 430 fpm: speed regained level, with power, is no stall
LEAST_BREAK = 0.5
ENERGY_S = (8.0, -1.0)  # the break itself costs energy, with power or without
RISE_S = 12.0
HURRIED_S, LOADED = 1.5, (1.08, 1.25)  # times the 1 g stall speed: 35 to 50° of bank
VIOLENT_CLIMB_MPS = 18.0  # 3,500 fpm up or down belongs to aerobatics, not to a training stall
VIOLENT_SLOWING_MPS2 = 2.3  # 4.5 kt/s: a zoom, speed turned into height


@dataclass(frozen=True, slots=True)
class Break:
    """One stall break. Index into the view; SI."""

    index: int
    score: float
    drop_mps: float  # climb before less lowest climb after
    sink_mps: float  # lowest climb after (negative down)
    height_lost_m: float
    bank_rad: float  # size, in the seconds before
    energy_slope: float  # energy height gained per meter flown in the seconds before: the engine's share
    rise_m: float  # from the lowest to the highest point of the seconds before
    climb_before_mps: float
    power: float  # mean share of full power before; NaN when not known
    speed_ratio: float  # 1 g speed over stall speed at the minimum


@dataclass(frozen=True, slots=True)
class SlowStretch:
    """One slow stretch with the slowing before and the recovery after. Indices into the view."""

    start: int  # slowing began
    first: int  # slow from here
    last: int  # to here
    end: int  # speed back
    speed_before_mps: float
    settled: tuple[int, int] | None  # the longest stretch of steady slow speed
    breaks: tuple[Break, ...]


def slow_stretches(view: View) -> list[SlowStretch]:
    """Every slow stretch away from the ground, in order."""
    stall = view.clean_stall_mps
    if not np.isfinite(stall):
        return []
    flying = view.airborne & view.known
    slow = (view.one_g_speed_mps < SLOW * stall) & flying
    slow = bridged(slow, view.samples(3.0)) | _moments(view, slow, (view.one_g_speed_mps < STRAYED * stall) & flying)
    found: list[SlowStretch] = []
    bound = 0
    for first, end in runs(slow):
        if end - first < view.samples(2.0) or _near_ground(view, first, end):
            continue
        start = max(slowing_began(view, first, stall), bound)
        back = recovered(view, end - 1)
        breaks = _breaks(view, first, end, stall)
        settled = (
            _held_through(view, first, end, breaks) or _settled(view, first, end)
            if breaks
            else _held_below(view, first, end)
        )
        found.append(SlowStretch(start, first, end - 1, back, float(view.speed_mps[start]), settled, breaks))
        bound = end
    return _regained(view, _hunted(view, found))


def _hunted(view: View, found: list[SlowStretch]) -> list[SlowStretch]:
    """Neighbors without a break joined where the speed between them never came halfway back: one badly held speed."""
    joined: list[SlowStretch] = []
    for one in found:
        before = joined[-1] if joined else None
        if before is not None and not before.breaks and not one.breaks and _never_left(view, before, one):
            held = _held_below(view, before.first, one.last + 1)
            joined[-1] = SlowStretch(
                before.start, before.first, one.last, one.end, before.speed_before_mps, held, ()
            )  # fmt: skip
        else:
            joined.append(one)
    return joined


def _regained(view: View, found: list[SlowStretch]) -> list[SlowStretch]:
    """A recovery that only paused goes on: to where the speed is back, if it comes halfway within half a minute."""
    out: list[SlowStretch] = []
    for k, one in enumerate(found):
        limit = min(one.end + view.samples(HUNTED_S), found[k + 1].start if k + 1 < len(found) else view.n - 1)
        halfway = 0.5 * (float(np.median(view.speed_mps[one.first : one.last + 1])) + one.speed_before_mps)
        above = np.flatnonzero(view.speed_mps[one.end : limit] > halfway)
        if one.breaks or not above.size or not view.airborne[one.end : limit].all():
            out.append(one)
        else:
            back = min(recovered(view, one.end + int(above[0])), limit)
            out.append(replace(one, end=max(one.end, back)))
    return out


def _never_left(view: View, one: SlowStretch, two: SlowStretch) -> bool:
    """Between two slow stretches the speed stayed nearer the slow one than the speed before, at the same height."""
    if two.first - one.last > view.samples(HUNTED_S):
        return False
    slow = float(np.median(np.r_[view.speed_mps[one.first : one.last + 1], view.speed_mps[two.first : two.last + 1]]))
    between = slice(one.last, two.first + 1)
    halfway = 0.5 * (slow + one.speed_before_mps)
    strayed = float(np.abs(view.altitude_m[between] - view.altitude_m[one.last]).max())
    return bool(float(view.speed_mps[between].max()) < halfway and strayed < HUNTED_M)


def _held_below(view: View, first: int, end: int) -> tuple[int, int]:
    """From the end of the slowing to the beginning of the speeding up, however unsteady between."""
    speed = view.speed_mps[first:end]
    held = np.flatnonzero(speed < np.median(speed) + NOT_HELD_MPS)
    return first + int(held[0]), first + int(held[-1])


def _held_through(view: View, first: int, end: int, breaks: tuple[Break, ...]) -> tuple[int, int] | None:
    """A slow speed held for long at one height, with or without a stall in it: no stall's entry takes so long."""
    a, b = _held_below(view, first, end)
    before = breaks[0].index - a if breaks else b - a
    if b - a < view.samples(HELD_LONG_S) or before < view.samples(HELD_FIRST_S):
        return None
    altitude = view.altitude_m[a : b + 1]
    low, high = np.percentile(altitude, (5.0, 95.0))
    level = abs(float(altitude[-1] - altitude[0])) < HUNTED_M and float(high - low) < 2.0 * HUNTED_M
    return (a, b) if level else None


def _moments(view: View, slow: Mask, nearly: Mask) -> Mask:
    """Short times a little faster between slow stretches: a poor pilot strays from the speed and comes back."""
    out = np.zeros_like(slow)
    for first, last in runs(~slow):
        if first > 0 and last < view.n and last - first <= view.samples(STRAYED_S) and nearly[first:last].all():
            out[first:last] = True
    return out


def _near_ground(view: View, first: int, end: int) -> bool:
    if view.seconds_since_ground(first) < NEAR_GROUND_S or view.seconds_to_ground(end - 1) < NEAR_GROUND_S:
        return True
    height = view.agl_m[first:end]
    return bool(np.isfinite(height).any() and float(np.nanmedian(height)) < LOW_M)


def slowing_began(view: View, index: int, stall_mps: float, cruising: float = CRUISING) -> int:
    """Where the slowing that ends at `index` began: walking back to a speed that was held.

    cruising : times the stall speed; a speed held below it is a stage on the way.
    """
    step = view.samples(1.0)
    speed = view.speed_mps
    best, best_at, held = float(speed[index]), index, 0.0
    at = index
    while at - step >= 0 and (index - at) * STEP_S < LONGEST_SLOWING_S and view.airborne[at - step]:
        at -= step
        now = float(speed[at])
        if now > best + GAIN_MPS:
            best, best_at, held = now, at, 0.0
            continue
        held += 1.0
        if now < best - 4.0 and best > cruising * stall_mps:
            break
        if held >= (SETTLED_S if best > cruising * stall_mps else DESCENT_S):
            break
    # The last moment the held speed was still there.
    level = best - max(1.0, 0.06 * (best - float(speed[index])))
    above = np.flatnonzero(speed[best_at : index + 1] >= level)
    return _top_of(view, best_at + int(above[-1]), -1) if above.size else best_at


def recovered(view: View, index: int, patience_s: float = 6.0) -> int:
    """Where the gain of speed that starts at `index` (or within the patience) is over."""
    step = view.samples(1.0)
    speed = view.speed_mps
    best, best_at, held, at = float(speed[index]), index, 0.0, index
    while at + step < view.n and (at - index) * STEP_S < 90.0 and view.airborne[at + step]:
        at += step
        if float(speed[at]) > best + GAIN_MPS:
            best, best_at, held = float(speed[at]), at, 0.0
        else:
            held += 1.0
            if held >= (patience_s if best_at == index else 6.0):
                break
    level = best - max(1.0, 0.08 * (best - float(speed[index])))
    above = np.flatnonzero(speed[index : best_at + 1] >= level)
    return _top_of(view, index + int(above[0]), 1) if above.size else best_at


def _top_of(view: View, at: int, step: int) -> int:
    """On from the last knots of a change of speed to where it is flat, but into no turn. Index."""
    speed, end = view.speed_mps, at
    while abs(end - at) < view.samples(ROUNDED_S) and 0 <= end + 2 * step < view.n:
        if speed[end + 2 * step] - speed[end] < FLAT_MPS or abs(view.turn_bank_rad[end + step]) > TURNING_RAD:
            break
        end += step
    return end


def _settled(view: View, first: int, end: int) -> tuple[int, int] | None:
    """Longest stretch of a speed held (within a slow change) inside the slow stretch, neither climbing nor sinking."""
    steady = np.abs(smooth(view.speed_rate_mps2[first:end], view.samples(4.0))) < 0.35
    steady &= np.abs(smooth(view.climb_mps[first:end], view.samples(4.0))) < 2.6
    found = runs(bridged(steady, view.samples(6.0)))
    if not found:
        return None
    a, b = max(found, key=lambda r: r[1] - r[0])
    # The last of the slowing and the first of the speeding up are slow changes too: not yet, and no longer, held.
    speed = view.speed_mps[first + a : first + b]
    held = np.flatnonzero(speed < np.median(speed) + NOT_HELD_MPS)
    return (first + a + int(held[0]), first + a + int(held[-1]))


def _breaks(view: View, first: int, end: int, stall_mps: float) -> tuple[Break, ...]:
    """Breaks in a slow stretch: minima of the 1 g speed with a sink after them, at least 8 s apart."""
    speed = view.one_g_speed_mps
    near, window = view.samples(4.0), view.samples(8.0)
    found: list[Break] = []
    # The extreme over some seconds around, at the sample itself: a local minimum. The pull-out's load may put the 1 g
    # speed's minimum a moment after the break; the speed's own is a candidate too.
    wide = slice(max(first - near, 0), min(end + near + 1, view.n))
    minima = np.zeros(wide.stop - wide.start, dtype=bool)
    for one_speed in (speed[wide], view.speed_mps[wide]):
        minima |= one_speed <= -running_max(-one_speed, 2 * near + 1) + 1e-9
    for k in (int(m) + wide.start for m in np.flatnonzero(minima)):
        if not first <= k < end:
            continue
        one = _break(view, k, float(speed[k]) / stall_mps)
        if one is None:
            continue
        if one.score < LEAST_BREAK:
            continue
        if found and (k - found[-1].index < window or not _flew_between(view, found[-1].index, k, stall_mps)):
            if one.score > found[-1].score:
                found[-1] = one
        else:
            found.append(one)
    return tuple(found)


def _flew_between(view: View, one: int, two: int, stall_mps: float) -> bool:
    """Recovered from the first before the second: otherwise both are one stall."""
    part = slice(one, two)
    return bool(((view.climb_mps[part] > -0.3) & (view.speed_mps[part] > 1.15 * stall_mps)).any())


def _accelerated(view: View, k: int, ratio: float) -> float:
    """A stall under load is recovered at the first sign: the load comes off at once and the wings come level."""
    after = slice(k, min(k + view.samples(5.0), view.n))
    unloaded = float(view.one_g_speed_mps[after].max()) / max(float(view.one_g_speed_mps[k]), 1.0)
    before = float(np.abs(view.bank_rad[max(k - view.samples(4.0), 0) : k + 1]).max())
    rolled = before - float(np.abs(view.bank_rad[k : min(k + view.samples(7.0), view.n)]).min())
    return (
        0.45 * ramp(ratio, 1.28, 1.12)
        + 0.30 * ramp(unloaded, 1.04, 1.18)
        + 0.25 * ramp(rolled, np.radians(8.0), np.radians(25.0))
    )


def _break(view: View, k: int, ratio: float) -> Break | None:
    def window(before_s: float, after_s: float) -> slice:
        return slice(max(k - view.samples(before_s), 0), min(k + view.samples(after_s) + 1, view.n))

    around = view.climb_mps[window(12.0, 10.0)]
    if np.abs(around).max() > VIOLENT_CLIMB_MPS:
        return None
    slowing = -float(view.speed_rate_mps2[window(6.0, 0.0)].mean())
    if slowing > VIOLENT_SLOWING_MPS2:
        return None
    climb_before = float(view.climb_mps[window(7.0, 0.0)].max())
    sink = float(view.climb_mps[window(1.0, 9.0)].min())
    drop = climb_before - sink
    lost = float(view.altitude_m[window(3.0, 2.0)].max() - view.altitude_m[window(0.0, 16.0)].min())
    gain = float(view.speed_mps[window(0.0, 12.0)].max() - view.speed_mps[k])
    parts = [
        (0.34, ramp(drop, 1.5, 4.5)),
        (0.18, ramp(lost, 8.0, 28.0)),
        (0.18, ramp(gain, 3.0, 8.0)),
        (0.30, ramp(ratio, 1.28, 1.08)),
    ]
    if view.pitch_rad is not None:
        nose = float(view.pitch_rad[window(4.0, 1.0)].max() - view.pitch_rad[window(0.0, 7.0)].min())
        parts.append((0.25, ramp(nose, np.radians(5.0), np.radians(14.0))))
    score = sum(w * x for w, x in parts) / sum(w for w, _ in parts)
    score *= 0.4 + 0.6 * ramp(ratio, NO_STALL, STALLED)
    score *= 0.5 + 0.5 * ramp(-sink, LITTLE_SINK_MPS, SURE_SINK_MPS)
    bank = percentile(np.abs(view.bank_rad[window(6.0, 0.0)]), 75.0)
    if LOADED[0] < float(view.speed_mps[k]) / view.clean_stall_mps < LOADED[1]:
        # A hurried accelerated stall is pulled while still rolling in; slower, it is a wing that drops.
        bank = max(bank, float(np.abs(view.bank_rad[window(HURRIED_S, 0.5)]).max()))
    if score < LEAST_BREAK and bank <= BANKED_RAD:
        return None  # a wobble, as most are: nothing below makes it more
    # The last seconds decide: with power on it is there before the break, with power off it comes with the recovery.
    peak = k
    if view.pitch_rad is not None:  # the nose is highest at the break, the speed lowest a moment later
        before = window(6.0, 1.0)
        peak = before.start + int(np.argmax(view.pitch_rad[before]))
    last_seconds = slice(max(peak - view.samples(3.0), 0), max(peak - view.samples(0.5), 1))
    power = float(view.power[last_seconds].mean()) if view.power is not None else float("nan")
    early = window(*ENERGY_S)
    if early.stop <= early.start:
        return None  # in the first seconds of a recording nothing is known of what led to it
    flown = float(view.tas_mps[early].sum()) * STEP_S
    energy = float(view.energy_m[early][-1] - view.energy_m[early][0]) / max(flown, 1.0)
    climbing = view.altitude_m[window(RISE_S, 1.0)]
    top = int(np.argmax(climbing))
    rise = float(climbing[top] - climbing[: top + 1].min())
    if bank > BANKED_RAD:
        score = max(score, _accelerated(view, k, ratio))
    if slowing < 0.05 and bank < BANKED_RAD:  # nothing was slowing: a wobble inside slow flight
        score *= 0.6
    return Break(
        k, score, drop, sink, lost, bank, energy, rise, climb_before, power, ratio,
    )  # fmt: skip
