"""Slow flight: at altitude, 5 to 10 kt above the stall, level or in gentle turns, climbs and descents, then recovered.

In the data: the speed falls from a cruising speed to a low one, is held there for a while without much climb or sink,
and is regained. The episode runs from the slowing down to the recovery's end. Not it: the approach to a landing (near
the ground), a stall's entry (not held), a glide (sinks), the slow end of a chandelle or lazy eight (not held).
A stall may follow inside it.
Judged by the task `slow_flight`: altitude, heading, airspeed (+10/−0 kt), bank, no stall warning.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.airplane.performance.speeds import back_side
from airwork.errors import AirworkError, NotPossible
from airwork.maneuvers.brief_facts import SLOW_RECOVERY, BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade, Stretch, Verdict
from airwork.maneuvers.grading.causes import altitude, speed, stalling, turning
from airwork.maneuvers.grading.causes.flaps import flap_balloon
from airwork.maneuvers.grading.causes.heading import heading_let_go, wallowed
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.judge import best_band
from airwork.maneuvers.grading.sheet import HELD_INSTEAD, NO_AIRSPEED, SETTLED, WINDOW, Sheet
from airwork.maneuvers.grading.straights import (
    held_bank,
    held_heading,
    leg_heading_rad,
    out_and_back,
    straight_legs,
    turning_parts,
    wallows,
)
from airwork.maneuvers.grading.stretches import POWER_SET, level_parts
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.seeing.propose_tools import (
    IDLE,
    aloft,
    episode,
    speed_trust,
    throttled,
)
from airwork.maneuvers.seeing.signal import SHARP, median, over, percentile, under
from airwork.maneuvers.seeing.slow import BANKED_RAD, IDLE_SLOPE, SLOW, SlowStretch, energy_slope, slow_stretches
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import heights, power_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, Order, SetUp, Trace
from airwork.masks import runs
from airwork.units import to_unit

LEAST_YAW = 0.6  # of the heading's tolerance: a leg wanders
HELD_S = 19.0  # shorter is a stall's entry or a slow moment
SLOWED = 0.875  # times the speed before
ZOOMED_M = 100.0  # slowed down level; a chandelle trades the speed for 400 ft and more
CLIMB_SLOPE = 0.04  # 250 ft/min at 60 kt, over all of it: climbs asked for in slow flight are a part of it
MUSH_MPS = 0.7  # 140 ft/min down with the throttle closed: a stall that only mushes, or a glide
CIRCLING_RAD = np.radians(510.0)  # gentle turns to both sides are practiced; round and round is circling in a thermal
OFTEN = 25.0  # percentile that has to be slow: who hunts for the speed comes down to it again and again


OVER_STALL_MPS = 7.5 * units.KT_MPS  # the middle of 5 to 10 kt above the stall ([AFH] ch. 5)
LEAST_MPS, MOST_MPS = 5.0 * units.KT_MPS, 10.0 * units.KT_MPS
RESERVE_MPS = units.from_unit(100.0, "fpm")  # climb left at full throttle, where airwork chooses the flap: our own
TURN_RAD = math.radians(20.0)
FLOWN_S = 300.0
BEFORE_S, LEVEL_MPS = 8.0, units.from_unit(100.0, "fpm")  # the level flight it was slowed from
BEGUN_MPS, FIRST_S = 1.5, 10.0  # 300 fpm: begun on the way to its altitude; what was flown first is taken for it
MOSTLY_ON = 0.5  # of the time: the speed settled on is then no speed to fly (FAA-S-ACS-6C, VII.A: without a warning)
NEAR_MPS, AT_MPS = 3.0 * units.KT_MPS, 0.5 * units.KT_MPS  # above the speed held: still slow; speeding up from here


def _best_notch(ws: Worksheet) -> int:
    """The largest flap setting that leaves a little climb at full throttle; flaps up if none does."""
    for notch in range(ws.airplane.flaps_full, 0, -1):
        try:
            cas = ws.stall_cas_mps(notch) + OVER_STALL_MPS
        except NotPossible:
            continue
        if power_lines.holds_level(ws, cas, notch, TURN_RAD, RESERVE_MPS):
            return notch
    return 0


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of slow flight, in the flap setting asked for or the largest the airplane holds today."""
    best = _best_notch(ws)
    notch = ws.notch(best)
    stall = ws.stall_cas_mps(notch)
    ias = ws.flown_ias(ws.on_dial(ws.ias(stall + OVER_STALL_MPS, notch), "up"), notch)
    cas = ws.cas(ias, notch)
    entry = ws.on_dial(min(ws.ias(1.7 * ws.stall_cas_mps(0)), ws.fastest_ias(1)), "down", 5.0)
    ws.note_heights()
    ws.note_speed("entry speed", entry, "assumed", "1.7 times the clean stall, below the flap speed")
    wished, full = "flap_notch" in ws.target, ws.airplane.flaps_full
    short_of = ""
    if notch > best or (notch < full and not wished):
        leaves = "full throttle leaves less than 100 ft/min of climb today"
        short_of = f"flaps {notch}: {leaves}" if wished else f"flaps {notch}, not {full}: with more {leaves}"
    ws.note_flap(notch, "lesson" if wished else "the most that leaves 100 ft/min of climb today")
    stall_ias = ws.note_stall(notch)
    source = (
        "lesson" if "ias_mps" in ws.target else "5 to 10 kt above the stall, [AFH] ch. 5; calibrated, then on the dial"
    )
    ws.note_speed("slow-flight speed", ias, "formula", source)
    low, high = (ws.ias(stall + extra, notch) for extra in (LEAST_MPS, MOST_MPS))
    ws.note_speed("lowest of that band", ws.on_dial(low, "up"), "formula", "stall + 5 kt")
    ws.note_speed("highest of that band", ws.on_dial(high, "down"), "formula", "stall + 10 kt")
    power = power_lines.level(ws, cas, notch)
    in_turn = power_lines.level(ws, cas, notch, bank_rad=TURN_RAD, name="power, 20° bank", needed=False, pitch=False)
    power_lines.climb(ws, cas, notch, name="left at full throttle")
    _back_side(ws, cas, notch)
    turn_lines.note_turn(ws, cas, TURN_RAD, notch, math.pi / 2, bank_source="gentle turns: common practice, no source")
    ws.use_power(FLOWN_S, None if power is None else power.ratio)
    flaps = "flaps up" if notch == 0 else f"flaps {notch}"
    words = "power by eye" if power is None else power.words
    return ws.finish(
        steps=(
            ws.before(),
            f"Power back, hold altitude while it slows; flaps to notch {notch} one at a time, each below its speed"
            if notch
            else "Power back, hold altitude while it slows; flaps stay up",
            At(f"Before {ws.mark(ias)} is reached add power: {words}; right rudder, trim", "steady"),
            At(
                "Pitch for the speed, power for the altitude; straight, then turns to 20°"
                + (f" ({in_turn.words})" if in_turn is not None else ""),
                "bank",
            ),
            "Any stall warning: ease the nose down and add power at once",
            "Recovery: full power, carburetor heat cold, flaps up in steps as it accelerates, level at the altitude",
        ),
        usual_errors=(
            "power added too late: it sinks behind the power curve",
            "too little right rudder, heading wanders left",
            "speed chased with the elevator; no trim",
            "flaps all at once in the recovery: sink",
            "eyes inside: traffic and heading lost",
        ),
        card_line=f"{ws.mark(ias)} · {flaps} · {words} · stall {ws.mark(stall_ias)}",
        targets={
            "ias_mps": ias,
            "flap_notch": float(notch),
            "bank_rad": TURN_RAD,
            "entry_ias_mps": entry,
            "duration_s": FLOWN_S,
        },
        short_of=short_of,
    )


