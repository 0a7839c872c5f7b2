"""Take-off: from the start of the run to 200 ft above the runway, straight ahead at the climb speed.

In the data: the wheels leave the ground for a flight. The run begins where the speed began to rise.
Judged by the task `takeoff`: climb speed +10/−5 kt.
"""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import departing
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.runway_grade import climb_speed
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.contacts import SURE, departed, of_kind, roll_from
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import departure
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import At, SetUp
from airwork.units import to_unit


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps."""
    d = departure.work_out(ws, steep=False)
    flaps = "flaps up" if d.notch == 0 else f"flaps {d.notch}"
    return ws.finish(
        steps=(
            f"Checks done, {flaps}, wind, abort point chosen; line up, heading, full throttle smoothly, oil pressure",
            At("Power and airspeed alive; ailerons into the wind; right rudder", "gaining"),
            f"Stop if {ws.mark(ws.on_dial(departure.DECIDE_SHARE * d.lift_off_mps, 'up'))} isn't there by half of "
            f"the runway",
            f"Nose up gently for {ws.mark(d.lift_off_mps)}; straight ahead, {ws.mark(d.climb_mps)}, flaps up when "
            f"climbing",
            "Look at 500 ft; landing places ahead in mind all the way",
        ),
        usual_errors=(
            "no right rudder with power",
            "ailerons not into the wind, or neutralized too early",
            "pulled off too early, or held down and ballooned",
            "climb speed not held; head inside",
        ),
        card_line=f"{flaps} · lift off {ws.mark(d.lift_off_mps)} · climb {ws.mark(d.climb_mps)} · {d.power.words}",
        targets=departure.targets(d),
    )


def propose(view: View) -> list[Episode]:
    """Every take-off from standing or taxiing."""
    out = []
    for contact in of_kind(view, "takeoff"):
        start, end = roll_from(view, contact.off), departed(view, contact.off)
        out.append(episode(ROOM.kind, view, start, end, SURE, evidence=("the wheels left the ground",),
                           phases=(("run", start, contact.off), ("climb", contact.off, end)),
                           facts={"off_s": float(view.time_s[contact.off])}))  # fmt: skip
    return out


FULL_S = 4.0  # before the lift-off full throttle has long been there


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Climb speed after the lift-off, length of the run."""
    sheet = Sheet(episode, evidence)
    off, flight = episode.facts["off_s"], evidence.flight
    lift_off = evidence.mean(evidence.ias_mps, off - 0.5, off + 0.5)
    climb_speed(sheet, off, with_flaps_mps=lift_off if _with_flaps(evidence, off) else None)
    sheet.cause(departing.swung(sheet, episode.start_s, off))
    short_of_full = departing.less_than_full(sheet, off - FULL_S)
    sheet.cause(short_of_full or departing.less_than_before(sheet, episode.start_s, off))
    sheet.cause(departing.nose_too_high(sheet, off, episode.end_s))
    sheet.cause(departing.drifted(sheet, off, episode.end_s))
    sheet.number("lift_off_ias_kt", to_unit(lift_off, "kt"))
    east, north = flight.get("east_m"), flight.get("north_m")
    if east is not None and north is not None:
        a, b = flight.index_at(episode.start_s), flight.index_at(off)
        roll = float(np.hypot(east[b] - east[a], north[b] - north[a]))
        sheet.number("ground_roll_ft", to_unit(roll, "ft"), 0)
        printed = departing.handbook_roll_m(sheet, episode.start_s)
        if printed is not None:
            sheet.number("handbook_ground_roll_ft", to_unit(printed, "ft"), 0)
    return sheet.grade()


def _with_flaps(evidence: Evidence, off_s: float) -> bool:
    """Flaps were set for it, or nobody knows: a short or soft field may have been meant, at Vx until they come up
    (FAA-S-ACS-6C IV.C, IV.E).
    """
    return evidence.flaps is None or evidence.mean(evidence.flaps, off_s - 1.0, off_s + 1.0) > 0.5


ROOM = Room(
    "takeoff", "Takeoff", Family.DEPARTURE, set_up, departure.fly, Heights(at_field_m=0.0), propose, grade,
    role=Role.RUNWAY, takes_off=True, everyday=True,
    may_set=("flap_notch", "ias_mps"),
    slow_on_purpose=True,
    extent="rolling → 200 ft above the lift-off",
)  # fmt: skip
