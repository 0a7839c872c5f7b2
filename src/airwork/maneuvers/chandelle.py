"""Chandelle: a 180° climbing turn, most height for the speed, rolled out just above the stall on the opposite heading.

In the data: one turn through about 180° in which the height only rises, the speed only falls, the bank is greatest in
the first half. Not it: half a lazy eight (comes down again to the entry height and speed), a climbing turn (speed
held), a power-on stall (a break, little turn).
Judged by the task `chandelle`: roll-out at 180°, altitude kept after it.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.errors import NotPossible
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import half_circles, turning
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import ENTRY, NO_HEADING, Sheet
from airwork.maneuvers.grading.straights import heading_note
from airwork.maneuvers.paths import climbing_turns, laying
from airwork.maneuvers.seeing.propose_tools import (
    LEAST_SCORE,
    about,
    aloft,
    episode,
    side,
    speed_trust,
)
from airwork.maneuvers.seeing.signal import SHARP, first_true, over, under
from airwork.maneuvers.seeing.slow import speed_back
from airwork.maneuvers.seeing.turns import HALF_DEG, Turn, find_turns, wings_level
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import heights, power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace
from airwork.units import to_unit

ENTRY_S = 4.0  # to look back for what it was begun from
ROLL_OUT_S = 25.0  # its last degrees may take so long
GAIN_M = 52.0  # 170 ft; a lazy eight comes all the way down again
SLOWED, BANKED_DEG = 0.85, 22.0  # speed at the end over speed at the start; poor ones have 26°, climbing turns 20°


BANK_RAD = math.radians(30.0)  # about 30° ([AFH] ch. 10; commercial standard)
END_OVER_STALL_MPS = 3.0 * units.KT_MPS  # rolled out just above the stall: a few knots, our own choice


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a chandelle, entered at the handbook's speed, else at most maneuvering speed."""
    bank = ws.wish("bank_rad", BANK_RAD, math.radians(20.0), math.radians(40.0), "deg")
    side = ws.word("direction", "left", ("left", "right", "both"))
    book, va = ws.permitted("chandelles"), ws.maneuvering_ias()
    ias = power_lines.entry_ias(ws, book, 1.0, bank)
    cas, stall = ws.cas(ias), ws.stall_cas_mps(0)
    end = ws.on_dial(ws.ias(stall + END_OVER_STALL_MPS), "up")
    ws.note_heights()
    ws.note_speed(
        "entry speed",
        ias,
        "handbook table" if book is not None else "formula",
        "handbook's entry speed" if book is not None else "at most maneuvering speed for today's weight",
    )
    ws.note_speed("never above", va, "handbook table", "maneuvering speed for today's weight")
    level = power_lines.level(ws, cas, name="power, entry")
    power_lines.full_throttle(ws, ws.cas(end), name="full throttle, at the end")
    turn_lines.note_turn(ws, cas, bank, turn_rad=math.pi, bank_source="about 30°, [AFH] ch. 10")
    stall_ias = ws.note_stall(0)
    ws.note_speed("speed at the end", end, "formula", "a few knots above the stall, [AFH] ch. 10")
    gain = _gain(ws, ias, bank)
    if gain is not None:
        feet = round(gain[0] / units.FT_M / 50.0) * 50.0
        ws.note(
            "height gained, about", feet, "ft", "fitted model", "point-mass simulation of the ideal", uncertainty=100.0
        )
        ws.note("time for the turn, flown", float(round(gain[1])), "s", "fitted model", "the same")
        if ws.conditions.ceiling_m is not None and ws.entry_m + gain[0] > ws.conditions.ceiling_m:
            raise NotPossible(
                f"{ROOM.title}: it ends about {units.write(feet * units.FT_M, 'ft')} higher, above the area's ceiling "
                f"{units.write(ws.conditions.ceiling_m, 'ft')}; begin lower."
            )
    seconds = (20.0 if gain is None else gain[1]) + 10.0
    ws.use_power(len(turn_lines.sides(side)) * seconds, 0.9)
    words = "power by eye" if level is None else level.words
    shown = "" if gain is None else f" · +{round(gain[0] / units.FT_M / 50.0) * 50.0:,.0f} ft"
    return ws.finish(
        steps=(
            ws.before(),
            f"Level, flaps up, {ws.mark(ias)}, {words}; a landmark off the wing tip for the 90° point",
            f"Roll to {math.degrees(bank):.0f}° and hold; then raise the nose steadily, power to full as it slows",
            "Through 90°: bank held, pitch highest; right rudder more and more",
            "From 90° on: pitch held constant, roll out slowly, so that the wings are level at 180°",
            f"At 180°: wings level, {ws.mark(end)}; hold for a moment, then lower the nose without losing height",
        ),
        usual_errors=(
            "bank too shallow: the turn isn't done when the speed is gone; too steep: the height isn't won",
            "pitch raised too fast: the stall before 180°, or too slowly: speed left over",
            "rolling out too early or too late",
            "ball off center: rudder for the slow speed and full power forgotten, more so in a right turn",
        ),
        card_line=f"{ws.mark(ias)} · {words} → full · {math.degrees(bank):.0f}° to 90° · end {ws.mark(end)}{shown}",
        targets={
            "ias_mps": ias,
            "entry_ias_mps": ias,
            "bank_rad": bank,
            "turn_rad": math.pi,
            "end_ias_mps": end,
            "stall_ias_mps": stall_ias,
        },
    )


def _gain(ws: Worksheet, ias_mps: float, bank_rad: float) -> tuple[float, float] | None:
    """(height gained [m], time [s]) of the ideal one; None without a performance model."""
    if ws.performance is None:
        return None
    flown = climbing_turns.chandelle(ws.order, ws.entry_m, ias_mps, bank_rad, -1.0)
    return flown.altitude - ws.entry_m, flown.time


