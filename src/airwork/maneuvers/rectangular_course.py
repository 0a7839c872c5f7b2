"""Rectangular course: round a field at pattern height, four legs of constant track, each corner a turn of about 90°.

In the data: three or more turns of about 90° of track to the same side with straight legs between, low and level. One
episode, from the first leg to the last. Not it: the traffic pattern (ends on a runway or begins on one), turns around a
point (no legs).
Judged by the task `rectangular_course`: altitude, airspeed, height above ground; straightness of the legs is reported.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, chains, episode, low_score, mean_agl_m, side
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.turns import TURNING_RAD

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.view import View

KIND = "rectangular_course"
TITLE = "Rectangular course"

OFF_DEG, GONE_DEG = 25.0, 50.0
LONGEST_LEG_S = 110.0
LEVEL_RANGE_M, WILD_RANGE_M = 90.0, 180.0
NEAR_GROUND_S = 60.0


def propose(view: View) -> list[Episode]:
    """Every low chain of right-angle turns to one side."""
    out = []
    good = [turn for turn in view.turns if abs(turn.track_change_deg - 90.0) < GONE_DEG]
    for chain in chains(good, view, opposite=False, longest_gap_s=LONGEST_LEG_S):
        if len(chain) < 3:
            continue
        first = _leg_start(view, chain[0].first)
        last = _leg_end(view, chain[-1].last, chain[0].last - first)
        if view.seconds_since_ground(first) < NEAR_GROUND_S or view.seconds_to_ground(last) < NEAR_GROUND_S:
            continue
        altitude = view.altitude_m[first : last + 1]
        corners = float(np.mean([ramp(abs(turn.track_change_deg - 90.0), GONE_DEG, OFF_DEG) for turn in chain]))
        score = (
            corners
            * ramp(len(chain), 1.5, 4.0)
            * low_score(mean_agl_m(view, first, last))
            * ramp(float(np.percentile(altitude, 95) - np.percentile(altitude, 5)), WILD_RANGE_M, LEVEL_RANGE_M)
            * all_known(view, first, last)
        )
        if score < LEAST_SCORE:
            continue
        evidence = (f"{len(chain)} corners of about 90° {side(chain[0].sign)}, low and level",)
        phases = tuple((f"corner {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(KIND, view, first, last, score, evidence=evidence, phases=phases,
                           facts={"sign": chain[0].sign, "corners": len(chain)}))  # fmt: skip
    return out


def _leg_start(view: View, index: int) -> int:
    """Back along the straight leg before the first corner, at most half a minute."""
    low = max(index - view.samples(30.0), 0)
    turning = np.flatnonzero(np.abs(view.turn_bank_rad[low:index]) > TURNING_RAD)
    return low + int(turning[-1]) + 1 if turning.size else low


def _leg_end(view: View, index: int, most: int) -> int:
    """On along the straight leg after the last corner, at most half a minute."""
    high = min(index + view.samples(30.0), view.n - 1)
    turning = np.flatnonzero(np.abs(view.turn_bank_rad[index + 4 : high]) > TURNING_RAD)
    return index + 4 + int(turning[0]) if turning.size else high
