"""Grading near the runway: the climb-out, the approach, the touchdown."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import Episode, Stretch
from airwork.maneuvers.grading.causes import arrival, speed
from airwork.maneuvers.grading.causes.flaps import flap_balloon
from airwork.maneuvers.grading.causes.window import feet
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.gate import gate
from airwork.maneuvers.grading.handbook import approach_speed, book_speed, flaps_left_up
from airwork.maneuvers.grading.judge import best_band
from airwork.maneuvers.grading.runway_ends import Touch
from airwork.maneuvers.grading.runway_line import SLOWS_MPS2, place_error_m, rolled_rad, where_touched
from airwork.maneuvers.grading.sheet import NO_AIRSPEED, OTHER_FINALS, SETTLED, Sheet
from airwork.maneuvers.seeing.signal import Array, mean_over, median
from airwork.masks import runs
from airwork.recording.variation import variation_about_rad
from airwork.units import FT_M, to_unit

# From the lift-off the speed may still grow to the climb speed: for so long anyway, and on while it grows by so much,
# 1 kt in 2 s (common practice, no source).
ACCELERATE_S, GROWING_S, GROWS_MPSPS, LOOK_S = 12.0, 25.0, 0.25, 4.0
REACHED = 0.3  # of the tolerance below it
CLIMB_S, LEVEL_S, CLIMBING_MPS = 60.0, 6.0, 1.0  # the climb-out is over when it is level so long, not at the first sag
CLIMB_M = 500.0 * FT_M  # a safe height to lower the nose or turn (common practice, no source): the climb-out is over
FLARE_M = 20.0 * FT_M  # AFH ch. 9: the flare begins at 10 to 20 ft
FOUND_LATE_S, SINKING_MPS, LAST_S, SHORT_S = 3.0, 0.15, 0.7, 0.5  # 30 fpm: slower is the runway's slope, or noise
SLOWED = 0.4
# A go-around: from the power until the climb speed counts; from flaps up to Vy (common practice, no source).
TRANSITION_S, CLEAN_S = 20.0, 12.0
# Times the clean stall; a final is flown at 1.3 times the stall with flaps, a downwind leg at some 1.6 ([AFH] ch. 8: 70
# to 90 kt): finals slower than that were not fast, and what is slower than they is slow.
NEAR_STALL, NOT_FAST = 1.2, 1.6
BEGUN_S, STIRRED = 20.0, 0.2  # before its lowest point; of the way from the approach's power to the full one
OTHERS_AT_LEAST, AGREEING, APPROACHED_S = 2, 0.3, 15.0  # of the tolerance, from one side to the other
SELDOM_S = 1.2  # samples further apart may miss the touch


def climb_speed(
    sheet: Sheet, from_s: float, accelerate_s: float = ACCELERATE_S, *, with_flaps_mps: float | None = None
) -> None:  # fmt: skip
    """Judge the climb speed from when it is reached until the climb-out ends.

    accelerate_s : how long it may take to reach it, from the lift-off or the power; on while it still grows.
    with_flaps_mps : cleaned up in it: from Vx (not known: from this speed) to Vy is right until then, then Vy.
    """
    evidence = sheet.evidence
    ias = evidence.ias_mps
    if ias is None:
        sheet.cannot("ias", NO_AIRSPEED)
        return
    end = _climb_ends(sheet, from_s)
    inferred = _fitting_mps(sheet, ias, from_s + min(accelerate_s, 0.4 * (end - from_s)), end)
    target = sheet.speed_target(inferred, SETTLED, book_speed(evidence, "best_rate_of_climb", at_s=from_s))
    criterion = sheet.task.criterion("ias")
    low = criterion.low if criterion is not None and criterion.low is not None else -2.5
    start = _counts_from(sheet, ias - target, low, (from_s, end), accelerate_s)
    book = None if with_flaps_mps is None else book_speed(evidence, "best_angle_of_climb", at_s=from_s)
    own, steep = book is None, with_flaps_mps if book is None else book.lightest_mps
    if steep is None or steep >= target:
        sheet.over("ias", ias, (start, end), target=target)
    else:
        clean_s = end if own else min(_cleaned_up(sheet, from_s, end) + CLEAN_S, end)
        between = (evidence.flight.time_s <= clean_s) & (ias < target)
        deviation = np.where(between, np.minimum(ias - steep, 0.0), ias - target)
        start = _counts_from(sheet, deviation, low, (from_s, end), accelerate_s)
        slow, fast = sheet.speed_text(steep), sheet.speed_text(target)
        note = f"from the speed flown with the flaps out to the climb's, {slow} to {fast}"
        until = "the flaps were not recorded" if evidence.flaps is None else ""
        until = until or f"until {CLEAN_S:.0f} s after the flaps are up, then Vy"
        note = note if own else f"Vx to Vy ({slow} to {fast}): {until}"
        sheet.over("ias", deviation, (start, end), note=note)
    sheet.stretch(Stretch("climb-out", start, end))
    found = sheet.finding("ias")
    if steep is not None and steep < target and found is not None and found.verdict == "held":
        return  # somewhere between the two is no speed settled beside the faster
    out_s = _longest_out(sheet)
    for span in ((start, end), *(() if out_s is None else (out_s,))):
        cause = speed.speed_settled_off(sheet, target, span)
        if cause is not None:
            sheet.cause(cause)
            return


def _fitting_mps(sheet: Sheet, ias: Array, start_s: float, end_s: float) -> float:
    """The speed whose tolerance holds most of what was flown: nobody named one to be off. [m/s]"""
    part, c = ias[sheet.evidence.flight.span(start_s, end_s)], sheet.task.criterion("ias")
    part = part[np.isfinite(part)]
    if c is None or c.low is None or c.high is None or not part.size:
        return median(part)
    return best_band(part, c.low, c.high)


def with_flaps_mps(evidence: Evidence, from_s: float) -> float:
    """The speed flown with the flaps out up to a moment: an approach's. [m/s]"""
    return evidence.median(evidence.ias_mps, from_s - APPROACHED_S, from_s)


