"""Turns around a point: circles of constant radius over the ground at 600 to 1,000 ft, the bank following the wind.

In the data: two circles or more one way, low and level, about one center. One episode however many turns. Blown along
by the wind it is an attempt where it was left on the heading it was begun on. Higher than asked only a round one is it:
who circles for a look changes the radius. Not it: a steep turn (high, drifts with
the wind), a steep spiral (sinks), a 360 for spacing in the pattern, a look at something on the way, waiting.
Judged by the task `turns_around_point`: altitude, airspeed, height above ground; the radius by a threshold of ours.
"""

from __future__ import annotations

import math

import numpy as np

from airwork.airdata.angles import unwrap_rad
from airwork.maneuvers.brief_facts import ALONG_GROUND, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.ground_reference import from_the_center_m, grade_ground_reference
from airwork.maneuvers.paths.flown_over_ground import Arc, fly_over_ground, straight
from airwork.maneuvers.paths.flown_path import LARGE_M, LEAD_RAD, SMALL_M, FlownPath, bearing, moved
from airwork.maneuvers.seeing.propose_tools import (
    MEDIUM_DEG,
    NOT_KNOWN,
    centers_apart_m,
    chains,
    down_low,
    episode,
    level,
    mean_agl_m,
    no_part_of_a_climb,
    side,
)  # fmt: skip
from airwork.maneuvers.seeing.signal import SHARP, median, over, under
from airwork.maneuvers.seeing.turns import EACH_SECOND, WHOLE_DEG, Turn, circle, find_turns
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.maneuvers.setting_up import ground_work, wind_lines
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace
from airwork.units import FT_M, KT_MPS, to_unit

FEW_DEG, WIDE_M = 305.0, 890.0  # a poor pilot's circle is up to 2,500 ft wide
ROUND = 0.29  # spread of the distance from the center over the radius; wind uncorrected gives 0.2 to 0.3
ROUND_HIGH, ROUNDER = 0.10, 3.0  # high up: rounder over the ground than through the air by this
PAUSE_S = 12.0  # rolled out for a moment and on round the same center
DRIFTED, DRIFTED_TWICE = 0.3, 0.7  # blown along by the wind; twice round low down, out as it was begun, an attempt
# 600 to 1,000 ft, ±100 ft (FAA-S-ACS-6C, V.B): where not even the ground shows a point, the height must
ASKED_M, ABOUT = 1115.0 * FT_M, 0.02  # an altimeter's error about the last of them
TWICE_DEG = 640.0
# Out on any heading, the center farther off each time by half of the radius, follows no point, unless it stays round.
OUT_AGAIN_DEG, ROUND_BY_CHANCE, MOVED = 18.0, 0.15, 0.6
# Two turns are the exercise, one hardly ([AFH] ch. 7): once round may be a look at something, or waiting.
BEGUN_AGAIN_DEG, ONCE = 500.0, 0.45
# Once round may be it as well, entered downwind (in so little wind any way will do) and at one height: 180 fpm all the
# way round is a descent (no source).
DOWNWIND_RAD, WIND_MPS = math.radians(60.0), 5.0 * KT_MPS
KEPT_MPS = 0.9
TURN_RAD, MOST_OF_A_TURN = math.radians(WHOLE_DEG), 0.15


