"""Grading climbs and descents: speed once settled, heading where straight, the level-off."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import Episode, Grade, Stretch
from airwork.maneuvers.grading.causes import levelling, speed
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import handbook_ias_mps
from airwork.maneuvers.grading.meant import another_speed_meant
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.grading.straights import held_heading
from airwork.maneuvers.seeing.signal import Array, first_true
from airwork.masks import runs
from airwork.units import FPM_MPS, FT_M, to_unit

SETTLE_S, LEVEL_OFF_S = 12.0, 8.0
NEAR_MPS, EARLIEST_S, STEADY_S = 1.5, 3.0, 10.0  # 3 kt; so little change in so long is no slowing down
LEVEL_MPS, STILL_MPS, HELD_S, LEVEL_WITHIN_S = 1.5, 0.5, 14.0, 70.0
BACK_S, LEAST_BACK_M, MOST_BACK_M, GENTLE_MPS = 34.0, 60.0 * FT_M, 350.0 * FT_M, 450.0 * FPM_MPS
TOP_M, TOP_S = 30.0 * FT_M, 12.0  # a hop through the altitude; who stays there longer was asked up there (no source)
SOON_S, SOON_SHARE = 6.0, 0.15  # into it; half of what a steady way back has made by then (no source)
STAYED_MPS = 0.8  # 160 fpm: settling; what goes through an altitude is soon faster on its way back (no source)
FAR_M, TURNED_RAD = 200.0 * FT_M, np.radians(45.0)  # out of the tolerance; no correction of a heading (no source)
NEAR_M = 400.0 * FT_M  # of the altitude asked for: twice the tolerance (no source)
ARRIVES_S = 150.0  # from a base leg to the touch (common practice, no source)
AFTER_S = (4.0, 14.0)  # level flight after it: the altitude wanted


def grade_leg(episode: Episode, evidence: Evidence, direction: float) -> Grade:
    """A climb (+1) or descent (−1)."""
    sheet = Sheet(episode, evidence)
    start, end = episode.start_s, episode.end_s
    settle = min(SETTLE_S, (end - start) / 4.0)
    window = (start + settle, max(end - min(LEVEL_OFF_S, 0.2 * (end - start)), start + settle + 1.0))
    name = "best_rate_of_climb" if direction > 0.0 else ""
    book = handbook_ias_mps(evidence, name, at_s=0.5 * (start + end)) if name else None
    arrives = direction < 0.0 and _arrives(evidence, end)
    window = _before_slowing(sheet, window, start) if arrives else reached(sheet, window, start)
    target = sheet.speed_held(
        evidence.median(evidence.ias_mps, *window), window, told_mps=book, told="best rate of climb by the handbook"
    )
    another_speed_meant(sheet, target, window)
    held_heading(sheet, window)
    level_off(sheet, end, direction)
    sheet.number("mean_vertical_speed_fpm", to_unit(evidence.mean(evidence.climb_mps, *window), "fpm"), 0)
    sheet.stretch(Stretch("entry", start, window[0]))
    sheet.stretch(Stretch("established", *window))
    sheet.stretch(Stretch("level-off", window[1], end))
    sheet.cause(speed.chasing_airspeed(sheet, *window))
    sheet.cause(speed.speed_settled_off(sheet, target, window))
    return sheet.grade()


def _arrives(evidence: Evidence, end_s: float) -> bool:
    """The wheels touch within minutes of the descent's end: it slows for the approach, and holds no speed there."""
    return any(c.touches and 0.0 <= c.time_s - end_s <= ARRIVES_S for c in evidence.flight.contacts)


def _before_slowing(sheet: Sheet, window: tuple[float, float], start_s: float) -> tuple[float, float]:
    """The speed first settled on, to when it is last near it: from there on it slows down for the field in steps."""
    ias, early = sheet.evidence.ias_mps, (window[0], 0.5 * (window[0] + window[1]))
    if ias is None:
        return window
    first = reached(sheet, early, start_s)
    part = sheet.evidence.flight.span(first[0], window[1])
    near = np.flatnonzero(np.abs(ias[part] - sheet.evidence.median(ias, *first)) < NEAR_MPS)
    last = float(sheet.time_s[part][near[-1]]) if near.size else window[1]
    return first[0], max(last, first[0] + STEADY_S)


