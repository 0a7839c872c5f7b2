"""Level turn: a turn at ordinary bank to a heading, altitude and speed held.

In the data: one level turn through half a circle or more at 10 to 35° of bank. A smaller turn is a change of course and
is not claimed, except in a lesson that has level turns in it. Not it: a steep turn, a clearing turn, the turns inside
any other maneuver.
Judged by the task `level_turn`: altitude, roll-out heading, airspeed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.angles import turn_from_to_rad, wrap_positive_rad
from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, mean_agl_m, side
from airwork.maneuvers.sheet import ENTRY, LESSON, NO_HEADING, Sheet
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.straights import heading_note

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "level_turn"
TITLE = "Level turn"

COURSE_DEG, HALF_DEG = 75.0, 150.0  # below: a change of course
LEAST_DEG = 60.0
STEEP_DEG, TOO_STEEP_DEG = 33.0, 42.0
LEVEL_MPS, SINKING_MPS = 1.6, 3.2


def propose(view: View) -> list[Episode]:
    """Every level turn through much of a circle."""
    out = []
    for turn in view.turns:
        if turn.change_deg < LEAST_DEG:
            continue
        slow = turn.speed_least_mps / view.clean_stall_mps if np.isfinite(view.clean_stall_mps) else 1.6
        agl = mean_agl_m(view, turn.first, turn.last)
        score = (
            (0.3 + 0.7 * ramp(turn.change_deg, COURSE_DEG, HALF_DEG))
            * ramp(turn.bank_deg, TOO_STEEP_DEG, STEEP_DEG)
            * ramp(abs(turn.climb_mps), SINKING_MPS, LEVEL_MPS)
            * ramp(slow, 1.15, 1.36)
            * (1.0 if not np.isfinite(agl) else ramp(agl, 120.0, 220.0))
            * all_known(view, turn.first, turn.last)
        )
        if score < LEAST_SCORE:
            continue
        evidence = (f"{turn.change_deg:.0f}° {side(turn.sign)} at {turn.bank_deg:.0f}° of bank, level",)
        out.append(episode(KIND, view, turn.first, turn.last, score, evidence=evidence,
                           facts={"sign": turn.sign, "change_rad": turn.change_rad}))  # fmt: skip
    return out


ENTRY_S = 5.0
ROUND_RAD = np.radians(90.0)  # turns are asked for through quarters of a circle


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude and speed through the turn; the roll-out where the heading wanted is known."""
    sheet = Sheet(episode, evidence)
    start, end = episode.start_s, episode.end_s
    sheet.altitude_held(evidence.mean(evidence.altitude_m, start - 1.5, start + 0.5))
    sheet.speed_held(evidence.mean(evidence.ias_mps, start - ENTRY_S, start), source=ENTRY)
    heading = evidence.heading_rad
    if heading is None:
        sheet.cannot("rollout_heading", NO_HEADING)
        return sheet.grade()
    after = evidence.mean(heading, end, end + 1.5)
    wanted = evidence.lesson_target(sheet.kind, "heading_rad")
    if wanted is not None:
        sheet.set_target("heading", float(wrap_positive_rad(wanted)), "deg", LESSON)
        sheet.once("rollout_heading", [float(turn_from_to_rad(wanted, after))], note=heading_note(sheet))
    else:
        turned = abs(after - evidence.mean(heading, start - 2.0, start))
        off = turned - max(1, round(turned / ROUND_RAD)) * ROUND_RAD
        sheet.number("off_quarter_turn_deg", float(np.degrees(off)))
        sheet.cannot("rollout_heading", "the heading asked for is not known")
    return sheet.grade()
