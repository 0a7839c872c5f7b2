"""Steep spiral: at least three full turns one way round a point, power idle, bank up to 60°, at a constant glide speed.

In the data: two turns or more without a pause, sinking all the while at a glide's speed. Not it: an emergency descent
(fast, much steeper), turns around a point and steep turns (level), a thermal (climbs).
Judged by the task `steep_spiral`: number of turns, bank limit, airspeed, roll-out heading.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.angles import turn_from_to_rad
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airdata.turn import gliding_turn_height_loss_m
from airwork.errors import InputError, NotPossible
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import speed, turning
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import NO_BANK, NO_HEADING, SETTLED, Sheet
from airwork.maneuvers.grading.straights import heading_error_rad, heading_note
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.flown_over_ground import Arc, fly_over_ground, straight
from airwork.maneuvers.seeing.propose_tools import (
    all_known,
    chains,
    episode,
    side,
    throttled,
)
from airwork.maneuvers.seeing.signal import SHARP, over, under
from airwork.maneuvers.seeing.turns import find_turns
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import heights, power_lines, turn_lines, wind_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace
from airwork.units import to_unit

TURNS_RAD = np.radians(640.0)  # three turns are asked for; given up after two it still shows
SINK_MPS, BANK_RAD = 2.75, np.radians(25.0)  # 540 fpm; a gliding turn is banked less (no source)
FAST = 2.1  # times the stall speed; an emergency descent is flown much faster
PAUSE_S = 8.0  # upwind the bank is small: the turn may seem to stop


TURNS = 3.0  # at least three ([AFH] ch. 10; commercial standard)
STEEPEST_RAD = math.radians(50.0)  # planned downwind, so that 60° is never passed; our own choice
ROOM_M = 60.0
FLOOR_M = 1500 * units.FT_M  # finished not below 1,500 ft above ground ([AFH] ch. 10)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a steep spiral: three turns round a point, throttle closed."""
    turns = float(ws.target.get("turns", TURNS))
    steepest = float(ws.target.get("bank_rad", STEEPEST_RAD))
    if not math.radians(30.0) <= steepest <= math.radians(60.0) or not 1.0 <= turns <= 8.0:
        raise InputError(f"{ROOM.title}: bank must be 30 to 60°, turns 1 to 8.")
    ws.permitted("steep_spirals")
    side = ws.word("direction", "left", ("left", "right"))
    load = 1.0 / math.cos(steepest)
    best = ws.book_cas("best_glide") or 1.4 * ws.stall_cas_mps(0)
    va = ws.maneuvering_ias()
    flown = max(best, 1.2 * ws.stall_cas_mps(0, load))
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(flown), "up"), va), load=load)
    cas = ws.cas(ias)
    tas = ws.tas_mps(cas)
    glide = power_lines.idle_sink_mps(ws, cas)
    ratio = tas / glide[0] if glide is not None else ws.airplane.glide_ratio
    middle = ws.entry_m - 0.5 * (ws.entry_m - ws.floor_m)
    wind = ws.wind(middle)[1]
    wind_lines.check_wind(ws, tas, wind)
    radius = wind_lines.radius_m(ws, tas, wind, steepest)
    mean = math.atan(tas**2 / (G0_MPS2 * radius))
    per_turn = float(gliding_turn_height_loss_m(tas, ratio, mean, 2.0 * math.pi))
    total = turns * per_turn
    if "altitude_m" not in ws.target and ws.conditions.altitude_m is None:
        ws.entry_m = heights.round_up_m(ws.floor_m + 1.1 * total + ROOM_M)
        if ws.conditions.ceiling_m is not None and ws.entry_m > ws.conditions.ceiling_m:
            ws.entry_m = ws.conditions.ceiling_m
    possible = math.floor((ws.entry_m - ws.floor_m) / per_turn * 10.0) / 10.0
    ws.note_heights()
    ws.note_speed(
        "speed", ias, "handbook table", "best glide, or 1.2 times the stall in the steepest bank if that is more"
    )
    ws.note_speed("never above", va, "handbook table", "maneuvering speed for today's weight")
    ws.note_stall(0)
    wind_lines.note_wind(ws, middle)
    ws.note(
        "radius over the ground",
        round(radius / units.FT_M / 10) * 10.0,
        "ft",
        "formula",
        f"steepest bank, downwind, {math.degrees(steepest):.0f}°",
    )
    turn_lines.note_turn(ws, cas, steepest, bank_source="steepest, flying downwind; at most 60°")
    ws.note(
        "height lost in a turn, about",
        round(per_turn / units.FT_M / 10) * 10.0,
        "ft",
        "formula",
        "gliding turn at the mean bank",
        also=f"{0.85 * per_turn / units.FT_M:,.0f} to {1.3 * per_turn / units.FT_M:,.0f} ft",
    )
    ws.note("turns above the floor", possible, "", "formula", "height over the floor by loss in a turn")
    if possible < turns - 0.05:
        needed = heights.round_up_m(ws.floor_m + total + ROOM_M)
        raise NotPossible(
            f"{ROOM.title}: {turns:g} turns cost about {units.write(total, 'ft')}; begin at "
            f"{units.write(needed, 'ft')} or higher, not {units.write(ws.entry_m, 'ft')}."
        )
    seconds = turns * 2.0 * math.pi * radius / max(tas - 0.3 * wind, 10.0)
    ws.use_power(seconds, 0.1)
    return ws.finish(
        steps=(
            ws.before(),
            f"Upwind of the point, heading downwind: throttle closed, {ws.mark(ias)}, trim; carburetor heat",
            f"Roll in abeam the point: {math.degrees(steepest):.0f}° downwind, least upwind; same distance all round",
            "Speed by pitch, distance by bank; clear the engine once in each turn, into the wind",
            f"After {turns:g} turns roll out on the entry heading, not below {units.write(ws.floor_m, 'ft')}",
        ),
        usual_errors=(
            "bank past 60° when the point slides under the wing",
            "speed wandering with the bank: pitch not changed with it",
            "wind not corrected: the spiral drifts downwind",
            "no engine clearing; eyes only on the point, no look below",
        ),
        card_line=f"{ws.mark(ias)} · idle · bank {math.degrees(steepest):.0f}° downwind, ≤ 60° · {turns:g} turns "
        f"≈ {round(total / units.FT_M, -2):,.0f} ft · out ≥ {units.write(ws.floor_m, 'ft')}",
        targets={
            "ias_mps": ias,
            "bank_rad": steepest,
            "radius_m": radius,
            "turns": turns,
            "loss_m": total,
            "glide_ratio": ratio,
        },
        tables={f"Bank by quarter, turning {side}": wind_lines.quarters(ws, tas, radius, side, middle)},
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Round the point on the radius, throttle closed, entered downwind; over the ground in the day's wind."""
    t = set_up.targets
    sign = order.side
    middle = set_up.entry_altitude_m - 0.5 * t["loss_m"]
    from_rad, _ = order.conditions.air.wind_at(middle)
    cas = float(order.airplane.cas_from_ias_mps(t["ias_mps"]))
    pressure, temperature = (
        order.conditions.air.pressure_altitude_m(middle),
        order.conditions.air.temperature_at_k(middle),
    )
    sink = float(tas_from_cas_mps(cas, pressure, temperature)) / math.hypot(1.0, t["glide_ratio"])
    turns = t["turns"]
    while True:
        pieces = (straight(150.0), Arc(sign * 2.0 * math.pi * turns, t["radius_m"]), straight(40.0))
        trace = fly_over_ground(
            order.airplane,
            order.conditions,
            pieces,
            track_rad=float(from_rad) + math.pi,
            altitude_m=set_up.entry_altitude_m,
            ias_mps=t["ias_mps"],
            climb_mps=lambda s, bank, h: -sink / math.cos(bank) ** 1.5,
        )
        if float(trace.columns["altitude_m"][-1]) >= set_up.floor_m or turns <= 1.0:
            return trace
        turns -= 0.5


def propose(view: View) -> list[Episode]:
    """Every long sinking turn at a gliding speed."""
    out = []
    for chain in chains(view.once(find_turns), view, opposite=False, longest_gap_s=PAUSE_S):
        # It sinks in each of its turns: a level one before it is a clearing turn's half.
        sinks = [turn for turn in chain if -float(view.climb_mps[turn.first : turn.last + 1].mean()) > 0.5 * SINK_MPS]
        if not sinks:
            continue
        first, last = sinks[0].first, sinks[-1].last
        change = abs(float(view.heading_rad[last] - view.heading_rad[first]))
        sink = -float(view.climb_mps[first : last + 1].mean())
        times_stall = float(np.median(view.one_g_speed_mps[first : last + 1])) / view.clean_stall_mps
        score = (
            over(change, TURNS_RAD)
            * over(sink, SINK_MPS)
            * (under(times_stall, FAST, SHARP) if np.isfinite(times_stall) else 1.0)
            * over(max(turn.settled_bank_rad for turn in chain), BANK_RAD, SHARP)
            * throttled(view, first, last)
            * all_known(view, first, last)
        )
        evidence = (
            f"{np.degrees(change):.0f}° {side(chain[0].sign)}",
            f"sinking {to_unit(sink, 'fpm'):,.0f} fpm at a gliding speed",
        )
        out.append(episode(ROOM.kind, view, first, last, score, evidence=evidence,
                           facts={"sign": chain[0].sign, "change_rad": change}))  # fmt: skip
    return out


SETTLE_S = 6.0  # rolling in and out, the speed is not yet or no longer held


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Number of turns, bank limit, airspeed, roll-out on the entry heading."""
    sheet = Sheet(episode, evidence)
    start, end, sign = episode.start_s, episode.end_s, episode.facts["sign"]
    window = (start + SETTLE_S, max(end - SETTLE_S, start + SETTLE_S + 1.0))
    aim = sheet.speed_held(evidence.median(evidence.ias_mps, *window), window, SETTLED)
    sheet.cause(speed.speed_settled_off(sheet, aim, window))
    if evidence.bank_rad is None:
        sheet.cannot("bank_limit", NO_BANK)
    else:
        sheet.over("bank_limit", evidence.bank_size_rad, error=evidence.bank_error_rad)
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
        wanted = evidence.lesson_target(sheet.kind, "heading_rad")
        if wanted is None:
            sheet.number("off_whole_turns_deg", float(np.degrees(off)))
            sheet.not_asked("rollout_heading", "no heading or object was named to roll out on")
        else:
            beside = float(turn_from_to_rad(wanted, evidence.mean(heading, end, end + 1.5)))
            sheet.once("rollout_heading", [beside], error=heading_error_rad(sheet), note=heading_note(sheet))
    sheet.floor_kept()
    sheet.cause(speed.chasing_airspeed(sheet, *window))
    sheet.cause(turning.uncoordinated(sheet, *window))
    return sheet.grade()


ROOM = Room(
    "steep_spiral", "Steep spiral", Family.PERFORMANCE, set_up, ideal,
    Heights(900.0, FLOOR_M, "finished 1,500 ft above ground, [AFH] ch. 10"), propose, grade, tied_to_ground=True,
    idle_power=True, wants_clear_sky=True, lay=laying.from_the_roll_in,
    may_set=("bank_rad", "direction", "ias_mps", "radius_m", "turns"),
    facts=BriefFacts("think", handbook="steep_spirals", aloud=("height at which it ends, engine warmed on the way",)),
    extent="roll-in at idle → wings level",
)  # fmt: skip
