"""S-turns: half circles of equal radius to alternate sides of a road that lies across the wind, 600 to 1,000 ft up.

In the data: two or more turns to alternate sides, each through about 180° of track, one right after the other, low and
level. One episode however many. Not it: a lazy eight (climbs and sinks, high), clearing turns (90°, high), eights on
pylons (each turn well over 180°, legs between).
Judged by the task `s_turns`: altitude, airspeed, height above ground; equal radii by a threshold of ours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.ground_reference import grade_ground_reference
from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, chains, episode, low_score, mean_agl_m
from airwork.maneuvers.signal import ramp

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "s_turns"
TITLE = "S-turns"

HALF_DEG, OFF_DEG, GONE_DEG = 180.0, 32.0, 75.0  # ends of the chain are often cut short
BETWEEN_S = 10.0  # wings level over the road is a moment
LEVEL_RANGE_M, WILD_RANGE_M = 90.0, 170.0
STEEP_DEG, TOO_STEEP_DEG = 46.0, 58.0


def propose(view: View) -> list[Episode]:
    """Every chain of low half circles to alternate sides."""
    out = []
    good = [turn for turn in view.turns if abs(turn.track_change_deg - HALF_DEG) < GONE_DEG]
    for chain in chains(good, view, opposite=True, longest_gap_s=BETWEEN_S):
        if len(chain) < 2:
            continue
        first, last = chain[0].first, chain[-1].last
        score = alternating_score(view, chain) * float(
            np.mean([ramp(abs(turn.track_change_deg - HALF_DEG), GONE_DEG, OFF_DEG) for turn in chain])
        )
        if score < LEAST_SCORE:
            continue
        evidence = (f"{len(chain)} half circles to alternate sides, low and level",)
        phases = tuple((f"half circle {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(KIND, view, first, last, score, evidence=evidence, phases=phases,
                           facts={"halves": len(chain)}))  # fmt: skip
    return out


def alternating_score(
    view: View, chain: list[Turn], range_m: float = LEVEL_RANGE_M, wild_m: float = WILD_RANGE_M
) -> float:
    """What S-turns and eights on pylons share: low, not steep, no lasting climb or descent."""
    first, last = chain[0].first, chain[-1].last
    altitude = view.altitude_m[first : last + 1]
    bank = float(np.degrees(np.median([turn.settled_bank_rad for turn in chain])))
    return (
        low_score(mean_agl_m(view, first, last))
        * ramp(float(np.percentile(altitude, 95) - np.percentile(altitude, 5)), wild_m, range_m)
        * ramp(bank, TOO_STEEP_DEG, STEEP_DEG)
        * all_known(view, first, last)
    )


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, airspeed, height above ground; how round it was over the ground by a threshold of ours."""
    return grade_ground_reference(episode, evidence)