def _counts_from(
    sheet: Sheet, deviation: Array, low: float, span: tuple[float, float], accelerate_s: float
) -> float:  # fmt: skip
    """From when the climb speed counts: reached but for a part of its tolerance, or growing no more after a fair time.

    Counted from the tolerance's edge, whoever speeds up through it would have flown at that edge. [s]
    """
    from_s, end = span
    part = sheet.evidence.flight.span(from_s, min(from_s + max(GROWING_S, accelerate_s), end - 2.0))
    times, off = sheet.time_s[part], deviation[part]
    if not times.size:
        return end - 2.0
    gained = np.interp(times + LOOK_S, sheet.time_s, deviation) - off
    steady = (times >= from_s + accelerate_s) & (gained < GROWS_MPSPS * LOOK_S)
    falling = (off >= low) & (gained < 0.0)
    counts = np.flatnonzero((off >= REACHED * low) | falling | steady)
    return float(times[counts[0]] if counts.size else times[-1])


def _longest_out(sheet: Sheet) -> tuple[float, float] | None:
    """The first excursion of the speed, as long as the longest. [s]"""
    finding = sheet.finding("ias")
    if finding is None or finding.first_excursion_s is None or not finding.longest_excursion_s:
        return None
    return finding.first_excursion_s, finding.first_excursion_s + finding.longest_excursion_s


def _climb_ends(sheet: Sheet, from_s: float) -> float:
    """Where the climb-out ends: level or sinking for some seconds, safely high, or after a minute. [s]"""
    evidence = sheet.evidence
    span = evidence.flight.span(from_s + 3.0, from_s + CLIMB_S)
    gained_m = evidence.altitude_m[span] - evidence.mean(evidence.altitude_m, from_s - 1.0, from_s + 1.0)
    high = np.flatnonzero(gained_m > CLIMB_M)
    span = slice(span.start, span.start + int(high[0])) if high.size else span
    times = evidence.flight.time_s[span]
    if not times.size:
        return sheet.end_s
    climbing = np.flatnonzero(evidence.climb_mps[span] > CLIMBING_MPS)  # sinking on before it climbs is no end of it
    level = runs(evidence.climb_mps[span] < 0.5)
    begun = int(climbing[0]) if climbing.size else 0
    long = [a for a, b in level if (b - a) * evidence.step_s >= LEVEL_S and a >= begun]
    end = float(times[long[0]]) if long else float(times[-1])
    return max(end, sheet.end_s)  # a sag low down is no end of the climb-out


def _cleaned_up(sheet: Sheet, from_s: float, end_s: float) -> float:
    """When the flaps were up, as far as is known; the end where they aren't recorded. [s]"""
    flaps = sheet.evidence.flaps
    if flaps is None:
        return end_s
    part = sheet.evidence.flight.span(from_s, end_s)
    out = np.flatnonzero(np.nan_to_num(flaps[part]) > 0.5)
    return float(sheet.time_s[part][out[-1]]) if out.size else from_s


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


def given_up(sheet: Sheet, lowest_s: float) -> float:
    """When a go-around was begun: the first of the power going up or the flaps; never later than the power. [s]"""
    evidence, flight = sheet.evidence, sheet.evidence.flight
    part = flight.span(lowest_s - BEGUN_S, lowest_s + 8.0)
    times, began = sheet.time_s[part], power_in(sheet, lowest_s)
    power, flaps = evidence.some_power, flight.get("flap_notch")
    if power is not None and np.isfinite(power[part]).all() and times.size:
        low = times < began
        idle = float(power[part][low].min()) if low.any() else 0.0
        steady = np.flatnonzero(low & (power[part] < idle + STIRRED * (float(power[part].max()) - idle)))
        began = min(began, float(times[steady[-1]])) if steady.size else began
    if flaps is not None and times.size:
        raised = np.flatnonzero((flaps[part] < flaps[part][0] - 0.5) & (times < began))
        began = float(times[max(int(raised[0]) - 1, 0)]) if raised.size else began
    return began


