"""Lazy eight: 180° one way and 180° back, pitch, bank and speed always changing, highest and slowest at the 90° points.

In the data: two or more turns to alternate sides of about 180° each; in each the height rises and falls back and the
speed falls and comes back, the bank grows to about 30° and shrinks again. All loops in a row are one episode. Not it:
S-turns (level, low), a chandelle (does not come down), level turns back and forth (height and speed held).
Judged by the task `lazy_eight`: altitude, speed and heading at each 180° point against the entry.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np

from airwork import units
from airwork.errors import NotPossible
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import half_circles, turning
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import ENTRY, NO_AIRSPEED, NO_HEADING, Sheet
from airwork.maneuvers.grading.straights import heading_note
from airwork.maneuvers.paths import climbing_turns, laying
from airwork.maneuvers.seeing.propose_tools import (
    about,
    aloft,
    chains,
    episode,
    speed_trust,
)
from airwork.maneuvers.seeing.signal import SHARP, over, under
from airwork.maneuvers.seeing.turns import HALF_DEG, TURNING_RAD, Turn, find_turns, wings_level
from airwork.maneuvers.seeing.view import CALM_CLIMB_MPS, View
from airwork.maneuvers.setting_up import heights, power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace
from airwork.masks import runs
from airwork.units import to_unit

BETWEEN_S = 40.0  # near the 180° point the bank passes through zero slowly
RISE_M, MISSED_M = 30.0, 40.0  # height at the top over the mean of both ends; between the ends, beside the rise
SLOWED = 0.925  # least speed over the mean of both ends
RESTED_S = 20.0  # straight and level so long between: a new one is begun
SINGLE_HALF = 0.4  # one half alone: given up, or something else


BANK_RAD = math.radians(30.0)  # about 30° at most, at the 90° points ([AFH] ch. 10)
SLOWEST_OVER_STALL_MPS = 7.5 * units.KT_MPS  # at the 90° points 5 to 10 kt above the stall ([AFH] ch. 10)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of lazy eights, entered at the handbook's speed, else at most maneuvering speed."""
    bank = ws.wish("bank_rad", BANK_RAD, math.radians(20.0), math.radians(35.0), "deg")
    loops = int(ws.wish("turns", 2.0, 1.0, 8.0))
    book = ws.permitted("lazy_eights")
    ias = power_lines.entry_ias(ws, book, 0.65, bank)
    cas, stall = ws.cas(ias), ws.stall_cas_mps(0)
    slow = ws.on_dial(ws.ias(stall + SLOWEST_OVER_STALL_MPS), "up")
    if ws.cas(slow) > 0.92 * cas:
        raise NotPossible(
            f"{ROOM.title}: between {ws.airplane.dial(ias)} and the stall there is no room for it today; fly lower."
        )
    ws.note_heights()
    ws.note_speed(
        "entry speed",
        ias,
        "handbook table" if book is not None else "formula",
        "handbook's entry speed, or what 65 % power holds; at most maneuvering speed",
    )
    power = power_lines.level(ws, cas, name="power, left alone")
    ws.note_stall(0)
    ws.note_speed("at the 90° points, not below", slow, "formula", "5 to 10 kt above the stall, [AFH] ch. 10")
    turn_lines.note_turn(ws, cas, bank, turn_rad=math.pi, bank_source="about 30° at the 90° points, [AFH] ch. 10")
    rows = _along(ws, ias, slow, bank)
    seconds = 45.0
    tables = {}
    if rows is not None:
        tables["Along one half"], seconds, top = rows
        ws.note(
            "height gained to the 90° point, about",
            round(top / units.FT_M / 10) * 10.0,
            "ft",
            "fitted model",
            "point-mass simulation of the ideal",
        )
        if ws.conditions.ceiling_m is not None and ws.entry_m + top > ws.conditions.ceiling_m:
            raise NotPossible(
                f"{ROOM.title}: it rises about {units.write(top, 'ft')}, above the area's ceiling "
                f"{units.write(ws.conditions.ceiling_m, 'ft')}; begin lower."
            )
    ws.use_power(2.0 * loops * seconds, None if power is None else power.ratio)
    words = "power by eye" if power is None else power.words
    return ws.finish(
        steps=(
            ws.before(),
            f"Level at {ws.mark(ias)}, {words}, and leave the power; landmarks at 45°, 90° and 135°",
            At("Nose up first, bank slowly after it: 45° point highest pitch, 15° of bank", "climbing"),
            f"90° point: {math.degrees(bank):.0f}° of bank, nose passing down through level, {ws.mark(slow)}",
            "135° point: lowest pitch, 15° of bank",
            f"180° point: wings level, entry altitude, {ws.mark(ias)}; without a pause the other way",
        ),
        usual_errors=(
            "bank too fast at the start: round before the height is won",
            "stopping the change of pitch or bank: no pause anywhere",
            "altitude or speed off at 180°: more power if low, less if high",
            "too little right rudder when slow; eyes off the landmarks",
        ),
        card_line=f"{ws.mark(ias)} · {words} · 45° up, 15° bank · 90° bank {math.degrees(bank):.0f}°, {ws.mark(slow)} "
        "· 135° down",
        targets={"ias_mps": ias, "entry_ias_mps": ias, "bank_rad": bank, "slow_ias_mps": slow, "turns": float(loops)},
        tables=tables,
    )


