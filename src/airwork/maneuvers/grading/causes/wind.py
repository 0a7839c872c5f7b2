"""Wind not corrected over the ground. [AFH] chapter 7: steepest bank where the ground speed is highest."""

from __future__ import annotations

import numpy as np

from airwork.airdata.angles import turn_from_to_rad
from airwork.airdata.ground_reference import ground_reference_bank_rad
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import degrees, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array
from airwork.maneuvers.seeing.turns import circle
from airwork.units import KT_MPS

LEAST_WIND_MPS = 5.0 * KT_MPS
DRIFTED_RAD, HELD_SHARE = np.radians(8.0), 0.4  # legs so far from parallel, by headings that were
LEG_S, CORNER_RAD = 4.0, np.radians(30.0)  # short sides of a small field are flown in seconds
DONE_SHARE = 0.5  # of the change of bank the wind asks for
LEAST_NEEDED_RAD = np.radians(5.0)
CARRIED = 2.0  # times the limit: round after round, a wind of half the strength carries a circle so far
QUARTER_RAD = np.radians(50.0)


def wind_uncorrected(sheet: Sheet, spread: float, radius_m: float | None = None) -> Cause | None:
    """The bank stayed the same upwind and downwind, so the circle over the ground was not one.

    spread : largest deviation of the radius over its mean. radius_m : of half circles; of the one circle without.
    """
    evidence, limit = sheet.evidence, sheet.judging["ground_radius_fraction"]
    flight = evidence.flight
    source, speed, track = flight.get("wind_from_rad"), flight.get("wind_mps"), flight.get("track_rad")
    if source is None or speed is None or track is None or spread < limit:
        return None
    w = window(sheet, sheet.start_s + 3.0, sheet.end_s - 3.0)
    east_north = (flight.get("east_m"), flight.get("north_m"))
    series = [w.of(x) for x in (evidence.bank_rad, evidence.tas_mps, track, source, speed, *east_north)]
    known = [x for x in series if x is not None]
    if len(known) < len(series):
        return None
    bank, tas, course, wind_from, wind, east, north = known
    strength, plain = float(np.median(wind)), 0.5 if spread > CARRIED * limit else 1.0
    if strength < plain * LEAST_WIND_MPS:
        return None
    step = max(1, round(1.0 / evidence.step_s))
    radius = circle(east[::step], north[::step])[0] if radius_m is None else radius_m
    if not np.isfinite(radius):
        return None
    off_wind = np.arctan2(np.sin(course - wind_from), np.cos(course - wind_from))
    upwind, downwind = np.abs(off_wind) < QUARTER_RAD, np.abs(off_wind) > np.pi - QUARTER_RAD
    if not upwind.any() or not downwind.any():
        return None
    flown_down, flown_up = float(np.median(np.abs(bank[downwind]))), float(np.median(np.abs(bank[upwind])))
    v = float(np.median(tas))
    need_down, need_up = (float(ground_reference_bank_rad(v, strength, radius, x)) for x in (np.pi, 0.0))
    if need_down - need_up < plain * LEAST_NEEDED_RAD or flown_down - flown_up > DONE_SHARE * (need_down - need_up):
        return None
    return Cause(
        f"Bank was {degrees(flown_down)} downwind and {degrees(flown_up)} upwind; this wind asked for about "
        f"{degrees(need_down)} and {degrees(need_up)}.",
        "Steepest bank where the ground rushes by (downwind), shallowest upwind; change it all the way round.",
        sheet.start_s, sheet.end_s, spread / limit, "wind neglected", "wind", "ground_radius",
    )  # fmt: skip


def course_uncorrected(sheet: Sheet) -> Cause | None:
    """The headings of a course were square and its legs over the ground were not: no angle was held into the wind."""
    flight = sheet.evidence.flight
    track, heading = flight.get("track_rad"), sheet.evidence.heading_rad
    if track is None or heading is None or sheet.evidence.view.heading_from == "track":
        return None
    corners = [p for p in sheet.episode.phases if p.name.startswith("corner")]
    times = [sheet.start_s, *(t for c in corners for t in (c.start_s, c.end_s)), sheet.end_s]
    legs = [(a, b) for a, b in zip(times[::2], times[1::2], strict=True) if b - a > LEG_S]
    flown = [(a, b, _direction(track, flight.span(a, b)), _direction(heading, flight.span(a, b))) for a, b in legs]
    worst: tuple[float, float, float, float] | None = None
    for k, one in enumerate(flown):
        for other in flown[k + 1 :]:
            apart, turned = (float(abs(turn_from_to_rad(one[i], other[i]))) for i in (2, 3))
            off, by_nose = abs(np.pi - apart), abs(np.pi - turned)
            if off < CORNER_RAD and by_nose < HELD_SHARE * off and (worst is None or off > worst[0]):
                worst = (off, by_nose, other[0], other[1])
    if worst is None or worst[0] < DRIFTED_RAD:
        return None
    off, by_nose, start_s, end_s = worst
    return Cause(
        f"Opposite legs ran {degrees(off)} from parallel over the ground while the headings were within "
        f"{degrees(by_nose)}: no angle was held into the wind.",
        "Look at where the leg is going, not where the nose points; half the drift, into the wind, and look again.",
        start_s, end_s, off / DRIFTED_RAD * 0.8, "wind neglected", "wind",
    )  # fmt: skip


def _direction(course_rad: Array, part: slice) -> float:
    inside = course_rad[part]
    inside = inside[np.isfinite(inside)]
    return float(np.angle(np.exp(1j * inside).mean())) if inside.size else float("nan")