def approach_and_touchdown(sheet: Sheet, touch_s: float) -> None:
    """Judge the approach speed from the gate height to the flare; report stability, sink and speed at the touchdown."""
    evidence = sheet.evidence
    start, end = _final(sheet, touch_s)
    if end - start > 3.0:
        settled = evidence.median(evidence.ias_mps, start, end)
        usual = _other_finals(sheet, settled)
        settled_target = sheet.speed_held(
            settled if usual is None else usual, (start, end), SETTLED if usual is None else OTHER_FINALS,
            approach_speed(evidence, start, end),
            note="flaps up on final" * flaps_left_up(evidence, start, end),
        )  # fmt: skip
        _path_flown(sheet, start, end)
        sheet.stretch(Stretch("final", start, end))
        settled_s = (start + SLOWED * (end - start), end)  # at the gate it may still be slowing down
        sheet.cause(speed.speed_settled_off(sheet, settled_target, settled_s))
        sheet.cause(speed.slowed_all_the_way(sheet, settled_target, (start, end)))
        sheet.cause(arrival.path_on_final(sheet, start, end))
        sheet.cause(speed.chasing_airspeed(sheet, start, end, final=True))
        sheet.cause(flap_balloon(sheet, start, end))
    else:
        sheet.cannot("ias", "no approach was recorded")
    at_gate = gate(evidence, touch_s, sheet.kind)
    sheet.number("faults_at_gate", np.nan if at_gate is None else len(at_gate[1]), 0)
    if surely_touched(sheet.episode):
        _touchdown(sheet, touch_s)


def surely_touched(episode: Episode) -> bool:
    """It rolled on its wheels: of a touch that only heights show nothing is said."""
    return episode.facts.get("rolled", 1.0) > 0.0


def _final(sheet: Sheet, touch_s: float) -> tuple[float, float]:
    """From the gate's height to the flare. [s]"""
    evidence = sheet.evidence
    above = evidence.altitude_m - evidence.mean(evidence.altitude_m, touch_s - 0.5, touch_s + 1.0)
    before = evidence.flight.span(touch_s - 120.0, touch_s)
    times = evidence.flight.time_s[before]
    gate = sheet.judging["approach_gate_ft"] * FT_M
    high, low = np.flatnonzero(above[before] > gate), np.flatnonzero(above[before] > FLARE_M)
    start = float(times[high[-1]]) if high.size else float(times[0]) if times.size else sheet.start_s
    return start, float(times[low[-1]]) if low.size else touch_s - 5.0


def _other_finals(sheet: Sheet, settled_mps: float) -> float | None:
    """The speed most of this pilot's finals agree on, where this one is far off it; None otherwise. [m/s]"""
    evidence, criterion = sheet.evidence, sheet.task.criterion("ias")
    if criterion is None or criterion.low is None or criterion.high is None:
        return None
    touches = [e.facts["touch_s"] for e in evidence.episodes if "touch_s" in e.facts]
    others = [touch_s for touch_s in touches if not sheet.start_s <= touch_s <= sheet.end_s]
    speeds = np.array([evidence.median(evidence.ias_mps, *_final(sheet, touch_s)) for touch_s in others])
    usual = float(np.median([*speeds, settled_mps]))  # one bad approach in three condemns no good one
    agreeing = np.abs(speeds - usual) <= AGREEING * (criterion.high - criterion.low)
    if agreeing.sum() < OTHERS_AT_LEAST or agreeing.mean() <= 0.5:
        return None
    if criterion.low <= settled_mps - usual <= criterion.high:
        return None
    # Two may agree on being fast: then the slower one is too slow only near the stall.
    stall = evidence.view.clean_stall_mps
    slow = usual < NOT_FAST * stall or not settled_mps > NEAR_STALL * stall
    return usual if settled_mps > usual or slow else None


def _path_flown(sheet: Sheet, start_s: float, end_s: float) -> None:
    """Mean sink and path on final."""
    evidence = sheet.evidence
    part = evidence.flight.span(start_s, end_s)
    sink = -evidence.climb_mps[part]
    sheet.number("mean_sink_on_final_fpm", to_unit(float(sink.mean()), "fpm"), 0)
    ground = evidence.mean(evidence.flight.get("groundspeed_mps"), start_s, end_s)
    if ground > 5.0:
        sheet.number("mean_path_on_final_deg", float(np.degrees(np.arctan2(float(sink.mean()), ground))))


