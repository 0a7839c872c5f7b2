"""Rectangular course: round a field at pattern height, four legs of constant track, each corner a turn of about 90°.

In the data: turns of about 90° of track to one side, adding up to most of a circle or more, with straight legs between,
low and level. A poor one overshoots corners and turns back, or flies two as one. One episode, first leg to last.
Not it: the traffic pattern (ends on a runway or begins on one), turns around a point (no legs).
Judged by the task `rectangular_course`: altitude, airspeed, height above ground; straightness of the legs is reported.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from airwork import units
from airwork.maneuvers.grading.ground_reference import grade_ground_reference
from airwork.maneuvers.paths.flown_over_ground import Arc, fly_over_ground, straight
from airwork.maneuvers.seeing.propose_tools import LEAST_SCORE, all_known, episode, low_score, mean_agl_m, side
from airwork.maneuvers.seeing.signal import ramp
from airwork.maneuvers.seeing.turns import TURNING_RAD, find_turns
from airwork.maneuvers.setting_up import ground_work, wind_lines

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.airplane.performance import Performance
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.grading.evidence import Evidence
    from airwork.maneuvers.seeing.turns import Turn
    from airwork.maneuvers.seeing.view import View
    from airwork.maneuvers.setup import Conditions, SetUp, Trace
    from airwork.standards import Standard

KIND = "rectangular_course"
TITLE = "Rectangular course"

OFF_DEG, GONE_DEG = 25.0, 45.0
LEAST_CORNER_DEG, CORRECTION_DEG = 42.0, 70.0  # a smaller turn back after a corner corrects an overshoot
LONGEST_LEG_S, SHORT_LEG_S = 110.0, 5.0
LITTLE_DEG, SURE_DEG = 200.0, 255.0  # once round has three corners between its four legs
LEVEL_RANGE_M, WILD_RANGE_M = 90.0, 180.0
NEAR_GROUND_S = 60.0


STEEPEST_RAD = math.radians(40.0)  # corners from and to the downwind leg; at most 45° ([AFH] ch. 7)
LONG_M, SHORT_M = 1.0 * units.NM_M, 0.6 * units.NM_M  # sides of the field: our own choice


def set_up(
    airplane: Airplane,
    performance: Performance | None,
    conditions: Conditions,
    standard: Standard,
    target: Mapping[str, Any],
) -> SetUp:
    """Numbers and steps of a rectangular course: headings, ground speeds and corner banks for today's wind."""
    g = ground_work.set_up_over_ground(
        airplane, performance, conditions, standard, target, kind=KIND, title=TITLE,
        usual_steepest_rad=STEEPEST_RAD, steepest_words="steepest bank {} with the wind behind",
        radius_name="corner radius over the ground",
    )  # fmt: skip
    ws, tas, wind, side, radius = g.ws, g.tas_mps, g.wind, g.side, g.radius_m
    line = float(ws.target.get("line_rad", wind[0] + math.pi))
    sign = -1.0 if side == "left" else 1.0
    names = ("downwind", "base", "upwind", "crosswind")
    tracks = [line + sign * k * math.pi / 2 for k in range(4)]
    table = wind_lines.legs(ws, tas, tuple(zip(names, tracks, strict=True)))
    banks = ground_work.corner_banks(tas, wind, radius, tracks, sign)
    shown = tuple(
        (
            *row,
            "bank into the next"
            if k == 0
            else f"{math.degrees(banks[k - 1][0]):.0f}° to {math.degrees(banks[k - 1][1]):.0f}°",
        )
        for k, row in enumerate(table)
    )
    perimeter = 4.0 * (LONG_M + SHORT_M)  # two rounds
    ws.use_power(1.15 * perimeter / tas / max(1.0 - (wind[1] / tas) ** 2, 0.3), g.power_ratio)
    all_banks = [math.degrees(b) for pair in banks for b in pair]
    return ws.finish(
        steps=(
            f"Field with sides of about a mile; {g.entry}",
            "Enter 45° to the downwind leg; boundary a quarter to half a mile off, in sight past the wing",
            "Crab on each leg so that the track stays parallel to the boundary",
            "Corners: steepest leaving the downwind leg, shallowest leaving the upwind leg; roll out crabbed",
            "Two times round; also look for traffic",
        ),
        usual_errors=(
            "no crab, or crabbing with the ball off center",
            "same bank at every corner: legs drift in or out",
            "more or less than 90° of heading in the corner: forgot the crab before and after",
            "altitude wandering; distance from the boundary not the same on all legs",
        ),
        card_line=f"{ws.mark(g.ias_mps)} · {g.words} · crab {ground_work.most_crab(table)} · corners "
        f"{min(all_banks):.0f}–{max(all_banks):.0f}°",
        targets={**g.targets, "line_rad": line},
        cautions=ground_work.CAUTIONS,
        tables={f"Legs, turning {side}": shown},
    )


