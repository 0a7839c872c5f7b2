"""A long exercise in parts: level stretches, and climbs and descents that were asked for, each level anchored anew.

Nobody tells a recording what the instructor said. A change of altitude counts as asked for when it looks like one: the
power was set for it, or it is large and steady, and the new altitude is then held; what is let slip comes back. The
thresholds are ours (common practice, no source); the instructor can overrule them (`debrief/correct.py`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.maneuvers.episode import Stretch
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.judge import held_elsewhere
from airwork.maneuvers.grading.sheet import HELD_INSTEAD
from airwork.maneuvers.seeing.signal import Array, bridged, filled, mean_over
from airwork.masks import runs
from airwork.units import FPM_MPS, FT_M

RATE_S = 6.0  # vertical speed over this long: rides over a bump
MOVING_MPS, STILL_MPS = 110.0 * FPM_MPS, 50.0 * FPM_MPS
PAUSE_S = 5.0  # leveling for a moment on the way
LEAST_M = 75.0 * FT_M
LEAST_SHARE = 0.9  # of the tolerance
FIRST_S, FIRST_SHARE = 25.0, 1.5  # just established, it settles beside the altitude: no climb asked for so soon
LEAST_S = 11.0  # a shorter change is a zoom or a wave, not a climb
HELD_S, HELD_SHARE = 8.0, 1.2  # the new altitude is held at least so long, within this much of the tolerance
LARGE_M, STEADY = 180.0 * FT_M, 0.45  # without power data: so far, and so little wandering of the rate about its mean
VERY_LARGE_M, STEADY_IF_LARGE = 250.0 * FT_M, 0.6  # so far: a chased speed makes its rate wander
POWER_SET = 0.05  # of rated power, from the level flight before
KEPT_SHARE = 0.15  # of rated power, most of the while: set once, and left there
BEFORE_S, SETTLED_S = 8.0, 5.0
BACK_SHARE = 0.6  # of the change flown back at once: it was let slip
BACK_S, BACK_MPS = 18.0, 0.6
ROUGH_SHARE = 0.3  # of a large change: leveled off so roughly, it was asked for all the same
WARNED_S = 3.0  # a momentary one may come as the power is taken off
ANCHOR_S = 30.0

ASKED = "inferred: a climb or descent that was asked for"
ENTRY_ALTITUDE = "inferred from the entry"


@dataclass(frozen=True, slots=True)
class Change:
    """A commanded climb (+1) or descent (−1), as indices of the flight's samples: first to last."""

    sign: int
    first: int
    last: int
    told: bool = False  # by the instructor


def commanded_changes(evidence: Evidence, window: tuple[float, float], tolerance_m: float) -> list[Change]:
    """Climbs and descents inside a window that were asked for, in order."""
    part = evidence.flight.span(*window)
    altitude = filled(evidence.altitude_m[part])
    step = evidence.step_s
    if altitude.size < round(3.0 * RATE_S / step) or not np.isfinite(altitude).all():
        return _told(evidence, part)
    climb = mean_over(np.gradient(altitude, step), round(RATE_S / step))
    found: list[Change] = []
    told = _told(evidence, part)
    for sign in (1, -1):
        moving = bridged(sign * climb > MOVING_MPS, round(PAUSE_S / step))
        for a, b in runs(moving):
            first, last = _widened(sign * climb, a, b)
            change = sign * float(altitude[last] - altitude[first])
            least = FIRST_SHARE if first * step < FIRST_S else LEAST_SHARE
            if change < max(LEAST_M, least * tolerance_m) or (last - first) * step < LEAST_S:
                continue
            if _asked(evidence, part, altitude, climb, sign, first, last, change, HELD_SHARE * tolerance_m):
                found.append(Change(sign, part.start + first, part.start + last))
    found = [c for c in found if not any(_common(c, t) for t in told)] + told
    return sorted(found, key=lambda c: c.first)


def _told(evidence: Evidence, part: slice) -> list[Change]:
    """What the instructor says was asked for."""
    out = []
    for start_s, end_s in evidence.asked:
        span = evidence.flight.span(start_s, end_s)
        first, last = max(span.start, part.start), min(span.stop, part.stop) - 1
        if last > first:
            change = evidence.altitude_m[last] - evidence.altitude_m[first]
            out.append(Change(-1 if change < 0.0 else 1, first, last, told=True))
    return out


def _common(one: Change, other: Change) -> bool:
    return one.first <= other.last and one.last >= other.first


def _widened(climb: Array, first: int, end: int) -> tuple[int, int]:
    """Out to where the vertical speed is small on both sides."""
    a, b = first, end - 1
    while a > 0 and climb[a - 1] > STILL_MPS:
        a -= 1
    while b < climb.size - 1 and climb[b + 1] > STILL_MPS:
        b += 1
    return a, b


