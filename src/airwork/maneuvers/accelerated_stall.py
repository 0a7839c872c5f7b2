"""Accelerated stall: in a turn of about 45° of bank, back pressure to the stall above the 1 g stall speed, recovery.

In the data: much bank, the speed falling to the stall speed for the load, then the turn ends, the nose drops, speed is
regained. Recovered at the first sign, so the break may be small. Not it: a steep turn (speed held), a turning stall
(20° of bank).
Judged by the task `accelerated_stall` of the standard. Height lost is reported and never judged: no standard limits it.
"""

from __future__ import annotations

import math
from typing import Any

from airwork import units
from airwork.maneuvers.brief_facts import SPIN, STALL_RECOVERY, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import turning
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import handbook_ias_mps
from airwork.maneuvers.grading.sheet import NO_AIRSPEED, NO_BANK, Sheet
from airwork.maneuvers.grading.stall_grade import grade_recovery
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.seeing.stall_tools import Way, stalls
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, stall_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace

BANK_RAD = math.radians(45.0)  # [AFH] ch. 5 and the commercial standard
FLOOR_M = 3000 * units.FT_M  # commercial standard: recovery not below 3,000 ft above ground
ENTRY_SHARE = 1.15  # entry speed over the stall in the bank; never above maneuvering speed: our own choice


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of an accelerated stall, flaps up, never above maneuvering speed."""
    stall_lines.check_permission(ws)
    bank = ws.wish("bank_rad", BANK_RAD, math.radians(30.0), math.radians(50.0), "deg")
    load = 1.0 / math.cos(bank)
    va = ws.maneuvering_ias()
    in_bank = ws.stall_cas_mps(0, load)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(ENTRY_SHARE * in_bank), "up"), va), load=load)
    ws.not_above_maneuvering(ias)
    ws.note_heights()
    ws.note_flap(0)
    ws.note_speed("entry speed", ias, "formula", "1.15 times the stall in the bank")
    ws.note_speed("never above", va, "handbook table", "maneuvering speed for today's weight")
    one_g = ws.note_stall(0)
    turn_lines.note_turn(ws, ws.cas(ias), bank, turn_rad=math.pi / 2, bank_source="[AFH] ch. 5")
    stall = ws.on_dial(ws.ias(in_bank), "up")
    power = power_lines.level(ws, ws.cas(ias), bank_rad=bank, needed=False, pitch=False)
    stall_lines.note_loss(ws, 0)
    ws.use_power(45.0, None if power is None else power.ratio)
    ws.use_power(30.0, 1.0)
    return ws.finish(
        steps=(
            ws.before(),
            f"Flaps up, slow to {ws.mark(ias)}; never above {ws.mark(va)}",
            f"Roll into {math.degrees(bank):.0f}°, altitude held, ball centered",
            f"Back pressure, smooth and firm, until the first sign of the stall near {ws.mark(stall)}",
            "Recover at once: release back pressure, full power, level the wings coordinated",
            "Back to level flight at the altitude without a second stall",
        ),
        usual_errors=(
            "entry above maneuvering speed, or a jerk on the elevator",
            "slipping or skidding into the stall: it rolls",
            "waiting for a full break: the standard wants the first sign",
            "rolling level with aileron before the wing is unloaded",
        ),
        card_line=f"{ws.mark(ias)} · bank {math.degrees(bank):.0f}° · stall {ws.mark(stall)} "
        f"({ws.mark(one_g)} at 1 g) · never above {ws.mark(va)}",
        targets={"ias_mps": ias, "entry_ias_mps": ias, "bank_rad": bank, "stall_ias_mps": stall},
        subjects=("stalls",),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Level turn, the speed bled off by back pressure to the stall for the load, recovery."""
    flown = stall_lines.slowed_down(set_up, order)
    flown.roll_to(order.side * set_up.targets["bank_rad"])
    entry = flown.thrust(idle=True)
    return stall_lines.stalled(set_up, order, flown, entry, rise_deg=0.0)


def propose(view: View) -> list[Episode]:
    """Every such stall."""
    return stalls(view, ROOM.kind, Way.ACCELERATED)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Entry speed against the maneuvering speed, bank, recovery and what it cost."""
    sheet = Sheet(episode, evidence)
    broke = episode.facts["break_s"]
    limit = handbook_ias_mps(evidence, "maneuvering")
    if not evidence.has_airspeed:
        sheet.cannot("entry_ias", NO_AIRSPEED)
    elif limit is None:
        sheet.cannot("entry_ias", "the maneuvering speed is not known; give the airplane")
    else:
        sheet.once("entry_ias", [evidence.mean(evidence.ias_mps, broke - 6.0, broke - 3.0) - limit])
    bank, criterion = evidence.bank_rad, sheet.task.criterion("bank")
    if bank is None or criterion is None or criterion.nominal is None:
        sheet.cannot("bank", NO_BANK)
    else:
        sheet.once("bank", [evidence.mean(abs(bank), broke - 3.0, broke) - criterion.nominal])
    sheet.floor_kept()
    grade_recovery(sheet, broke)
    sheet.cause(turning.uncoordinated(sheet, episode.start_s, broke))
    return sheet.grade()


def _asked(flown: Flown) -> dict[str, Any]:
    """The bank it was held against."""
    return {**laying.as_the_lesson(flown), **{k: v for k, v in flown.target.items() if k == "bank_rad"}}


ROOM = Room(
    "accelerated_stall", "Accelerated stall", Family.STALL, set_up, ideal,
    Heights(150.0, FLOOR_M, "3,000 ft above ground, as the commercial standard has it"), propose, grade,
    plots=("load",), wants_clear_sky=True, seen_every_s=2.5,
    lay=laying.at_the_break, asks=_asked,
    may_set=("bank_rad", "direction", "ias_mps"),
    facts=BriefFacts("none", "never", "stalls", (SPIN,), STALL_RECOVERY),
    slow_on_purpose=True,
    extent="slowing or roll-in → climbing at 1.2 times the clean stall speed (descending on: at 1.4 times)",
)  # fmt: skip
