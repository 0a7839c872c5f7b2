"""Level turn: a turn at ordinary bank to a heading, altitude and speed held.

In the data: one level turn at 10 to 35° of bank, at an ordinary speed. A quarter circle is a change of course, a half
circle a turn back: the arbiter takes those for level turns only in a lesson that has them in it, or half circles turned
again soon; a turn well round is one in a flight with some other exercise. Not it: a steep turn, a clearing turn, the
turns inside any other maneuver.
Judged by the task `level_turn`: altitude, roll-out heading, airspeed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from airwork.airdata.angles import turn_from_to_rad, wrap_positive_rad
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import speed, turning
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import ENTRY, LESSON, NO_HEADING, Sheet
from airwork.maneuvers.grading.straights import heading_note, roll_out_error_rad
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.laying import Flown
from airwork.maneuvers.seeing.propose_tools import (
    about,
    all_known,
    episode,
    level,
    leveled_before,
    mean_agl_m,
    no_part_of_a_climb,
    no_slower,
    side,
    swings,
)
from airwork.maneuvers.seeing.signal import SHARP, over, under
from airwork.maneuvers.seeing.slow import LOW_M
from airwork.maneuvers.seeing.turns import HALF_DEG, QUARTER_DEG, Turn, find_turns, straight_between
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp
from airwork.masks import runs

COURSE_DEG, NO_COURSE_DEG = 85.0, 250.0  # less is a change of course; nobody changes course by turning so far
FAR_DEG, ANY_ANGLE = 425.0, 0.4  # round and round is something else; turns are asked for by the quarter
STEEP_DEG, FLAT_DEG = 37.5, 11.0  # flatter is drifting round
# From one line of a survey to the next: half circles to alternate sides, so many lines of one length, so long each.
LINES, LINE_S, ONE_LENGTH = 4, 45.0, 0.15
SWINGING = 0.75  # a half circle to the other side right before or after: rather S-turns or a lazy eight
# Exercises turn through quarters of a circle; a turn through any other angle was more likely one on the way.


MEDIUM_RAD = math.radians(20.0)  # shallow to 20°, medium to 45° ([AFH] ch. 3)
SHOWN_DEG = (15.0, 20.0, 30.0, 45.0)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a level turn at ordinary bank."""
    bank = ws.wish("bank_rad", MEDIUM_RAD, math.radians(5.0), math.radians(44.0), "deg")
    turn = ws.wish("turn_rad", math.pi, math.radians(10.0), 4.0 * math.pi, "deg")
    side = ws.word("direction", "both", ("left", "right", "both"))
    cruise = power_lines.cruise_cas_mps(ws, 0.55) or 1.8 * ws.stall_cas_mps(0)
    top = min(ws.fastest_ias(), ws.maneuvering_ias())
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cruise), "down", 5.0), top), load=1.0 / math.cos(bank))
    cas = ws.cas(ias)
    ws.note_heights()
    ws.note_speed("speed", ias, "given" if "ias_mps" in ws.target else "assumed", "lesson or the level speed at 55 %")
    straight = power_lines.level(ws, cas, name="power, wings level")
    power = power_lines.level(ws, cas, bank_rad=bank, name="power", pitch=False)
    turn_lines.note_turn(ws, cas, bank, turn_rad=turn, bank_source="lesson or a medium turn, [AFH] ch. 3")
    standard_rate = turn_lines.standard_rate_bank_rad(ws, cas)
    ws.note(
        "bank for standard rate",
        round(math.degrees(standard_rate), 1),
        "deg",
        "formula",
        "3°/s at today's true airspeed",
    )
    turn_lines.use_power(ws, cas, bank, turn, len(turn_lines.sides(side)), power)
    words = "power by eye" if straight is None else straight.words
    return ws.finish(
        steps=(
            "Look all round, most of all where the turn goes",
            f"Roll in with aileron and rudder together to {math.degrees(bank):.0f}°; hold the nose on the horizon",
            "A little back pressure; add power if the speed falls",
            f"Begin to roll out {math.degrees(bank) / 2:.0f}° before the heading; ease the back pressure",
        ),
        usual_errors=(
            "no look before turning",
            "aileron without rudder: ball off center rolling in and out",
            "nose allowed to drop or rise; back pressure kept in the roll-out",
            "attention on the instruments instead of the nose against the horizon",
        ),
        card_line=f"{ws.mark(ias)} · {words} · bank {math.degrees(bank):.0f}° · lead {math.degrees(bank) / 2:.0f}°",
        targets={"ias_mps": ias, "bank_rad": bank, "turn_rad": turn},
        tables={"Turns at this speed": turn_lines.banks_table(ws, cas, SHOWN_DEG)},
    )


