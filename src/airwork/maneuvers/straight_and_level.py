"""Straight-and-level flight: heading, altitude and speed held.

In the data: wings level, heading and height held for three quarters of a minute or more. Not it: any maneuver.
Judged by the task `straight_and_level`: altitude, heading, airspeed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.legs import leg_state
from airwork.maneuvers.propose_tools import LEAST_SCORE, episode
from airwork.maneuvers.signal import bridged, ramp, runs

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
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
