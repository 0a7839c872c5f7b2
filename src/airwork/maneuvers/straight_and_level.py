"""Straight-and-level flight: heading, altitude and speed held.

In the data: wings level, heading and height held for three quarters of a minute or more. Not it: any maneuver.
Judged by the task `straight_and_level`: altitude, heading, airspeed.
"""

from __future__ import annotations

import numpy as np

from airwork.airdata.angles import wrap_positive_rad
from airwork.errors import InputError
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.causes import speed
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.meant import NEAR_MPS, another_speed_meant, held_anew, power_moved
from airwork.maneuvers.grading.sheet import NO_HEADING, SETTLED, Sheet
from airwork.maneuvers.grading.straights import heading_error_rad, heading_note
from airwork.maneuvers.paths import laying
from airwork.maneuvers.paths.flown_ideal import straight
from airwork.maneuvers.seeing.legs import LEAVING_MPS, SURE
from airwork.maneuvers.seeing.propose_tools import episode
from airwork.maneuvers.seeing.signal import NEARLY_ALL, Array, bridged, mean_over, over, percentile, under
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.setting_up import power_lines
from airwork.maneuvers.setting_up.heights import Heights
from airwork.maneuvers.setting_up.worksheet import Worksheet
from airwork.maneuvers.setup import SetUp
from airwork.masks import runs

WINGS_LEVEL_RAD = np.radians(8.0)
LASTS_S, PAUSE_S = 42.0, 4.0
WANDER_RAD = np.radians(52.0)  # heading drifting farther than this is no straight flight
HELD_M = 90.0  # nine tenths of the time; the standards allow a private pilot a third of it
DRIFT_S = (30.0, 60.0)  # the ride up and down of an airplane left to itself, or chased, takes some 20 to 60 s
LEVELLED_M = 23.0  # 75 ft: leveled off, and not yet left


CRUISE_SHARE = 0.65  # power where the lesson names neither speed nor power: common practice, no source
FLOWN_S = 180.0


def set_up(ws: Worksheet) -> SetUp:
    """Numbers and steps of straight-and-level flight."""
    share, rpm = ws.wish("power_ratio", CRUISE_SHARE, 0.3, 1.0), ws.target.get("rpm")
    if rpm is not None and not ws.airplane.fixed_pitch:
        raise InputError("Straight and level: an RPM alone says little with this propeller; write power or speed.")
    cas = power_lines.cruise_cas_mps(ws, share, None if rpm is None else float(rpm)) or 1.9 * ws.stall_cas_mps(0)
    ias = ws.flown_ias(min(ws.on_dial(ws.ias(cas)), ws.fastest_ias()))
    ws.note_heights()
    ws.note_speed("speed", ias, "given" if "ias_mps" in ws.target else "fitted model", "for the power, level")
    power = power_lines.level(ws, ws.cas(ias))
    ws.note_stall(0)
    slow = ws.on_dial(1.3 * ws.ias(ws.stall_cas_mps(0)), "up")
    ws.note_speed("slow cruise, to compare", slow, "formula", "1.3 times the stall")
    power_lines.level(ws, ws.cas(slow), name="power, slow cruise", needed=False)
    ws.use_power(FLOWN_S, None if power is None else power.ratio)
    return ws.finish(
        steps=(
            "Attitude: set the nose against the horizon, hold it still",
            f"Power: {'as for the speed' if power is None else power.words}",
            "Trim until it flies hands off; look out, wings level, ball centered",
            "Check altitude, heading, speed in turn; correct with small attitude changes, then trim again",
        ),
        usual_errors=(
            "flying the instruments instead of the horizon",
            "one wing low, held straight with crossed controls",
            "chasing the altimeter; power and trim left alone when the speed changed",
            "a grip that hides what the trim is doing",
        ),
        card_line=f"{ws.mark(ias)} · {'power by eye' if power is None else power.words}",
        targets={"ias_mps": ias, "duration_s": FLOWN_S},
    )


def propose(view: View) -> list[Episode]:
    """Every stretch of straight and level flight; none where nothing tells a turn."""
    if not view.turn_known and not view.bank_measured:
        return []
    # A poor pilot rides up and down through the altitude: level is what goes nowhere, not what never climbs.
    drift = [np.abs(mean_over(view.climb_mps, view.samples(seconds))) for seconds in DRIFT_S]
    calm = (np.minimum(*drift) < LEAVING_MPS) & (np.abs(view.turn_bank_rad) < WINGS_LEVEL_RAD)
    out = []
    for begin, end in runs(bridged(calm & view.airborne & view.known, view.samples(PAUSE_S))):
        off = np.abs(view.altitude_m[begin:end] - np.median(view.altitude_m[begin:end]))
        held = np.flatnonzero(off < LEVELLED_M)
        first, last = begin + int(held[0]), begin + int(held[-1])
        seconds = float(view.time_s[last] - view.time_s[first])
        score = (
            SURE
            * over(seconds, LASTS_S)
            * under(float(np.ptp(view.heading_rad[first : last + 1])), WANDER_RAD)
            * under(percentile(off, NEARLY_ALL), HELD_M)
        )
        out.append(episode(ROOM.kind, view, first, last, score, evidence=(f"held for {seconds:.0f} s",)))
    return out