def ideal(
    set_up: SetUp,
    airplane: Airplane,
    performance: Performance | None,
    conditions: Conditions,
    target: Mapping[str, Any],
) -> Trace:
    """Two rounds of the rectangle, one radius at the corners, crabbed on the legs; from the downwind leg."""
    t = set_up.targets
    sign = 1.0 if str(target.get("direction", "left")).lower() == "right" else -1.0
    radius = t["radius_m"]
    corner = Arc(sign * 0.5 * math.pi, radius)
    sides = [straight(max(length - 2.0 * radius, 100.0)) for length in (LONG_M, SHORT_M)]
    round_once = [piece for k in range(4) for piece in (sides[k % 2], corner)]
    return fly_over_ground(
        airplane,
        conditions,
        (*round_once, *round_once),
        track_rad=t["line_rad"],
        altitude_m=set_up.entry_altitude_m,
        ias_mps=t["ias_mps"],
    )


def propose(view: View) -> list[Episode]:
    """Every low chain of corners to one side with legs between them."""
    out = []
    for chain in (part for whole in _chains(view) for part in _with_and_without_ends(whole)):
        first = _leg_start(view, chain[0].first)
        last = _leg_end(view, chain[-1].last)
        if view.seconds_since_ground(first) < NEAR_GROUND_S or view.seconds_to_ground(last) < NEAR_GROUND_S:
            continue
        gaps = [float(view.time_s[b.first] - view.time_s[a.last]) for a, b in pairwise(chain)]
        legs = sum(gap >= SHORT_LEG_S for gap in gaps)
        change = sum(turn.track_change_deg for turn in chain)
        altitude = view.altitude_m[first : last + 1]
        score = (
            float(np.mean([_corner(turn, end=turn is chain[0] or turn is chain[-1]) for turn in chain]))
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


def _corner(turn: Turn, *, end: bool = False) -> float:
    """How near a right angle; two corners flown as one half circle count a little less, at an end less still."""
    return max(
        ramp(abs(turn.track_change_deg - 90.0), GONE_DEG, OFF_DEG),
        (0.2 if end else 0.7) * ramp(abs(turn.track_change_deg - 180.0), GONE_DEG, OFF_DEG),
    )


def _chains(view: View) -> list[list[Turn]]:
    """Corners to one side in a row; small corrections to the other side between them are passed over."""
    found: list[list[Turn]] = []
    chain: list[Turn] = []
    for turn in view.once(find_turns):
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


def _with_and_without_ends(chain: list[Turn]) -> list[list[Turn]]:
    """The chain, and the chain from its first to its last right angle: a half circle before or after may not belong."""
    square = [k for k, turn in enumerate(chain) if abs(turn.track_change_deg - 90.0) < OFF_DEG]
    core = chain[square[0] : square[-1] + 1] if square else []
    return [chain] if len(core) in (0, 1, len(chain)) else [chain, core]


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