def _level_after(sheet: Sheet, end_s: float) -> tuple[float, float] | None:
    """The first level stretch within a minute or so after the leg that lasts. [s]"""
    part = sheet.evidence.flight.span(end_s, end_s + LEVEL_WITHIN_S)
    level = (np.abs(sheet.evidence.climb_mps[part]) < STILL_MPS) & sheet.evidence.airborne[part]
    length = round(HELD_S / sheet.evidence.step_s)
    times = sheet.time_s[part]
    return next(((float(times[a]), float(times[a + length - 1])) for a, b in runs(level) if b - a >= length), None)


def _back_and_held(sheet: Sheet, end_s: float, direction: float) -> tuple[float, float] | None:
    """Gone through an altitude, back to it at once and held there, in whatever air: where it was held. [s]"""
    evidence = sheet.evidence
    part = evidence.flight.span(end_s - TOP_S, end_s + LEVEL_WITHIN_S)
    altitude, times, length = evidence.altitude_m[part], sheet.time_s[part], round(HELD_S / evidence.step_s)
    if altitude.size <= length or not (np.isfinite(altitude).all() and evidence.airborne[part].all()):
        return None
    top = int(np.argmax(direction * altitude[: int(np.searchsorted(times, end_s + TOP_S))]))
    if altitude.size - top < length:
        return None  # the recording, or this leg's surroundings, end before it could be held
    beyond = direction * (altitude[top] - altitude)
    windows = np.lib.stride_tricks.sliding_window_view(altitude[top:], length)
    still = np.flatnonzero(np.ptp(windows, axis=1) < STILL_MPS * HELD_S) + top
    if not still.size or (beyond < TOP_M).sum() * evidence.step_s > TOP_S:
        return None
    first = int(still[0])
    short = LEAST_BACK_M < beyond[first : first + length].mean() < MOST_BACK_M
    return (float(times[first]), float(times[first + length - 1])) if short else None


def reached(
    sheet: Sheet, window: tuple[float, float], start_s: float, *, left: bool = False
) -> tuple[float, float]:  # fmt: skip
    """From when the speed was reached: slowing from 115 to 80 kt takes half a minute, and no speed is held by then.

    Reached is near what was settled on, whichever speed was wanted; at most half of the leg is left out. left : to when
    it was last near it, where the leg ends with speeding up; and a steady other speed before it is no slowing down.
    """
    ias = sheet.evidence.ias_mps
    if ias is None:
        return window
    part = sheet.evidence.flight.span(start_s, window[1])
    settled = sheet.evidence.median(ias, 0.5 * (window[0] + window[1]), window[1])
    near = np.flatnonzero(np.abs(ias[part] - settled) < NEAR_MPS)
    latest = 0.5 * (window[0] + window[1])
    at = float(sheet.time_s[part][near[0]]) if near.size else latest
    last = float(sheet.time_s[part][near[-1]]) if left and near.size else window[1]
    if left:
        t, then = sheet.time_s[part], np.interp(sheet.time_s[part] + STEADY_S, sheet.time_s[part], ias[part])
        steady = (np.abs(then - ias[part]) < NEAR_MPS) & (np.abs(ias[part] - settled) > 2.0 * NEAR_MPS)
        at = min([at, *t[steady & (t >= window[0]) & (t + STEADY_S < at)]])
    return min(max(at, start_s + EARLIEST_S), latest), max(last, latest + 1.0)


def _flown_back_to(sheet: Sheet, around_end: Array, end_s: float, direction: float) -> float | None:
    """Gone through the altitude and coming back at once and gently, not there yet: so far at least. [m]

    What goes on later from where it was leveled is another climb or descent.
    """
    evidence = sheet.evidence
    part = evidence.flight.span(end_s + AFTER_S[0], end_s + BACK_S)
    after = evidence.altitude_m[part]
    if after.size * evidence.step_s < 0.5 * BACK_S or not np.isfinite(after).all():
        return None
    beyond = direction * float(np.nanmax(direction * around_end)) - after
    back, soon = direction * float(beyond[-1]), direction * float(beyond[: round(SOON_S / evidence.step_s) + 1][-1])
    if soon < SOON_SHARE * back or np.abs(evidence.climb_mps[part]).max() > 2.0 * GENTLE_MPS:
        return None
    rate = back / BACK_S
    return float(after[-1]) if LEAST_BACK_M < back < MOST_BACK_M and rate < GENTLE_MPS else None