def _back_side(ws: Worksheet, cas_mps: float, notch: int) -> None:
    """What a knot slower costs, where the speed lies on the back of the power curve."""
    if ws.performance is None:
        return
    try:
        found = back_side(ws.performance, ws.at(notch), cas_mps)
    except AirworkError:
        return
    if found.on_back_side and math.isfinite(found.climb_rate_per_kt_mps):
        cost = -units.to_unit(found.climb_rate_per_kt_mps, "fpm")
        ws.note("each knot slower costs", float(round(cost)), "fpm", "fitted model", "back of the power curve")


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Slowed down level, flaps set, held straight, a turn each way, straight again, accelerated level."""
    t = set_up.targets
    flown = FlownIdeal(order, set_up.entry_altitude_m, t["entry_ias_mps"])
    first = order.side
    flown.hold(5.0)
    notch = int(t["flap_notch"])
    flown.change_speed(t["ias_mps"] if notch == 0 else max(t["ias_mps"], 0.75 * t["entry_ias_mps"]))
    flown.set_flap(notch, t["ias_mps"])
    flown.hold(90.0)
    for sign in (first, -first):
        flown.turn(sign * 0.5 * math.pi, t["bank_rad"])
        flown.hold(40.0)
    flown.set_flap(0, max(t["ias_mps"], 1.25 * float(order.airplane.stall_cas_mps(order.conditions.mass_kg))))
    flown.change_speed(t["entry_ias_mps"])
    flown.hold(5.0)
    return flown.trace()


def propose(view: View) -> list[Episode]:
    """Every stretch of slow flight held for a while."""
    out = []
    for stretch in view.once(slow_stretches):
        # Slowed to a stall; what is held after it is the climb back.
        if stretch.settled is None or any(one.index < stretch.settled[0] for one in stretch.breaks):
            continue
        a, b = stretch.settled
        speed = median(view.speed_mps[a : b + 1])
        evidence = (
            f"about {to_unit(speed, 'kt'):.0f} kt held for {view.time_s[b] - view.time_s[a]:.0f} s",
            f"slowed from {to_unit(stretch.speed_before_mps, 'kt'):.0f} kt",
        )
        phases = (("entry", stretch.start, a), ("established", a, b), ("recovery", b, stretch.end))
        out.append(episode(ROOM.kind, view, stretch.start, stretch.end, _score(view, stretch, a, b, speed),
                           evidence=evidence, phases=phases))  # fmt: skip
    return out


def _score(view: View, stretch: SlowStretch, a: int, b: int, speed: float) -> float:
    """Kept slow on purpose: held for a while, at a near-constant height, well below the speeds around it."""
    held = float(view.time_s[b] - view.time_s[a])
    sunk = float(view.altitude_m[a] - view.altitude_m[b])
    return (
        over(held, HELD_S)
        * under(speed / max(stretch.speed_before_mps, 1.0), SLOWED, SHARP)
        * (float(view.speed_mps[stretch.end]) > speed)
        * under(-energy_slope(view, a, b), IDLE_SLOPE)  # held with power; gliding down is a stall's entry, or a glide
        * under(energy_slope(view, a, b), CLIMB_SLOPE)  # climbing all along is a climb, whatever its speed
        * under(abs(float(view.altitude_m[a] - view.altitude_m[stretch.start])), ZOOMED_M)
        * under(percentile(view.one_g_speed_mps[a : b + 1], OFTEN) / view.clean_stall_mps, SLOW, SHARP)
        * under(float(np.ptp(view.heading_rad[a : b + 1])), CIRCLING_RAD)
        # Slowed in a steep turn it is the turn's speed that was lost; slow flight banks to some 20°.
        * under(median(np.abs(view.bank_rad[stretch.start : a + 1])), BANKED_RAD, SHARP)
        * aloft(view, stretch.start, stretch.end)
        * speed_trust(view)
        * (1.0 - throttled(view, a, b, IDLE) * over(sunk / max(held, 1.0), MUSH_MPS))
    )


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude by level stretches, speed, heading on the straight legs, bank in the turns; the stall warning.

    Established flight is judged; the entry and the recovery are told apart.
    """
    sheet = Sheet(episode, evidence)
    window = _held(sheet)  # slowing down and speeding up again are not "maintaining"
    levels = _altitude(sheet, window)
    target_mps = _speed(sheet, window)
    held_heading(sheet, window, begun=True)
    held_bank(sheet, window)
    _warning(sheet, window)
    sheet.floor_kept()
    _causes(sheet, window, levels, target_mps)
    return sheet.grade()


