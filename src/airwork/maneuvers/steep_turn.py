"""Steep turn: 360° at 45° of bank (50° commercial), altitude and speed held, rolled out on the entry heading.

In the data: one turn one way through most of a circle or more, much bank, no great climb or descent. Each direction is
an episode. A poor one stays at 30°, stops at 300° or loses 300 ft: it is still an attempt, above all beside one to the
other side. Not it: turns around a point (low, radius over the ground constant), a steep spiral (descends on purpose),
a medium level turn (20 to 30° of bank, alone).
Judged by the task `steep_turn` of the standard: altitude, airspeed, bank, roll-out heading.
"""

from __future__ import annotations

import math
from functools import partial
from typing import Any

import numpy as np

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.errors import NotPossible
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Cause, Episode, Grade, Stretch
from airwork.maneuvers.grading.causes import altitude, speed, turning
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import handbook_ias_mps
from airwork.maneuvers.grading.sheet import ENTRY, NO_BANK, NO_HEADING, PRINTED, SETTLED, SURE, Sheet
from airwork.maneuvers.grading.straights import between_fixes_rad, heading_note, roll_out_error_rad
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.seeing.propose_tools import (
    LEVEL_MPS,
    aloft,
    among_its_like,
    episode,
    mean_agl_m,
    no_slower,
    side,
)
from airwork.maneuvers.seeing.signal import SHARP, over, under
from airwork.maneuvers.seeing.turns import HALF_DEG, WHOLE_DEG, Turn, find_turns
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import heights, power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp

STEEP_DEG = 31.0  # a GPS sees a poor "45°" turn at 29 to 36°; a medium turn has 20 to 30°
MEDIUM_DEG = {False: 29.0, True: 30.0}  # worked out from a path, recorded
LIKE_OTHERS = 0.5
CIRCLES, ONE_BANK_DEG = 3, 3.0  # a poor pilot's banks differ by more (common practice, no source)
LEAST_DEG, MUCH_DEG = 155.0, 270.0  # who rolls out of three quarters of a circle was going elsewhere, or gave it up
TRULY_DEG, ALONE = 39.5, 0.6
FLOOR_M, POOR_DEG = 1_200.0 * units.FT_M, 35.0
LATE_DEG = 65.0  # rolled out so far beyond a full circle: late, or no circle was meant
STEADY, WITHIN = 0.5, 0.25  # share of the turn, within a quarter of the settled bank
DIVING_MPS, LOW_DOWN = 5.7, 0.45  # 700 fpm happens to poor pilots; 1,600 fpm is a descent
CAME_DOWN_M = 210.0  # 700 ft in all: five poor pilots' turns; more was meant to come down (common practice, no source)
PARTNER_S = 60.0  # time to the turn the other way
PARTNER_BONUS = 0.35
MODELED = 1.06  # times the stall in the bank: the slowest that the fitted model answers for


