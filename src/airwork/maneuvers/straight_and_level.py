"""Straight-and-level flight: heading, altitude and speed held.

In the data: wings level, heading and height held for three quarters of a minute or more. Not it: any maneuver.
Judged by the task `straight_and_level`: altitude, heading, airspeed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.angles import wrap_positive_rad
from airwork.maneuvers.legs import leg_state
from airwork.maneuvers.propose_tools import LEAST_SCORE, episode
from airwork.maneuvers.sheet import NO_HEADING, SETTLED, Sheet
from airwork.maneuvers.signal import bridged, ramp, runs
from airwork.maneuvers.straights import heading_note

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "straight_and_level"
TITLE = "Straight and level"

WINGS_LEVEL_RAD = np.radians(8.0)
SHORT_S, SURE_S = 25.0, 60.0
PAUSE_S = 4.0
WANDER_RAD = np.radians(35.0)  # heading drifting farther than this is no straight flight


def propose(view: View) -> list[Episode]:
    """Every stretch of straight and level flight."""
    calm = (leg_state(view) == 0) & (np.abs(view.turn_bank_rad) < WINGS_LEVEL_RAD)
    out = []
    for first, end in runs(bridged(calm, view.samples(PAUSE_S))):
        seconds = (end - first) * 0.25
        heading = view.heading_rad[first:end]
        score = 0.9 * ramp(seconds, SHORT_S, SURE_S) * ramp(float(np.ptp(heading)), 2.0 * WANDER_RAD, WANDER_RAD)
        if score >= LEAST_SCORE:
            out.append(episode(KIND, view, first, end - 1, score, evidence=(f"held for {seconds:.0f} s",)))
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, heading and speed against what was settled on."""
    sheet = Sheet(episode, evidence)
    window = (episode.start_s, episode.end_s)
    sheet.altitude_held(evidence.median(evidence.altitude_m, *window), source=SETTLED)
    sheet.speed_held(evidence.median(evidence.ias_mps, *window))
    heading = evidence.heading_rad
    if heading is None:
        sheet.cannot("heading", NO_HEADING)
    else:
        middle = evidence.median(heading, *window)
        sheet.set_target("heading", float(wrap_positive_rad(middle)), "deg", SETTLED)
        sheet.over("heading", heading - middle, note=heading_note(sheet))
    return sheet.grade()
