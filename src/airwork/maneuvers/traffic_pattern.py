"""Traffic pattern: downwind, base and final to a landing, touch-and-go or go-around; a circuit also from its take-off.

In the data: before the runway, turns to one side that add up to about 180° (or all four corners from a take-off) at
pattern height and below. It contains the landing; they are two episodes. Not it: a straight-in approach, a rectangular
course (no runway at the end).
Judged by the task `traffic_pattern`: pattern altitude and speed on the downwind leg.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, side
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.turns import TURNING_RAD

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "traffic_pattern"
TITLE = "Traffic pattern"

LONGEST_S = 330.0  # from the downwind leg to the runway
LONGEST_DOWNWIND_S = 110.0
PATTERN_M, TOO_HIGH_M = 380.0, 520.0  # 1,000 ft is usual


def propose(view: View) -> list[Episode]:
    """Every pattern that ends on (or just above) a runway."""
    ends = [(contact.index, contact.off) for contact in view.contacts if contact.kind != "takeoff"]
    lifts = [contact.off for contact in view.contacts if contact.kind != "landing"]
    out = []
    for touch, _ in ends:
        made = _before(view, touch, [off for off in lifts if off < touch])
        if made is not None:
            out.append(made)
    return out


def _before(view: View, touch: int, lifts: list[int]) -> Episode | None:
    begin = max(touch - view.samples(LONGEST_S), 0)
    lift = max((off for off in lifts if off >= begin - view.samples(120.0)), default=-1)
    begin = max(begin, lift)
    turns = [t for t in view.turns if begin <= t.first and t.last < touch and t.change_deg > 35.0]
    if not turns:
        return None
    sign = turns[-1].sign
    corners = _same_side(turns, sign)
    change = sum(t.change_deg for t in corners)
    if change < 120.0:
        return None
    heights = view.altitude_m[corners[0].first : touch + 1] - view.altitude_m[touch]
    closed = lift >= 0 and change > 290.0  # all the way round from the runway
    start = lift if closed else _downwind_from(view, corners, begin)
    score = (
        ramp(change, 110.0, 160.0) * ramp(change, 460.0, 400.0) * ramp(float(heights.max()), TOO_HIGH_M, PATTERN_M)
        * all_known(view, start, touch)
    )  # fmt: skip
    if score < LEAST_SCORE:
        return None
    evidence = (f"{len(corners)} corner{'s' if len(corners) != 1 else ''} {side(sign)} before the runway",)
    phases = tuple((f"corner {k + 1}", t.first, t.last) for k, t in enumerate(corners))
    facts = {"sign": sign, "touch_s": float(view.time_s[touch]), "corners": len(corners)}
    down = corners[-2].first if len(corners) > 1 else corners[-1].first
    facts["downwind_start_s"] = float(view.time_s[max(start, _straight_back(view, down))])
    facts["downwind_end_s"] = float(view.time_s[down])
    return episode(KIND, view, start, touch, 0.9 * score, evidence=evidence, phases=phases, facts=facts)


def _same_side(turns: list[Turn], sign: int) -> list[Turn]:
    """The last turns to one side, small corrections to the other allowed."""
    out: list[Turn] = []
    for turn in reversed(turns):
        if turn.sign == sign:
            out.append(turn)
        elif turn.change_deg > 60.0:
            break
    return out[::-1]


def _straight_back(view: View, index: int) -> int:
    """Back along the straight leg that ends at an index."""
    low = max(index - view.samples(LONGEST_DOWNWIND_S), 0)
    turning = np.flatnonzero(np.abs(view.turn_bank_rad[low:index]) > 1.5 * TURNING_RAD)
    return low + int(turning[-1]) + 1 if turning.size else low


def _downwind_from(view: View, corners: list[Turn], begin: int) -> int:
    """Start of the downwind leg: the straight leg before the last half circle."""
    change, first = 0.0, corners[-1].first
    for turn in reversed(corners):
        if change > 140.0:
            break
        change, first = change + turn.change_deg, turn.first
    return max(_straight_back(view, first), begin)
