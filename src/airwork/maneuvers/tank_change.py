"""Tank change: the fuel selector moved to another tank.

In the data: the recorded selector changes; without it, one tank's gauge stops falling and the other's begins. The
episode is five seconds to each side. Near the ground or inside a maneuver it is flown at a bad moment, and said.
"""

from __future__ import annotations

import numpy as np

from airwork import units
from airwork.errors import InputError, NotPossible
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.paths.flown_ideal import straight
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp

NAMES = dict(enumerate(("off", "left", "right", "both")))  # by their code
HALF_S = 5.0
HELD_S = 8.0  # passing over a position on the way is no change


SAFE_M = 1000 * units.FT_M  # not below, where the airplane file says nothing: common practice, no source
TAKES_S = 60.0


def set_up(ws: Worksheet) -> SetUp:
    """Steps of a change of tanks, with the airplane's own interval and limits."""
    fuel = ws.airplane.file.fuel
    if fuel is None or not ws.airplane.tanks:
        raise NotPossible(f"{ROOM.title}: the airplane file has no [fuel] tanks.")
    positions = [p for p in ws.airplane.selector_positions if p.feeds]
    cas = power_lines.cruise_cas_mps(ws, 0.6) or 1.8 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cas)), ws.fastest_ias()))
    ws.note_heights()
    power = power_lines.level(ws, ws.cas(ias), pitch=False)
    if fuel.switching_interval_min is not None:
        ws.note("change every", fuel.switching_interval_min, "min", "handbook table", "airplane file, [fuel]")
    if fuel.imbalance_limit_us_gal is not None:
        ws.note("difference at most", fuel.imbalance_limit_us_gal, "gal", "handbook table", "airplane file, [fuel]")
    for tank in ws.airplane.tanks:
        ws.note(
            f"usable, {tank.name}", round(units.to_unit(tank.usable_m3, "gal"), 1), "gal", "handbook table", "[fuel]"
        )
    pump = f"Boost pump: {fuel.boost_pump}" if fuel.boost_pump else "Boost pump on, if there is one"
    wanted = str(ws.target.get("tank", "")).strip() or "the fuller tank"
    names = ", ".join(p.name for p in positions)
    if wanted != "the fuller tank" and not any(
        wanted.lower() in p.name.lower() or any(wanted.lower() in t.lower() for t in p.feeds or ()) for p in positions
    ):
        raise InputError(f"{ROOM.title}: no tank {wanted!r} on this selector; it has {names}.")
    ws.use_power(TAKES_S, None if power is None else power.ratio)
    every = f"every {fuel.switching_interval_min:g} min · " if fuel.switching_interval_min is not None else ""
    cautions = (
        "Never below a safe height, never during a maneuver, never run a tank dry on purpose.",
        *((f"Airplane file: {fuel.notes}.",) if fuel.notes else ()),
        *((f"Takeoff and landing: {fuel.takeoff_and_landing_position}.",) if fuel.takeoff_and_landing_position else ()),
    )
    return ws.finish(
        steps=(
            "Height, a field in reach, engine running well; say: changing tanks",
            pump,
            f"Selector to {wanted}: past no detent, feel the click, look at it",
            "Fuel pressure and engine for half a minute; hand stays near the selector",
            "Pump off as the handbook says, pressure holds; write down time and tank",
        ),
        usual_errors=(
            "selector between positions or to off",
            "changing low, or on downwind, or in a maneuver",
            "pump forgotten; time not written down",
            "head down too long",
        ),
        card_line=f"{every}pump, selector to {wanted}, look, pressure, time · positions: {names}",
        targets={"ias_mps": ias, "duration_s": TAKES_S},
        cautions=cautions,
    )


def propose(view: View) -> list[Episode]:
    """Every change of the recorded selector while the flight goes on."""
    tank = view.flight.get("tank")
    if tank is None:
        return []
    good = np.isfinite(tank)
    code, time = np.round(tank[good]), view.flight.time_s[good]
    out: list[Episode] = []
    held = code[0] if code.size else 0.0
    for k in np.flatnonzero(code[1:] != code[:-1]) + 1:
        rest = code[k : np.searchsorted(time, time[k] + HELD_S)]
        if code[k] == held or rest.size == 0 or (rest != code[k]).any():
            continue
        index = view.at(float(time[k]))
        if view.airborne[index]:
            before, after = (NAMES.get(int(x), f"{x:g}") for x in (held, code[k]))
            half = view.samples(HALF_S)
            facts = {"changed_s": float(time[k]), "from": float(held), "to": float(code[k])}
            made = episode(ROOM.kind, view, index - half, index + half, 1.0,
                           evidence=(f"selector from {before} to {after}",), facts=facts)  # fmt: skip
            out.append(made)
        held = code[k]
    return out


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Measured, not judged: standards print no numbers for it."""
    return Sheet(episode, evidence).grade()


ROOM = Room(
    "tank_change", "Tank change", Family.COCKPIT, set_up, straight,
    Heights(150.0, SAFE_M, "1,000 ft above ground: common practice, no source"), propose, grade, role=Role.EVENT,
    needs_engine=True, plain=True, is_task=False,
    may_set=("ias_mps", "tank"),
    extent="five seconds before the selector moves → five after",
)  # fmt: skip