def _sink_at_touch(sheet: Sheet, touch_s: float) -> float:
    """The largest sink held for half a second, up to the last moment it sank before the wheels were on. [m/s]

    A mean over the flare tells less than the wheels felt, and where the wheels are found a second late the sink is
    over by then. Heights alone don't show the last second: NaN where no vertical speed was recorded, or too seldom.
    """
    evidence = sheet.evidence
    column = evidence.flight.columns.get("vertical_speed_mps")
    if column is None or column.known != "measured" or evidence.step_s > SELDOM_S:
        return float("nan")
    sink = -np.nan_to_num(column.values[evidence.flight.span(touch_s - FOUND_LATE_S, touch_s)])
    sunk = sink > SINKING_MPS
    if evidence.step_s < SHORT_S:  # a single sample of it, rolling, is the instrument's noise
        sunk[1:] &= sunk[:-1]
    sinking = np.flatnonzero(sunk)
    end = int(sinking[-1]) + 1 if sinking.size else sink.size
    width = max(1, round(SHORT_S / evidence.step_s))
    last = sink[max(0, end - max(width, round(LAST_S / evidence.step_s))) : end]
    return float(mean_over(last, width).max()) if last.size >= width else float("nan")


def _touchdown(sheet: Sheet, touch_s: float) -> None:
    evidence = sheet.evidence
    sink = _sink_at_touch(sheet, touch_s)
    sheet.cause(arrival.flare(sheet, touch_s, sink))
    sheet.number("touchdown_sink_fpm", to_unit(max(0.0, sink), "fpm") if np.isfinite(sink) else float("nan"), 0)
    within_kt = to_unit(SLOWS_MPS2 * evidence.touch_within_s, "kt")
    for name, speed_mps in (("ias", evidence.ias_mps), ("groundspeed", evidence.flight.get("groundspeed_mps"))):
        met = evidence.mean(speed_mps, touch_s - 0.5, touch_s + 0.5)
        sheet.number(f"touchdown_{name}_kt", to_unit(met, "kt"))
        if np.isfinite(met) and within_kt > 0.5:
            sheet.number(f"touchdown_{name}_within_kt", within_kt, 0)
    for name in ("latitude", "longitude"):
        values = evidence.flight.get(f"{name}_rad")
        if values is not None:
            where = float(values[evidence.flight.index_at(touch_s)])
            sheet.number(f"touchdown_{name}_deg", to_unit(where, "deg"), 6)
    _place(sheet, touch_s)


def _runway(evidence: Evidence, touch_s: float, where: Touch | None) -> float:
    """The runway's number: the published one's, else by the magnetic direction of the roll; NaN where not known."""
    if where is not None and where.end.name[:2].isdigit():
        return float(where.end.name[:2])
    rolled = rolled_rad(evidence, touch_s)
    latitude, longitude = (evidence.flight.get(f"{name}_rad") for name in ("latitude", "longitude"))
    if rolled is None or latitude is None or longitude is None:
        return float("nan")
    k = evidence.flight.index_at(touch_s)
    east = variation_about_rad(float(latitude[k]), float(longitude[k]), evidence.flight.start_utc_s)
    return float("nan") if east is None else float(round(to_unit(rolled - east, "deg") / 10.0) % 36 or 36)


def _place(sheet: Sheet, touch_s: float) -> None:
    """How far beyond the threshold and beside the center line; against the point chosen, where that was said."""
    where = where_touched(sheet.evidence, touch_s)
    sheet.number("runway", _runway(sheet.evidence, touch_s, where), 0)
    if where is None:
        return
    error = place_error_m(sheet.evidence, touch_s)
    sheet.number("touchdown_beyond_threshold_ft", to_unit(where.beyond_m, "ft"), 0)
    sheet.number("touchdown_beyond_threshold_within_ft", to_unit(error, "ft"), 0)
    sheet.number("touchdown_right_of_center_ft", to_unit(where.right_m, "ft"), 0)
    beside = f"{feet(where.right_m)} {'right' if where.right_m > 0.0 else 'left'} of the center line"
    said = f"{feet(where.beyond_m)} {'beyond' if where.beyond_m > 0.0 else 'short of'} the threshold, {beside}"
    note = f"{said} of runway {where.end.name}, {where.end.airport}, as published (good to some {feet(error)})"
    chosen = sheet.evidence.lesson_target(sheet.kind, "touchdown_m")
    if chosen is None:
        sheet.not_asked("touchdown_distance", f"the chosen touchdown point is not known; touched {note}")
        return
    sheet.set_target("touchdown", chosen, "ft", sheet.evidence.target_from("touchdown_m"))
    sheet.once("touchdown_distance", [where.beyond_m - chosen], error=error, note=f"touched {note}")