def _along(
    ws: Worksheet, ias_mps: float, slow_mps: float, bank_rad: float
) -> tuple[tuple[tuple[str, ...], ...], float, float] | None:
    """(table of the points, seconds of a half, rise [m]) of the ideal one; None without a performance model."""
    if ws.performance is None:
        return None
    flown = climbing_turns.lazy_eight(ws.order, ws.entry_m, ias_mps, slow_mps, bank_rad, 1)
    table: list[tuple[str, ...]] = [("point", "bank", "speed", "height over entry")]
    columns = flown.columns
    turned = np.abs(np.unwrap(columns["heading_rad"]) - columns["heading_rad"][0])
    half = int(np.argmax(turned > math.pi - 0.02))
    for degrees in (45, 90, 135, 180):
        k = min(int(np.argmax(turned >= math.radians(degrees) - 0.03)), half)
        feet = (columns["altitude_m"][k] - ws.entry_m) / units.FT_M
        bank = abs(math.degrees(columns["bank_rad"][k]))
        table.append(
            (f"{degrees}°", f"{bank:.0f}°", ws.mark(float(columns["ias_mps"][k])), f"{round(feet, -1):+,.0f} ft")
        )
    return tuple(table), float(flown.time_s[half]), float(columns["altitude_m"].max() - ws.entry_m)


def ideal(set_up: SetUp, order: Order) -> Trace:
    """The lazy eights asked for, to the right first unless the lesson says left."""
    t = set_up.targets
    if order.performance is None:
        raise NotPossible(f"{ROOM.title}: no performance model for this airplane; its path can't be simulated.")
    first = -1.0 if str(order.target.get("direction", "right")).lower() == "left" else 1.0
    return climbing_turns.lazy_eight(
        order,
        set_up.entry_altitude_m,
        t["entry_ias_mps"],
        t["slow_ias_mps"],
        t["bank_rad"],
        2 * int(t["turns"]),
        first=first,
    )


def propose(view: View) -> list[Episode]:
    """Every chain of climbing and descending half circles to alternate sides."""
    scores = {turn.first: _half(view, turn) for turn in view.once(find_turns)}
    good = [turn for turn in view.once(find_turns) if scores[turn.first] > 0.0]
    out = []
    for chain in chains(good, view, opposite=True, longest_gap_s=BETWEEN_S, apart=_rested(view)):
        score = float(np.mean([scores[turn.first] for turn in chain])) * (SINGLE_HALF if len(chain) < 2 else 1.0)
        rises = [to_unit(_rise_m(view, turn), "ft") for turn in chain]
        evidence = (
            f"{len(chain)} half circles to alternate sides",
            f"each rising about {np.mean(rises):,.0f} ft and coming back",
        )
        ends = _points(view, chain)
        phases = tuple((f"half {k + 1}", a, b) for k, (a, b) in enumerate(pairwise(ends)))
        out.append(episode(ROOM.kind, view, ends[0], ends[-1], score * speed_trust(view), evidence=evidence,
                           phases=phases, facts={"halves": len(chain)}))  # fmt: skip
    return out


