"""Recovery from unusual attitudes: nose high and slow, nose low and fast, by outside or instrument reference.

Standards print no numbers for it; what counts is the order of the controls and the limits kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.paths.flown_ideal import FlownIdeal, Force
from airwork.maneuvers.setting_up import heights, power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace

ROOM_M = 450.0  # a slow recovery from the nose-low one stays well above the floor: our own choice
HIGH_PATH_RAD, LOW_PATH_RAD = math.radians(12.0), math.radians(-18.0)
BANK_RAD = math.radians(45.0)
PULL = 1.6  # load factor of the pull-out, half of what is allowed in smooth air: our own choice


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps: the limits to know before, and the order of the recovery."""
    va = ws.maneuvering_ias()
    cruise = power_lines.cruise_cas_mps(ws, 0.55) or 1.7 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cruise), "down", 5.0), ws.on_dial(va, "down", 5.0)))
    ws.note_heights()
    ws.note_speed("begin at", ias, "assumed", "level speed at 55 %, below maneuvering speed")
    power = power_lines.level(ws, ws.cas(ias))
    ws.note_stall(0)
    ws.note_stall(0, BANK_RAD)
    ws.note_speed("maneuvering speed", va, "handbook table", "for today's weight; no full control deflection above")
    fast, limits = ws.fastest_ias(), ws.airplane.limits
    ws.note_speed("structural cruise", ws.on_dial(fast, "down"), "handbook table", "limitations")
    if limits.never_exceed_ias_mps is not None:
        ws.note_speed("never exceed", ws.on_dial(limits.never_exceed_ias_mps, "down"), "handbook table", "limitations")
    low, high = limits.load_factor_flaps_up
    ws.note("limit load factor, flaps up", high, "g", "handbook table", "limitations", also=f"to {low:g} g")
    turn_lines.note_turn(ws, ws.cas(ias), BANK_RAD, bank_source="as set up: common practice, no source")
    ws.use_power(120.0, None if power is None else power.ratio)
    red = (
        ""
        if limits.never_exceed_ias_mps is None
        else f" · never exceed {ws.mark(ws.on_dial(limits.never_exceed_ias_mps, 'down'))}"
    )
    return ws.finish(
        steps=(
            ws.before(),
            "Instructor sets it up; student takes over and says what it is: nose high or nose low, by speed and "
            "altitude",
            "Nose high, speed falling: power up, nose down to unload, wings level, then to level flight",
            At("Nose low, speed rising: power idle, wings level first, then raise the nose smoothly", "bank"),
            At(f"Back to level, {ws.mark(ias)}; check altitude, heading, engine", "level"),
        ),
        usual_errors=(
            "nose low: pulling before the wings are level: tighter spiral, more load",
            "nose high: leveling the wings before unloading; power forgotten",
            "jerking the controls above maneuvering speed",
            "believing the seat instead of the instruments; waiting",
        ),
        card_line=f"high: power, unload, level · low: idle, level, pull gently · VA {ws.mark(va)}{red}",
        targets={"ias_mps": ias, "bank_rad": BANK_RAD},
        cautions=(
            "Never near the limits: the instructor stops it early; not with loose objects or unhappy passengers.",
        ),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """A nose-high one and its recovery, then a nose-low one: banked, then unloaded, leveled and eased out."""
    t = set_up.targets
    side = order.side
    flown = FlownIdeal(order, set_up.entry_altitude_m, t["ias_mps"])
    idle, full = flown.thrust(idle=True), flown.thrust()
    stall = float(order.airplane.stall_cas_mps(order.conditions.mass_kg))
    flown.hold(5.0)
    _to(flown, side * math.radians(30.0), HIGH_PATH_RAD, idle, until=lambda f: f.cas < 1.3 * stall)
    _to(flown, flown.bank, -0.05, full, until=lambda f: f.path < -0.04)
    _to(flown, 0.0, 0.0, full, until=lambda f: f.cas > 1.7 * stall and abs(f.path) < 0.01)
    flown.change_speed(t["ias_mps"])
    flown.hold(5.0)
    fastest = order.airplane.limits.max_structural_cruise_ias_mps or 1.3 * t["ias_mps"]
    limit = order.airplane.cas_from_ias_mps(0.9 * fastest)
    _to(flown, -side * BANK_RAD, LOW_PATH_RAD, idle, until=lambda f: f.path < 0.98 * LOW_PATH_RAD or f.cas > limit)
    _to(flown, 0.0, flown.path, idle, until=lambda f: abs(f.bank) < 0.02)
    while flown.path < 0.0:
        flown.step(0.0, min(flown.path + 0.1 * G0_MPS2 * (PULL - 1.0) / flown.tas, 0.0), idle)
    flown.change_speed(t["ias_mps"])
    flown.hold(5.0)
    return flown.trace()


def _to(
    flown: FlownIdeal, bank_rad: float, path_rad: float, force: Force, *, until: Callable[[FlownIdeal], bool]
) -> None:
    """Roll and pitch at ordinary rates toward a bank and a path until a condition, for a minute at most."""
    start = flown.time
    while not until(flown) and flown.time - start < 60.0:
        bank = flown.bank + min(max(bank_rad - flown.bank, -0.017), 0.017)
        path = flown.path + min(max(path_rad - flown.path, -0.006), 0.006)
        flown.step(bank, path, force)


ROOM = Room(
    "unusual_attitude", "Unusual attitude, recovery", Family.INSTRUMENT, set_up, ideal,
    Heights(ROOM_M, heights.PRACTICE_FLOOR_M, heights.PRACTICE),
    may_set=("direction", "ias_mps"),
    facts=BriefFacts(
        "none", "never", aloud=("who recovers, on which word; the limits of bank, pitch and speed",),
        recovery="high: power, nose down, wings level · low: power off, wings level, ease out",
    ),
)  # fmt: skip
