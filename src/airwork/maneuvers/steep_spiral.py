"""Steep spiral: at least three full turns one way round a point, power idle, bank up to 60°, at a constant glide speed.

In the data: two turns or more without a pause, sinking all the while at a glide's speed. Not it: an emergency descent
(fast, much steeper), turns around a point and steep turns (level), a thermal (climbs).
Judged by the task `steep_spiral`: number of turns, bank limit, airspeed, roll-out heading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, chains, episode, joined_change_rad, side
from airwork.maneuvers.sheet import NO_BANK, NO_HEADING, SETTLED, Sheet
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.straights import heading_note
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "steep_spiral"
TITLE = "Steep spiral"

FEW_DEG, SURE_DEG = 480.0, 800.0  # three turns are asked for; given up after two it still shows
LITTLE_SINK_MPS, SURE_SINK_MPS = 2.0, 3.5
PAUSE_S = 8.0  # upwind the bank is small: the turn may seem to stop
GLIDING, FAST = 1.85, 2.35  # speed over the stall speed; an emergency descent is flown much faster


def propose(view: View) -> list[Episode]:
    """Every long sinking turn at a gliding speed."""
    out = []
    for chain in chains(view.turns, view, opposite=False, longest_gap_s=PAUSE_S):
        first, last = chain[0].first, chain[-1].last
        change = float(np.degrees(joined_change_rad(view, chain)))
        if change < FEW_DEG:
            continue
        sink = -float(view.climb_mps[first : last + 1].mean())
        one_g = float(np.median(view.one_g_speed_mps[first : last + 1]))
        ratio = one_g / view.clean_stall_mps if np.isfinite(view.clean_stall_mps) else 1.5
        score = (
            ramp(change, FEW_DEG, SURE_DEG)
            * ramp(sink, LITTLE_SINK_MPS, SURE_SINK_MPS)
            * ramp(ratio, FAST, GLIDING)
            * ramp(float(np.degrees(max(turn.top_bank_rad for turn in chain))), 12.0, 24.0)
            * all_known(view, first, last)
        )
        if view.power is not None:
            score *= ramp(float(np.median(view.power[first : last + 1])), 0.6, 0.35)
        if score < LEAST_SCORE:
            continue
        evidence = (
            f"{change:.0f}° {side(chain[0].sign)}",
            f"sinking {to_unit(sink, 'fpm'):.0f} fpm at a gliding speed",
        )
        out.append(episode(KIND, view, first, last, score, evidence=evidence,
                           facts={"sign": chain[0].sign, "change_rad": np.radians(change)}))  # fmt: skip
    return out


SETTLE_S = 6.0  # rolling in and out, the speed is not yet or no longer held


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Number of turns, bank limit, airspeed, roll-out on the entry heading."""
    sheet = Sheet(episode, evidence)
    start, end, sign = episode.start_s, episode.end_s, episode.facts["sign"]
    window = (start + SETTLE_S, max(end - SETTLE_S, start + SETTLE_S + 1.0))
    sheet.speed_held(evidence.median(evidence.ias_mps, *window), window, SETTLED)
    if evidence.bank_rad is None:
        sheet.cannot("bank_limit", NO_BANK)
    else:
        sheet.over("bank_limit", np.abs(evidence.bank_rad), error=evidence.bank_error_rad)
    heading = evidence.heading_rad
    if heading is None:
        sheet.cannot("rollout_heading", NO_HEADING)
        sheet.cannot("turns", NO_HEADING)
    else:
        turned = sign * (evidence.mean(heading, end, end + 1.5) - evidence.mean(heading, start - 2.0, start))
        whole = max(1, round(turned / (2.0 * np.pi)))
        off = turned - whole * 2.0 * np.pi
        criterion = sheet.task.criterion("rollout_heading")
        # A roll-out inside its tolerance completes the turn.
        complete = whole if criterion is not None and criterion.holds(off) else turned / (2.0 * np.pi)
        sheet.number("turns", turned / (2.0 * np.pi), 2)
        sheet.once("turns", [float(complete)])
        sheet.once("rollout_heading", [off], note=heading_note(sheet))
    sheet.floor_kept()
    return sheet.grade()