def _rested(view: View) -> Callable[[Turn, Turn], bool]:
    """Whether straight and level flight was held between two halves."""
    level = (np.abs(view.climb_mps) < CALM_CLIMB_MPS) & (np.abs(view.turn_bank_rad) < TURNING_RAD)
    return lambda one, two: any(b - a > view.samples(RESTED_S) for a, b in runs(level[one.last : two.first]))


def _points(view: View, chain: list[Turn]) -> list[int]:
    """Start, the 180° points (where the bank passes through zero) and end: indices."""
    bank = np.abs(view.turn_bank_rad)
    out = [wings_level(bank, chain[0].first, -1, view.samples(BETWEEN_S))]
    for one, two in pairwise(chain):
        low, high = min(one.last, two.first), max(one.last, two.first)
        out.append(low + int(np.argmin(bank[low : high + 1])))
    out.append(wings_level(bank, chain[-1].last, 1, view.samples(BETWEEN_S)))
    return out


def _rise_m(view: View, turn: Turn) -> float:
    altitude = view.altitude_m[turn.first : turn.last + 1]
    return float(altitude.max() - 0.5 * (altitude[0] + altitude[-1]))


def _half(view: View, turn: Turn) -> float:
    ends = 0.5 * (turn.speed_in_mps + turn.speed_out_mps)
    rise = _rise_m(view, turn)
    return (
        about(turn.change_deg, HALF_DEG)
        * over(rise, RISE_M)
        * under(turn.speed_least_mps / max(ends, 1.0), SLOWED, SHARP)
        * under(abs(turn.altitude_change_m), rise + MISSED_M)
        * aloft(view, turn.first, turn.last)
    )


POINT_S = 1.5  # a value at the 180° point is the mean over this much to each side


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, speed and heading at each 180° point against the entry."""
    sheet = Sheet(episode, evidence)
    start = episode.start_s
    points = [p.end_s for p in episode.phases]
    altitude = sheet.altitude_target(evidence.mean(evidence.altitude_m, start - 2.0, start + 0.5))
    at = [evidence.mean(evidence.altitude_m, t - POINT_S, t + POINT_S) - altitude for t in points]
    sheet.once("turn180_altitude", at)
    sheet.cause(half_circles.halves_unlike(sheet, points, at))
    ias, heading = evidence.ias_mps, evidence.heading_rad
    if ias is None:
        sheet.cannot("turn180_ias", NO_AIRSPEED)
    else:
        speed = sheet.speed_target(evidence.mean(ias, start - 3.0, start + 1.0), ENTRY)
        sheet.once("turn180_ias", [evidence.mean(ias, t - POINT_S, t + POINT_S) - speed for t in points])
    if heading is None:
        sheet.cannot("turn180_heading", NO_HEADING)
    else:
        entry = evidence.mean(heading, start - 2.0, start)
        first = np.sign(evidence.mean(heading, points[0] - 1.0, points[0] + 1.0) - entry)
        wanted = [entry + (first * np.pi if k % 2 == 0 else 0.0) for k in range(len(points))]
        off = [evidence.mean(heading, t - 0.75, t + 0.75) - w for t, w in zip(points, wanted, strict=True)]
        sheet.once("turn180_heading", off, note=heading_note(sheet))
    sheet.floor_kept()
    sheet.cause(turning.uncoordinated(sheet, start, episode.end_s))
    return sheet.grade()


ROOM = Room(
    "lazy_eight", "Lazy eight", Family.PERFORMANCE, set_up, ideal,
    Heights(150.0, heights.PRACTICE_FLOOR_M, heights.PRACTICE), propose, grade, needs_engine=True, plots=("pitch",),
    wants_clear_sky=True, lay=laying.from_the_roll_in, asks=laying.first_side_first,
    may_set=("bank_rad", "direction", "entry_ias_mps", "turns"),
    facts=BriefFacts("think", handbook="lazy_eights"),
    slow_on_purpose=True,
    extent="first roll-in → wings level after the last turn",
)  # fmt: skip
