"""Eights along a road: a full circle to one side of a road, and at once one to the other, equal over the ground.

In the data: turns to alternate sides, each through about a full circle of track, one right after the other, low and
level, the circles side by side: their centers two radii apart. One episode however many. Not it: steep turns to both
sides (high), turns around a point each way (one center), eights on pylons (each turn well under a circle, legs
between), S-turns (half circles).
Described by [AFH] ch. 7, figure 7-7: the road across the wind, the first circle to the downwind side. No authority
prints numbers for it; judged by the task `eights_along_road`, which takes those of the other ground reference work.
"""

from __future__ import annotations

import math

import numpy as np

from airwork.airdata.angles import turn_from_to_rad, unwrap_rad
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.ground_reference import grade_ground_reference, of_each_part_m
from airwork.maneuvers.paths.flown_over_ground import ROLL_S, Arc, fly_over_ground, straight
from airwork.maneuvers.paths.flown_path import LARGE_M, LEAD_RAD, SMALL_M, FlownPath, late, moved
from airwork.maneuvers.seeing.propose_tools import (
    NOT_KNOWN,
    about,
    alternating,
    centers_apart_m,
    episode,
    weaves,
)
from airwork.maneuvers.seeing.signal import over
from airwork.maneuvers.seeing.turns import WHOLE_DEG, Turn, circle, find_turns
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import ground_work, wind_lines
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace

EIGHTS = 1.0

BESIDE = 0.52  # of two radii: circles side by side, not about one point
BETWEEN_S = 15.0  # straight over the road for a moment ([AFH] ch. 7)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of eights along a road: banks round both circles for today's wind."""
    g, eights = ground_work.full_circles(ws, EIGHTS, 5.0, circles=2.0, name="time for one circle")
    tas, side, radius = g.tas_mps, g.side, g.radius_m
    down, across, up = (math.degrees(bank) for bank in g.banks_rad)
    other = "right" if side == "left" else "left"
    return ws.finish(
        steps=(
            f"A road across the wind, landing places near; {g.entry}; along it, crab holding the airplane over it",
            At(
                f"First circle {side}, to the downwind side: begin at {across:.0f}°, steepen to {down:.0f}° downwind",
                "bank",
            ),
            f"Shallow to {up:.0f}° upwind, {across:.0f}° again at the road; wings level over the start, crab held",
            At(f"At once {other}, to the upwind side: from {across:.0f}° shallow to {up:.0f}°, then steepen", "bank"),
            "Both circles of one size, over the same point of the road; altitude and speed held",
        ),
        usual_errors=(
            "constant bank: the downwind circle grows, the upwind one shrinks",
            "rolled out beside the road, or without the crab it takes along it",
            "the second circle begun steep, though it goes upwind",
            "eyes on the road only: altitude, speed and traffic forgotten",
        ),
        card_line=g.circle_line,
        targets={**g.targets, "turns": eights},
        cautions=ground_work.CAUTIONS,
        tables={f"By quarter, {way}": wind_lines.quarters(ws, tas, radius, way) for way in (side, other)},
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Along the road across the wind, the first circle to the downwind side, the second to the upwind side."""
    t = set_up.targets
    sign = order.side
    from_rad, _ = order.conditions.air.wind_at(set_up.entry_altitude_m)
    circles = [Arc(sign * (-1.0) ** k * 2.0 * math.pi, t["radius_m"]) for k in range(2 * int(t["turns"]))]
    return fly_over_ground(
        order.airplane, order.conditions, (straight(150.0), *circles, straight(150.0)),
        track_rad=float(from_rad) + math.pi - sign * 0.5 * math.pi, altitude_m=set_up.entry_altitude_m,
        ias_mps=t["ias_mps"],
    )  # fmt: skip


def propose(view: View) -> list[Episode]:
    """Every chain of low full circles to alternate sides, side by side."""
    out = []
    circles = [turn for turn in view.once(find_turns) if about(turn.track_change_deg, WHOLE_DEG) > 0.0]
    for chain in weaves(circles, view, BETWEEN_S):
        near = [about(turn.track_change_deg, WHOLE_DEG) for turn in chain]
        score = alternating(view, chain) * float(np.mean(near)) * min(map(_beside, chain, chain[1:]))
        evidence = (f"{len(chain)} full circles to alternate sides, side by side, low and level",)
        phases = tuple((f"circle {k + 1}", turn.first, turn.last) for k, turn in enumerate(chain))
        out.append(episode(ROOM.kind, view, chain[0].first, chain[-1].last, score, evidence=evidence, phases=phases,
                           facts={"turns": len(chain), "sign": chain[0].sign}))  # fmt: skip
    return out


def _beside(one: Turn, two: Turn) -> float:
    """1 where two circles lie side by side over the ground, 0 about one center; neutral where it isn't known."""
    share = centers_apart_m(one, two) / (one.radius_m + two.radius_m)
    return over(share, BESIDE) if np.isfinite(share) else NOT_KNOWN


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, airspeed, height above ground; how alike the circles were by a threshold of ours."""
    return grade_ground_reference(episode, evidence, of_each_part_m)


def over_ground(path: FlownPath, e: Episode) -> Trace | None:
    """Full circles of the flown size, the first about the flown center and half round at the same moment. The road lies
    as the track at the ends of the circles in the mean: left a moment after rolling in, met a moment before rolled out.
    """
    if not e.phases:
        return None
    ends = [t for c in e.phases for t in (c.start_s, c.end_s)]
    rounds = [path.circle(c.start_s + ROLL_S, c.end_s - ROLL_S) for c in e.phases]
    radius, center = float(np.mean([size for size, _ in rounds])), rounds[0][1]
    if not SMALL_M < radius < LARGE_M:
        return None
    tracks = [float(path.track[path.flight.index_at(t)]) for t in ends]
    road = tracks[0] + float(np.mean([float(turn_from_to_rad(tracks[0], track)) for track in tracks]))
    sign = math.copysign(1.0, tracks[1] - tracks[0])
    trace = path.fly([Arc(sign * (-1.0) ** k * 2.0 * math.pi, radius) for k in range(len(e.phases))], road)
    turned = np.abs(unwrap_rad(trace.columns["track_rad"]) - road)
    half = int(np.argmax(turned > math.pi))
    first = path.flight.span(ends[0], ends[1])
    half_s = float(path.flight.time_s[first][np.argmax(sign * (path.track[first] - road) > math.pi)])
    inside = slice(int(np.argmax(turned > LEAD_RAD)), 2 * half - int(np.argmax(turned > LEAD_RAD)))
    _, _, *middle = circle(trace.columns["east_m"][inside], trace.columns["north_m"][inside])
    return late(moved(trace, center - np.array(middle)), half_s - e.start_s - float(trace.time_s[half]))


ROOM = Room(
    "eights_along_road", "Eights along a road", Family.GROUND, set_up, ideal, ground_work.HEIGHTS, propose, grade,
    tied_to_ground=True, needs_engine=True, worth=1.15,  # one maneuver that explains two circles
    over_ground=over_ground,
    times=True, may_set=("bank_rad", "direction", "ias_mps", "radius_m", "turns"),
    extent="first roll-in → wings level after the last circle",
)  # fmt: skip