def propose(view: View) -> list[Episode]:
    """Every level turn through much of a circle."""
    out = []
    turns = view.once(find_turns)
    lined_up = _between_lines(view, turns)
    flown = max(int(np.count_nonzero(view.airborne)), 1)
    for k, turn in enumerate(turns):
        if k in lined_up:
            continue
        quarter = about(turn.change_deg, QUARTER_DEG * max(round(turn.change_deg / QUARTER_DEG), 1))
        agl = mean_agl_m(view, turn.first, turn.last)
        score = (
            over(turn.change_deg, COURSE_DEG)
            * max(quarter, over(turn.change_deg, NO_COURSE_DEG), ANY_ANGLE)
            * under(turn.change_deg, FAR_DEG, SHARP)
            * (SWINGING if swings(view, turns, k) else 1.0)
            * under(turn.bank_deg, STEEP_DEG, SHARP)
            * over(turn.bank_deg, FLAT_DEG)
            * level(turn.climb_mps)
            * no_part_of_a_climb(view, turn.first, turn.last)
            * leveled_before(view, turn.first, turn.last)
            * no_slower(view, turn)
            * (over(agl, LOW_M) if np.isfinite(agl) else 1.0)
            * all_known(view, turn.first, turn.last)
        )
        evidence = (f"{turn.change_deg:.0f}° {side(turn.sign)} at {turn.bank_deg:.0f}° of bank, level",)
        out.append(episode(ROOM.kind, view, turn.first, turn.last, score, evidence=evidence,
                           facts={"sign": turn.sign, "change_rad": turn.change_rad,
                                  "of_flight": (turn.last - turn.first) / flown}))  # fmt: skip
    return out


def _between_lines(view: View, turns: Sequence[Turn]) -> set[int]:
    """Which turns lead from line to line of a survey: a lesson rests between turns, it flies no lines of one length."""
    swung = [
        a.sign != b.sign
        and straight_between(view, a, b) > LINE_S
        and min(about(t.change_deg, HALF_DEG) for t in (a, b)) > 0.0
        for a, b in pairwise(turns)
    ]
    found: set[int] = set()
    for first, end in runs(np.array(swung, bool)):
        lengths = [
            math.hypot(view.east_m[b.first] - view.east_m[a.last], view.north_m[b.first] - view.north_m[a.last])
            for a, b in pairwise(turns[first : end + 1])
        ]
        if len(lengths) >= LINES and np.ptp(lengths) < ONE_LENGTH * max(lengths):
            found |= set(range(first, end + 1))
    return found