USUAL_RAD = math.radians(45.0)
SHOWN_DEG = (30.0, 45.0, 50.0, 60.0)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of steep turns at the handbook's speed, else at most maneuvering speed for today's weight."""
    printed = ws.task.criterion("bank")
    nominal = USUAL_RAD if printed is None or printed.nominal is None else printed.nominal
    bank = ws.wish("bank_rad", nominal, math.radians(30.0), math.radians(60.0), "deg")
    turn = ws.wish("turn_rad", 2.0 * math.pi, 0.5 * math.pi, 6.0 * math.pi, "deg")
    side = ws.word("direction", "both", ("left", "right", "both"))
    load = 1.0 / math.cos(bank)
    said = ws.airplane.maneuver_permission("steep_turns")
    if said is not None and said.maximum_bank_deg is not None and math.degrees(bank) > said.maximum_bank_deg + 0.5:
        raise NotPossible(
            f"{ROOM.title}: the handbook allows {said.maximum_bank_deg:.0f}° of bank, not {math.degrees(bank):.0f}°."
        )
    book, va = ws.permitted("steep_turns"), ws.maneuvering_ias()
    limit = min(va if book is None else book, va, ws.fastest_ias())
    fastest = power_lines.fastest_in_bank(ws, limit, bank)
    if fastest is None and "ias_mps" not in ws.target:
        raise NotPossible(
            f"{ROOM.title}: full throttle holds {math.degrees(bank):.0f}° level at no safe speed at "
            f"{units.write(ws.entry_m, 'ft')} today; fly lower, lighter, or bank less."
        )
    ias = ws.flown_ias(limit if fastest is None else fastest, load=load)
    ws.not_above_maneuvering(ias, "fly slower")
    cas = ws.cas(ias)
    ws.note_heights()
    source = (
        "lesson"
        if "ias_mps" in ws.target
        else "handbook's speed"
        if book is not None
        else ("at most maneuvering speed, and level at full throttle in the bank")
    )
    ws.note_speed("entry speed", ias, "formula", source)
    ws.note_speed("never above", va, "handbook table", "maneuvering speed for today's weight")
    straight = power_lines.level(ws, cas, name="power, wings level")
    power = power_lines.level(ws, cas, bank_rad=bank, name="power, in the bank", pitch=False)
    if power is None and not power_lines.holds_level(ws, MODELED * ws.stall_cas_mps(0, load), 0, bank):
        raise NotPossible(power_lines.refusal(ws, cas, 0, bank, "power"))  # slower it takes more still
    ws.note_stall(0)
    turn_lines.note_turn(ws, cas, bank, turn_rad=turn, bank_source=f"lesson or {ws.task.code or 'common practice'}")
    count = len(turn_lines.sides(side))
    turn_lines.use_power(ws, cas, bank, turn, count, power)
    degrees = math.degrees(bank)
    words = "power by eye" if straight is None else straight.words
    more = "" if power is None else f" ({power.words})"
    in_turn = ", in turn by eye" if power is None else f", in turn {power.words}"
    return ws.finish(
        steps=(
            ws.before(),
            f"Level at {ws.mark(ias)}, {words}, trimmed; a landmark ahead, note the heading",
            f"Roll in smoothly to {degrees:.0f}°; through 30° add back pressure and power{more}",
            "Hold the nose on the horizon; look in the turn; bank first, then pitch; speed by power",
            f"Begin to roll out {degrees / 2:.0f}° before the heading; ease the pressure, take the power back",
            "Level at the same altitude and speed, then the other way"
            if count > 1
            else "Level at the same altitude and speed",
        ),
        usual_errors=(
            "back pressure late: the nose drops in the roll-in; then pulled up without less bank",
            "bank growing past the limit while looking at the altimeter",
            "nose too high rolling out: back pressure and power kept",
            "aileron and rudder not together; ball off center",
            "head inside; no look before and during the turn",
        ),
        card_line=f"{ws.mark(ias)} · bank {degrees:.0f}° · {words}{in_turn} · lead {degrees / 2:.0f}°",
        targets={"ias_mps": ias, "bank_rad": bank, "turn_rad": turn},
        tables={"Turns at this speed": turn_lines.banks_table(ws, cas, SHOWN_DEG)},
    )


def propose(view: View) -> list[Episode]:
    """Every steep turn or attempt at one."""
    turns = view.once(find_turns)
    able = [_could_be(turn) for turn in turns]
    out: list[Episode] = []
    for k, turn in enumerate(turns):
        if not able[k]:
            continue
        partner = any(
            0 <= j < len(turns) and able[j] and turns[j].sign != turn.sign
            and abs(turns[j].first - turn.first) < (turn.last - turn.first) + view.samples(PARTNER_S)
            for j in (k - 1, k + 1)
        )  # fmt: skip
        evidence = (
            f"{turn.change_deg:.0f}° {side(turn.sign)} at {turn.bank_deg:.0f}° of bank",
            *(("with one to the other side",) if partner else ()),
        )
        rolled_in, rolled_out = _established(view, turn)
        phases = (("entry", turn.first, rolled_in), ("established", rolled_in, rolled_out),
                  ("recovery", rolled_out, turn.last))  # fmt: skip
        out.append(episode(ROOM.kind, view, turn.first, turn.last, _score(view, turn, partner), evidence=evidence,
                           phases=phases, facts={"sign": turn.sign, "change_rad": turn.change_rad}))  # fmt: skip
    return out


def _could_be(turn: Turn) -> bool:
    return over(turn.bank_deg, STEEP_DEG) > 0.0 and LEAST_DEG < turn.change_deg < 2.0 * WHOLE_DEG + LATE_DEG


def _score(view: View, turn: Turn, partner: bool) -> float:
    bank = over(turn.bank_deg, STEEP_DEG)
    # Full circles to both sides, banked beyond a medium turn, are hardly anything else.
    alike = among_its_like(view, turn) or _one_medium_bank(view, turn)
    bank *= LIKE_OTHERS if alike else 1.0
    flat = turn.bank_deg < MEDIUM_DEG[view.bank_measured] or alike
    if partner and turn.change_deg > MUCH_DEG and not flat:
        bank = min(1.0, bank + PARTNER_BONUS)
    # Half a circle can't be told from a turn back, unless it is truly steep and rolled out there: those are practiced
    # too. One given up ends anywhere.
    half = under(abs(turn.change_deg - HALF_DEG), math.degrees(MEANT_RAD)) * over(turn.bank_deg, TRULY_DEG, SHARP)
    whole = max(over(turn.change_deg, MUCH_DEG, SHARP), (1.0 if partner else ALONE) * half)
    beyond = turn.change_deg - WHOLE_DEG * max(1, round(turn.change_deg / WHOLE_DEG))
    # Low down, and round a constant circle over the ground, it is more likely turns around a point.
    low = LOW_DOWN + (1.0 - LOW_DOWN) * aloft(view, turn.first, turn.last)
    agl = mean_agl_m(view, turn.first, turn.last)
    if np.isfinite(agl):  # low down, where few fly one (common practice, no source), a poor one is a medium turn
        low *= 1.0 - under(agl, FLOOR_M, SHARP) * under(turn.bank_deg, POOR_DEG, SHARP)
    return (
        bank * whole * low
        * no_slower(view, turn, on_the_whole=True)  # near the stall it is circling in a thermal
        * under(-turn.climb_mps, DIVING_MPS)
        * under(float(view.altitude_m[turn.first] - view.altitude_m[turn.last]), CAME_DOWN_M)
        * under(turn.climb_mps, LEVEL_MPS)
        * max(under(beyond, LATE_DEG), ALONE * over(turn.bank_deg, TRULY_DEG, SHARP))  # let go round, truly steep
        * over(_steady_share(view, turn), STEADY)
    )  # fmt: skip


def _one_medium_bank(view: View, turn: Turn) -> bool:
    """Circles in one medium bank, three of them and none steeper: that bank was meant."""
    circles = [t for t in view.once(find_turns) if t.change_deg > MUCH_DEG]
    alike = [t for t in circles if abs(t.bank_deg - turn.bank_deg) < ONE_BANK_DEG]
    steepest = max((t.bank_deg for t in circles), default=0.0)
    return len(alike) >= CIRCLES and steepest < STEEP_DEG + 0.5 * ONE_BANK_DEG


def _steady_share(view: View, turn: Turn) -> float:
    """Share of the turn flown within a quarter of the settled bank."""
    bank = abs(view.turn_bank_rad[turn.first : turn.last + 1])  # by the path: a skid is no unsteadiness
    return float((abs(bank - np.median(bank)) < WITHIN * np.median(bank)).mean())


def _established(view: View, turn: Turn) -> tuple[int, int]:
    """First and last sample at four fifths of the settled bank."""
    part = abs(view.turn_bank_rad[turn.first : turn.last + 1]) >= (1.0 - WITHIN) * turn.settled_bank_rad
    if not part.any():
        return turn.first, turn.last
    return turn.first + int(part.argmax()), turn.last - int(part[::-1].argmax())


ENTRY_S = 5.0  # speed and heading over the last seconds before the roll-in
USUAL_MPS = 10.0 * units.KT_MPS  # the standards' own tolerance
UNSTEADY_MPS = 2.6  # changed by more in the ten seconds before: half the tolerance of 10 kt
# Turns meant where no lesson says so: full circles, or half and three quarters when rolled out so near to them.
MOST_BETWEEN_RAD = math.radians(20.0)  # twice the roll-out's tolerance: which way it was rolled out doesn't show
SHORT_TURNS_RAD, MEANT_RAD = (math.pi, 1.5 * math.pi), math.radians(20.0)
FIRST_OF_PAIR = "the first turn of the pair"


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude and speed through the whole turn, bank while established, heading at the roll-out."""
    sheet = Sheet(episode, evidence)
    first = _first_of_pair(episode, evidence)
    start = episode.start_s if first is None else first.start_s
    banked = turning.banked(sheet)
    entry_m = evidence.mean(evidence.altitude_m, start - 1.5, start + 0.5)
    source = ENTRY if first is None else FIRST_OF_PAIR
    sheet.altitude_held_s = episode.start_s, turning.zoomed_s(sheet)[1]
    target_m = sheet.altitude_held(entry_m, sheet.altitude_held_s, source=source)
    own, firsts = _speed_chosen(evidence, episode.start_s), _speed_chosen(evidence, start)
    if own is not None:
        sheet.speed_held(own, source=ENTRY)
    elif firsts is not None:  # straight out of the turn before, say: none was chosen anew
        sheet.speed_held(firsts, source=source)
    else:
        sheet.speed_held(evidence.median(evidence.ias_mps, *sheet.window("established")), source=SETTLED)
    sheet.cause(_entered_fast(sheet, *banked))
    nominal = _bank(sheet, banked)
    _roll_out(sheet, banked)
    sheet.floor_kept()
    sheet.stretch(Stretch("entry", episode.start_s, banked[0]))
    sheet.stretch(Stretch("established", *banked))
    sheet.stretch(Stretch("recovery", banked[1], episode.end_s))
    if nominal is not None:
        sheet.cause(turning.bank_set(sheet, nominal, banked))
        sheet.cause(turning.overbanking(sheet, nominal, banked))
        sheet.cause(turning.altitude_in_turn(sheet, target_m, nominal, banked))
    if sheet.given("altitude"):
        sheet.cause(altitude.settled_off(sheet, target_m, banked))
    sheet.cause(turning.uncoordinated(sheet, *banked))
    for look in (speed.speed_from_height, speed.speed_without_power, speed.speed_with_power):
        sheet.cause(look(sheet, episode.start_s, banked[1]))
    return sheet.grade()