def _asked(
    evidence: Evidence,
    part: slice,
    altitude: Array,
    climb: Array,
    sign: int,
    first: int,
    last: int,
    change: float,
    held_m: float,
) -> bool:
    step = evidence.step_s
    warning = evidence.flight.get("stall_warning")
    if sign < 0 and warning is not None:
        sounding = np.nan_to_num(warning[part.start + first : part.start + last + 1]) > 0.5
        if float(sounding.sum()) * step > WARNED_S:
            return False  # nobody is asked down through the warning: it sank
    after = evidence.altitude_m[part.start + last : part.start + last + round(BACK_S / step)]
    after = after[np.isfinite(after)]
    if after.size > round(HELD_S / step):
        settled = after[round(SETTLED_S / step) : round((SETTLED_S + HELD_S) / step)]
        if settled.size and float(np.ptp(settled)) > max(held_m, ROUGH_SHARE * change):
            return False
        turned = after[round(3.0 / step) :]
        flown_back = -sign * float(turned[-1] - turned[0]) if turned.size > 3 else 0.0
        if flown_back > max(BACK_MPS * turned.size * step, ROUGH_SHARE * change):
            return False  # at once: it was let slip
        back = sign * (altitude[last] - float(after[round(HELD_S / step) :].mean()))
        returned = sign * (altitude[last] - sign * float((sign * after).min()))
        if back > BACK_SHARE * change or (returned > 0.8 * change):
            return False
    inner = climb[first + (last - first) // 5 : last - (last - first) // 5 + 1]
    wandering = STEADY if change < VERY_LARGE_M else STEADY_IF_LARGE
    steady = inner.size > 2 and float(inner.std()) < wandering * abs(float(inner.mean()))
    set_for_it = _power_set(evidence, part, first, last, sign)
    if set_for_it is not None:
        # So soon the power before it is no level flight's: it is still being set up.
        return set_for_it and (first * step >= BEFORE_S or (steady and _power_kept(evidence, part, first, last)))
    return change >= LARGE_M and steady


def _power_set(evidence: Evidence, part: slice, first: int, last: int, sign: int) -> bool | None:
    """The power was changed that way for it; None where power isn't known."""
    power = evidence.some_power
    if power is None:
        return None
    step = evidence.step_s
    at = part.start + first
    before = power[max(at - round(BEFORE_S / step), 0) : max(at - round(1.0 / step), 1)]
    during = power[at + round(SETTLED_S / step) : part.start + last - round(2.0 / step)]
    before, during = before[np.isfinite(before)], during[np.isfinite(during)]
    if not before.size or during.size < 3:
        return None
    return bool(sign * float(np.median(during) - np.median(before)) > POWER_SET)


def _power_kept(evidence: Evidence, part: slice, first: int, last: int) -> bool:
    """The power was set once and left there, not led back little by little as the airplane ran away from it."""
    power, settling = evidence.some_power, round(SETTLED_S / evidence.step_s)
    if power is None:
        return False
    during = power[part.start + first + settling : part.start + last - settling]
    during = during[np.isfinite(during)]
    return during.size > 2 and float(np.percentile(during, 90.0) - np.percentile(during, 10.0)) < KEPT_SHARE


def level_parts(
    evidence: Evidence, window: tuple[float, float], entry_m: float, tolerance_m: float, low: float, high: float,
    *, given: bool = False,
) -> list[Stretch]:  # fmt: skip
    """The window cut at commanded changes: level stretches with the altitude each is held to, and the changes.

    The first level stretch is held to the entry altitude, unless it was hardly ever near it and held another steadily
    (then to that); the one after a change to what was held after it. low, high : the tolerance. [m] given : the entry
    altitude is not inferred.
    """
    time, altitude = evidence.flight.time_s, evidence.altitude_m
    out: list[Stretch] = []
    at_s, anchor, source = window[0], entry_m, ENTRY_ALTITUDE
    changes = commanded_changes(evidence, window, tolerance_m)
    for change in [*changes, None]:
        until_s = window[1] if change is None else float(time[change.first])
        if change is not None and not change.told:
            part = altitude[evidence.flight.span(at_s, until_s)]
            held = _held_after(part, evidence.step_s, anchor) if out else anchor
            if _led_back(altitude, change, held, 0.6 * tolerance_m):
                continue  # back to the altitude that had been left: a correction
        if until_s - at_s > 1.0:
            part = altitude[evidence.flight.span(at_s, until_s)]
            if out:
                anchor, source = _held_after(part, evidence.step_s, anchor), ASKED
            elif not given:
                instead = held_elsewhere(part - anchor, low, high)
                anchor, source = (anchor, source) if instead is None else (anchor + instead, HELD_INSTEAD)
            out.append(Stretch("level", at_s, until_s, anchor, source))
        if change is not None:
            end_s = float(time[change.last])
            out.append(Stretch("climbing" if change.sign > 0 else "descending", float(time[change.first]), end_s))
            at_s = end_s
    return out


def _led_back(altitude: Array, change: Change, anchor_m: float, near_m: float) -> bool:
    """Began away from the altitude held to, ended near it."""
    return abs(float(altitude[change.first]) - anchor_m) > near_m > abs(float(altitude[change.last]) - anchor_m)


def _held_after(part: Array, step_s: float, fallback: float) -> float:
    seen = part[np.isfinite(part)]
    if seen.size < 2:
        return fallback
    return float(np.median(seen[: max(round(ANCHOR_S / step_s), 2)]))
