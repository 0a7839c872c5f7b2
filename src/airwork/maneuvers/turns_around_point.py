"""Turns around a point: circles of constant radius over the ground at 600 to 1,000 ft, the bank following the wind.

In the data: a full circle or more one way, low and level, on one circle over the ground. One episode however many
turns. Not it: a steep turn (high, drifts with the wind), a steep spiral (sinks), a 360 for spacing in the pattern.
Judged by the task `turns_around_point`: altitude, airspeed, height above ground; the radius by a threshold of ours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.ground_reference import grade_ground_reference
from airwork.maneuvers.propose_tools import (
    LEAST_SCORE,
    all_known,
    centers_apart_m,
    chains,
    episode,
    low_score,
    mean_agl_m,
    side,
)  # fmt: skip
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.turns import circle
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "turns_around_point"
TITLE = "Turns around a point"

FEW_DEG, SURE_DEG = 230.0, 340.0
ROUND, NOT_ROUND = (
    0.16,
    0.42,
)  # spread of the distance from the center over the radius; wind uncorrected gives 0.2 to 0.3
PAUSE_S = 8.0
LEVEL_MPS, SINKING_MPS = 1.8, 3.5
STEEP_DEG, TOO_STEEP_DEG = 46.0, 58.0  # mean bank; the handbook keeps it to about 45°


def propose(view: View) -> list[Episode]:
    """Every low level circle or circles about one center."""
    out = []
    for chain in _about_one_center(view):
        first, last = chain[0].first, chain[-1].last
        change = abs(float(np.degrees(view.track_rad[last] - view.track_rad[first])))
        if change < FEW_DEG:
            continue
        radius, spread, _, _ = circle(view.east_m[first : last + 1][::4], view.north_m[first : last + 1][::4])
        climb = abs(float(view.altitude_m[last] - view.altitude_m[first])) / (0.25 * (last - first))
        bank = float(np.degrees(np.median(np.abs(view.bank_rad[first : last + 1]))))
        score = (
            ramp(change, FEW_DEG, SURE_DEG)
            * low_score(mean_agl_m(view, first, last))
            * (ramp(spread, NOT_ROUND, ROUND) if np.isfinite(spread) else 0.6)
            * ramp(climb, SINKING_MPS, LEVEL_MPS)
            * ramp(bank, TOO_STEEP_DEG, STEEP_DEG)
            * all_known(view, first, last)
        )
        if score < LEAST_SCORE:
            continue
        evidence = [f"{change:.0f}° {side(chain[0].sign)} at a low, near-constant height"]
        if np.isfinite(radius):
            evidence.append(f"circle of about {to_unit(radius, 'ft'):,.0f} ft over the ground")
        out.append(episode(KIND, view, first, last, score, evidence=tuple(evidence),
                           facts={"sign": chain[0].sign, "radius_m": radius, "spread": spread}))  # fmt: skip
    return out


def _about_one_center(view: View) -> list[list[Turn]]:
    """Turns one way joined while they go round the same center."""
    out: list[list[Turn]] = []
    for chain in chains(view.turns, view, opposite=False, longest_gap_s=PAUSE_S):
        part = [chain[0]]
        for turn in chain[1:]:
            apart = centers_apart_m(part[-1], turn)
            if np.isfinite(apart) and apart > max(part[-1].radius_m, turn.radius_m):
                out.append(part)
                part = [turn]
            else:
                part.append(turn)
        out.append(part)
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, airspeed, height above ground; how round it was over the ground by a threshold of ours."""
    return grade_ground_reference(episode, evidence)