def _speed_chosen(evidence: Evidence, at_s: float) -> float | None:
    """The speed held before a turn's roll-in; None where it wasn't steady. [m/s]"""
    before = [evidence.mean(evidence.ias_mps, at_s - s - 1.0, at_s - s) for s in (0.0, 3.0, 6.0, 9.0)]
    return None if max(before) - min(before) > UNSTEADY_MPS else evidence.mean(evidence.ias_mps, at_s - ENTRY_S, at_s)


def _entered_fast(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """The speed chosen was above maneuvering speed, the most to enter at without a printed one (FAA-S-ACS-6C, V.A)."""
    limit, chosen = handbook_ias_mps(sheet.evidence, "maneuvering"), sheet.target_ias_mps
    if limit is None or chosen is None or sheet.given("ias"):
        return None
    say = sheet.speed_text
    return Cause(
        f"Flown at {say(chosen)}, above maneuvering speed ({say(limit)}).",
        "Slow down before the roll-in, and read the dial once more as the wing goes down.",
        start_s, end_s, (chosen - limit) / sheet.tolerance("ias", USUAL_MPS), "turned fast", "target not set",
    )  # fmt: skip


def _first_of_pair(episode: Episode, evidence: Evidence) -> Episode | None:
    """The steep turn to the other side just before: this one is held to its altitude, and its speed if none is new."""
    before = [e for e in evidence.episodes if e.kind == episode.kind and e.end_s <= episode.start_s + 1.0]
    last = max(before, key=lambda e: e.end_s, default=None)
    if last is None or episode.start_s - last.end_s > PARTNER_S or last.facts["sign"] == episode.facts["sign"]:
        return None
    return last


def _bank(sheet: Sheet, banked: tuple[float, float]) -> float | None:
    """Judge the bank while established; the bank wanted, None where it can't be judged. [rad]"""
    evidence = sheet.evidence
    criterion = sheet.task.criterion("bank")
    lesson = evidence.lesson_target(sheet.kind, "bank_rad")
    nominal = lesson if lesson is not None else criterion.nominal if criterion is not None else None
    if nominal is None or evidence.bank_rad is None:
        sheet.cannot("bank", NO_BANK)
        return None
    sheet.set_target("bank", nominal, "deg", evidence.target_from("bank_rad") if lesson is not None else PRINTED)
    note = "" if evidence.bank_measured else "bank worked out from the turn rate"
    sheet.over("bank", evidence.bank_size_rad, banked, target=nominal, error=evidence.bank_error_rad, note=note)
    return nominal


def _roll_out(sheet: Sheet, banked: tuple[float, float]) -> None:
    evidence, sign = sheet.evidence, sheet.episode.facts["sign"]
    if evidence.heading_rad is None:
        sheet.cannot("rollout_heading", NO_HEADING)
        return
    if between_fixes_rad(sheet) > MOST_BETWEEN_RAD:
        sheet.cannot("rollout_heading", f"it turned {math.degrees(between_fixes_rad(sheet)):.0f}° from fix to fix")
        return
    out_s = turning.wings_level(sheet, banked[1])
    before = evidence.mean(evidence.heading_rad, sheet.start_s - 2.0, sheet.start_s)
    after = evidence.mean(evidence.heading_rad, out_s - 0.3, out_s + 0.7)
    turned = sign * (after - before)
    meant, whose = _turn_meant(sheet, turned)
    error = turned - meant
    sheet.set_target("heading", float(wrap_positive_rad(before + sign * meant)), "deg", whose)
    sheet.number("rollout_error_deg", float(np.degrees(error)))
    known = roll_out_error_rad(sheet)
    sheet.once("rollout_heading", [error], error=known, note=heading_note(sheet))
    if abs(error) > SURE * known:
        sheet.cause(turning.roll_out_timing(sheet, error, out_s))


def _turn_meant(sheet: Sheet, turned_rad: float) -> tuple[float, str]:
    """How far the turn was to go, and who says so."""
    lesson = sheet.evidence.lesson_target(sheet.kind, "turn_rad")
    circles = 2.0 * math.pi * max(1, round(turned_rad / (2.0 * math.pi)))
    if lesson is not None and abs(turned_rad - lesson) < abs(turned_rad - circles) + MEANT_RAD:
        return lesson, sheet.evidence.target_from("turn_rad")
    for short in SHORT_TURNS_RAD:
        if abs(turned_rad - short) < MEANT_RAD:
            return short, f"inferred: a turn of {math.degrees(short):.0f}°"
    return circles, ENTRY


def _asked(flown: Flown) -> dict[str, Any]:
    """The bank it was held against, the speed of the entry."""
    wanted = {k: v for k, v in flown.target.items() if k == "bank_rad" or (k == "ias_mps" and k not in flown.lesson)}
    return {**laying.as_the_lesson(flown), **wanted}


ROOM = Room(
    "steep_turn", "Steep turn", Family.PERFORMANCE, set_up, partial(turn_lines.fly, between_s=10.0),
    Heights(300.0, heights.PRACTICE_FLOOR_M, heights.PRACTICE), propose, grade, needs_engine=True,
    wants_clear_sky=True, after_clearing=1.3, lay=laying.from_the_roll_in, asks=_asked,
    may_set=("bank_rad", "direction", "ias_mps", "turn_rad"),
    facts=BriefFacts(handbook="steep_turns", recovery="nose drops: less bank first, then back pressure"),
    extent="roll-in → wings level; each direction by itself",
    usual="well over 30° of bank through 155° or more, level",
)  # fmt: skip
