"""Go-around: an approach broken off, full power, climb away without touching.

In the data: a descent at approach speed to a low height that turns into a climb without ground contact. Not it: a low
pass (much faster than an approach), a touch-and-go, a descent that levels off.
Judged by the task `go_around`: climb speed +10/−5 kt.
"""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.brief_facts import BriefFacts
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import departing
from airwork.maneuvers.grading.causes.arrival import sprang
from airwork.maneuvers.grading.causes.flaps import flaps_at_once, flaps_left_out
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_grade import TRANSITION_S, climb_speed, given_up, power_in, with_flaps_mps
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.paths.flown_ideal import FlownIdeal, Force
from airwork.maneuvers.seeing.broken_off import approach_score, broken_off, climbed_away, decided, may_have_touched
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import arrival, power_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import Order, SetUp, Trace
from airwork.units import to_unit


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of a go-around: climb with each flap setting, speeds for today's weight."""
    full = ws.notch(ws.airplane.flaps_full)
    approach, source = arrival.approach_ias(ws, full)
    ws.note_speed("from approach speed", approach, "handbook table", source)
    ws.note_stall(full)
    ws.note_flap(full)
    vx, vy = (ws.book_cas(n) for n in ("best_angle_of_climb", "best_rate_of_climb"))
    steep = ws.on_dial(ws.ias(vx or 1.2 * ws.stall_cas_mps(0)), "up")
    climb = ws.flown_ias(ws.on_dial(ws.ias(vy or 1.35 * ws.stall_cas_mps(0))))
    ws.note_speed("best angle of climb", steep, "handbook table", "for today's weight")
    ws.note_speed("best rate of climb", climb, "handbook table", "for today's weight and air")
    power = power_lines.full_throttle(ws, ws.cas(climb))
    rates, rows = {}, [("flaps", "speed", "full-throttle climb")]
    for notch in range(full, -1, -1):
        speed = (
            approach
            if notch == full
            else climb
            if notch == 0
            else ws.on_dial(ws.ias(1.3 * ws.stall_cas_mps(notch), notch), "up")
        )
        rate = power_lines.climb(
            ws, ws.cas(speed, notch), notch, name=f"climb, flap notch {notch}" if notch else "climb, flaps up"
        )
        if rate is not None:
            rates[notch] = rate
            rows.append((str(notch) if notch else "up", ws.mark(speed), ws.airplane.book.rate(rate)))
    cautions = []
    if full in rates and rates[full] < 0.25:
        cautions.append(
            f"With flap notch {full} full throttle does not climb today: level first, flaps to the middle notch at "
            f"once."
        )
    ws.use_power(45.0, power.ratio)
    shown = "" if full not in rates else f" · flaps {full}: {ws.airplane.book.rate(rates[full])}"
    return ws.finish(
        steps=(
            "Decide early and say it: going around",
            "Full throttle, carburetor heat cold, right rudder, stop the sink; nose against the trim",
            f"Flaps to the middle notch at once, then in steps with a positive climb; {ws.mark(steep)} over obstacles",
            f"{ws.mark(climb)}, flaps up, trim, to the side if traffic is on the runway; radio last",
        ),
        usual_errors=(
            "deciding late",
            "flaps all up at once near the ground",
            "nose rising by trim and power: speed gone",
            "too little right rudder; radio before flying",
        ),
        card_line=f"full throttle · flaps in steps · {ws.mark(steep)} / {ws.mark(climb)}{shown}",
        targets={"ias_mps": climb, "approach_ias_mps": approach, "flap_notch": float(full)},
        cautions=tuple(cautions),
        tables={"Climb by flap": tuple(rows)} if len(rows) > 1 else {},
    )


