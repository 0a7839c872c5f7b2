"""S-turns: half circles of equal radius to alternate sides of a road that lies across the wind, 600 to 1,000 ft up.

In the data: two or more turns to alternate sides, each through about 180° of track, one right after the other, low and
level. One episode however many. Not it: a lazy eight (climbs and sinks, high), clearing turns (90°, high), eights on
pylons (each turn well over 180°, legs between).
Judged by the task `s_turns`: altitude, airspeed, height above ground; equal radii by a threshold of ours.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from airwork.maneuvers.brief_facts import ALONG_GROUND, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.ground_reference import grade_ground_reference, of_each_part_m
from airwork.maneuvers.paths.flown_over_ground import Arc, fly_over_ground, straight
from airwork.maneuvers.paths.flown_path import LARGE_M, SMALL_M, FlownPath, bearing, late, moved
from airwork.maneuvers.seeing.propose_tools import (
    LEVEL_MPS,
    about,
    alternating,
    episode,
    weaves,
)
from airwork.maneuvers.seeing.signal import last_true, ramp
from airwork.maneuvers.seeing.turns import HALF_DEG, MOMENT_S, Turn, find_turns, straight_between, until
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import ground_work, wind_lines
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace

BETWEEN_S = 10.0  # wings level over the road is a moment
SLOWED, INTO_WIND = (0.98, 0.92), 0.2  # of its true airspeed over the ground where it begins; less likely then
ROLLED_OUT_EARLY_S, MANY = 20.0, 3  # a poor pilot's half circle is over too soon: straight on to the road


HALVES = 4


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of S-turns across a road: bank by point of the half circles for today's wind."""
    g = ground_work.round_marks(ws)
    tas, side, radius = g.tas_mps, g.side, g.radius_m
    halves = int(ws.wish("turns", HALVES, 2, 12))
    ws.use_power(halves * math.pi * radius / tas * 1.1, g.power_ratio)
    down, _, up = (math.degrees(bank) for bank in g.banks_rad)
    other = "right" if side == "left" else "left"
    return ws.finish(
        steps=(
            f"Road or line across the wind; {g.entry}",
            f"Cross it heading downwind, wings level; roll at once to {down:.0f}°, the steepest",
            "Shallow the bank as the ground speed falls; wings level over the road, at right angles to it",
            f"Upwind half the other way: begin shallow, {up:.0f}°, steepen toward the road",
            "Equal half circles on both sides, altitude and speed held",
        ),
        usual_errors=(
            "bank too shallow after the downwind crossing: the half circle grows",
            "rolled level before or after the road, or not at right angles to it",
            "constant bank instead of constant radius",
            "altitude lost in the steep part",
        ),
        card_line=g.circle_line,
        targets={**g.targets, "turns": float(halves)},
        cautions=ground_work.CAUTIONS,
        tables={
            f"First half, {side}, from the downwind crossing": wind_lines.quarters(ws, tas, radius, side)[:4],
            f"Second half, {other}, from the upwind crossing": ground_work.second_half(ws, tas, radius, other),
        },
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Across the road downwind, half circles to alternate sides of one radius over the ground."""
    t = set_up.targets
    sign = order.side
    from_rad, _ = order.conditions.air.wind_at(set_up.entry_altitude_m)
    halves = [Arc(sign * math.pi * (-1.0) ** k, t["radius_m"]) for k in range(int(t["turns"]))]
    return fly_over_ground(
        order.airplane,
        order.conditions,
        (straight(150.0), *halves, straight(150.0)),
        track_rad=float(from_rad) + math.pi,
        altitude_m=set_up.entry_altitude_m,
        ias_mps=t["ias_mps"],
    )


def propose(view: View) -> list[Episode]:
    """Every chain of low half circles to alternate sides."""
    out = []
    halves = [turn for turn in _halves(view) if about(turn.track_change_deg, HALF_DEG) > 0.0]
    early = [chain for chain in weaves(halves, view, ROLLED_OUT_EARLY_S) if len(chain) >= MANY]
    for chain in [*weaves(halves, view, BETWEEN_S), *early]:
        near = [about(turn.track_change_deg, HALF_DEG) for turn in chain]
        score = alternating(view, chain) * float(np.mean(near)) * (min(near) if len(chain) == 2 else 1.0)
        score *= _from_downwind(view, chain[0].first)
        evidence = (f"{len(chain)} half circles to alternate sides, low and level",)
        phases = tuple((f"half circle {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(ROOM.kind, view, chain[0].first, chain[-1].last, score, evidence=evidence, phases=phases,
                           facts={"halves": len(chain)}))  # fmt: skip
    return out


def _from_downwind(view: View, first: int) -> float:
    """The road is first crossed with the wind; a turn begun into it is the way onto the entry."""
    return 1.0 - INTO_WIND * ramp(float(view.groundspeed_mps[first] / view.tas_mps[first]), *SLOWED)


def _halves(view: View) -> list[Turn]:
    """The turns, two arcs to the same side that together come nearer a half circle taken for one, badly flown."""
    out: list[Turn] = []
    for turn in view.once(find_turns):
        last = out[-1] if out else None
        if last is not None and last.sign == turn.sign and straight_between(view, last, turn) < BETWEEN_S:
            off = abs(last.track_change_deg + turn.track_change_deg - HALF_DEG)
            if off < min(abs(last.track_change_deg - HALF_DEG), abs(turn.track_change_deg - HALF_DEG)):
                out[-1] = until(view, last, turn.last)
                continue
        out.append(_while_level(view, turn))
    return out


def _while_level(view: View, turn: Turn) -> Turn:
    """Without the departure: a climb begun in the last half circle, turning on, is no part of it."""
    level = np.abs(view.climb_mps[turn.first : turn.last + 1]) < LEVEL_MPS
    last, moment = turn.first + last_true(level, 0), view.samples(MOMENT_S)
    if not turn.first + moment < last < turn.last - moment:
        return turn
    cut = until(view, turn, last)
    return max(cut, turn, key=lambda one: about(one.track_change_deg, HALF_DEG))


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, airspeed, height above ground; how round it was over the ground by a threshold of ours."""
    return grade_ground_reference(episode, evidence, of_each_part_m)


def over_ground(path: FlownPath, e: Episode) -> Trace | None:
    """Half circles of one radius along the line through the crossings flown."""
    halves = e.phases
    if len(halves) < 2:
        return None
    crossings = [path.at(halves[0].start_s)]
    crossings += [path.at(0.5 * (a.end_s + b.start_s)) for a, b in pairwise(halves)]
    crossings.append(path.at(halves[-1].end_s))
    along = crossings[-1] - crossings[0]
    radius = float(np.hypot(*along)) / (2.0 * len(halves))
    if not SMALL_M < radius < LARGE_M:
        return None
    sign = math.copysign(1.0, path.turned(halves[0].start_s, halves[0].end_s))
    pieces = [Arc(sign * math.pi * (-1.0) ** k, radius) for k in range(len(halves))]
    trace = path.fly(pieces, bearing(along) - sign * 0.5 * math.pi)
    return late(moved(trace, crossings[0]), halves[0].start_s - e.start_s)


ROOM = Room(
    "s_turns", "S-turns", Family.GROUND, set_up, ideal, ground_work.HEIGHTS, propose, grade, tied_to_ground=True,
    needs_engine=True, over_ground=over_ground,
    times=True, may_set=("bank_rad", "direction", "ias_mps", "radius_m", "turns"),
    facts=BriefFacts(aloud=(ALONG_GROUND,)),
    extent="first roll-in → wings level after the last half circle",
)  # fmt: skip
