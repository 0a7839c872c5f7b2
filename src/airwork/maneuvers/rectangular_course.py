"""Rectangular course: round a field at pattern height, four legs of constant track, each corner a turn of about 90°.

In the data: turns of about 90° of track to one side, adding up to most of a circle or more, with straight legs between,
low and level. A poor one overshoots corners and turns back, or flies two as one. One episode, first leg to last.
Not it: the traffic pattern (ends on a runway or begins on one), once round on the way into it (the arbiter), a search
in a square that grows, turns around a point (no legs).
Judged by the task `rectangular_course`: altitude, airspeed, height above ground; straightness of the legs is reported.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from airwork import units
from airwork.airdata.angles import turn_from_to_rad
from airwork.maneuvers.brief_facts import ALONG_GROUND, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Phase
from airwork.maneuvers.grading.ground_reference import grade_ground_reference
from airwork.maneuvers.paths.flown_over_ground import Arc, fly_over_ground, straight
from airwork.maneuvers.paths.flown_path import LARGE_M, SMALL_M, FlownPath, bearing, moved
from airwork.maneuvers.seeing.propose_tools import (
    about,
    down_low,
    episode,
    kept,
    side,
)
from airwork.maneuvers.seeing.signal import SHARP, first_true, last_true, median, over
from airwork.maneuvers.seeing.turns import HALF_DEG, QUARTER_DEG, TURNING_RAD, Turn, find_turns, straight_between
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import ground_work, wind_lines
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Array, At, Order, SetUp, Trace

GROWS, LEGS_GROW = 1.25, 3  # from a leg to the one a round later: more than wind and eye make of a side (no source)
CORNERS, NEARLY = 3, 0.5  # a bend on the way home is none
LEFT_M, KEPT_S = 100.0 * units.FT_M, 45.0  # out of the ±100 ft (FAA-S-ACS-6C, V.B) and kept there (no source)
AROUND_DEG = 228.0  # once round has three corners between its four legs
BOTH_IN_ONE = 0.7
STRAIGHT_S = 30.0
LEAST_CORNER_DEG, CORRECTION_DEG = 42.0, 70.0  # a smaller turn back after a corner corrects an overshoot
LONGEST_LEG_S, SHORT_LEG_S = 110.0, 5.0


LONG_M, SHORT_M = 1.0 * units.NM_M, 0.6 * units.NM_M  # sides of the field: our own choice


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a rectangular course: headings, ground speeds and corner banks for today's wind."""
    g = ground_work.set_up_over_ground(
        ws, steepest_words="steepest bank {} with the wind behind", radius_name="corner radius over the ground"
    )
    tas, wind, side, radius = g.tas_mps, g.wind, g.side, g.radius_m
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
            At(
                "Corners: steepest leaving the downwind leg, shallowest leaving the upwind leg; roll out crabbed",
                "bank",
            ),
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


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Two rounds of the rectangle, one radius at the corners, crabbed on the legs; from the downwind leg."""
    t = set_up.targets
    sign = order.side
    radius = t["radius_m"]
    corner = Arc(sign * 0.5 * math.pi, radius)
    sides = [straight(max(length - 2.0 * radius, 100.0)) for length in (LONG_M, SHORT_M)]
    round_once = [piece for k in range(4) for piece in (sides[k % 2], corner)]
    return fly_over_ground(
        order.airplane,
        order.conditions,
        (*round_once, *round_once),
        track_rad=t["line_rad"],
        altitude_m=set_up.entry_altitude_m,
        ias_mps=t["ias_mps"],
    )


def propose(view: View) -> list[Episode]:
    """Every low chain of corners to one side with legs between them."""
    out = []
    chains = [_at_its_height(view, whole) for whole in _chains(view)]
    for chain in (part for whole in chains for part in _with_and_without_ends(whole)):
        first, last = _leg_start(view, chain[0].first), _leg_end(view, chain[-1].last)
        if view.near_ground(first, last):
            continue
        legs = sum(straight_between(view, a, b) >= SHORT_LEG_S for a, b in pairwise(chain))
        change = sum(turn.track_change_deg for turn in chain)
        if sum(_corners(turn) for turn in chain) < CORNERS:
            continue
        score = (
            float(np.mean([_corner(turn, end=turn is chain[0] or turn is chain[-1]) for turn in chain]))
            * over(change, AROUND_DEG, SHARP)
            * min(legs / 2.0, 1.0)
            * (not _spirals(view, chain))
            * down_low(view, first, last)
            * kept(view, first, last)
        )
        evidence = (
            f"{len(chain)} turns {side(chain[0].sign)} adding up to {change:.0f}°, {legs} legs between, low and level",
        )
        phases = tuple((f"corner {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(ROOM.kind, view, first, last, score, evidence=evidence, phases=phases,
                           facts={"sign": chain[0].sign, "corners": len(chain)}))  # fmt: skip
    return out


def _spirals(view: View, chain: list[Turn]) -> bool:
    """Nearly each leg longer than the same one a round before: a search outward from a place, no rectangle."""
    lengths = [
        math.hypot(view.east_m[b.first] - view.east_m[a.last], view.north_m[b.first] - view.north_m[a.last])
        for a, b in pairwise(chain)
    ]
    ratios = [after / max(before, 1.0) for before, after in zip(lengths, lengths[4:], strict=False)]
    grown = sum(ratio > GROWS for ratio in ratios)
    return len(ratios) >= LEGS_GROW and grown >= 0.75 * len(ratios)


def _corners(turn: Turn) -> int:
    """Of how many corners a turn is: one near a right angle, two in a half circle, none that is neither."""
    quarter, half = (about(turn.track_change_deg, wanted) for wanted in (QUARTER_DEG, HALF_DEG))
    return 0 if max(quarter, half) < NEARLY else 1 if quarter >= half else 2


def _corner(turn: Turn, *, end: bool = False) -> float:
    """How near a right angle; two corners flown as one half circle count a little less, at an end less still."""
    return max(
        about(turn.track_change_deg, QUARTER_DEG),
        (0.0 if end else BOTH_IN_ONE) * about(turn.track_change_deg, HALF_DEG),
    )


def _chains(view: View) -> list[list[Turn]]:
    """Corners to one side in a row; small corrections to the other side between them are passed over."""
    found: list[list[Turn]] = [[]]
    for turn in view.once(find_turns):
        chain, change = found[-1], turn.track_change_deg
        soon = bool(chain) and straight_between(view, chain[-1], turn) <= LONGEST_LEG_S
        if soon and change < (LEAST_CORNER_DEG if turn.sign == chain[0].sign else CORRECTION_DEG):
            continue
        corner = change >= LEAST_CORNER_DEG and _corner(turn) > 0.0
        if not (soon and corner and turn.sign == chain[0].sign):
            found.append([])
        if corner:
            found[-1].append(turn)
    return [chain for chain in found if len(chain) >= 2]


def _at_its_height(view: View, chain: list[Turn]) -> list[Turn]:
    """Without the corners on the way to another height that was then kept: who turned for home climbed or descended."""
    for k in range(CORNERS, len(chain)):
        held = median(view.altitude_m[chain[0].first : chain[k - 1].last + 1])
        ends = [float(view.altitude_m[turn.last]) - held for turn in chain[k:]]
        after = view.altitude_m[chain[-1].last : chain[-1].last + view.samples(KEPT_S)]
        left = min(abs(off) for off in (*ends, *(after - held))) > LEFT_M and len({off > 0.0 for off in ends}) == 1
        if left and float(np.ptp(after)) < LEFT_M:
            return chain[:k]
    return chain


def _with_and_without_ends(chain: list[Turn]) -> list[list[Turn]]:
    """The chain, and the chain from its first to its last right angle: a half circle before or after may not belong."""
    square = [k for k, turn in enumerate(chain) if about(turn.track_change_deg, QUARTER_DEG) > 0.5]
    core = chain[square[0] : square[-1] + 1] if square else []
    return [chain] if len(core) in (0, 1, len(chain)) else [chain, core]


def _leg_start(view: View, index: int) -> int:
    """Back along the straight leg before the first corner, at most half a minute."""
    low = max(index - view.samples(STRAIGHT_S), 0)
    return low + last_true(np.abs(view.turn_bank_rad[low:index]) > TURNING_RAD, -1) + 1


def _leg_end(view: View, index: int) -> int:
    """On along the straight leg after the last corner, at most half a minute."""
    most = view.samples(STRAIGHT_S)
    turning = np.abs(view.turn_bank_rad[index + 1 : index + most]) > TURNING_RAD
    rolled_out = first_true(~turning, 0)
    return min(index + rolled_out + first_true(turning[rolled_out:], most - rolled_out), view.n - 1)


LEG_S = 2.0  # a shorter leg shows no direction
SQUARE_RAD = math.radians(45.0)  # a corner further from 90° belongs to no rectangle


def over_ground(path: FlownPath, e: Episode) -> Trace | None:
    """The rectangle whose sides are the legs flown, with one radius at the corners."""
    corners = e.phases
    sign = math.copysign(1.0, path.turned(e.start_s, e.end_s))
    if len(corners) < 3 or any(abs(abs(path.turned(c.start_s, c.end_s)) - 0.5 * math.pi) > SQUARE_RAD for c in corners):
        return None
    legs = _legs(path, e, corners)
    if legs is None:
        return None
    first, offsets = _lines(legs, sign)
    if len(offsets) < 4:
        return None
    sides = [abs(offsets[(k - 1) % 4] + offsets[(k + 1) % 4]) for k in range(4)]
    radii = [r for r in (path.circle(c.start_s, c.end_s)[0] for c in corners) if math.isfinite(r)]
    radius = min(float(np.median(radii)) if radii else LARGE_M, 0.45 * min(sides))
    if radius < SMALL_M / 2.0 or max(sides) > 2.0 * LARGE_M:
        return None
    origin = np.mean([0.5 * (a + b) for a, b in legs[:4]], axis=0)
    ahead = np.array([math.sin(first), math.cos(first)])
    outside = -sign * np.array([math.cos(first), -math.sin(first)])  # away from the middle, seen along the first leg
    start = origin + ahead * float((legs[0][0] - origin) @ ahead) + outside * offsets[0]
    corner = Arc(sign * 0.5 * math.pi, radius)
    reach = path.reach_m(corner)
    left = offsets[1] - float((start - origin) @ ahead) - reach
    if left < 0.0:
        return None
    pieces = [straight(max(left, 8.0))]
    for k in range(len(corners)):
        last = k == len(corners) - 1
        flown = float(np.hypot(*(legs[k + 1][1] - legs[k + 1][0])))
        length = sides[(k + 1) % 4] - 2.0 * reach
        pieces += [corner, straight(max(min(flown, length) if last else length, 8.0))]
    return moved(path.fly(pieces, first), start)


def _legs(path: FlownPath, e: Episode, corners: tuple[Phase, ...]) -> list[tuple[Array, Array]] | None:
    """Both ends of each leg, before, between and after the corners; None where one is too short to show a direction."""
    times = [e.start_s, *(t for c in corners for t in (c.start_s, c.end_s)), e.end_s]
    spans = list(zip(times[::2], times[1::2], strict=True))
    if any(end - start < LEG_S for start, end in spans):
        return None
    return [(path.at(start), path.at(end)) for start, end in spans]


def _lines(legs: list[tuple[Array, Array]], sign: float) -> tuple[float, dict[int, float]]:
    """Direction of the first leg, and how far each side lies outside of the middle of the first four legs. [rad, m]"""
    turned = [bearing(b - a) - sign * 0.5 * math.pi * k for k, (a, b) in enumerate(legs)]
    first = turned[0] + float(np.mean([float(turn_from_to_rad(turned[0], t)) for t in turned]))
    origin = np.mean([0.5 * (a + b) for a, b in legs[:4]], axis=0)
    found: dict[int, list[float]] = {}
    for k, (a, b) in enumerate(legs):
        course = first + sign * 0.5 * math.pi * k
        outside = -sign * np.array([math.cos(course), -math.sin(course)])
        found.setdefault(k % 4, []).append(float((0.5 * (a + b) - origin) @ outside))
    return first, {k: float(np.mean(v)) for k, v in found.items()}


ROOM = Room(
    "rectangular_course", "Rectangular course", Family.GROUND, set_up, ideal, ground_work.HEIGHTS, propose,
    grade_ground_reference,
    tied_to_ground=True, needs_engine=True, over_ground=over_ground,
    may_set=("bank_rad", "direction", "ias_mps", "line_rad", "radius_m"),
    facts=BriefFacts(aloud=(ALONG_GROUND,)),
    extent="first leg → last leg, each at most half a minute; no sharp edge: the outer legs are straight flight",
)  # fmt: skip
