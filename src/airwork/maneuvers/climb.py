"""Climb: a gain of height at a climbing speed, leveled off at the top.

In the data: a sustained gain of more than 300 ft. Not it: the rise inside a chandelle, lazy eight or stall.
Judged by the task `climb`: level-off altitude, heading, airspeed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from airwork import units
from airwork.errors import NotPossible
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.leg_grade import grade_leg
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.seeing.legs import legs
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights, named_m
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace
from airwork.units import to_unit

GAIN_M = 1000 * units.FT_M  # where the lesson names no gain


def _gain_m(target: Mapping[str, Any]) -> float:
    return float(target.get("altitude_change_m", GAIN_M))


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a climb, straight or turning."""
    named = named_m(ws.conditions, ws.target)
    gain = _gain_m(ws.target) if named is None else named - ws.entry_m
    bank = ws.wish("bank_rad", 0.0, 0.0, math.radians(30.0), "deg")
    cas = ws.book_cas("best_rate_of_climb", ws.entry_m + 0.5 * gain)
    default = ws.on_dial(1.35 * ws.ias(ws.stall_cas_mps(0)) if cas is None else ws.ias(cas))
    ias = ws.flown_ias(default, load=1.0 / math.cos(bank))
    ws.note_heights()
    source = (
        "1.35 times the stall: the handbook prints no climb speed" if cas is None else "best rate for today's weight"
    )
    ws.note_speed("climb speed", ias, "formula" if cas is None else "handbook table", source)
    steep = ws.book_cas("best_angle_of_climb")
    if steep is not None:
        ws.note_speed("best angle, over an obstacle", ws.on_dial(ws.ias(steep)), "handbook table", "V-speeds")
    power = power_lines.full_throttle(ws, ws.cas(ias))
    rate = power_lines.climb(ws, ws.cas(ias), bank_rad=bank, name="rate of climb")
    if rate is None:
        rate = ws.airplane.climb_rate_mps(ws.conditions.mass_kg, ws.pressure_altitude_m, ws.temperature_k)
        ws.note_rate("rate of climb", rate, "handbook table", "climb")
    if rate < 0.5:
        raise NotPossible(
            f"{ROOM.title}: it climbs less than 100 ft/min today at {ws.airplane.dial(ias)}; fly lower or lighter."
        )
    seconds = gain / rate
    top = ws.entry_m + gain
    ws.note_height("level off at", top, "given", "lesson or 1,000 ft")
    lead = power_lines.level_off(ws, rate, "below")
    ws.note("time to climb", float(round(seconds)), "s", "formula", "gain over rate")
    if bank:
        turn_lines.note_turn(ws, ws.cas(ias), bank, bank_source="lesson")
    ws.note_stall(0)
    ws.use_power(seconds, power.ratio)
    words = f" · bank {math.degrees(bank):.0f}°" if bank else ""
    return ws.finish(
        steps=(
            "Look above and ahead; area clear",
            f"Nose up to the climb attitude, then {power.words}; right rudder to keep the ball centered",
            f"Hold {ws.mark(ias)} with attitude, trim; turn a little or lower the nose every 500 ft to look",
            f"{lead / units.FT_M:,.0f} ft below the altitude lower the nose, let the speed rise, then power and trim",
        ),
        usual_errors=(
            "too little right rudder, ball off to the right",
            "chasing the airspeed instead of holding an attitude",
            "leveling off with power reduced before the speed is there",
            "no look under the nose",
        ),
        card_line=f"{ws.mark(ias)} · full throttle · {ws.airplane.book.rate(rate)}{words}",
        targets={
            "ias_mps": ias,
            "altitude_change_m": gain,
            "level_off_altitude_m": top,
            "bank_rad": bank,
            "vertical_speed_mps": rate,
        },
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Level, the climb at full throttle and the climb speed, level again at the altitude."""
    t = set_up.targets
    side = order.side
    flown = FlownIdeal(order, set_up.entry_altitude_m, t["ias_mps"])
    flown.hold(3.0)
    force, top = flown.thrust(up_m=t["altitude_change_m"] + 100.0, down_m=50.0), t["level_off_altitude_m"]
    flown.climb(
        force,
        lambda f: f.altitude > top - power_lines.LEVEL_OFF_SHARE * 60.0 * f.tas * math.sin(max(f.path, 0.0)),
        bank_rad=side * t["bank_rad"],
    )
    flown.level_off(top)
    flown.hold(5.0)
    return flown.trace()


def propose(view: View) -> list[Episode]:
    """Every sustained climb."""
    return [
        episode(ROOM.kind, view, leg.first, leg.last, leg.score, evidence=(
            f"{to_unit(leg.height_m, 'ft'):,.0f} ft gained at {to_unit(leg.height_m / leg.seconds, 'fpm'):,.0f} fpm",))
        for leg in view.once(legs) if leg.state == 1
    ]  # fmt: skip


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Speed once settled, heading where straight, the level-off."""
    return grade_leg(episode, evidence, 1.0)


ROOM = Room(
    "climb", "Climb", Family.FUNDAMENTAL, set_up, ideal, Heights(150.0, change_m=_gain_m), propose, grade,
    role=Role.PASSAGE, needs_engine=True, plots=("vertical_speed",), plain=True, is_task=False,
    lay=laying.from_the_change_of_path, asks=laying.through_height, everyday=True,
    may_set=("altitude_change_m", "bank_rad", "direction", "ias_mps"),
    extent="climbing over 180 ft/min → leveled; no sharp edge where it is flown in steps",
)  # fmt: skip