def _held(sheet: Sheet) -> tuple[float, float]:
    """Established flight, on to where the speed was last held: a climb asked for at that speed is slow flight still."""
    evidence = sheet.evidence
    start, end = sheet.window("established")
    speed = evidence.tas_mps if evidence.ias_mps is None else evidence.ias_mps
    stalled = any(e.start_s < sheet.end_s and e.end_s > end for e in evidence.episodes if "break_s" in e.facts)
    if speed is None or stalled or WINDOW in evidence.whose:
        return start, end
    held = evidence.median(speed, start, end)
    span = evidence.flight.span(end, sheet.end_s)
    near = np.flatnonzero(speed[span] < held + NEAR_MPS)
    back = np.flatnonzero(speed[span][: near[-1] + 1] < held + AT_MPS) if near.size else near
    return start, float(sheet.time_s[span][back[-1]]) if back.size else end


def _altitude(sheet: Sheet, window: tuple[float, float]) -> list[Stretch]:
    """Each level stretch against its own altitude: the entry's, then what was held after each climb or descent."""
    evidence, episode = sheet.evidence, sheet.episode
    criterion = sheet.task.criterion("altitude")
    begun = (episode.start_s - 1.5, episode.start_s + 0.5)
    if abs(evidence.mean(evidence.climb_mps, *begun)) < BEGUN_MPS:
        entry_m = sheet.altitude_target(evidence.mean(evidence.altitude_m, *begun))
    else:  # begun on the way to it
        entry_m = sheet.altitude_target(evidence.median(evidence.altitude_m, window[0], window[0] + FIRST_S), SETTLED)
    if criterion is None or criterion.low is None or criterion.high is None:
        return []
    size = max(abs(criterion.low), abs(criterion.high))
    given = sheet.given("altitude") or _power_came_back(sheet, window[0])
    parts = level_parts(evidence, window, entry_m, size, criterion.low, criterion.high, given=given)
    sheet.stretch(Stretch("entry", episode.start_s, window[0]))
    for part in parts:
        sheet.stretch(part)
    sheet.stretch(Stretch("recovery", window[1], episode.end_s))
    levels = [p for p in parts if p.altitude_m is not None]
    deviation, use = np.full(evidence.altitude_m.size, np.nan), np.zeros(evidence.altitude_m.size, dtype=bool)
    for part in levels:
        span = evidence.flight.span(part.start_s, part.end_s)
        deviation[span] = evidence.altitude_m[span] - (part.altitude_m or 0.0)
        use[span] = True
    if levels and levels[0].source == HELD_INSTEAD and not sheet.given("altitude"):
        sheet.set_target("altitude", levels[0].altitude_m or entry_m, "ft", HELD_INSTEAD)
        sheet.target_altitude_m = levels[0].altitude_m
    if levels:
        sheet.altitude_held_s = (levels[0].start_s, levels[0].end_s)
    note, error = sheet.altitude_known()
    if len(levels) > 1:
        altitudes = ", ".join(f"{to_unit(p.altitude_m or 0.0, 'ft'):,.0f}" for p in levels)
        note = "; ".join(
            filter(None, (note, f"level stretches held to {altitudes} ft; climbs and descents taken as asked for"))
        )
    sheet.over("altitude", deviation, window, use=use, error=error, note=note)
    return levels


