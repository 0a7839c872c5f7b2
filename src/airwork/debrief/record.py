"""The record of the flight beside its maneuvers: clearing turns made, and where area, ceiling or floor were left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from airwork.debrief.plan import LessonPlan
from airwork.maneuvers import room
from airwork.maneuvers.declared import Role
from airwork.maneuvers.episode import Cause, Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.signal import Array, Mask
from airwork.masks import runs
from airwork.units import to_unit

SERIES_S = 150.0  # maneuvers this close after one another are one series: cleared once
MOMENT_S = 2.0
NOT_CLEARED, CLEARED_LATE = "not cleared", "cleared late"
CLEARING_WEIGHT, LATE_WEIGHT = 0.7, 0.5  # told beside its maneuver, after what broke a tolerance
SWEEP_STEP_S, SWEEP_RADPS, SWEPT_RAD = 2.0, np.radians(1.5), np.radians(150.0)  # two of 90° or one of 180°
LATE_S = 600.0  # longer ago it is none at all


def clearing_record(evidence: Evidence, episodes: Sequence[Episode]) -> list[dict[str, Any]]:
    """For each series of maneuvers: whether a clearing turn came before it, and how long before."""
    longest = evidence.standard.judging["clearing_turn_before_s"]
    if evidence.heading_rad is None:  # nobody can see where the nose went
        return []
    turns = [e for e in episodes if room(e.kind).clears]
    out: list[dict[str, Any]] = []
    series_end = -np.inf
    for e in episodes:
        if not room(e.kind).wants_clear_sky:
            continue
        if e.start_s - series_end > SERIES_S:
            before = [e.start_s - t.end_s for t in turns if t.end_s <= e.start_s + 15.0]
            gap = max(0.0, min(before)) if before else None
            cleared = gap is not None and gap <= longest
            turned = None if cleared else _turned(evidence, e.start_s, longest)
            out.append({
                "for": e.kind, "start_s": round(e.start_s, 1), "cleared": cleared,
                "seconds_before": None if gap is None else round(gap, 1),
                **({} if turned is None else {"turned_seconds_before": round(turned, 1)}),
            })  # fmt: skip
        series_end = max(series_end, e.end_s)
    return out


def _turned(evidence: Evidence, start_s: float, within_s: float) -> float | None:
    """Seconds from the last turning before a maneuver, where the nose swept as much as in clearing turns; else None.

    Whatever they were taken for, the sky was there to be seen: that nobody cleared can't be claimed.
    """
    heading = evidence.heading_rad
    if heading is None:
        return None
    part = evidence.flight.span(start_s - within_s, start_s)
    nose, time_s = heading[part], evidence.flight.time_s[part]
    known = np.isfinite(nose)
    if known.sum() < 3:
        return None
    nose, time_s = nose[known], time_s[known]
    every = max(1, round(SWEEP_STEP_S / evidence.step_s))
    step = np.abs(np.diff(nose[::every]))
    turning = step > SWEEP_RADPS * every * evidence.step_s
    if float(step[turning].sum()) < SWEPT_RAD:
        return None
    return float(start_s - time_s[::every][1:][turning][-1])


def with_clearing(
    grade: Grade, e: Episode, clearing: Sequence[Mapping[str, Any]], longest_s: float
) -> Grade:  # fmt: skip
    """The grade with a clearing turn that came late or not at all among its causes."""
    row = next((r for r in clearing if r["for"] == e.kind and abs(r["start_s"] - e.start_s) < 0.1), None)
    causes = tuple(c for c in grade.causes if c.name not in (NOT_CLEARED, CLEARED_LATE))
    if row is not None and not row["cleared"] and "turned_seconds_before" not in row:
        ago = row["seconds_before"]
        late = ago is not None and ago < LATE_S
        if not late and e.start_s < longest_s:
            return grade  # the recording begins later than it may have been cleared
        text = (
            f"The clearing turn ended {ago:.0f} s before it: what was clear then need not be now."
            if late
            else f"No clearing turn before it: the nose hardly turned in the {longest_s / 60.0:.0f} minutes before."
        )
        advice = "Two 90° turns or one of 180°, looking the whole time, before each series; begin at once after it."
        begin = e.start_s - (ago if late else longest_s)
        name, weight = (CLEARED_LATE, LATE_WEIGHT) if late else (NOT_CLEARED, CLEARING_WEIGHT)
        causes = (*causes, Cause(text, advice, max(begin, 0.0), e.start_s, weight, name))
    return grade if causes == grade.causes else replace(grade, causes=causes)


def excursions(evidence: Evidence, episodes: Sequence[Episode], plan: LessonPlan) -> list[dict[str, Any]]:
    """Where an exercise left the practice area, its floor or its ceiling."""
    out: list[dict[str, Any]] = []
    time = evidence.flight.time_s
    for e in episodes:
        if room(e.kind).role is not Role.EXERCISE or room(e.kind).at_field:
            continue
        part = evidence.flight.span(e.start_s, e.end_s)
        altitude = evidence.altitude_m[part]
        if plan.floor_m is not None:
            out += _spells("below the area's floor", e, time[part], altitude < plan.floor_m, altitude - plan.floor_m)
        if plan.ceiling_m is not None:
            above = altitude - plan.ceiling_m
            out += _spells("above the area's ceiling", e, time[part], altitude > plan.ceiling_m, above)
        latitude, longitude = evidence.flight.get("latitude_rad"), evidence.flight.get("longitude_rad")
        if len(plan.corners_rad) >= 3 and latitude is not None and longitude is not None:
            # plane geometry: good for a practice area, not across the date line or a pole
            outside = ~shapely.contains_xy(shapely.Polygon(plan.corners_rad), latitude[part], longitude[part])
            outside &= np.isfinite(latitude[part]) & np.isfinite(longitude[part])
            out += _spells("outside the practice area", e, time[part], outside, None)
    return out


def _spells(what: str, e: Episode, time_s: Array, mask: Mask, by_m: Array | None) -> list[dict[str, Any]]:
    out = []
    for a, b in runs(mask):
        if time_s[b - 1] - time_s[a] < MOMENT_S:
            continue
        start, end = round(float(time_s[a]), 1), round(float(time_s[b - 1]), 1)
        row: dict[str, Any] = {"what": what, "during": e.kind, "start_s": start, "end_s": end}
        if by_m is not None:
            row["by_ft"] = round(abs(to_unit(float(by_m[a:b][np.argmax(np.abs(by_m[a:b]))]), "ft")))
        out.append(row)
    return out
