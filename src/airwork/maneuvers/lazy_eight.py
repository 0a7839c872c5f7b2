"""Lazy eight: 180° one way and 180° back, pitch, bank and speed always changing, highest and slowest at the 90° points.

In the data: two or more turns to alternate sides of about 180° each; in each the height rises and falls back and the
speed falls and comes back, the bank grows to about 30° and shrinks again. All loops in a row are one episode. Not it:
S-turns (level, low), a chandelle (does not come down), level turns back and forth (height and speed held).
Judged by the task `lazy_eight`: altitude, speed and heading at each 180° point against the entry.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, chains, episode, high_score, mean_agl_m, speed_trust
from airwork.maneuvers.sheet import ENTRY, NO_AIRSPEED, NO_HEADING, Sheet
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.straights import heading_note
from airwork.maneuvers.turns import wings_level
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "lazy_eight"
TITLE = "Lazy eight"

OFF_DEG, GONE_DEG = 35.0, 70.0
LITTLE_RISE_M, SURE_RISE_M = 18.0, 55.0  # height at the top over the mean of both ends
LITTLE_SLOWING, SURE_SLOWING = 0.97, 0.88  # least speed over the mean of both ends
BETWEEN_S = 40.0  # near the 180° point the bank passes through zero slowly
SINGLE_HALF = 0.4  # one half alone: given up, or something else


def propose(view: View) -> list[Episode]:
    """Every chain of climbing and descending half circles to alternate sides."""
    halves = [(turn, _half(view, turn)) for turn in view.turns]
    good = [turn for turn, score in halves if score > 0.15]
    scores = {turn.first: score for turn, score in halves}
    out = []
    for chain in chains(good, view, opposite=True, longest_gap_s=BETWEEN_S):
        score = float(np.mean([scores[turn.first] for turn in chain])) * (SINGLE_HALF if len(chain) < 2 else 1.0)
        score *= speed_trust(view)
        if score < LEAST_SCORE:
            continue
        rises = [to_unit(_rise_m(view, turn), "ft") for turn in chain]
        evidence = (
            f"{len(chain)} half circles to alternate sides",
            f"each rising about {np.mean(rises):.0f} ft and coming back",
        )
        ends = _points(view, chain)
        phases = tuple((f"half {k + 1}", a, b) for k, (a, b) in enumerate(pairwise(ends)))
        out.append(episode(KIND, view, ends[0], ends[-1], score, evidence=evidence, phases=phases,
                           facts={"halves": len(chain)}))  # fmt: skip
    return out


def _points(view: View, chain: list[Turn]) -> list[int]:
    """Start, the 180° points (where the bank passes through zero) and end: indices."""
    bank = np.abs(view.turn_bank_rad)
    out = [wings_level(bank, chain[0].first, -1, view.samples(BETWEEN_S))]
    for one, two in pairwise(chain):
        low, high = min(one.last, two.first), max(one.last, two.first)
        out.append(low + int(np.argmin(bank[low : high + 1])))
    out.append(wings_level(bank, chain[-1].last, 1, view.samples(BETWEEN_S)))
    return out


def _rise_m(view: View, turn: Turn) -> float:
    altitude = view.altitude_m[turn.first : turn.last + 1]
    return float(altitude.max() - 0.5 * (altitude[0] + altitude[-1]))


def _half(view: View, turn: Turn) -> float:
    off = abs(turn.change_deg - 180.0)
    if off > GONE_DEG:
        return 0.0
    ends = 0.5 * (turn.speed_in_mps + turn.speed_out_mps)
    rise = _rise_m(view, turn)
    seconds = float(view.time_s[turn.last] - view.time_s[turn.first])
    top = int(view.altitude_m[turn.first : turn.last + 1].argmax()) / max(turn.last - turn.first, 1)
    return (
        ramp(off, GONE_DEG, OFF_DEG)
        * ramp(rise, LITTLE_RISE_M, SURE_RISE_M)
        * ramp(turn.speed_least_mps / max(ends, 1.0), LITTLE_SLOWING, SURE_SLOWING)
        * ramp(abs(turn.altitude_change_m), 1.6 * rise + 60.0, 0.8 * rise + 20.0)
        * ramp(abs(top - 0.5), 0.45, 0.3)
        * ramp(seconds, 80.0, 60.0)
        * high_score(mean_agl_m(view, turn.first, turn.last))
        * all_known(view, turn.first, turn.last)
    )


POINT_S = 1.5  # a value at the 180° point is the mean over this much to each side


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, speed and heading at each 180° point against the entry."""
    sheet = Sheet(episode, evidence)
    start = episode.start_s
    points = [p.end_s for p in episode.phases]
    altitude = sheet.altitude_target(evidence.mean(evidence.altitude_m, start - 2.0, start + 0.5))
    at = [evidence.mean(evidence.altitude_m, t - POINT_S, t + POINT_S) - altitude for t in points]
    sheet.once("turn180_altitude", at)
    ias, heading = evidence.ias_mps, evidence.heading_rad
    if ias is None:
        sheet.cannot("turn180_ias", NO_AIRSPEED)
    else:
        speed = sheet.speed_target(evidence.mean(ias, start - 3.0, start + 1.0), ENTRY)
        sheet.once("turn180_ias", [evidence.mean(ias, t - POINT_S, t + POINT_S) - speed for t in points])
    if heading is None:
        sheet.cannot("turn180_heading", NO_HEADING)
    else:
        entry = evidence.mean(heading, start - 2.0, start)
        first = np.sign(evidence.mean(heading, points[0] - 1.0, points[0] + 1.0) - entry)
        wanted = [entry + (first * np.pi if k % 2 == 0 else 0.0) for k in range(len(points))]
        off = [evidence.mean(heading, t - 0.75, t + 0.75) - w for t, w in zip(points, wanted, strict=True)]
        sheet.once("turn180_heading", off, note=heading_note(sheet))
    sheet.floor_kept()
    return sheet.grade()
