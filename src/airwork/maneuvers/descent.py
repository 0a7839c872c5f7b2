"""Descent: a loss of height at a chosen speed with some power, levelled off at the bottom.

In the data: a sustained loss of more than 300 ft at less than some 1,500 fpm. Not it: a glide (engine idle, steeper),
an emergency descent, the last part of an approach.
Judged by the task `descent`: level-off altitude, heading, airspeed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.leg_grade import grade_leg
from airwork.maneuvers.legs import legs
from airwork.maneuvers.propose_tools import LEAST_SCORE, episode
from airwork.maneuvers.signal import ramp
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "descent"
TITLE = "Descent"

LITTLE_LOSS_M, SURE_LOSS_M = 60.0, 150.0
SHORT_S, SURE_S = 18.0, 35.0


def propose(view: View) -> list[Episode]:
    """Every sustained descent."""
    out = []
    for state, first, end in legs(view):
        loss = float(view.altitude_m[first] - view.altitude_m[end - 1])
        seconds = (end - first) * 0.25
        score = 0.9 * ramp(loss, LITTLE_LOSS_M, SURE_LOSS_M) * ramp(seconds, SHORT_S, SURE_S) if state == -1 else 0.0
        if score < LEAST_SCORE:
            continue
        evidence = (f"{to_unit(loss, 'ft'):,.0f} ft lost at {to_unit(loss / seconds, 'fpm'):,.0f} fpm",)
        out.append(episode(KIND, view, first, end - 1, score, evidence=evidence))
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Speed once settled, heading where straight, the level-off."""
    return grade_leg(episode, evidence, -1.0)
