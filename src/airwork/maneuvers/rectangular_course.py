"""Rectangular course: round a field at pattern height, four legs of constant track, each corner a turn of about 90°.

In the data: turns of about 90° of track to one side, adding up to most of a circle or more, with straight legs between,
low and level. A poor one overshoots corners and turns back, or flies two as one. One episode, first leg to last.
Not it: the traffic pattern (ends on a runway or begins on one), turns around a point (no legs).
Judged by the task `rectangular_course`: altitude, airspeed, height above ground; straightness of the legs is reported.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.ground_reference import grade_ground_reference
from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, low_score, mean_agl_m, side
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.turns import TURNING_RAD

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "rectangular_course"
TITLE = "Rectangular course"

OFF_DEG, GONE_DEG = 25.0, 45.0
LEAST_CORNER_DEG, CORRECTION_DEG = 42.0, 70.0  # a smaller turn back after a corner corrects an overshoot
LONGEST_LEG_S, SHORT_LEG_S = 110.0, 5.0
LITTLE_DEG, SURE_DEG = 200.0, 310.0
LEVEL_RANGE_M, WILD_RANGE_M = 90.0, 180.0
NEAR_GROUND_S = 60.0


def propose(view: View) -> list[Episode]:
    """Every low chain of corners to one side with legs between them."""
    out = []
    for chain in _chains(view):
        first = _leg_start(view, chain[0].first)
        last = _leg_end(view, chain[-1].last)
        if view.seconds_since_ground(first) < NEAR_GROUND_S or view.seconds_to_ground(last) < NEAR_GROUND_S:
            continue
        gaps = [float(view.time_s[b.first] - view.time_s[a.last]) for a, b in pairwise(chain)]
        legs = sum(gap >= SHORT_LEG_S for gap in gaps)
        change = sum(turn.track_change_deg for turn in chain)
        altitude = view.altitude_m[first : last + 1]
        score = (
            float(np.mean([_corner(turn) for turn in chain]))
            * ramp(change, LITTLE_DEG, SURE_DEG)
            * ramp(legs, 0.5, 2.0)
            * low_score(mean_agl_m(view, first, last))
            * ramp(float(np.percentile(altitude, 95) - np.percentile(altitude, 5)), WILD_RANGE_M, LEVEL_RANGE_M)
            * all_known(view, first, last)
        )
        if score < LEAST_SCORE:
            continue
        evidence = (
            f"{len(chain)} turns {side(chain[0].sign)} adding up to {change:.0f}°, {legs} legs between, low and level",
        )
        phases = tuple((f"corner {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(KIND, view, first, last, score, evidence=evidence, phases=phases,
                           facts={"sign": chain[0].sign, "corners": len(chain)}))  # fmt: skip
    return out


def _corner(turn: Turn) -> float:
    """How near a right angle; two corners flown as one half circle count a little less."""
    return max(
        ramp(abs(turn.track_change_deg - 90.0), GONE_DEG, OFF_DEG),
        0.7 * ramp(abs(turn.track_change_deg - 180.0), GONE_DEG, OFF_DEG),
    )


def _chains(view: View) -> list[list[Turn]]:
    """Corners to one side in a row; small corrections to the other side between them are passed over."""
    found: list[list[Turn]] = []
    chain: list[Turn] = []
    for turn in view.turns:
        gap = float(view.time_s[turn.first] - view.time_s[chain[-1].last]) if chain else 0.0
        if chain and turn.sign != chain[0].sign and turn.track_change_deg < CORRECTION_DEG and gap < LONGEST_LEG_S:
            continue
        corner = turn.track_change_deg >= LEAST_CORNER_DEG and _corner(turn) > 0.0
        small = turn.track_change_deg < LEAST_CORNER_DEG
        if chain and turn.sign == chain[0].sign and gap <= LONGEST_LEG_S and (corner or small):
            if corner:
                chain.append(turn)
            continue
        if len(chain) >= 2:
            found.append(chain)
        chain = [turn] if corner else []
    if len(chain) >= 2:
        found.append(chain)
    return found


def _leg_start(view: View, index: int) -> int:
    """Back along the straight leg before the first corner, at most half a minute."""
    low = max(index - view.samples(30.0), 0)
    turning = np.flatnonzero(np.abs(view.turn_bank_rad[low:index]) > TURNING_RAD)
    return low + int(turning[-1]) + 1 if turning.size else low


def _leg_end(view: View, index: int) -> int:
    """On along the straight leg after the last corner, at most half a minute."""
    high = min(index + view.samples(30.0), view.n - 1)
    turning = np.flatnonzero(np.abs(view.turn_bank_rad[index + 4 : high]) > TURNING_RAD)
    return index + 4 + int(turning[0]) if turning.size else high


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, airspeed, height above ground; how round it was over the ground by a threshold of ours."""
    return grade_ground_reference(episode, evidence)
