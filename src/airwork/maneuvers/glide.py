"""Glide: engine idle at the best glide speed, as after an engine failure; usually ended by power or a landing.

In the data: a steady sink at 1.2 to 1.8 times the stall speed on a path of some 1 in 7 to 1 in 12 through the air, the
engine idle where it is recorded. Not it: a descent with power (flatter), a steep spiral (three turns), the last minute
of an ordinary approach.
Judged by the task `glide`: best glide speed ±10 kt.
"""

from __future__ import annotations

import math

import numpy as np

from airwork import units
from airwork.airdata.descent import glide_distance_m
from airwork.airdata.turn import gliding_turn_height_loss_m
from airwork.airplane.performance.gliding import best_glide
from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import speed
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import book_speed
from airwork.maneuvers.grading.leg_grade import reached
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.paths.flown_ideal import FlownIdeal
from airwork.maneuvers.seeing.broken_off import AFTER_M
from airwork.maneuvers.seeing.legs import legs
from airwork.maneuvers.seeing.propose_tools import (
    IDLE,
    LEAST_SCORE,
    NOT_KNOWN,
    SURELY_IDLE,
    all_known,
    episode,
    speed_trust,
    throttled,
)
from airwork.maneuvers.seeing.signal import SHARP, over, under
from airwork.maneuvers.seeing.slow import slowing_began
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import stall_lines, turn_lines, wind_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace
from airwork.units import to_unit

