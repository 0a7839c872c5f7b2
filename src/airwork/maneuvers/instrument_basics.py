"""Flight by reference to instruments: straight and level, climb, descent, standard-rate turns, by the numbers.

Judged by the tasks `straight_and_level`, `climb`, `descent` and `level_turn`, whose printed numbers are for this.
"""

from __future__ import annotations

import math

from airwork import units
from airwork.airdata.atmosphere import G0_MPS2
from airwork.errors import NotPossible
from airwork.maneuvers import rooms
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.setting_up import power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Tolerance, Trace
from airwork.values import sourced

SINK_MPS = units.from_unit(500.0, "fpm")  # [AFH] ch. 3
GAIN_M = 500 * units.FT_M
LEG_S = 60.0


def set_up(ws: Worksheet) -> SetUp:
    """Numbers of each basic: attitude plus power gives the performance."""
    cruise = power_lines.cruise_cas_mps(ws, 0.55) or 1.7 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cruise), "down", 5.0), ws.on_dial(ws.maneuvering_ias(), "down", 5.0)))
    cas = ws.cas(ias)
    vy = ws.book_cas("best_rate_of_climb") or 1.35 * ws.stall_cas_mps(0)
    climb = ws.on_dial(ws.ias(vy))
    ws.note_heights()
    ws.note_speed("level, descents, turns", ias, "assumed", "level speed at 55 %, below maneuvering speed")
    level = power_lines.level(ws, cas, name="power, level")
    ws.note_speed("climb", climb, "handbook table", "best rate for today's weight and air")
    rate = power_lines.climb(ws, ws.cas(climb), name="rate of climb") or 2.5
    down = power_lines.for_sink(ws, cas, 0, SINK_MPS, name=f"power, {ws.airplane.book.rate(SINK_MPS)} down")
    bank = turn_lines.standard_rate_bank_rad(ws, cas)
    turn_lines.note_turn(ws, cas, bank, turn_rad=math.pi, bank_source="standard rate, 3°/s, at today's true airspeed")
    ws.note(
        "15 % of true airspeed",
        round(0.15 * units.to_unit(ws.tas_mps(cas), "kt"), 1),
        "deg",
        "formula",
        "rule of thumb, [IFH]; the bank above is exact",
    )
    ws.note_stall(0)
    if rate < 0.5:
        raise NotPossible(
            f"{ROOM.title}: it climbs less than 100 ft/min at {units.write(ws.entry_m, 'ft')} today; fly lower."
        )
    ratio = None if level is None else level.ratio
    ws.use_power(2.0 * LEG_S + 2.0 * 60.0 + GAIN_M / SINK_MPS, ratio)
    ws.use_power(GAIN_M / rate, 1.0)
    words = "power by eye" if level is None else level.words
    tolerances = tuple(
        Tolerance(f"{task.title}: {c.name}", c.text, f"{task.code} {sourced(ws.standard.in_words(c.source), c.label)}")
        for task in (ws.standard.task(one.judged_by) for one in rooms(Family.FUNDAMENTAL))
        for c in task.criteria
    )
    return ws.finish(
        steps=(
            "Safety pilot looks out, says so; view-limiting device on in level flight, trimmed",
            f"Straight and level: attitude, {words}, {ws.mark(ias)}; scan attitude, heading, altitude, speed",
            f"Climb: attitude up, full throttle, {ws.mark(climb)}; level off a tenth of the rate before the altitude",
            At(
                f"Turn: {math.degrees(bank):.0f}° of bank, 3°/s, 60 s for 180°; "
                "roll out half the bank before the heading",
                "bank",
            ),
            At(
                f"Descent: {down.words}, {ws.mark(ias)}, {ws.airplane.book.rate(SINK_MPS)}; level off 50 ft early",
                "sinking",
            ),
        ),
        usual_errors=(
            "fixation on one instrument; leaving one out",
            "big corrections; chasing the needles instead of setting an attitude",
            "no trim; heading lost while changing power",
            "leveling off late or without lead",
        ),
        card_line=f"{ws.mark(ias)} · {words} · climb {ws.mark(climb)} full · down {down.words} · "
        f"turn {math.degrees(bank):.0f}°",
        targets={"ias_mps": ias, "climb_ias_mps": climb, "bank_rad": bank},
        tolerances=tolerances,
        cautions=("A safety pilot looks out all the time; not in cloud without clearance, rating and equipment.",),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """A minute level, a climb, a standard-rate 180° each way, a descent back."""
    t = set_up.targets
    flown = FlownIdeal(order, set_up.entry_altitude_m, t["ias_mps"])
    flown.hold(LEG_S)
    top = set_up.entry_altitude_m + GAIN_M
    lead = 10.0
    force = flown.thrust()
    flown.climb(
        force, lambda f: f.altitude > top - max(lead, 6.0 * f.tas * math.sin(f.path)), ias_mps=t["climb_ias_mps"]
    )
    flown.level_off(top)
    flown.change_speed(t["ias_mps"])
    for sign in (-1.0, 1.0):
        flown.turn(sign * math.pi, t["bank_rad"])
        flown.hold(10.0)
    bottom = set_up.entry_altitude_m
    weight = order.conditions.mass_kg * G0_MPS2

    def sinking(tas: float, load: float, altitude: float) -> float:
        return -weight * SINK_MPS / tas

    flown.climb(sinking, lambda f: f.altitude < bottom + 6.0 * SINK_MPS)
    flown.level_off(bottom)
    flown.hold(LEG_S / 4.0)
    return flown.trace()


ROOM = Room(
    "instrument_basics", "Instrument-reference basics", Family.INSTRUMENT, set_up, ideal,
    Heights(300.0, 450.0, "1,500 ft above ground: common practice, no source"),
    may_set=("ias_mps",),
    facts=BriefFacts(alone="view", aloud=("who looks out while the other looks in",)),
)  # fmt: skip
