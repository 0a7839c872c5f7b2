"""Eights on pylons: a figure eight round two pylons at the pivotal altitude, the line of sight staying on the pylon.

In the data: turns to alternate sides, each well over 180° of track, with a short straight leg between, low, the height
following the square of the ground speed. One episode however many turns. Not it: S-turns (180° each, no legs), turns
around a point (one side only).
Judged by the task `eights_on_pylons`: bank at most 40°; the distance from the pivotal altitude is reported.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.turn import pivotal_altitude_m
from airwork.maneuvers.propose_tools import LEAST_SCORE, chains, episode
from airwork.maneuvers.s_turns import alternating_score
from airwork.maneuvers.sheet import NO_AGL, NO_BANK, Sheet
from airwork.maneuvers.signal import ramp
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.view import View

KIND = "eights_on_pylons"
TITLE = "Eights on pylons"

LITTLE_DEG, SURE_DEG, MOST_DEG = 185.0, 218.0, 345.0
LEAST_DEG = 120.0  # the first and the last turn of a chain are often only half of one
RANGE_M, WILD_RANGE_M = 140.0, 260.0  # the pivotal altitude changes by 300 to 500 ft in a wind
BETWEEN_S = 50.0  # 3 to 5 s straight are taught (AFH ch. 7); pylons far apart need more


def propose(view: View) -> list[Episode]:
    """Every low chain of large turns to alternate sides."""
    out = []
    good = [turn for turn in view.turns if LEAST_DEG < turn.track_change_deg < MOST_DEG]
    for chain in chains(good, view, opposite=True, longest_gap_s=BETWEEN_S):
        if len(chain) < 2:
            continue
        inner = chain[1:-1] if len(chain) > 3 else chain[1:]
        large = float(np.mean([turn.track_change_deg for turn in inner]))
        score = alternating_score(view, chain, RANGE_M, WILD_RANGE_M) * ramp(large, LITTLE_DEG, SURE_DEG)
        if score < LEAST_SCORE:
            continue
        evidence = (f"{len(chain)} turns of {large:.0f}° to alternate sides, low, with legs between",)
        phases = tuple((f"pylon {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(KIND, view, chain[0].first, chain[-1].last, score, evidence=evidence, phases=phases,
                           facts={"turns": len(chain)}))  # fmt: skip
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Bank limit; distance from the pivotal altitude for the ground speed flown, for information."""
    sheet = Sheet(episode, evidence)
    if evidence.bank_rad is None:
        sheet.cannot("bank_limit", NO_BANK)
    else:
        sheet.over("bank_limit", np.abs(evidence.bank_rad), error=evidence.bank_error_rad)
    ground = evidence.flight.get("groundspeed_mps")
    if evidence.agl_m is None or ground is None:
        sheet.cannot("pivotal_altitude", NO_AGL)
    else:
        off = evidence.mean(evidence.agl_m - pivotal_altitude_m(ground), episode.start_s, episode.end_s)
        sheet.number("mean_pivotal_altitude_error_ft", to_unit(off, "ft"), 0)
        sheet.once("pivotal_altitude", [off], note="mean over the maneuver, pylons at field elevation")
    return sheet.grade()
