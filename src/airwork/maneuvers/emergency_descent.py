"""Emergency descent: down as fast as is safe, usually turning with 30 to 45° of bank at a high permitted speed.

In the data: a sustained sink of well over 1,000 fpm with bank or with speed far above a glide's. Not it: a steep spiral
(three turns at a glide speed), an ordinary descent (500 fpm), a dive of aerobatics (over in seconds, pulled out hard).
Judged by the task `emergency_descent`: bank 30 to 45°, airspeed +0/−10 kt, level-off altitude.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.errors import NotPossible
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Cause, Episode, Grade
from airwork.maneuvers.grading.causes import speed
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.judge import best_band
from airwork.maneuvers.grading.leg_grade import level_off
from airwork.maneuvers.grading.sheet import HANDBOOK, NO_AIRSPEED, NO_BANK, SETTLED, Sheet
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.seeing.legs import LEAVING_MPS
from airwork.maneuvers.seeing.propose_tools import all_known, episode, throttled
from airwork.maneuvers.seeing.signal import SHARP, SOFT, bridged, first_true, over, under
from airwork.maneuvers.seeing.view import STEP_S, View
from airwork.maneuvers.setting_up import heights, power_lines, stall_lines, turn_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace
from airwork.masks import runs
from airwork.units import to_unit

SINK_MPS = 6.2  # 1,220 fpm, mean; under 850 fpm nothing of the kind begins
LOSS_DOWN_M, LASTS_S = 180.0, 19.0  # an aerobatic dive is shorter
BANK_DEG = 15.0  # in a turn, or faster than cruise
# Straight down, however fast, it may be a descent on the way: 30 to 45° of bank are asked for (FAA-S-ACS-6C, IX.A).
STRAIGHT_DEG, STRAIGHT_DOWN = 6.0, 0.7
ROUND_DEG, SPIRAL_LIKE = 660.0, 0.4  # round and round at no great speed: a spiral
ENTRY_S = 12.0  # leaving level flight and coming back take as long; so does a pilot's second thought on the way


BANK_RAD = math.radians(35.0)  # 30 to 45° (private and commercial standards)
BELOW_LIMIT = 0.95  # of the structural cruise speed: the standard allows nothing above the speed chosen
LOSS_M = 1500 * units.FT_M  # where height allows: our own choice


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of an emergency descent, turning, throttle closed, below the structural cruise speed."""
    bank = ws.wish("bank_rad", BANK_RAD, math.radians(30.0), math.radians(45.0), "deg")
    ws.word("direction", "left", ("left", "right"))
    notch = ws.notch(0)
    load = 1.0 / math.cos(bank)
    ias = ws.flown_ias(ws.on_dial(BELOW_LIMIT * ws.fastest_ias(notch), "down", 5.0), notch, load)
    cas = ws.cas(ias, notch)
    va = ws.maneuvering_ias()
    loss = min(ws.wish("altitude_change_m", LOSS_M, -6000.0, 6000.0), ws.entry_m - ws.floor_m)
    loss = abs(loss)
    if loss < 60.0:
        raise NotPossible(
            f"{ROOM.title}: from {units.write(ws.entry_m, 'ft')} there is no room above "
            f"{units.write(ws.floor_m, 'ft')} ({ws.floor_why}); begin higher."
        )
    ws.note_heights()
    ws.note_speed(
        "speed, not above", ias, "handbook table", "95 % of structural cruise or of the flap limit; smooth air"
    )
    ws.note_speed("in rough air not above", va, "handbook table", "maneuvering speed for today's weight")
    turn_lines.note_turn(ws, cas, bank, notch, bank_source="30 to 45°, the standard")
    sink = power_lines.idle_sink_mps(ws, cas, notch, load)
    straight = power_lines.idle_sink_mps(ws, cas, notch)
    rate = 8.0 if sink is None else sink[0]
    if sink is not None and straight is not None:
        for name, found in (("rate of descent in the bank", sink), ("wings level", straight)):
            ws.note_rate(name, found[0], "fitted model", power_lines.SOURCE, found[1])
    bottom = ws.entry_m - loss
    ws.note_height("level off at", bottom, "given", "lesson or floor")
    lead = power_lines.level_off(ws, rate, "above")
    ws.note("time down", float(round(loss / rate)), "s", "formula", "loss over rate")
    ws.use_power(loss / rate + 20.0, 0.1)
    return ws.finish(
        steps=(
            ws.before(),
            "Throttle closed, mixture as the handbook says, propeller forward if there is one",
            f"Roll into {math.degrees(bank):.0f}°, let the nose drop; load stays positive; {ws.mark(ias)}, never above",
            "Look below in the turn; say what the emergency would be and what comes next",
            f"{lead / units.FT_M:,.0f} ft before {units.write(bottom, 'ft')}: wings level, nose up gently, then power",
        ),
        usual_errors=(
            "nose pushed down with the wings level: speed runs past the limit",
            "bank too shallow, descent too slow",
            "pulling out hard at high speed",
            "engine forgotten: no clearing, shock cooling, mixture",
        ),
        card_line=f"{ws.mark(ias)} max (rough {ws.mark(va)}) · idle · bank {math.degrees(bank):.0f}° · "
        f"{ws.airplane.book.rate(rate, 100)} · level {units.write(bottom, 'ft')}, "
        f"lead {round(lead / units.FT_M, -1):,.0f} ft",
        targets={
            "ias_mps": ias,
            "bank_rad": bank,
            "altitude_change_m": -loss,
            "level_off_altitude_m": bottom,
            "flap_notch": float(notch),
        },
        cautions=(
            "Gear, flaps and speed limits of the handbook come first; a real fire or smoke changes the procedure.",
        ),
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Rolled in, down in the turn at the speed with the throttle closed, leveled off at the altitude."""
    t = set_up.targets
    side = order.side
    notch = int(t["flap_notch"])
    begin = min(stall_lines.begin_ias(order.airplane, order.conditions, 0.0), t["ias_mps"])
    flown = FlownIdeal(order, set_up.entry_altitude_m, begin, notch)
    flown.hold(2.0)
    bottom, force = t["level_off_altitude_m"], flown.thrust(up_m=50.0, down_m=-t["altitude_change_m"] + 50.0, idle=True)
    flown.climb(
        force,
        lambda f: f.altitude < bottom + power_lines.LEVEL_OFF_SHARE * 60.0 * f.tas * math.sin(max(-f.path, 0.0)),
        ias_mps=t["ias_mps"],
        bank_rad=side * t["bank_rad"],
    )
    flown.level_off(bottom)
    flown.hold(3.0)
    return flown.trace()


def propose(view: View) -> list[Episode]:
    """Every long fast descent."""
    out = []
    for a, b in runs(bridged((view.climb_mps < -(1.0 - SOFT) * SINK_MPS) & view.airborne, view.samples(ENTRY_S))):
        part, seconds = slice(a, b), (b - a) * STEP_S
        sink, loss = -float(view.climb_mps[part].mean()), float(view.altitude_m[a] - view.altitude_m[b - 1])
        bank = float(np.degrees(np.median(np.abs(view.bank_rad[part]))))
        fast = over(float(np.median(view.speed_mps[part])) / max(view.cruise_mps, 1.0), 1.0, SHARP)
        turned = float(np.degrees(np.ptp(view.heading_rad[part])))
        score = (
            over(sink, SINK_MPS)
            * over(loss, LOSS_DOWN_M)
            * over(seconds, LASTS_S)
            * max(over(bank, BANK_DEG), fast * (1.0 - STRAIGHT_DOWN * under(bank, STRAIGHT_DEG)))
            * (1.0 - SPIRAL_LIKE * (1.0 - fast) * over(turned, ROUND_DEG))
            * throttled(view, a, b - 1)
            * all_known(view, a, b - 1)
        )
        start, end = _extent(view, a, b - 1)
        evidence = (f"{to_unit(loss, 'ft'):,.0f} ft lost at {to_unit(sink, 'fpm'):,.0f} fpm", f"{bank:.0f}° of bank")
        out.append(episode(ROOM.kind, view, start, end, score, evidence=evidence,
                           phases=(("entry", start, a), ("established", a, b - 1), ("recovery", b - 1, end)),
                           facts={"level_off_s": float(view.time_s[end])}))  # fmt: skip
    return out


def _extent(view: View, a: int, b: int) -> tuple[int, int]:
    """From leaving level flight to level flight."""
    before = view.climb_mps[max(a - view.samples(ENTRY_S), 0) : a + 1] > -LEAVING_MPS
    after = view.climb_mps[b : b + view.samples(ENTRY_S)] > -LEAVING_MPS
    return a - first_true(before[::-1], 0), b + first_true(after, 0)


LEAVING_SHARE, NEAR_MPS = 0.4, 1.5  # of the sink: less is leveling off; 3 kt


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Bank and speed while established, and the level-off."""
    sheet = Sheet(episode, evidence)
    window = sheet.window("established")
    bank, ias = evidence.bank_rad, evidence.ias_mps
    if bank is None:
        sheet.cannot("bank_range", NO_BANK)
    else:
        banked = _banked(sheet, window)
        sheet.over("bank_range", evidence.bank_size_rad, banked, error=evidence.bank_error_rad)
        sheet.cause(_hardly_banked(sheet, banked))
    established = _at_speed(sheet, window)
    part = np.empty(0) if ias is None else ias[evidence.flight.span(*established)]
    part = part[np.isfinite(part)]
    if not part.size:
        sheet.cannot("ias", NO_AIRSPEED)
    else:
        criterion = sheet.task.criterion("ias")
        low = criterion.low if criterion is not None and criterion.low is not None else -5.0
        high = criterion.high if criterion is not None and criterion.high is not None else 0.0
        never = None if evidence.airplane is None else evidence.airplane.limits.never_exceed_ias_mps
        band, whose = best_band(part, low, high), f"{SETTLED}: the best fitting band"
        if never is not None and band > never:  # what must never be flown is nobody's target
            band, whose = never, HANDBOOK
        target = sheet.speed_held(band, established, whose)
        sheet.cause(_ran_past(sheet, window, never))
        sheet.cause(speed.speed_settled_off(sheet, target, established))
        if sheet.wants_reason("ias"):
            sheet.cause(speed.over_the_edge(sheet, target, established))
    level_off(sheet, episode.end_s, -1.0)
    return sheet.grade()


def _ran_past(sheet: Sheet, window: tuple[float, float], never_mps: float | None) -> Cause | None:
    """The speed ran on through the one that is never to be exceeded."""
    part = sheet.evidence.flight.span(*window)
    ias, times = sheet.evidence.ias_mps, sheet.time_s[part]
    if ias is None or never_mps is None or not float(np.nanmax(ias[part], initial=0.0)) > never_mps:
        return None
    fastest = int(np.nanargmax(ias[part]))
    most, limit = sheet.speed_text(float(ias[part][fastest])), sheet.speed_text(never_mps)
    return Cause(
        f"The speed ran on to {most}: never-exceed speed is {limit}, and no slower one was held.",
        "Choose a speed well below the limit; as it comes near, ease the nose up and hold it there.",
        float(times[0]), float(times[fastest]), 3.0, "ran past the limit", "target not set", "ias", 1.0,
    )  # fmt: skip


def _hardly_banked(sheet: Sheet, window: tuple[float, float]) -> Cause | None:
    """The bank the standard asks for was not set: no look below, no load kept on the wing."""
    finding, bank = sheet.finding("bank_range"), sheet.evidence.median(sheet.evidence.bank_size_rad, *window)
    if finding is None or finding.verdict != "not held" or finding.low is None or bank >= math.radians(finding.low):
        return None
    return Cause(
        f"It was banked {math.degrees(bank):.0f}°, {finding.low:.0f}° is the least asked for.",
        "Roll into the bank as the nose goes down: it keeps the load positive and shows what is below.",
        *window, 1.0 + (math.radians(finding.low) - bank) / math.radians(finding.low), "hardly banked",
        "target not set", "bank_range", 1.0,
    )  # fmt: skip


def _at_speed(sheet: Sheet, window: tuple[float, float]) -> tuple[float, float]:
    """From when the speed is near the one flown, at the latest half-way, to when the level-off begins. [s]"""
    evidence = sheet.evidence
    part = evidence.flight.span(*window)
    times, ias, sink = sheet.time_s[part], evidence.ias_mps, -np.nan_to_num(evidence.climb_mps[part])
    down = runs(bridged(sink > LEAVING_SHARE * float(np.median(sink)), round(1.0 / evidence.step_s)))
    last = max(down, key=lambda r: r[1] - r[0], default=(0, times.size))[1] - 1
    end = float(times[last]) if times.size else window[1]
    middle = 0.5 * (window[0] + end)
    if ias is None:
        return middle, end
    near = np.flatnonzero(ias[part] > evidence.median(ias, middle, end) - NEAR_MPS)
    return (min(float(times[near[0]]), middle) if near.size else middle), end


def _banked(sheet: Sheet, window: tuple[float, float]) -> tuple[float, float]:
    """From the first to the last time the bank is at four fifths of what it settled on."""
    bank = sheet.evidence.bank_rad
    part = sheet.evidence.flight.span(*window)
    if bank is None or not np.isfinite(bank[part]).any():
        return window
    size, times = np.abs(bank[part]), sheet.time_s[part]
    high = np.flatnonzero(size >= 0.8 * np.nanpercentile(size, 75))
    return (float(times[high[0]]), float(times[high[-1]])) if high.size else window


ROOM = Room(
    "emergency_descent", "Emergency descent", Family.EMERGENCY, set_up, ideal,
    Heights(LOSS_M, heights.PRACTICE_FLOOR_M, heights.PRACTICE), propose, grade, needs_engine=True, idle_power=True,
    plots=("vertical_speed",), by_chance=True, wants_clear_sky=True, lay=laying.whole,
    may_set=("altitude_change_m", "bank_rad", "direction", "flap_notch", "ias_mps"),
    facts=BriefFacts("think", aloud=("emergency descent: for fire, smoke, illness; the height to level off",)),
    extent="throttle closed and nose down, or roll-in → leveled",
)  # fmt: skip