ENTRY_S = 5.0
# Within ten seconds before the entry: 4 kt of change, or 300 ft/min, and the speed is on its way elsewhere (common
# practice, no source).
CHANGING_MPS, CLIMBING_MPS = 2.0, 1.5
FAR_MPS = 6.2  # 12 kt
ROUND_RAD = np.radians(90.0)  # turns are asked for through quarters of a circle


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude and speed through the turn; the roll-out where the heading wanted is known."""
    sheet = Sheet(episode, evidence)
    start, end = episode.start_s, episode.end_s
    target_m = sheet.altitude_held(evidence.mean(evidence.altitude_m, start - 1.5, start + 0.5))
    entry_mps = evidence.mean(evidence.ias_mps, start - ENTRY_S, start)
    if evidence.lesson_target(sheet.kind, "ias_mps") is None and _just_leveled_off(evidence, start, entry_mps):
        sheet.not_asked("ias", "leveled off or changed speed just before, and no lesson says which speed was meant")
    elif _far_from_the_lesson(evidence, entry_mps):
        sheet.set_target("ias", entry_mps, "kt", ENTRY)
        note = "begun far from the lesson's speed: another turn than the lesson's, held to its entry"
        sheet.over("ias", evidence.ias_mps, target=entry_mps, note=note)
    else:
        aim = sheet.speed_held(entry_mps, source=ENTRY)
        sheet.cause(speed.speed_settled_off(sheet, aim, (start, end)))
    banked = turning.banked(sheet)
    settled = evidence.median(evidence.bank_size_rad, *banked)
    if np.isfinite(settled):
        sheet.cause(turning.altitude_in_turn(sheet, target_m, settled, banked, any_bank=True))
    if sheet.wants_reason("ias"):
        sheet.cause(speed.power_came_off(sheet, start, end))
    sheet.cause(turning.uncoordinated(sheet, start, end))
    heading = evidence.heading_rad
    if heading is None:
        sheet.cannot("rollout_heading", NO_HEADING)
        return sheet.grade()
    after = evidence.mean(heading, end, end + 1.5)
    wanted = evidence.lesson_target(sheet.kind, "heading_rad")
    if wanted is not None:
        sheet.set_target("heading", float(wrap_positive_rad(wanted)), "deg", LESSON)
        error = roll_out_error_rad(sheet)
        sheet.once("rollout_heading", [float(turn_from_to_rad(wanted, after))], error=error, note=heading_note(sheet))
    else:
        turned = abs(after - evidence.mean(heading, start - 2.0, start))
        off = turned - max(1, round(turned / ROUND_RAD)) * ROUND_RAD
        sheet.number("off_quarter_turn_deg", float(np.degrees(off)))
        sheet.not_asked("rollout_heading", "the heading asked for is not known")
    return sheet.grade()


def _far_from_the_lesson(evidence: Evidence, entry_mps: float) -> bool:
    """A turn on the way, at another speed than that of the lesson's level turns; what an instructor says counts."""
    lesson = evidence.lesson_target(ROOM.kind, "ias_mps")
    return lesson is not None and "ias_mps" not in evidence.whose and abs(entry_mps - lesson) > FAR_MPS


def _just_leveled_off(evidence: Evidence, start_s: float, entry_mps: float) -> bool:
    """The speed at the entry was one on the way from a climb, a descent or another speed."""
    before = (start_s - 3.0 * ENTRY_S, start_s - ENTRY_S)
    changed = abs(entry_mps - evidence.mean(evidence.ias_mps, before[0], before[0] + ENTRY_S))
    return bool(changed > CHANGING_MPS or abs(evidence.mean(evidence.climb_mps, *before)) > CLIMBING_MPS)


LEAST_BANK_RAD = math.radians(5.0)  # flatter is no turn to lay an ideal over


def _asked(flown: Flown) -> dict[str, Any] | None:
    """Speed and bank the pilot settled on, through what was turned; None for hardly any bank."""
    bank, turned = flown.number("steady_mean_bank_deg", "deg"), flown.number("heading_change_deg", "deg")
    if bank is None or abs(bank) < LEAST_BANK_RAD:
        return None
    turn = flown.episode.facts.get("change_rad", turned or 0.0)
    return {**laying.as_settled(flown), "bank_rad": abs(bank), "turn_rad": abs(turn)}


ROOM = Room(
    "level_turn", "Level turn", Family.FUNDAMENTAL, set_up, turn_lines.fly, Heights(300.0), propose, grade,
    needs_engine=True, plain=True, is_task=False, worth=0.45, accepted=0.6, by_chance=True, on_the_way=True,
    in_lesson=1.7, after_clearing=0.7, lay=laying.from_the_roll_in, asks=_asked,
    may_set=("bank_rad", "direction", "ias_mps", "turn_rad"),
    extent="roll-in → wings level",
    usual="10 to 35° of bank, level",
)  # fmt: skip