ANEW_RAD = np.radians(12.0)
# So long a leg; so much of all that the nose moved went one way; 12° a minute at most (common practice, no source).
HOMED_S, HOMED_PIECES, BACK_RAD = 90.0, 8, np.radians(2.0)
ONE_WAY, HOMED_RADPS = 0.5, np.radians(0.2)
POWER_MOVED = 0.12  # of rated power: more than holding a speed takes (common practice, no source)
SETTLING_S = 30.0  # a light airplane has its cruise speed by then (common practice, no source)


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Altitude, heading and speed against what was settled on."""
    sheet = Sheet(episode, evidence)
    window = (episode.start_s, episode.end_s)
    sheet.altitude_held(evidence.median(evidence.altitude_m, *window), source=SETTLED)
    settled = _speed_settled(evidence, *window)
    own = evidence.median(evidence.ias_mps, *window)
    sheet.speed_held(own, settled)
    if not sheet.given("ias") and evidence.ias_mps is not None:
        found = sheet.finding("ias")
        if found is not None and found.verdict == "not held" and power_moved(sheet, settled) > POWER_MOVED:
            sheet.not_asked("ias", "the power was set for another speed: a change that was meant, by its look")
        else:
            another_speed_meant(sheet, own, settled)
    heading = evidence.heading_rad
    if heading is None:
        sheet.cannot("heading", NO_HEADING)
    else:
        middle = evidence.median(heading, *window)
        sheet.set_target("heading", float(wrap_positive_rad(middle)), "deg", SETTLED)
        sheet.over("heading", heading, target=middle, error=heading_error_rad(sheet), note=heading_note(sheet))
        if held_anew(sheet, "heading", heading - middle, ANEW_RAD):
            sheet.not_asked("heading", "one heading was held and then another: a change of course, by its look")
        elif sheet.kind not in evidence.targets and _homed(evidence, heading, window):
            sheet.not_asked("heading", "the nose came round little by little to one side: held on a place, by its look")
    sheet.cause(speed.chasing_airspeed(sheet, *window))
    return sheet.grade()


def _homed(evidence: Evidence, heading: Array, window: tuple[float, float]) -> bool:
    """Turned to one side all along, slowly: what keeping the nose on a place in a crosswind looks like."""
    part = evidence.flight.span(*window)
    course, long = heading[part], window[1] - window[0]
    if long < HOMED_S or not np.isfinite(course).all():
        return False
    pieces = np.array([np.median(piece) for piece in np.array_split(course, HOMED_PIECES)])
    came = (pieces - pieces[0]) * np.sign(pieces[-1] - pieces[0])
    one_way = bool((np.diff(came) > -BACK_RAD).all()) and float(came[-1]) > ONE_WAY * float(np.ptp(course))
    return one_way and bool(np.ptp(course) < HOMED_RADPS * long)


def _speed_settled(evidence: Evidence, start_s: float, end_s: float) -> tuple[float, float]:
    """From when the speed is first near what was settled on, to when it last is; not the acceleration after a climb.

    At most half a minute, or two fifths, is left out at either end: longer is speed not held.
    """
    ias = evidence.ias_mps
    if ias is None:
        return start_s, end_s
    part = evidence.flight.span(start_s, end_s)
    near = np.flatnonzero(np.abs(ias[part] - evidence.median(ias, start_s, end_s)) < NEAR_MPS)
    times = evidence.flight.time_s[part]
    leave_out = min(SETTLING_S, 0.4 * (end_s - start_s))
    first = min(float(times[near[0]]), start_s + leave_out) if near.size else start_s
    last = max(float(times[near[-1]]), end_s - leave_out) if near.size else end_s
    return first, last


ROOM = Room(
    "straight_and_level", "Straight and level", Family.FUNDAMENTAL, set_up, straight, Heights(300.0), propose, grade,
    role=Role.PASSAGE, needs_engine=True, plain=True, accepted=0.6, lay=laying.as_long,  # a coin's throw is no grade
    asks=laying.as_settled,
    times=True, may_set=("ias_mps", "power_ratio", "rpm"),
    extent="wings level at the height kept → left; no sharp edge: it begins before it is meant",
)  # fmt: skip
