"""Level turn: a turn at ordinary bank to a heading, altitude and speed held.

In the data: one level turn through half a circle or more at 10 to 35° of bank. A smaller turn is a change of course and
is not claimed, except in a lesson that has level turns in it. Not it: a steep turn, a clearing turn, the turns inside
any other maneuver.
Judged by the task `level_turn`: altitude, roll-out heading, airspeed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, mean_agl_m, side
from airwork.maneuvers.signal import ramp

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
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