FLAT, FLAT_IDLING = (
    13.0,
    17.0,
)  # distance over height; light singles glide 1 in 8 to 1 in 11 (common practice, no source)
AWAY_S, AWAY_M = 40.0, 75.0  # 250 ft: a climb
NO_FLAPS = 0.99  # of the stall speed with the flaps up
STEEP, STEEP_UNSEEN = 6.0, 7.3  # steeper: flaps, a slip, a dive; where neither engine nor slip can be seen
SLOW, SLOW_IDLING, FAST = 1.08, 1.0, 1.8  # times the stall: best glide lies at some 1.4; faster is a let-down
END_M = 500 * units.FT_M  # a simulated failure ends here unless a landing is assured: common practice, no source
START_M = 2500 * units.FT_M
ABOVE_PATTERNS_M = 1500 * units.FT_M  # above ground: half again a pattern's height (no source)
BANK_RAD = math.radians(30.0)


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of an engine-out glide and approach: speed for today's weight, reach in today's wind."""
    best = ws.book_cas("best_glide") or 1.4 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(ws.on_dial(ws.ias(best)))
    cas = ws.cas(ias)
    tas = ws.tas_mps(cas)
    ratio = _glide_ratio(ws)
    ws.note_heights()
    ws.note_speed("best glide", ias, "handbook table", "for today's weight")
    ws.note_stall(0)
    ws.note(
        "glide ratio",
        round(ratio[0], 1),
        "",
        "handbook table" if ratio[2] else "fitted model",
        "still air, flaps up",
        uncertainty=round(ratio[1], 1),
    )
    sink = tas / math.hypot(1.0, ratio[0])
    ws.note_rate("sink", sink, "formula", "true airspeed over glide ratio")
    thousand = 1000 * units.FT_M
    middle = 0.5 * (ws.entry_m + ws.floor_m)
    _, wind = wind_lines.note_wind(ws, middle)
    reach = [float(glide_distance_m(thousand, ratio[0], tas, w)) / units.NM_M for w in (wind, 0.0, -wind)]
    ws.note(
        "reach from 1,000 ft",
        round(reach[1], 1),
        "NM",
        "formula",
        "height times ratio, still air",
        also=f"{reach[0]:.1f} NM against the wind, {reach[2]:.1f} NM with it",
    )
    circle = float(gliding_turn_height_loss_m(tas, ratio[0], BANK_RAD, 2.0 * math.pi))
    half = 0.5 * circle
    turn_lines.note_turn(
        ws, cas, BANK_RAD, turn_rad=math.pi, bank_source="turns in the glide: common practice, no source"
    )
    ws.note(
        "height lost in 180° at 30°",
        round(half / units.FT_M / 10) * 10.0,
        "ft",
        "formula",
        "gliding turn; speed up by √n",
        also=f"{round(circle / units.FT_M, -1):,.0f} ft for 360°",
    )
    seconds = (ws.entry_m - ws.floor_m) / sink
    ws.note("time to the floor", float(round(seconds)), "s", "formula", "height over sink")
    ws.use_power(seconds, 0.1)
    return ws.finish(
        steps=(
            f"Throttle closed (simulated): pitch for {ws.mark(ias)} at once, trim",
            "Wind, field, key points: choose the landing place within easy reach, turn to it",
            "Cause: fuel selector, pump, mixture, carburetor heat, magnetos, primer, by flow then by checklist",
            "Say the radio calls, transponder, belts, doors as the handbook has them",
            "About 1,000 ft above the field abeam the touchdown point; flaps when the field is made; aim a third in",
            f"Power back on at {units.write(ws.floor_m, 'ft')} unless the landing is assured and allowed; clear "
            "the engine on the way down",
        ),
        usual_errors=(
            "speed not pitched for at once, or chased",
            "field chosen too far off, or changed late",
            "checklist before flying the airplane",
            "flaps too early; no plan for the wind",
        ),
        card_line=f"{ws.mark(ias)} · idle · {ws.airplane.book.rate(sink, 10)} · 1,000 ft = "
        f"{reach[1]:.1f} NM ({reach[0]:.1f} upwind) · 180° costs {round(half / units.FT_M, -1):,.0f} ft",
        targets={"ias_mps": ias, "glide_ratio": ratio[0], "loss_m": ws.entry_m - ws.floor_m},
        cautions=("Carburetor heat and engine clearing as the handbook says; minimum safe altitudes apply.",),
    )


def _glide_ratio(ws: Worksheet) -> tuple[float, float, bool]:
    """(ratio, 90 % half-width, printed in the handbook)."""
    if ws.performance is not None:
        found = best_glide(ws.performance, ws.at())
        return float(found.glide_ratio), float(found.glide_ratio_90), found.source.startswith("handbook")
    return ws.airplane.glide_ratio, 0.07 * ws.airplane.glide_ratio, True


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Best glide straight, a half circle toward the field, straight down to where the power comes back."""
    t = set_up.targets
    side = order.side
    cruise = stall_lines.begin_ias(order.airplane, order.conditions, t["ias_mps"])
    flown = FlownIdeal(order, set_up.entry_altitude_m, cruise)
    flown.hold(3.0)
    if order.performance is not None:
        flown.change_speed(t["ias_mps"])  # the throttle closed, the nose held up until best glide is there
    sink = flown.tas / math.hypot(1.0, t["glide_ratio"])
    middle = set_up.entry_altitude_m - 0.5 * t["loss_m"]
    bottom = set_up.floor_m
    flown.climb(flown.gliding(t["glide_ratio"]), lambda f: f.altitude < middle)
    begun = flown.heading
    lead = 0.5 * BANK_RAD
    flown.climb(
        flown.gliding(t["glide_ratio"]),
        lambda f: abs(f.heading - begun) > math.pi - lead or f.altitude < bottom + 6.0 * sink,
        bank_rad=side * BANK_RAD,
    )
    flown.climb(flown.gliding(t["glide_ratio"]), lambda f: f.altitude < bottom + 6.0 * sink)
    flown.level_off(bottom)
    return flown.trace()


