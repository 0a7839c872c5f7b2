"""Grading climbs and descents: speed once settled, heading where straight, the level-off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.grading.causes import levelling, speed
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.grading.straights import held_heading
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.grading.evidence import Evidence

SETTLE_S, LEVEL_OFF_S = 12.0, 8.0
LEVEL_MPS = 1.5
AFTER_S = (4.0, 14.0)  # level flight after it: the altitude wanted


def grade_leg(episode: Episode, evidence: Evidence, direction: float) -> Grade:
    """A climb (+1) or descent (−1)."""
    sheet = Sheet(episode, evidence)
    start, end = episode.start_s, episode.end_s
    settle = min(SETTLE_S, 0.25 * (end - start))
    window = (start + settle, max(end - min(LEVEL_OFF_S, 0.2 * (end - start)), start + settle + 1.0))
    sheet.speed_held(evidence.median(evidence.ias_mps, *window), window)
    held_heading(sheet, window)
    level_off(sheet, end, direction)
    sheet.number("mean_vertical_speed_fpm", to_unit(evidence.mean(evidence.climb_mps, *window), "fpm"), 0)
    sheet.cause(speed.chasing_airspeed(sheet, *window))
    return sheet.grade()


def level_off(sheet: Sheet, end_s: float, direction: float) -> None:
    """Judge the level-off against the lesson's altitude, else against what was held afterwards.

    direction : −1 after a descent, +1 after a climb: how far it went beyond.
    """
    evidence = sheet.evidence
    lesson = evidence.lesson_target(sheet.kind, "level_off_altitude_m")
    part = evidence.altitude_m[evidence.flight.span(end_s - 3.0, end_s + AFTER_S[0])]
    held = evidence.median(evidence.altitude_m, end_s + AFTER_S[0], end_s + AFTER_S[1])
    later = evidence.mean(np.abs(evidence.climb_mps), end_s + AFTER_S[0], end_s + AFTER_S[1])
    if not np.isfinite(part).any() or not np.isfinite(held):
        sheet.cannot("level_off_altitude", "the recording ends before the level-off")
        return
    if lesson is None and later > LEVEL_MPS:
        sheet.cannot("level_off_altitude", "it was not followed by level flight")
        return
    wanted = held if lesson is None else lesson
    extreme = float(np.nanmin(part) if direction < 0 else np.nanmax(part))
    worst = extreme if abs(extreme - wanted) > abs(held - wanted) else held
    sheet.set_target("level_off_altitude", wanted, "ft", "lesson" if lesson is not None else "what was held afterwards")
    sheet.once("level_off_altitude", [worst - wanted])
    sheet.cause(levelling.level_off_lead(sheet, wanted, direction))
