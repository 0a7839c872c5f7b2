"""Traffic pattern: downwind, base and final to a runway; a closed circuit from the climb-out round to final.

In the data: before a landing, touch-and-go or go-around, turns to one side that add up to about 180° (downwind to
final) or to all four corners. It lies between the take-off (300 ft) and the landing (200 ft), which are episodes of
their own. Not it: a straight-in approach, a rectangular course (no runway at the end).
Judged by the task `traffic_pattern`: pattern altitude and speed on the downwind leg.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.contacts import departed, final_from
from airwork.maneuvers.go_around import broken_off, climbed_away, decided
from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, side
from airwork.maneuvers.sheet import NO_AIRSPEED, SETTLED, Sheet
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.turns import TURNING_RAD

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "traffic_pattern"
TITLE = "Traffic pattern"

LONGEST_S = 330.0  # from the downwind leg to the runway
LONGEST_DOWNWIND_S = 110.0
DOWNWIND_TO_FINAL_S = 120.0
SHORTEST_S = 40.0
PATTERN_M, TOO_HIGH_M = 380.0, 520.0  # 1,000 ft is usual
LEAST_DEG, SURE_DEG = 120.0, 160.0  # downwind to final is 180°
ALL_ROUND_DEG, MOST_DEG, TOO_MUCH_DEG = 290.0, 430.0, 520.0
CORRECTION_DEG = 70.0


def propose(view: View) -> list[Episode]:
    """Every pattern that ends on (or just above) a runway."""
    lows = broken_off(view)
    ends = [(c.index, final_from(view, c.index)) for c in view.contacts if c.kind != "takeoff"]
    ends += [(k, decided(view, k)) for k in lows]
    starts = [departed(view, c.off) for c in view.contacts if c.kind != "landing"]
    starts += [climbed_away(view, k) for k in lows]
    out = []
    for low, end in sorted(ends):
        made = _before(view, low, end, max((s for s in starts if s < end), default=-1))
        if made is not None:
            out.append(made)
    return out


def _before(view: View, low: int, end: int, away: int) -> Episode | None:
    """The pattern that ends at `end` over a runway (lowest at `low`); `away` is where the last take-off was over."""
    begin = max(end - view.samples(LONGEST_S), 0)
    closed = away >= begin
    begin = max(begin, away - view.samples(15.0))
    turns = [t for t in view.turns if begin <= t.first and t.first < end and t.change_deg > 30.0]
    sign = _main_side(view, turns, end)
    corners = _same_side(turns, sign)
    change = sum(t.change_deg for t in corners)
    if not corners or change < LEAST_DEG:
        return None
    heights = view.altitude_m[corners[0].first : end + 1] - view.altitude_m[low]
    closed = closed and change > ALL_ROUND_DEG
    start = max(away, 0) if closed else _downwind_from(view, corners, begin)
    score = (
        ramp(change, LEAST_DEG - 10.0, SURE_DEG) * ramp(change, TOO_MUCH_DEG, MOST_DEG)
        * ramp(float(heights.max()), TOO_HIGH_M, PATTERN_M) * all_known(view, start, end)
    )  # fmt: skip
    if score < LEAST_SCORE or (end - start) < view.samples(SHORTEST_S):
        return None
    evidence = (f"{len(corners)} corner{'s' if len(corners) != 1 else ''} {side(sign)} before the runway",)
    phases = tuple((f"corner {k + 1}", t.first, t.last) for k, t in enumerate(corners))
    down = corners[-2].first if len(corners) > 1 else corners[-1].first
    facts = {
        "sign": sign, "corners": len(corners), "lowest_s": float(view.time_s[low]),
        "downwind_start_s": float(view.time_s[max(start, _straight_back(view, down))]),
        "downwind_end_s": float(view.time_s[down]),
    }  # fmt: skip
    return episode(KIND, view, start, end, 0.9 * score, evidence=evidence, phases=phases, facts=facts)


def _main_side(view: View, turns: list[Turn], end: int) -> int:
    """The side most of the turning from downwind to final was to."""
    late = [t for t in turns if end - t.first < view.samples(DOWNWIND_TO_FINAL_S)]
    return 1 if sum(t.sign * t.change_rad for t in late) > 0 else -1


def _same_side(turns: list[Turn], sign: int) -> list[Turn]:
    """The last turns to one side, small corrections to the other allowed."""
    out: list[Turn] = []
    for turn in reversed(turns):
        if turn.sign == sign:
            out.append(turn)
        elif turn.change_deg > CORRECTION_DEG:
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


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude and speed on the downwind leg."""
    sheet = Sheet(episode, evidence)
    window = (episode.facts["downwind_start_s"], episode.facts["downwind_end_s"])
    part = evidence.flight.span(*window)
    level = np.abs(evidence.climb_mps) < 1.5
    if window[1] - window[0] < 5.0 or level[part].sum() < 3:
        sheet.cannot("pattern_altitude", "no level downwind leg was flown")
        sheet.cannot("pattern_ias", "no level downwind leg was flown")
        return sheet.grade()
    target = sheet.altitude_target(float(np.nanmedian(evidence.altitude_m[part][level[part]])), SETTLED)
    sheet.over("pattern_altitude", evidence.altitude_m - target, window, use=level)
    if evidence.ias_mps is None:
        sheet.cannot("pattern_ias", NO_AIRSPEED)
    else:
        speed = float(np.nanmedian(evidence.ias_mps[part][level[part]]))
        sheet.speed_held(speed, window, quantity="pattern_ias", use=level)
    return sheet.grade()