def ideal(set_up: SetUp, order: Order) -> Trace:
    """Sinking at approach speed, then full power: level, flaps up, climbing away to 500 ft above the field."""
    t = set_up.targets
    field, full = order.conditions.ground_elevation_m, int(t["flap_notch"])
    flown = FlownIdeal(order, field + 60.0, t["approach_ias_mps"], full)
    flown.climb(flown.steady(-1.5), lambda f: f.altitude < field + 30.0)
    start = flown.time
    force = flown.thrust(up_m=400.0, down_m=60.0)
    flown.climb(force, lambda f: f.path > -0.005 or f.time > start + 15.0)
    for notch in range(full - 1, -1, -1):
        flown.notch = notch
        stall = float(order.airplane.stall_cas_mps(order.conditions.mass_kg, notch))
        goal = max(1.3 * stall, flown.cas) if notch else flown.cas_of(t["ias_mps"])
        force, begun = flown.thrust(up_m=400.0, down_m=60.0), flown.time
        while flown.cas < goal and flown.time < begun + 60.0:  # most of the power goes into speed, little into height
            flown.step(0.0, flown.path + (0.01 - flown.path) * 0.1, force)
        _settle(flown, force)
    flown.climb(force, lambda f: f.altitude > field + 150.0 or f.time > start + 240.0, ias_mps=t["ias_mps"])
    return flown.trace()


def _settle(flown: FlownIdeal, force: Force) -> None:
    """Three seconds of climb with the flap just set."""
    until = flown.time + 3.0
    flown.climb(force, lambda f: f.time > until)


def propose(view: View) -> list[Episode]:
    """Every approach turned into a climb without touching."""
    out = []
    for k in broken_off(view):
        start, end = decided(view, k), climbed_away(view, k)
        evidence = [
            f"down to {to_unit(float(view.agl_m[k]), 'ft'):,.0f} ft above ground at approach speed, then climbing"
        ]
        if may_have_touched(view, k):
            evidence.append(f"rows {view.flight.step_s:.0f} s apart: it may have touched between them")
        out.append(episode(ROOM.kind, view, start, end, approach_score(view, k), evidence=tuple(evidence),
                           phases=(("approach", start, k), ("climb", k, end)),
                           facts={"lowest_s": float(view.time_s[k])}))  # fmt: skip
    return out


SWING_S = 8.0  # full power pulls to the left at once


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Climb speed after the decision, height still lost."""
    sheet = Sheet(episode, evidence)
    if may_have_touched(evidence.view, evidence.view.at(episode.facts["lowest_s"])):
        return sheet.grade()  # or a touch-and-go: nothing of it is held against one
    begun, began = given_up(sheet, episode.facts["lowest_s"]), power_in(sheet, episode.facts["lowest_s"])
    climb_speed(sheet, began, TRANSITION_S, with_flaps_mps=with_flaps_mps(evidence, began))
    for cause in (
        departing.sank_on(sheet, began), departing.nose_too_high(sheet, began, episode.end_s),
        flaps_at_once(sheet, begun, episode.end_s), departing.slow_to_full(sheet, begun, began),
        flaps_left_out(sheet, begun), departing.less_than_full(sheet, began),
        departing.swung(sheet, began, began + SWING_S), sprang(sheet, episode.facts["lowest_s"], began),
    ):  # fmt: skip
        sheet.cause(cause)
    part = evidence.altitude_m[evidence.flight.span(began, episode.end_s)]
    if part.size and np.isfinite(part).any():
        lost = evidence.mean(evidence.altitude_m, began - 0.5, began + 0.5) - float(np.nanmin(part))
        sheet.number("altitude_lost_after_power_ft", to_unit(max(0.0, lost), "ft"), 0)
    return sheet.grade()


ROOM = Room(
    "go_around", "Go-around", Family.CIRCUIT, set_up, ideal, Heights(at_field_m=30.0), propose, grade,
    role=Role.RUNWAY, needs_engine=True,
    may_set=("flap_notch", "ias_mps"),
    facts=BriefFacts(
        aloud=("go-around: power, pitch, flaps in steps; nobody asks why",),
        recovery="full power · pitch · flaps in steps",
    ),
    slow_on_purpose=True,
    extent="half of the approach's sink gone → 400 ft above the lowest point",
)  # fmt: skip
