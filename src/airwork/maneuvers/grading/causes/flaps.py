"""Causes in moving the flaps: a balloon, a sink, all at once in a go-around, left out in the climb. [AFH] chapter 9."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import Window, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import mean_over
from airwork.masks import runs
from airwork.units import FT_M

BALLOON_M, BALLOON_S, RATE_S = 100.0 * FT_M, 12.0, 6.0  # less is what the flaps do by themselves
FLAP_SHARE = 0.6  # of the change of height that the rate before doesn't explain
NOT_YET_M = 10.0 * FT_M  # above where it was begun: no climb yet
NOTCHES, PAUSE_S, LOW_M = 2.0, 3.0, 90.0  # electric flaps take some 2 s from notch to notch
LEFT_OUT_S, LEFT_OUT_WITHIN_S = 20.0, 120.0  # the first notch goes at once (AFH ch. 9); the times are airwork's own
MOST_POWER = 0.75  # of what it has in the climb; level at approach speed takes half of it (no source)
NOTCHES_AT_MOST, LEAST_DOWN_DEG, STILL_DEGPS = 6, 15.0, 0.6  # more positions than notches: recorded on the way


def flap_balloon(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Altitude jumped when the flaps were set, or sank when they were raised, beyond what the rate before explains."""
    w = window(sheet, start_s - RATE_S, end_s)
    position, altitude = w.of(sheet.evidence.flaps), w.of(sheet.evidence.altitude_m)
    if position is None or altitude is None:
        return None
    step = sheet.evidence.step_s
    climb = mean_over(np.gradient(altitude, step), round(2.0 / step))
    best: Cause | None = None
    for k in np.flatnonzero(np.abs(np.diff(np.round(position))) > 0):
        end = w.after(int(k), BALLOON_S)
        down = bool(position[min(int(k) + 1, position.size - 1)] > position[int(k)])
        sign = 1.0 if down else -1.0
        before = climb[max(int(k) - round(RATE_S / step), 0) : int(k) + 1]
        went_on = float(np.median(before)) * (np.arange(end - int(k) + 1) * step)
        part = sign * (altitude[int(k) : end + 1] - altitude[int(k)])
        own = sign * (altitude[int(k) : end + 1] - altitude[int(k)] - went_on)
        change, at = float(part.max()), int(part.argmax())
        size = change / sheet.tolerance("altitude", 100.0 * FT_M)
        if change < BALLOON_M or float(own[at]) < FLAP_SHARE * change or (best is not None and size <= best.weight):
            continue
        begin, stop = w.seconds(int(k), int(k) + at)
        if down:
            best = Cause(
                f"The airplane ballooned {feet(change)} when the flaps went down.",
                "Lower the nose as the flaps come out; know the pitch for each notch and trim for it.",
                begin, stop, size, "flap balloon", "late",
            )  # fmt: skip
        else:
            best = Cause(
                f"{feet(change)} were lost when the flaps came up.",
                "Raise the flaps in steps, and raise the nose a little with each.",
                begin, stop, size, "flap sink", "late",
            )  # fmt: skip
    return best


def flaps_at_once(sheet: Sheet, power_s: float, end_s: float) -> Cause | None:
    """Flaps all the way up low down, without a pause at a notch on the way: to the middle notch at once is right."""
    w = window(sheet, power_s, end_s)
    altitude = w.of(sheet.evidence.altitude_m)
    way = _flaps_on_the_way(w)
    if way is None or altitude is None:
        return None
    first, last, paused_s = way
    if paused_s > PAUSE_S or float(altitude[last] - altitude.min()) > LOW_M:
        return None
    begin, end = w.seconds(first, last)
    gained = float(altitude[last] - altitude[0])
    side = "above" if gained > 0.0 else "below"
    where = "before it climbed" if abs(gained) < NOT_YET_M else f"{feet(gained)} {side} the height of the power"
    took = max(end - begin, 1.0)
    return Cause(
        f"The flaps came all the way up without a stop, in {took:.0f} s: up {where}.",
        "One notch at once; the rest in steps with a positive climb and the speed for each.",
        begin, begin + took, 1.0, "flaps at once", "too big", grave=gained < NOT_YET_M,
    )  # fmt: skip


def flaps_left_out(sheet: Sheet, power_s: float) -> Cause | None:
    """The flaps of the approach carried up the climb: with full flaps many light singles hardly climb."""
    w = window(sheet, power_s, power_s + LEFT_OUT_WITHIN_S)
    set_to = w.of(sheet.evidence.flaps)
    if set_to is None or not float(set_to[0]) > 0.5:
        return None
    power = w.of(sheet.evidence.some_power)
    if power is not None:  # flown along the runway first, it is gone around from where most of the power comes
        power_s = float(w.time_s[int(np.argmax(power >= MOST_POWER * power.max()))])
    moved = np.flatnonzero(set_to < set_to[0] - 0.5)
    left_s = float(w.time_s[moved[0] if moved.size else -1]) - power_s
    if left_s < LEFT_OUT_S:
        return None
    return Cause(
        f"The flaps stayed as they were for the approach for {left_s:.0f} s after the power.",
        "Power, pitch, then the first notch at once: the rest in steps with a positive climb.",
        power_s, power_s + left_s, left_s / LEFT_OUT_S, "flaps left out", "late",
    )  # fmt: skip


def _flaps_on_the_way(w: Window) -> tuple[int, int, float] | None:
    """(last sample well down, first up, longest rest between [s]); None where they didn't come up or aren't known."""
    flight, step = w.sheet.evidence.flight, w.sheet.evidence.step_s
    degrees_down = w.of(flight.get("flap_deg"))
    if degrees_down is not None and np.unique(np.round(degrees_down)).size > NOTCHES_AT_MOST:  # seen while they move
        most = float(degrees_down.max())
        down, up = np.flatnonzero(degrees_down > 0.9 * most), np.flatnonzero(degrees_down < 0.05 * most)
        if most < LEAST_DOWN_DEG or not down.size or not up[up > down[-1]].size:
            return None
        first, last = int(down[-1]), int(up[up > down[-1]][0])
        rests = runs(np.abs(np.gradient(degrees_down[first : last + 1], step)) < STILL_DEGPS)
        inner = [(b - a) * step for a, b in rests if a > 0 and b <= last - first]
        return first, last, max(inner, default=0.0)
    position = w.of(flight.get("flap_notch"))
    if position is None:
        return None
    notch = np.round(position)
    out, up = np.flatnonzero(notch >= max(NOTCHES, float(np.nanmax(notch, initial=0.0)))), np.flatnonzero(notch < 1.0)
    if not out.size or not up.size or up[0] < out[-1]:
        return None
    first, last = int(out[-1]), int(up[0])
    between = notch[first + 1 : last]
    paused = max((b - a for n in np.unique(between) for a, b in runs(between == n)), default=0) * step
    return first, last, paused
