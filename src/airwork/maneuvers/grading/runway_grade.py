"""Grading near the runway: the climb-out, the approach, the touchdown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.episode import Stretch
from airwork.maneuvers.grading.causes import arrival, speed, stalling
from airwork.maneuvers.grading.handbook import handbook_ias_mps
from airwork.maneuvers.grading.sheet import NO_AIRSPEED, SETTLED
from airwork.maneuvers.seeing.signal import mean_over, runs
from airwork.units import FT_M, to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.grading.sheet import Sheet

ACCELERATE_S = 12.0  # from the lift-off the speed may still grow to the climb speed
CLIMB_S, LEVEL_S = 60.0, 6.0  # the climb-out is over when it is level so long, not at the first sag
FLARE_M = 20.0 * FT_M  # AFH ch. 9: the flare begins at 10 to 20 ft
TOUCH_S, SHORT_S = 2.0, 0.5


def climb_speed(sheet: Sheet, from_s: float, accelerate_s: float = ACCELERATE_S) -> None:
    """Judge the climb speed from when it is reached until the climb-out ends.

    accelerate_s : the longest it may take to reach it, from the lift-off or the power; then it counts anyway.
    """
    evidence = sheet.evidence
    ias = evidence.ias_mps
    if ias is None:
        sheet.cannot("ias", NO_AIRSPEED)
        return
    end = _climb_ends(sheet, from_s)
    inferred = evidence.median(ias, from_s + 0.4 * (end - from_s), end)
    target = sheet.speed_target(inferred, SETTLED, handbook_ias_mps(evidence, "best_rate_of_climb", at_s=from_s))
    criterion = sheet.task.criterion("ias")
    low = criterion.low if criterion is not None and criterion.low is not None else -2.5
    latest = min(from_s + accelerate_s, end - 2.0)
    part = evidence.flight.span(from_s, latest)
    reached = np.flatnonzero(ias[part] >= target + low)
    start = float(evidence.flight.time_s[part][reached[0]]) if reached.size else latest
    sheet.over("ias", ias, (start, end), target=target)
    sheet.stretch(Stretch("climb-out", start, end))
    sheet.cause(speed.speed_settled_off(sheet, target, (start, end)))


def _climb_ends(sheet: Sheet, from_s: float) -> float:
    """Where the climb-out ends: level or sinking for some seconds, at the latest after a minute. [s]"""
    evidence = sheet.evidence
    span = evidence.flight.span(from_s + 3.0, from_s + CLIMB_S)
    times = evidence.flight.time_s[span]
    if not times.size:
        return sheet.end_s
    level = runs(evidence.climb_mps[span] < 0.5)
    long = [a for a, b in level if (b - a) * evidence.step_s >= LEVEL_S]
    end = float(times[long[0]]) if long else float(times[-1])
    return max(end, min(sheet.end_s, from_s + 10.0))


def power_in(sheet: Sheet, lowest_s: float) -> float:
    """When the power came for a go-around: where it is first most of what it then was; the lowest point unknown. [s]"""
    power = sheet.evidence.some_power
    if power is None:
        return lowest_s
    part = sheet.evidence.flight.span(lowest_s - 12.0, lowest_s + 8.0)
    seen = power[part]
    if not np.isfinite(seen).all() or seen.size < 3:
        return lowest_s
    wanted = seen[0] + 0.7 * (float(seen.max()) - seen[0])
    return float(sheet.time_s[part][int(np.argmax(seen >= wanted))])


def approach_and_touchdown(sheet: Sheet, touch_s: float) -> None:
    """Judge the approach speed from the gate height to the flare; report stability, sink and speed at the touchdown."""
    evidence, flight = sheet.evidence, sheet.evidence.flight
    above = evidence.altitude_m - evidence.mean(evidence.altitude_m, touch_s - 0.5, touch_s + 1.0)
    before = flight.span(touch_s - 120.0, touch_s)
    times = flight.time_s[before]
    gate = sheet.judging["approach_gate_ft"] * FT_M
    high, low = np.flatnonzero(above[before] > gate), np.flatnonzero(above[before] > FLARE_M)
    start = float(times[high[-1]]) if high.size else float(times[0]) if times.size else sheet.start_s
    end = float(times[low[-1]]) if low.size else touch_s - 5.0
    if end - start > 3.0:
        settled = evidence.median(evidence.ias_mps, start, end)
        settled_target = sheet.speed_held(
            settled, (start, end), handbook_mps=handbook_ias_mps(evidence, "approach_flaps_full")
        )
        _stability(sheet, start, end)
        sheet.stretch(Stretch("final", start, end))
        sheet.cause(speed.speed_settled_off(sheet, settled_target, (start, end)))
        sheet.cause(arrival.path_on_final(sheet, start, end))
        sheet.cause(speed.chasing_airspeed(sheet, start, end))
        sheet.cause(stalling.flap_balloon(sheet, start, end))
    else:
        sheet.cannot("ias", "no approach was recorded")
    _touchdown(sheet, touch_s)


def _stability(sheet: Sheet, start_s: float, end_s: float) -> None:
    """Sink, path and bank on final: AFH ch. 9 targets, not pass or fail."""
    evidence = sheet.evidence
    part = evidence.flight.span(start_s, end_s)
    sink = -evidence.climb_mps[part]
    sheet.number("mean_sink_on_final_fpm", to_unit(float(sink.mean()), "fpm"), 0)
    sheet.number("max_sink_on_final_fpm", to_unit(float(sink.max()), "fpm"), 0)
    ground = evidence.mean(evidence.flight.get("groundspeed_mps"), start_s, end_s)
    if ground > 5.0:
        sheet.number("mean_path_on_final_deg", float(np.degrees(np.arctan2(float(sink.mean()), ground))))
    if evidence.bank_rad is not None and np.isfinite(evidence.bank_rad[part]).any():
        sheet.number("max_bank_on_final_deg", float(np.degrees(np.nanmax(np.abs(evidence.bank_rad[part])))))


def _sink_at_touch(sheet: Sheet, touch_s: float) -> float:
    """The largest sink held for half a second in the last two before the wheels touch. [m/s]

    A mean over the flare tells less than the wheels felt.
    """
    evidence = sheet.evidence
    rate = evidence.flight.get("vertical_speed_mps")
    rate = evidence.climb_mps if rate is None else rate
    part = rate[evidence.flight.span(touch_s - TOUCH_S, touch_s)]
    part = part[np.isfinite(part)]
    width = max(1, round(SHORT_S / evidence.step_s))
    return float(-mean_over(part, width).min()) if part.size > width else float("nan")


def _touchdown(sheet: Sheet, touch_s: float) -> None:
    evidence = sheet.evidence
    sink = _sink_at_touch(sheet, touch_s)
    sheet.cause(arrival.flare(sheet, touch_s, sink))
    sheet.number("touchdown_sink_fpm", to_unit(max(0.0, sink), "fpm") if np.isfinite(sink) else float("nan"), 0)
    sheet.number("touchdown_ias_kt", to_unit(evidence.mean(evidence.ias_mps, touch_s - 0.5, touch_s + 0.5), "kt"))
    ground = evidence.mean(evidence.flight.get("groundspeed_mps"), touch_s - 0.5, touch_s + 0.5)
    sheet.number("touchdown_groundspeed_kt", to_unit(ground, "kt"))
    for name in ("latitude", "longitude"):
        values = evidence.flight.get(f"{name}_rad")
        if values is not None:
            where = float(values[evidence.flight.index_at(touch_s)])
            sheet.number(f"touchdown_{name}_deg", to_unit(where, "deg"), 6)
