"""Descent: a loss of height at a chosen speed with some power, leveled off at the bottom.

In the data: a sustained loss of more than 300 ft at less than some 1,500 fpm. Not it: a glide (engine idle, steeper),
an emergency descent, the last part of an approach.
Judged by the task `descent`: level-off altitude, heading, airspeed.
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
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.seeing.legs import legs
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights, named_m
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace
from airwork.units import to_unit

LOSS_M = 1000 * units.FT_M  # where the lesson names no loss
SINK_MPS = units.from_unit(500.0, "fpm")  # [AFH] ch. 3: descent with partial power


def _loss_m(target: Mapping[str, Any]) -> float:
    return abs(float(target.get("altitude_change_m", LOSS_M)))


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a descent with power, straight or turning."""
    named = named_m(ws.conditions, ws.target)
    loss = _loss_m(ws.target) if named is None else ws.entry_m - named
    bank = ws.wish("bank_rad", 0.0, 0.0, math.radians(30.0), "deg")
    sink = ws.wish("descent_mps", SINK_MPS, units.from_unit(100.0, "fpm"), units.from_unit(1500.0, "fpm"), "fpm")
    cruise = power_lines.cruise_cas_mps(ws, 0.55) or 1.8 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cruise), "down", 5.0), ws.fastest_ias()), load=1.0 / math.cos(bank))
    bottom = ws.entry_m - loss
    if bottom < ws.floor_m - 0.5:
        raise NotPossible(
            f"{ROOM.title}: {units.write(loss, 'ft')} down from {units.write(ws.entry_m, 'ft')} ends below "
            f"{units.write(ws.floor_m, 'ft')} ({ws.floor_why}); begin higher."
        )
    ws.note_heights()
    ws.note_speed(
        "speed", ias, "given" if "ias_mps" in ws.target else "assumed", "lesson or near the level speed at 55 %"
    )
    power = power_lines.for_sink(ws, ws.cas(ias), 0, sink, bank_rad=bank)
    ws.note_rate("rate of descent", sink, "given", "lesson or [AFH] ch. 3")
    ws.note_height("level off at", bottom, "given", "lesson or 1,000 ft down")
    lead = power_lines.level_off(ws, sink, "above")
    ws.note("time down", float(round(loss / sink)), "s", "formula", "loss over rate")
    if bank:
        turn_lines.note_turn(ws, ws.cas(ias), bank, bank_source="lesson")
    ws.use_power(loss / sink, power.ratio)
    words = f" · bank {math.degrees(bank):.0f}°" if bank else ""
    return ws.finish(
        steps=(
            "Look below and ahead; carburetor heat as the handbook says, mixture richer on the way down",
            At(f"Power {power.words}; let the nose find the attitude for {ws.mark(ias)}, trim", "sinking"),
            "Hold the speed with attitude, the rate with power",
            f"{lead / units.FT_M:,.0f} ft above the altitude power for level flight, nose up to level, trim",
        ),
        usual_errors=(
            "speed allowed to build up, yellow arc in rough air",
            "leveling off late, then a zoom",
            "engine cooled and mixture forgotten on the way down",
            "no look below before descending",
        ),
        card_line=f"{ws.mark(ias)} · {power.words} · {ws.airplane.book.rate(sink)} down{words}",
        targets={
            "ias_mps": ias,
            "altitude_change_m": -loss,
            "level_off_altitude_m": bottom,
            "bank_rad": bank,
            "vertical_speed_mps": -sink,
        },
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Level, the descent at the speed and rate, level again at the altitude."""
    t = set_up.targets
    side = order.side
    flown = FlownIdeal(order, set_up.entry_altitude_m, t["ias_mps"])
    flown.hold(3.0)
    sink, bottom = -t["vertical_speed_mps"], t["level_off_altitude_m"]
    flown.climb(
        flown.steady(-sink),
        lambda f: f.altitude < bottom + power_lines.LEVEL_OFF_SHARE * 60.0 * sink,
        bank_rad=side * t["bank_rad"],
    )
    flown.level_off(bottom)
    flown.hold(5.0)
    return flown.trace()


def propose(view: View) -> list[Episode]:
    """Every sustained descent."""
    return [
        episode(ROOM.kind, view, leg.first, leg.last, leg.score, evidence=(
            f"{to_unit(leg.height_m, 'ft'):,.0f} ft lost at {to_unit(leg.height_m / leg.seconds, 'fpm'):,.0f} fpm",))
        for leg in view.once(legs) if leg.state == -1
    ]  # fmt: skip


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Speed once settled, heading where straight, the level-off."""
    return grade_leg(episode, evidence, -1.0)


def _asked(flown: Flown) -> dict[str, Any] | None:
    """Through the flown height at the flown rate."""
    asked, rate = laying.through_height(flown), flown.number("mean_vertical_speed_fpm", "fpm")
    return asked if asked is None or rate is None else {**asked, "descent_mps": abs(rate)}


ROOM = Room(
    "descent", "Descent", Family.FUNDAMENTAL, set_up, ideal,
    Heights(_loss_m, change_m=lambda target: -_loss_m(target)), propose, grade, role=Role.PASSAGE,
    needs_engine=True,  # without one all flying is a descent
    plots=("vertical_speed",), plain=True, is_task=False,
    lay=laying.from_the_change_of_path, asks=_asked,
    everyday=True,
    may_set=("altitude_change_m", "bank_rad", "descent_mps", "direction", "ias_mps"),
    extent="descending over 180 ft/min → leveled; no sharp edge where it is flown in steps",
)  # fmt: skip
