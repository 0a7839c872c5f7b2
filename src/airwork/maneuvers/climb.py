"""Climb: a gain of height at a climbing speed, levelled off at the top.

In the data: a sustained gain of more than 300 ft. Not it: the rise inside a chandelle, lazy eight or stall.
Judged by the task `climb`: level-off altitude, heading, airspeed.
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

KIND = "climb"
TITLE = "Climb"

LITTLE_GAIN_M, SURE_GAIN_M = 60.0, 150.0
SHORT_S, SURE_S = 18.0, 35.0


def propose(view: View) -> list[Episode]:
    """Every sustained climb."""
    out = []
    for state, first, end in legs(view):
        gain = float(view.altitude_m[end - 1] - view.altitude_m[first])
        seconds = (end - first) * 0.25
        score = 0.9 * ramp(gain, LITTLE_GAIN_M, SURE_GAIN_M) * ramp(seconds, SHORT_S, SURE_S) if state == 1 else 0.0
        if score < LEAST_SCORE:
            continue
        evidence = (f"{to_unit(gain, 'ft'):,.0f} ft gained at {to_unit(gain / seconds, 'fpm'):,.0f} fpm",)
        out.append(episode(KIND, view, first, end - 1, score, evidence=evidence))
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Speed once settled, heading where straight, the level-off."""
    return grade_leg(episode, evidence, 1.0)
