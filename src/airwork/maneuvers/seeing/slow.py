"""Slow stretches and stall breaks: what slow flight and the three stalls are told apart by.

A slow stretch is flight under about a third more than the 1 g stall speed, away from the ground. It begins where the
slowing began and ends where the speed has come back. A break is the moment the wing lets go (or the pilot does): the
speed's minimum with the sink, the nose drop and the gain of speed after it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from airwork.maneuvers.seeing.propose_tools import kept
from airwork.maneuvers.seeing.signal import NEARLY_ALL, SHARP, bridged, last_true, median, over, percentile, under
from airwork.maneuvers.seeing.turns import TURNING_RAD
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.masks import runs

SLOW = 1.33  # times the stall speed; slow flight is flown 5 to 10 kt above the stall (AFH ch. 5), an approach at 1.3
HUNTED_S = 60.0  # within a minute, never halfway back to the speed before: common practice, no source
HELD_LONG_S = 60.0  # no stall's entry is so long level, not even a poor pilot's
# Nor so long once it got slow, sped up and got slow again: at a knot a second (14 CFR 23.201 (b), amendment 23-50, from
# memory) it takes a quarter of a minute.
TWICE_S = 45.0
SAFE_SPEED = 1.2  # times the clean stall: where a recovery counts as flying again
CLEAR = 0.75  # a less sure break is a wobble of slow flight
CRUISING = 1.5  # a speed held above this is where the slowing began; below, it is a stabilized descent on the way
SETTLED_S, DESCENT_S = 8.0, 50.0  # held so long ends the search for where slowing began: above CRUISING, below it
BACK, BACK_S = 0.9, 40.0  # of the speed before the slowing, within so long: recovered
REGAINED_S = 6.0  # a speed that gains nothing for so long is all that comes
LONGEST_S = 120.0
NEARLY = 0.07  # of the change of speed is left where it rounds off
NOT_HELD_MPS = 2.0
FLAT_MPS = 0.06  # the speed rounds off for some seconds; per half second: a quarter of a knot a second
GAIN_MPS = 0.6  # speed still changing by more than this over the settling time is not settled
FLAT_S = 5.0
LOW_M = 180.0  # 600 ft: no stall or slow flight is practiced below; an approach is
BANKED_RAD = np.radians(28.0)  # turning stalls have up to 20° (±10°), an accelerated one about 45°, badly flown 30°
NEAR_S, BEFORE_S, AFTER_S = 4.0, 6.0, 9.0  # around a break: what it is a minimum of, what led to it, what came of it
DROP_MPS, SINK_MPS = 3.0, 1.45  # 590 fpm less climb; 280 fpm: speed regained level, with power, is no stall
LOST_M, GAINED_MPS, NOSE_RAD = 18.0, 5.5, np.radians(9.5)
UNLOADED, ROLLED_RAD = 1.11, np.radians(16.5)  # the load comes off at once and the wings come level
LEAST_BREAK = 0.5
AT_STALL = 1.03  # times the stall speed, as well as speeds are read: faster it was eased off (no source)
# Slow, no light airplane holds its nose so high: at full throttle it climbs some 7° and stalls at some 16° of angle of
# attack. Fallen so far at once it was stalled or on the very edge, at whatever speed the file or the flight says.
NOSE_HIGH_RAD, FELL_RAD = np.radians(18.0), np.radians(15.0)
CARRIES = 0.6  # g: a wing that has let go still carries so much; with less it was pushed (common practice, no source)
# Recovered at the first sign, which comes at up to so many times the stall speed: let fall to it, the nose lowered.
NEAR_SIGN, FELL_MPS, LOWERED_RAD, AT_SIGN_S = 1.12, 1.3, np.radians(5.5), 15.0
SECOND_S = 15.0  # a poor recovery takes so long: later it is a stall by itself (common practice, no source)
RETURNED_MPS = 2.5  # 5 kt of the speed back: half of what a stall takes to be flown out of (common practice, no source)
# At idle and near the stall a light airplane loses a meter of energy height in some 8 to 12 flown, as steep as it
# glides; with power for level flight or a climb it holds or gains it. Eased off at the end of a stall's entry it loses
# less: between.
IDLE_SLOPE, EASED_SLOPE = 0.058, 0.035
FALLING_SLOPE = 0.2  # a meter in five: no light airplane slows down so, idle, flaps and all; the speed or wind jumps


@dataclass(frozen=True, slots=True)
class Break:
    """One stall break. Index into the view; SI."""

    index: int
    score: float
    sink_mps: float  # lowest climb after (negative down)
    bank_rad: float  # size, in the seconds before
    energy_slope: float  # energy height gained per meter flown in the seconds before: the engine's share
    rise_m: float  # from the lowest to the highest point of the seconds before
    power: float  # median share of full power before; NaN when not known
    speed_ratio: float  # 1 g speed over stall speed at the minimum
    last: int  # the break of the last stall in its recovery; itself, where that was the only one
    first_sign: bool = False  # recovered from at the warning or the buffet: no break to be seen


@dataclass(frozen=True, slots=True)
class SlowStretch:
    """One slow stretch with the slowing before and the recovery after. Indices into the view."""

    start: int  # slowing began
    first: int  # slow from here
    last: int  # to here
    end: int  # speed back
    speed_before_mps: float
    settled: tuple[int, int] | None  # where the slow speed was held; None where it led to a stall
    breaks: tuple[Break, ...]


def slow_stretches(view: View) -> list[SlowStretch]:
    """Every slow stretch away from the ground, in order."""
    stall = view.clean_stall_mps
    if not np.isfinite(stall):
        return []
    slow = (view.one_g_speed_mps < SLOW * stall) & view.airborne & view.known
    found: list[SlowStretch] = []
    bound = 0
    for first, end in runs(bridged(slow, view.samples(NEAR_S))):
        if _near_ground(view, first, end):
            continue
        start = max(slowing_began(view, first, stall), bound)
        breaks = _breaks(view, first, end, stall)
        held = _held_below(view, first, end)
        settled = held if _held_on_purpose(view, *held, breaks) else None
        back = speed_back(view, end - 1, float(view.speed_mps[start]))
        found.append(SlowStretch(start, first, end - 1, back, float(view.speed_mps[start]), settled, breaks))
        bound = end
    return _hunted(view, found)


def _hunted(view: View, found: list[SlowStretch]) -> list[SlowStretch]:
    """Neighbors joined where the speed between never came halfway back: one badly held speed, a stall in it or none.

    A stall's entry gets slow once: slow twice at one height and for long before it, that was slow flight.
    """
    out: list[SlowStretch] = []
    for one in found:
        before = out[-1] if out else one
        halfway = 0.5 * (float(np.median(view.speed_mps[one.first : one.last + 1])) + before.speed_before_mps)
        soon = one.first - before.last <= view.samples(HUNTED_S) and kept(view, before.last, one.first) > 0.0
        between = view.speed_mps[before.last : one.first + 1]
        never_left = int(np.count_nonzero(between >= halfway)) <= view.samples(NEAR_S)  # but for a moment
        long = not one.breaks or _held_until(view, before.first, one.breaks[0].index, TWICE_S)
        if before is not one and not before.breaks and soon and never_left and long:
            held = _held_below(view, before.first, one.last + 1)
            end = speed_back(view, one.last, before.speed_before_mps)
            one = replace(before, last=one.last, end=end, settled=held, breaks=one.breaks)
            out.pop()
        out.append(one)
    return out


def _held_below(view: View, first: int, end: int) -> tuple[int, int]:
    """From the end of the slowing to the beginning of the speeding up, however unsteady between."""
    speed = view.speed_mps[first:end]
    held = np.flatnonzero(speed < np.median(speed) + NOT_HELD_MPS)
    return first + int(held[0]), first + int(held[-1])


def _held_on_purpose(view: View, a: int, b: int, breaks: tuple[Break, ...]) -> bool:
    """A slow speed that no clear break ends, or held for long at one height before or after it: no climb away."""
    clear = [one.index for one in breaks if one.score >= CLEAR]
    if not clear:
        return True
    over_it = view.samples(2.0 * AFTER_S)
    return any(_held_until(view, at, to, HELD_LONG_S) for at, to in ((a, clear[0]), (clear[-1] + over_it, b)))


def _held_until(view: View, first: int, last: int, seconds: float) -> bool:
    return last - first >= view.samples(seconds) and kept(view, first, last) > 0.5


def _near_ground(view: View, first: int, end: int) -> bool:
    return view.near_ground(first, end - 1) or median(view.agl_m[first:end]) < LOW_M  # not known: not low


def slowing_began(view: View, index: int, stall_mps: float, cruising: float = CRUISING) -> int:
    """Where the slowing that ends at `index` began: walking back to a speed that was held.

    cruising : times the stall speed; a speed held below it is a stage on the way.
    """
    return _speed_held(view, index, -1, DESCENT_S, SETTLED_S, cruising * stall_mps)


def speed_back(view: View, index: int, before_mps: float) -> int:
    """Where nine tenths of an earlier speed are back after `index`; if not soon, where no more is gained."""
    back = view.speed_mps[index : index + view.samples(BACK_S)] >= BACK * before_mps
    if back.any():
        return index + int(back.argmax())
    return _speed_held(view, index, 1, BACK_S / 2.0, REGAINED_S, float(view.speed_mps[index]))


def _speed_held(view: View, index: int, way: int, patience_s: float, then_s: float, then_mps: float) -> int:
    """From an index on to where a greater speed is held; the patience is another once it is above a speed."""
    speed, step = view.speed_mps, way * view.samples(1.0)
    best = at = index
    while 0 <= at + step < view.n and abs(at - index) < view.samples(LONGEST_S) and view.airborne[at + step]:
        at += step
        if speed[at] > speed[best] + GAIN_MPS:
            best = at
        elif abs(at - best) >= view.samples(then_s if speed[best] > then_mps else patience_s):
            break
    # The moment nearest the index with the held speed, and on from there to where it is flat, but into no turn.
    between = speed[index : best + way : way] if best + way >= 0 else speed[index::-1]
    level = speed[best] - max(1.0, NEARLY * float(speed[best] - speed[index]))
    at = end = index + way * int(np.argmax(between >= level))
    while abs(end - at) < view.samples(FLAT_S) and 0 <= end + 2 * way < view.n:
        if speed[end + 2 * way] - speed[end] < FLAT_MPS or abs(view.turn_bank_rad[end + way]) > TURNING_RAD:
            break
        end += way
    return end


def _breaks(view: View, first: int, end: int, stall_mps: float) -> tuple[Break, ...]:
    """Breaks in a slow stretch: minima of the 1 g speed with a sink after them, some seconds apart."""
    speed, near = view.one_g_speed_mps, view.samples(NEAR_S)
    found: list[Break] = []
    # The extreme over some seconds around, at the sample itself: a local minimum. The pull-out's load may put the 1 g
    # speed's minimum a moment after the break; the speed's own is a candidate too.
    wide = slice(max(first - near, 0), min(end + near + 1, view.n))
    from airwork.recording.smooth import least_around  # late: a set-up needs no recording

    minima = np.zeros(wide.stop - wide.start, dtype=bool)
    for one_speed in (speed[wide], view.speed_mps[wide]):
        minima |= one_speed == least_around(one_speed, near)
    for k in (int(m) + wide.start for m in np.flatnonzero(minima)):
        # As the nose drops the load comes off: the 1 g speed is back above that of a moment before, and a wing that has
        # let go carries less at the speed it stalls at.
        least = float(speed[max(k - near, 0) : k + 1].min())
        if CARRIES < view.load_factor[k] < 1.0 and view.speed_mps[k] < AT_STALL * stall_mps:
            least = min(least, float(view.speed_mps[k]))
        one = _break(view, first, k, least / stall_mps) if first <= k < end and least > 0.0 else None
        if one is None:
            continue
        soon = bool(found) and k - found[-1].last < view.samples(SECOND_S)  # nobody enters another one so soon
        if soon or (found and not _flew_between(view, found[-1].index, k, stall_mps)):
            best = max(found[-1], one, key=lambda b: b.score)
            if one.score >= CLEAR and view.speed_mps[k] <= view.speed_mps[found[-1].index]:
                # still slowing down: what led to the break goes on to here
                best = replace(best, power=one.power, energy_slope=one.energy_slope, rise_m=one.rise_m)
            if _broke_before(view, found[-1], k):
                last = k if one.score >= CLEAR else found[-1].last
                best = replace(found[-1], score=best.score, last=last)
            found[-1] = best
        else:
            found.append(one)
    return tuple(found)


def _broke_before(view: View, first: Break, two: int) -> bool:
    """The speed was well on its way back just before: a pull-out, or a second stall in the recovery from the first."""
    if two - first.last > view.samples(SECOND_S):
        return False
    return float(view.speed_mps[first.index : two + 1].max() - view.speed_mps[first.index]) > RETURNED_MPS


def _flew_between(view: View, one: int, two: int, stall_mps: float) -> bool:
    """Recovered from the first before the second: otherwise both are one stall."""
    part = slice(one, two)
    return bool(((view.climb_mps[part] > 0.0) & (view.speed_mps[part] > SAFE_SPEED * stall_mps)).any())


def _break(view: View, first: int, k: int, ratio: float) -> Break | None:
    before = slice(max(k - view.samples(BEFORE_S), 0), k + 1)
    after = slice(k, min(k + view.samples(AFTER_S), view.n - 1) + 1)
    if view.warned is not None and not view.warned[before.start : k + view.samples(NEAR_S)].any():
        return None  # a warning that works comes before the stall
    sink = float(view.climb_mps[after].min())
    lost = float(view.altitude_m[k] - view.altitude_m[after].min())
    gain = float(view.speed_mps[after].max() - view.speed_mps[k])
    most = max(view.stall_most, SLOW) if _nose_fell(view, before, after) else view.stall_most
    likely = under(ratio, most, SHARP)
    parts = [over(float(view.climb_mps[before].max()) - sink, DROP_MPS), over(lost, LOST_M), over(gain, GAINED_MPS)]
    if view.pitch_rad is not None:
        parts.append(over(float(view.pitch_rad[before].max() - view.pitch_rad[after].min()), NOSE_RAD))
    score = float(np.mean([*parts, likely])) * (0.5 + 0.5 * likely) * (0.5 + 0.5 * over(-sink, SINK_MPS))
    bank = percentile(np.abs(view.bank_rad[before]), NEARLY_ALL)
    sign = _eased(view, first, k, ratio, gain) if bank <= BANKED_RAD else 0.0
    first_sign = score < CLEAR and sign > score
    score = max(score, sign, _accelerated(view, before, after, ratio) if bank > BANKED_RAD else 0.0)
    if score < LEAST_BREAK:
        return None
    # With power on it is there most of the time before the break, with power off it comes with the recovery. A poor
    # pilot takes it off as the nose drops and is slowest seconds later: it broke before half of the sink was there.
    let_go = k - int(np.argmax(view.climb_mps[before][::-1] > 0.5 * sink))
    led = slice(max(let_go - view.samples(BEFORE_S), 0), let_go + 1)
    power = median(view.power[led]) if view.power is not None else float("nan")
    rise = float(view.altitude_m[led].max() - view.altitude_m[led.start])
    return Break(k, score, sink, bank, energy_slope(view, led.start, let_go), rise, power, ratio, k, first_sign)


def _eased(view: View, first: int, k: int, ratio: float, gain_mps: float) -> float:
    """A stall recovered at its first sign hardly sinks: let slow down to it, the nose lowered, the speed back at once.

    Held at the sign it is slow flight. A warning tells by itself that it was near; else the speed has to.
    """
    if view.pitch_rad is None:
        return 0.0
    before, after = slice(max(k - view.samples(BEFORE_S), 0), k + 1), slice(k, k + view.samples(NEAR_S) + 1)
    one_g = view.one_g_speed_mps[max(k - view.samples(HELD_LONG_S), 0) : k + 1]
    held_s = (one_g.size - last_true(one_g > NEAR_SIGN * one_g[-1], 0)) * STEP_S
    return min(
        under(ratio, SLOW if view.warned is not None else min(view.stall_most, NEAR_SIGN), SHARP),
        under(held_s, AT_SIGN_S),
        under((k - first) * STEP_S, TWICE_S),  # out of slow flight it may be a wobble
        over(float(view.speed_mps[before].max() - view.speed_mps[k]), FELL_MPS),
        over(float(view.pitch_rad[before].max() - view.pitch_rad[after].min()), LOWERED_RAD),
        over(gain_mps, GAINED_MPS),
    )


def _nose_fell(view: View, before: slice, after: slice) -> bool:
    if view.pitch_rad is None:
        return False
    highest = float(view.pitch_rad[before].max())
    near = slice(after.start, after.start + view.samples(NEAR_S))
    return highest > NOSE_HIGH_RAD and highest - float(view.pitch_rad[near].min()) > FELL_RAD


def energy_slope(view: View, first: int, last: int) -> float:
    """Energy height gained per meter flown: the engine's share."""
    flown = float(view.tas_mps[first : last + 1].sum()) * STEP_S
    return float(view.energy_m[last] - view.energy_m[first]) / max(flown, 1.0)


def _accelerated(view: View, before: slice, after: slice, ratio: float) -> float:
    """A stall under load is recovered at the first sign: the load comes off at once and the wings come level."""
    unloaded = float(view.one_g_speed_mps[after].max()) / max(float(view.one_g_speed_mps[after.start]), 1.0)
    rolled = float(np.abs(view.bank_rad[before]).max() - np.abs(view.bank_rad[after]).min())
    parts = (under(ratio, view.stall_most, SHARP), over(unloaded, UNLOADED, SHARP), over(rolled, ROLLED_RAD))
    return float(np.mean(parts))
