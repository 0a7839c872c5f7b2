"""Grading what is flown round marks on the ground: altitude, speed, height, and how well the wind was corrected."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from airwork.maneuvers.episode import Episode, Finding, Grade, Verdict
from airwork.maneuvers.grading.causes import altitude, speed, turning, wind
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import ENTRY, NO_AGL, Sheet
from airwork.maneuvers.seeing.signal import Array
from airwork.maneuvers.seeing.turns import circle
from airwork.units import FT_M, to_unit

ENTRY_S = 5.0
ALTIMETER_M = 37.5 * FT_M  # half of the 75 ft an altimeter may be off on the ground (AIM 7-2-3 [M])
ROLL_S = 3.0  # rolling in and out is not on the circle yet
CENTER = "; from the middle of the circle flown: how far the point itself was from it isn't known"


def grade_ground_reference(
    episode: Episode, evidence: Evidence, radii_of: Callable[[Sheet], Array] | None = None
) -> Grade:
    """Altitude and airspeed from the entry, height above ground; radius over the ground by `radii_of`."""
    sheet = Sheet(episode, evidence)
    start = episode.start_s
    target_m = sheet.altitude_held(evidence.mean(evidence.altitude_m, start - 1.5, start + 0.5))
    aim = sheet.speed_held(evidence.mean(evidence.ias_mps, start - ENTRY_S, start + 1.0), source=ENTRY)
    if sheet.wants_reason("ias"):
        sheet.cause(speed.speed_settled_off(sheet, aim, (start, episode.end_s)))
    agl, which = evidence.above_ground()
    if agl is None:
        sheet.cannot("agl", NO_AGL)
    else:
        sheet.over("agl", agl, error=sheet.height_error_m or ALTIMETER_M, note=which)
        sheet.cause(altitude.at_another_height(sheet, agl, target_m))
    radii = np.empty(0) if radii_of is None else radii_of(sheet)
    if radii.size:
        sheet.number("mean_ground_radius_ft", to_unit(float(radii.mean()), "ft"), 0)
        one_circle = radii_of is from_the_center_m
        sheet.add_finding(_radius_finding(sheet, radii, CENTER if one_circle else ""))
        spread = float(np.abs(radii / radii.mean() - 1.0).max())
        sheet.cause(wind.wind_uncorrected(sheet, spread, None if one_circle else float(radii.mean())))
    else:
        sheet.cause(wind.course_uncorrected(sheet))
    sheet.floor_kept()
    if sheet.given("altitude"):
        sheet.cause(altitude.settled_off(sheet, target_m, (start, episode.end_s)))
    sheet.cause(altitude.let_slip(sheet, target_m, (start, episode.end_s)))
    sheet.cause(turning.uncoordinated(sheet, start, episode.end_s))
    return sheet.grade()


def from_the_center_m(sheet: Sheet) -> Array:
    """Distances from the center of the one circle flown. [m]"""
    east, north, step = _positions(sheet)
    if east is None or north is None:
        return np.empty(0)
    part = sheet.evidence.flight.span(sheet.start_s + ROLL_S, sheet.end_s - ROLL_S)
    e, n = east[part][::step], north[part][::step]
    good = np.isfinite(e) & np.isfinite(n)
    radius, _, center_east, center_north = circle(e[good], n[good])
    return np.hypot(e[good] - center_east, n[good] - center_north) if np.isfinite(radius) else np.empty(0)


def of_each_part_m(sheet: Sheet) -> Array:
    """The radius of each phase, half circles of S-turns; then of their fast thirds and their slow ones, medians. [m]

    At one bank all halves are alike, large downwind and small upwind: the wind shows within them.
    """
    east, north, step = _positions(sheet)
    ground, track = sheet.evidence.flight.get("groundspeed_mps"), sheet.evidence.flight.get("track_rad")
    if east is None or north is None:
        return np.empty(0)
    radii: list[float] = []
    ends: list[list[tuple[float, float]]] = []
    for phase in sheet.episode.phases:
        part = sheet.evidence.flight.span(phase.start_s, phase.end_s)
        radii.append(circle(east[part][::step], north[part][::step])[0])
        part = sheet.evidence.flight.span(phase.start_s + ROLL_S, phase.end_s - ROLL_S)
        if ground is None or track is None or part.stop - part.start < 3:
            continue
        turned = np.abs(np.unwrap(track[part]) - track[part][0])
        thirds = (turned < turned[-1] / 3.0, turned > turned[-1] * 2.0 / 3.0)
        here = [(ground[part][t], east[part][t][::step], north[part][t][::step]) for t in thirds if t.any()]
        ends.append([(float(speed.mean()), circle(x, y)[0]) for speed, x, y in here])
    sides = np.array([[radius for _, radius in sorted(one)] for one in ends if len(one) == 2]).reshape(-1, 2)
    whole = sides[np.isfinite(sides).all(axis=1)]
    found = np.array([*radii, *(np.median(whole, axis=0) if len(whole) > 1 else ())])
    return found[np.isfinite(found)]


def _positions(sheet: Sheet) -> tuple[Array | None, Array | None, int]:
    flight = sheet.evidence.flight
    return flight.get("east_m"), flight.get("north_m"), max(1, round(1.0 / sheet.evidence.step_s))


def _radius_finding(sheet: Sheet, radii: Array, whence: str) -> Finding:
    """Standards say "constant" and print no number: the limit is airwork's and says so."""
    mean = float(radii.mean())
    deviation = radii / mean - 1.0
    limit = sheet.judging["ground_radius_fraction"]
    inside = float((np.abs(deviation) <= limit).mean())
    worst = float(deviation[np.argmax(np.abs(deviation))])
    if inside == 1.0:
        verdict: Verdict = "held"
    elif inside >= 1.0 - sheet.judging["consistent_fraction"]:
        verdict = "briefly out and corrected"
    else:
        verdict = "not held"
    why = (
        f"mean radius {to_unit(mean, 'ft'):,.0f} ft; the standard asks for a constant one and prints no number{whence}"
    )
    limit_text = f"±{100 * limit:.0f} % of the mean (airwork's own)"
    return Finding(
        "radius over the ground", limit_text, round(100.0 * worst, 1), "%", round(inside, 3), verdict, why,
        source="airwork", label="P", quantity="ground_radius",
    )  # fmt: skip