TURNS = 2.0  # at least one, better two ([AFH] ch. 7)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of turns around a point: bank, heading and crab by quarter for today's wind."""
    g, turns = ground_work.full_circles(ws, TURNS, 10.0, circles=1.0, name="time for one turn")
    tas, side, radius = g.tas_mps, g.side, g.radius_m
    return ws.finish(
        steps=(
            f"A point that is easy to see, no one near; {g.entry}",
            f"Enter downwind, abeam at the radius; roll to {math.degrees(g.banks_rad[0]):.0f}°, the steepest bank",
            f"Shallow it to {math.degrees(g.banks_rad[2]):.0f}° upwind, steepen again; the nose "
            "points into the circle on the downwind side, out of it on the upwind side",
            f"{turns:g} turns, altitude and speed held; roll out on the entry heading",
        ),
        usual_errors=(
            "constant bank: the circle drifts downwind",
            "watching the point only: altitude, speed and traffic forgotten",
            "crab made with rudder",
            "entry not downwind, or at the wrong distance",
        ),
        card_line=g.circle_line,
        targets={**g.targets, "turns": turns},
        cautions=ground_work.CAUTIONS,
        tables={f"By quarter, turning {side}": wind_lines.quarters(ws, tas, radius, side)},
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """In downwind, round the point at a constant radius over the ground, out on the entry heading."""
    t = set_up.targets
    sign = order.side
    from_rad, _ = order.conditions.air.wind_at(set_up.entry_altitude_m)
    pieces = (straight(200.0), Arc(sign * 2.0 * math.pi * t["turns"], t["radius_m"]), straight(200.0))
    return fly_over_ground(
        order.airplane,
        order.conditions,
        pieces,
        track_rad=float(from_rad) + math.pi,
        altitude_m=set_up.entry_altitude_m,
        ias_mps=t["ias_mps"],
    )


def propose(view: View) -> list[Episode]:
    """Every low level circle or circles about one center."""
    out = []
    for chain in _about_one_center(view):
        first, last = chain[0].first, chain[-1].last
        change = abs(float(np.degrees(view.track_rad[last] - view.track_rad[first])))
        radius, spread, _, _ = circle(
            view.east_m[first : last + 1][EACH_SECOND], view.north_m[first : last + 1][EACH_SECOND]
        )
        climb = float(view.altitude_m[last] - view.altitude_m[first]) / (STEP_S * (last - first))
        banks = np.degrees(np.abs(view.bank_rad[first : last + 1]))
        out_again = under(abs(change - WHOLE_DEG * round(change / WHOLE_DEG)), OUT_AGAIN_DEG)
        low, high = down_low(view, first, last), _held_to_ground(view, first, last, spread, change)
        agl = mean_agl_m(view, first, last)
        asked = under(agl, ASKED_M, ABOUT) if np.isfinite(agl) else 1.0
        drifted = DRIFTED + (DRIFTED_TWICE - DRIFTED) * over(change, TWICE_DEG, SHARP) * out_again * asked
        meant = max(out_again, _about_the_same(view, first, last))
        round_to = ROUND_BY_CHANCE + (ROUND - ROUND_BY_CHANCE) * meant * asked
        once = ONCE * _entered_downwind(view, first) * under(abs(climb), KEPT_MPS)
        again = max(once, over(change, BEGUN_AGAIN_DEG, SHARP))
        score = (
            over(change, FEW_DEG, SHARP)
            * max(low, high)
            * (max(under(spread, round_to) * again, drifted) if np.isfinite(spread) else NOT_KNOWN)
            * (under(radius, WIDE_M) if np.isfinite(radius) else 1.0)
            * level(climb)
            * no_part_of_a_climb(view, first, last)
            * under(median(banks), MEDIUM_DEG, SHARP)
        )
        height = "a low, near-constant height" if low >= high else "one height, high for it but round over the ground"
        evidence = [f"{change:.0f}° {side(chain[0].sign)} at {height}"]
        if np.isfinite(radius):
            evidence.append(f"circle of about {to_unit(radius, 'ft'):,.0f} ft over the ground")
        out.append(episode(ROOM.kind, view, first, last, score, evidence=tuple(evidence),
                           facts={"sign": chain[0].sign, "radius_m": radius, "spread": spread,
                                  "circles": change / WHOLE_DEG}))  # fmt: skip
    return out


def _entered_downwind(view: View, first: int) -> float:
    """1 for begun with the wind behind ([AFH] ch. 7), in little wind, or where none is known."""
    if view.wind_mps is None:
        return 1.0
    east, north = (float(np.interp(view.time_s[first], view.flight.time_s, part)) for part in view.wind_mps)
    if not np.hypot(east, north) > WIND_MPS:
        return 1.0
    return under(abs(math.remainder(float(view.track_rad[first]) - math.atan2(east, north), 2 * math.pi)), DOWNWIND_RAD)


def _about_the_same(view: View, first: int, last: int) -> float:
    """1 where the circle of each time round lies where the one before lay; 0 for one round, or blown along."""
    turned = np.abs(view.track_rad[first : last + 1] - view.track_rad[first])
    centers, radii = [], []
    for k in range(int(turned[-1] / TURN_RAD + MOST_OF_A_TURN)):
        part = np.flatnonzero((turned >= k * TURN_RAD) & (turned < (k + 1) * TURN_RAD))[EACH_SECOND] + first
        radius, _, east, north = circle(view.east_m[part], view.north_m[part])
        centers.append((east, north))
        radii.append(radius)
    if len(centers) < 2:
        return 0.0
    apart = np.hypot(*np.diff(np.array(centers), axis=0).T)
    return under(float(apart.max()), MOVED * float(np.mean(radii)))


def _held_to_ground(view: View, first: int, last: int, spread: float, change_deg: float) -> float:
    """Score, at any height, of circles round over the ground and not through the air: wind was corrected for."""
    if view.heading_from == "track" or not spread < ROUND_HIGH:  # not known, or not round at all
        return 0.0
    part = slice(first, last + 1)
    step = STEP_S * view.tas_mps[part] * np.array([np.sin(view.heading_rad[part]), np.cos(view.heading_rad[part])])
    through_air = circle(*np.cumsum(step, axis=1)[:, ::4])[1]
    return over(through_air / spread, ROUNDER) * over(change_deg, 2.0 * FEW_DEG)


def _about_one_center(view: View) -> list[list[Turn]]:
    """Turns one way joined while they go round the same center."""

    def apart(before: Turn, turn: Turn) -> bool:
        return centers_apart_m(before, turn) > max(before.radius_m, turn.radius_m)

    out = chains(view.once(find_turns), view, opposite=False, longest_gap_s=PAUSE_S, apart=apart)
    # The turn onto the circle may look like its beginning: a long turn is offered by itself too.
    return [*out, *([turn] for part in out if len(part) > 1 for turn in part if turn.change_deg > FEW_DEG)]


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, airspeed, height above ground; how round it was over the ground by a threshold of ours."""
    return grade_ground_reference(episode, evidence, from_the_center_m)


def over_ground(path: FlownPath, e: Episode) -> Trace | None:
    """Round the center of what was flown, at its radius."""
    radius, center = path.circle(e.start_s, e.end_s)
    total = path.turned(e.start_s, e.end_s)
    if not SMALL_M < radius < LARGE_M or abs(total) < math.pi:
        return None
    sign = math.copysign(1.0, total)
    begun = bearing(path.at(e.start_s) - center) + sign * 0.5 * math.pi
    trace = path.fly([Arc(sign * (abs(total) + 2.0 * LEAD_RAD), radius)], begun - sign * LEAD_RAD)
    turned = np.abs(unwrap_rad(trace.columns["track_rad"]) - trace.columns["track_rad"][0])
    inside = np.flatnonzero((turned >= LEAD_RAD) & (turned <= LEAD_RAD + abs(total)))
    if inside.size < 8:
        return None
    part = slice(int(inside[0]), int(inside[-1]) + 1)
    _, _, *middle = circle(trace.columns["east_m"][part], trace.columns["north_m"][part])
    return moved(trace, center - np.array(middle), part)


ROOM = Room(
    "turns_around_point", "Turns around a point", Family.GROUND, set_up, ideal, ground_work.HEIGHTS, propose, grade,
    tied_to_ground=True, needs_engine=True, over_ground=over_ground, in_lesson=2.0,
    times=True, may_set=("bank_rad", "direction", "ias_mps", "radius_m", "turns"),
    facts=BriefFacts(aloud=(ALONG_GROUND,)),
    extent="roll-in → wings level",
)  # fmt: skip