def ideal(set_up: SetUp, order: Order) -> Trace:
    """The chandelle each way that is asked for, found so that it ends just above the stall at 180°."""
    t = set_up.targets
    side = order.side
    if order.performance is None:
        raise NotPossible(f"{ROOM.title}: no performance model for this airplane; its path can't be simulated.")
    flown = climbing_turns.chandelle(order, set_up.entry_altitude_m, t["entry_ias_mps"], t["bank_rad"], side)
    return flown.trace()


def propose(view: View) -> list[Episode]:
    """Every 180° turn that trades speed for height to the end."""
    out = []
    for turn in view.once(find_turns):
        start, turned = _whole(view, turn)
        score = _score(view, turn, start, turned)
        if score < LEAST_SCORE:
            continue
        end = speed_back(view, turned, turn.speed_in_mps)
        gained = to_unit(float(view.altitude_m[turned] - view.altitude_m[start]), "ft")
        evidence = (
            f"{turn.change_deg:.0f}° {side(turn.sign)}, {gained:,.0f} ft gained",
            f"speed from {to_unit(turn.speed_in_mps, 'kt'):.0f} to {to_unit(turn.speed_out_mps, 'kt'):.0f} kt",
        )
        so_far = np.abs(view.heading_rad[start : turned + 1] - view.heading_rad[start])
        half = start + int(np.argmax(so_far > np.pi / 2))
        phases = (("first 90°", start, half), ("second 90°", half, turned), ("recovery", turned, end))
        facts = {"sign": turn.sign, "turned_s": float(view.time_s[turned])}
        out.append(episode(ROOM.kind, view, start, end, score, evidence=evidence, phases=phases, facts=facts))
    return out


def _whole(view: View, turn: Turn) -> tuple[int, int]:
    """First and last sample of the turn with its slow parts: the bank comes off slowly towards 180°."""
    bank = turn.sign * view.turn_bank_rad
    first, last = turn.first, wings_level(bank, turn.last, 1, view.samples(ROLL_OUT_S))
    beyond = turn.sign * (view.heading_rad[turn.last : last + 1] - view.heading_rad[first]) >= np.pi
    return first, turn.last + first_true(beyond, last - turn.last)


def _score(view: View, turn: Turn, first: int, last: int) -> float:
    change = float(np.degrees(abs(view.heading_rad[last] - view.heading_rad[first])))
    altitude, before = (
        view.altitude_m[turn.first : turn.last + 1],
        slice(max(turn.first - view.samples(ENTRY_S), 0), turn.first + 1),
    )
    gain = float(altitude[-1] - altitude[0])
    return (
        about(change, HALF_DEG)
        * over(gain, GAIN_M)
        * under(turn.speed_out_mps / max(float(view.speed_mps[before].max()), 1.0), SLOWED, SHARP)
        * over(math.degrees(turn.top_bank_rad), BANKED_DEG, SHARP)
        * aloft(view, turn.first, turn.last)
        * speed_trust(view)
    )


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Heading turned at the roll-out, height gained and kept, speed at the end."""
    sheet = Sheet(episode, evidence)
    turned_s, sign = episode.facts["turned_s"], episode.facts["sign"]
    start, heading = episode.start_s, evidence.heading_rad
    if heading is None:
        sheet.cannot("turn180_heading", NO_HEADING)
    else:
        after = evidence.mean(heading, turned_s, turned_s + 2.0)
        turned = sign * (after - evidence.mean(heading, start - 2.0, start))
        sheet.number("turned_deg", float(np.degrees(turned)))
        sheet.once("turn180_heading", [turned - np.pi], note=heading_note(sheet))
        sheet.cause(half_circles.bank_let_out(sheet, turned - np.pi, turned_s))
    entry = evidence.mean(evidence.altitude_m, start - 1.0, start + 0.5)
    top = evidence.mean(evidence.altitude_m, turned_s - 0.5, turned_s + 1.0)
    later = evidence.altitude_m[evidence.flight.span(turned_s, episode.end_s + 10.0)]
    lost = max(0.0, top - float(np.nanmin(later))) if np.isfinite(later).any() else float("nan")
    sheet.number("altitude_gained_ft", to_unit(top - entry, "ft"), 0)
    sheet.number("altitude_lost_after_ft", to_unit(lost, "ft"), 0)
    sheet.once("altitude_kept", [-lost])
    if evidence.ias_mps is not None:
        sheet.set_target("entry_ias", evidence.mean(evidence.ias_mps, start - 4.0, start), "kt", ENTRY)
        sheet.number("ias_at_180_kt", to_unit(evidence.mean(evidence.ias_mps, turned_s - 1.0, turned_s + 1.0), "kt"))
        sheet.cause(half_circles.ended_fast(sheet, turned_s))
    sheet.floor_kept()
    sheet.cause(turning.uncoordinated(sheet, start, turned_s))
    return sheet.grade()


ROOM = Room(
    "chandelle", "Chandelle", Family.PERFORMANCE, set_up, ideal,
    Heights(150.0, heights.PRACTICE_FLOOR_M, heights.PRACTICE), propose, grade, needs_engine=True, plots=("pitch",),
    wants_clear_sky=True, lay=laying.from_the_roll_in,
    may_set=("bank_rad", "direction", "entry_ias_mps"),
    facts=BriefFacts("think", handbook="chandelles"),
    slow_on_purpose=True,
    extent="roll-in → nine tenths of the entry speed back after the roll-out, or as much as comes back in 40 s",
)  # fmt: skip