def _power_came_back(sheet: Sheet, until_s: float) -> bool:
    """The entry was flown from level flight with less power than before it: what it ballooned was not asked for."""
    evidence, start_s = sheet.evidence, sheet.start_s
    level = abs(evidence.mean(evidence.climb_mps, start_s - BEFORE_S, start_s + 0.5)) < LEVEL_MPS
    power = evidence.some_power
    if power is None or not level:
        return False
    before = evidence.median(power, start_s - BEFORE_S, start_s)
    return evidence.median(power, start_s, until_s) < before - POWER_SET


def _causes(sheet: Sheet, window: tuple[float, float], levels: list[Stretch], target_mps: float | None) -> None:
    for part in levels:
        span = (part.start_s, part.end_s)
        chased = speed.chasing_airspeed(sheet, *span)
        sheet.cause(chased)
        if part.altitude_m is not None:
            stayed = altitude.settled_off(sheet, part.altitude_m, span)
            sheet.cause(stayed or altitude.let_slip(sheet, part.altitude_m, span, by_power=True, chased=chased))
    if target_mps is not None:
        sheet.cause(speed.speed_settled_off(sheet, target_mps, window))
        if sheet.wants_reason("ias"):
            sheet.cause(speed.over_the_edge(sheet, target_mps, window))
        sheet.cause(speed.far_above_the_stall(sheet, *window))
    sheet.cause(stalling.near_the_stall(sheet, target_mps or math.nan, window))
    sheet.cause(flap_balloon(sheet, sheet.start_s, sheet.end_s))
    for turn in turning_parts(sheet, window):
        times = sheet.time_s[turn]
        sheet.cause(turning.uncoordinated(sheet, float(times[0]), float(times[-1])))
    for astray in wallows(sheet, window):
        sheet.cause(wallowed(sheet, astray))
    meant = out_and_back(sheet, window)
    for leg in straight_legs(sheet, window):
        if any(turn.start < leg.stop and leg.start < turn.stop for turn in meant):
            continue  # shallow turns that were meant
        times = sheet.time_s[leg]
        begun = leg_heading_rad(sheet, leg)
        sheet.cause(heading_let_go(sheet, float(times[0]), float(times[-1]), begun, least=LEAST_YAW))