def propose(view: View) -> list[Episode]:
    """Every idle descent at a gliding speed."""
    out = []
    for leg in view.once(legs):
        if leg.state != -1:
            continue
        first, last, part = leg.first, leg.last, slice(leg.first, leg.last + 1)
        sink = -view.climb_mps[part]
        steady = sink > 0.5 * float(np.median(sink))
        ratio = float(np.median(view.tas_mps[part][steady] / np.maximum(sink[steady], 0.1)))
        speed = float(np.median(view.one_g_speed_mps[part])) / view.clean_stall_mps
        idling = view.power is not None and throttled(view, first, last, SURELY_IDLE) == 1.0
        clean = float(np.median(view.stall_mps[part])) > NO_FLAPS * view.clean_stall_mps
        slow = SLOW_IDLING if idling and clean else SLOW  # stretched at idle, the most dangerous glide of all
        fast = FAST if idling else (1.0 - SHARP) * FAST  # a let-down or a slip comes nearer
        score = (
            leg.score
            * (under(speed, fast, SHARP) * over(speed, slow, SHARP) if np.isfinite(speed) else NOT_KNOWN)
            * _no_approach(view, first, last, idling=idling)
            * throttled(view, first, last, IDLE)
            * over(ratio, STEEP if view.power is not None else STEEP_UNSEEN, SHARP)
            * under(ratio, FLAT_IDLING if idling else FLAT, SHARP)
            * all_known(view, first, last)
            * speed_trust(view)
        )
        if score < LEAST_SCORE:
            continue
        start = slowing_began(view, first, view.clean_stall_mps) if np.isfinite(view.clean_stall_mps) else first
        evidence = (
            f"{to_unit(leg.height_m, 'ft'):,.0f} ft lost, gliding about 1 in {ratio:.0f} through the air",
            "engine idle" if view.power is not None else "engine not recorded",
        )
        out.append(episode(ROOM.kind, view, start, last, score, evidence=evidence,
                           phases=(("entry", start, first), ("established", first, last)),
                           facts={"ratio": ratio}))  # fmt: skip
    return out


def _no_approach(view: View, first: int, last: int, *, idling: bool) -> float:
    """1 where it ended as high as a simulated failure does, some 500 ft; or came from far above any pattern, at idle or
    to climb away again: a let-down ends level, an approach on the ground."""
    if not np.isfinite(view.agl_m[last]):
        return 1.0
    after = view.altitude_m[last : last + view.samples(AWAY_S)]
    away = float(after.max(initial=-np.inf) - view.altitude_m[last]) > AWAY_M
    if (idling or away) and view.agl_m[first] > ABOVE_PATTERNS_M:
        return 1.0
    return over(float(view.agl_m[last]), AFTER_M)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Best glide speed once established: the lesson's, the airplane file's, or what was settled on."""
    sheet = Sheet(episode, evidence)
    start, end = sheet.window("established")
    window = (min(start + 8.0, end - 1.0), max(end - 4.0, start + 9.0))
    first, last = reached(sheet, window, episode.start_s, left=True)  # slowing to it is the entry
    window = (max(window[0], first), last)
    settled = evidence.median(evidence.ias_mps, *window)
    aim = sheet.speed_held(settled, window, book=book_speed(evidence, "best_glide"))
    sheet.number("glide_ratio_through_air", episode.facts["ratio"])
    sheet.cause(speed.chasing_airspeed(sheet, *window))
    middle = 0.5 * sum(window)  # the whole of it at another speed, else half of it
    off = (speed.speed_settled_off(sheet, aim, at) for at in (window, (window[0], middle), (middle, window[1])))
    sheet.cause(next(filter(None, off), None))
    return sheet.grade()


ROOM = Room(
    "glide", "Glide", Family.EMERGENCY, set_up, ideal,
    Heights(START_M - END_M, END_M, "power back on at 500 ft above ground: common practice, no source"),
    propose, grade, needs_engine=True, idle_power=True, is_task=False, worth=0.5, by_chance=True,
    unless=Family.SLIP, seen_every_s=12.0,
    may_set=("direction", "ias_mps"),
    facts=BriefFacts(alone="ask", aloud=("practice only, throttle at idle; the height to go around",)),
    extent="slowing to the glide → leveled, or power back",
    usual="engine at idle",
)  # fmt: skip