def _left_for(sheet: Sheet, end_s: float, after: tuple[float, float], direction: float) -> bool:
    """Stayed at the top, or flown on in a turn from it to what was then held: what went through an altitude is put
    right at once, where it is."""
    evidence, held = sheet.evidence, sheet.evidence.median(sheet.evidence.altitude_m, *after)
    part = evidence.flight.span(end_s - 6.0, after[0])
    beyond = direction * (evidence.altitude_m[part] - held)
    most = float(np.nanmax(beyond, initial=-np.inf))
    whole = evidence.flight.span(end_s - 6.0, after[1])
    near = direction * (evidence.altitude_m[whole] - held) > most - TOP_M
    stayed_s = float((near & (np.abs(evidence.climb_mps[whole]) < STAYED_MPS)).sum()) * evidence.step_s
    if most > levelling.OFF_M and stayed_s > TOP_S:
        return True
    if not most > FAR_M:
        return False
    top = int(np.nanargmax(beyond))
    way = slice(part.start + top, part.start + top + first_true(beyond[top:] < 0.5 * FAR_M, beyond.size - 1 - top) + 1)
    return evidence.heading_rad is not None and float(np.ptp(evidence.heading_rad[way])) > TURNED_RAD


def _asked_for_here(sheet: Sheet) -> float | None:
    """The lesson's altitude to level off at, of the leg that ended near it: the way home is another. [m]"""
    evidence = sheet.evidence
    lesson = evidence.lesson_target(sheet.kind, "level_off_altitude_m")
    if lesson is None or "level_off_altitude_m" in evidence.whose:
        return lesson
    ends_s = [e.end_s for e in evidence.episodes if e.kind == sheet.kind]
    off = [abs(evidence.mean(evidence.altitude_m, end - 0.5, end + 0.5) - lesson) for end in (sheet.end_s, *ends_s)]
    return lesson if off[0] <= max(float(np.nanmin(off)), NEAR_M) else None


def level_off(sheet: Sheet, end_s: float, direction: float) -> None:
    """Judge the level-off against the lesson's altitude, else against what was held afterwards.

    direction : −1 after a descent, +1 after a climb: how far it went beyond.
    """
    evidence = sheet.evidence
    lesson = _asked_for_here(sheet)
    part = evidence.altitude_m[evidence.flight.span(end_s - 6.0, end_s + AFTER_S[0])]
    after = (end_s + AFTER_S[0], end_s + AFTER_S[1])
    found = _level_after(sheet, end_s) or _back_and_held(sheet, end_s, direction)
    after = after if found is None else found
    held = evidence.median(evidence.altitude_m, *after)
    if not np.isfinite(part).any() or not np.isfinite(held):
        sheet.cannot("level_off_altitude", "the recording ends before the level-off")
        return
    if not evidence.airborne[evidence.flight.span(*after)].all():
        sheet.not_asked("level_off_altitude", "it was followed by the landing")
        return
    back_m = _flown_back_to(sheet, part, end_s, direction) if lesson is None and found is None else None
    if back_m is not None or (lesson is None and evidence.mean(np.abs(evidence.climb_mps), *after) > LEVEL_MPS):
        sheet.not_asked("level_off_altitude", "it was not followed by level flight")
        if back_m is not None:
            sheet.cause(levelling.level_off_lead(sheet, back_m, direction))
        return
    wanted = held if lesson is None else lesson
    extreme = float(np.nanmin(part) if direction < 0 else np.nanmax(part))
    if lesson is None and direction * (held - extreme) > levelling.OFF_M:
        sheet.not_asked("level_off_altitude", "it paused, and went on to what was then held")
        return
    if lesson is None and _left_for(sheet, end_s, after, direction):
        sheet.not_asked("level_off_altitude", "it was leveled off, and flown on to another altitude")
        return
    worst = extreme if abs(extreme - wanted) > abs(held - wanted) else held
    sheet.set_target("level_off_altitude", wanted, "ft", "lesson" if lesson is not None else "what was held afterwards")
    sheet.once("level_off_altitude", [worst - wanted], error=sheet.altitude_known()[1])
    sheet.cause(levelling.level_off_lead(sheet, wanted, direction))