def _speed(sheet: Sheet, window: tuple[float, float]) -> float | None:
    """The target is the lesson's; else the speed whose +10/−0 kt band holds most of what was flown. [m/s]"""
    evidence, ias = sheet.evidence, sheet.evidence.ias_mps
    part = np.empty(0) if ias is None else ias[evidence.flight.span(*window)]
    part = part[np.isfinite(part)]
    if not part.size:
        sheet.cannot("ias", NO_AIRSPEED)
        return None
    warning = evidence.flight.get("stall_warning")
    on = np.zeros(1) if warning is None else np.nan_to_num(warning[evidence.flight.span(*window)]) > 0.5
    if on.mean() > MOSTLY_ON and evidence.lesson_target(sheet.kind, "ias_mps") is None:
        sheet.not_asked("ias", "flown with the stall warning on: nothing to hold a speed to")
        return None
    criterion = sheet.task.criterion("ias")
    low = criterion.low if criterion is not None and criterion.low is not None else -5.0
    high = criterion.high if criterion is not None and criterion.high is not None else 5.0
    return sheet.speed_held(best_band(part, low, high), window, source=f"{SETTLED}: the best fitting band")


def _warning(sheet: Sheet, window: tuple[float, float]) -> None:
    """No stall warning, or a momentary one corrected."""
    warning = sheet.evidence.flight.get("stall_warning")
    if warning is None:
        sheet.cannot("stall_warning", "the warning was not recorded")
        return
    step = sheet.evidence.step_s
    spells = [(b - a) * step for a, b in runs(np.nan_to_num(warning[sheet.evidence.flight.span(*window)]) > 0.5)]
    total, longest = sum(spells), max(spells, default=0.0)
    momentary = longest <= sheet.judging["stall_warning_momentary_s"]
    verdict: Verdict = "held" if not spells else "briefly out and corrected" if momentary else "not held"
    why = f"on for {total:.0f} s in all, at most {longest:.0f} s at a time" if spells else ""
    sheet.number("stall_warning_s", total)
    sheet.put_finding("stall_warning", verdict, total, why)


ROOM = Room(
    "slow_flight", "Slow flight", Family.SLOW, set_up, ideal,
    Heights(300.0, heights.PRACTICE_FLOOR_M, heights.PRACTICE), propose, grade, needs_engine=True,
    plots=("rpm",), wants_clear_sky=True, holds=Family.STALL, lay=laying.whole, asks=laying.first_side_first,
    times=True, may_set=("direction", "flap_notch", "ias_mps"),
    facts=BriefFacts(aloud=("stall warning in slow flight: nose down a little, full power",), recovery=SLOW_RECOVERY),
    slow_on_purpose=True,
    extent="slowing → nine tenths of the speed before back, or as much as comes back in 40 s",
)  # fmt: skip
