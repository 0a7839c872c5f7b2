"""What else an instructor would want said of the flight: how sure it is, clearing turns, floors, approaches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import numpy as np

from airwork.airplane import Airplane
from airwork.debrief.looked_for import has_a_standard, limits, silent
from airwork.debrief.plan import LessonPlan
from airwork.debrief.record import LATE_S
from airwork.debrief.recorded import in_the_air
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.evidence import Evidence
from airwork.recording.flight import Flight
from airwork.units import clock

UNSURE = 0.6
ROUGH_DEG = 7.0
MARKED_AFTER_S = 30.0  # a mark so soon after a maneuver means that maneuver
ANOTHER_FLIGHT_S = 3600.0  # on the ground between a landing and a takeoff
SAME_FLIGHT_S = 12.0 * 3600.0  # a lesson flown later the same day is still that lesson


def notes_of(
    evidence: Evidence, episodes: Sequence[Episode], clearing: Sequence[Mapping[str, Any]],
    left: Sequence[Mapping[str, Any]],
) -> list[str]:  # fmt: skip
    """Plain sentences, the recording's limits first."""
    return [*_limits(evidence, episodes), *_clearing(clearing), *_left(left)]


def lesson_notes(plan: LessonPlan, airplane: Airplane | None, start_utc_s: float) -> list[str]:
    """What speaks against the lesson given being the one flown: its airplane, its day."""
    out = []
    if airplane is not None and plan.airplane_id and airplane.id != plan.airplane_id:
        out.append(
            f"The lesson is planned for {plan.airplane_name or plan.airplane_id}, the airplane given is "
            f"{airplane.name}: its targets may not fit."
        )
    apart = abs(start_utc_s - plan.start_utc_s)
    if np.isfinite(apart) and apart > SAME_FLIGHT_S:
        planned, flown = (datetime.fromtimestamp(t, UTC).date().isoformat() for t in (plan.start_utc_s, start_utc_s))
        out.append(f"The lesson is planned for {planned}, the flight was recorded on {flown}: the right lesson?")
    return out


def marked(flight: Flight, episodes: Sequence[Episode]) -> list[str]:
    """Moments marked in flight, each with the maneuver it lies in or follows."""
    out = []
    for mark in flight.source.get("marks", ()):
        at = mark.utc_s - flight.start_utc_s
        if not -1.0 <= at <= flight.time_s[-1] + 1.0:
            continue
        begun = [e for e in episodes if e.start_s <= at and at <= e.end_s + MARKED_AFTER_S]
        last = max(begun, key=lambda e: (not room(e.kind).plain, e.start_s), default=None)
        where = "" if last is None else f", {room(last.kind).title}"
        out.append(f"Marked in flight at {clock(at)}{where}: {mark.words or 'without words'}.")
    return out


def _limits(evidence: Evidence, episodes: Sequence[Episode]) -> list[str]:
    out = [f"To settle: {m.what}." for m in evidence.flight.mends if m.asks] + limits(
        evidence.flight, evidence.airplane
    )
    if silent(evidence.flight, evidence.airplane):
        return out  # how its speed and bank are known is nothing to somebody who drove
    out += _flights(evidence.flight)
    if has_a_standard(evidence.flight, evidence.airplane):  # else nothing is judged by them
        out += _less_sure(evidence, episodes)
    return out


def _less_sure(evidence: Evidence, episodes: Sequence[Episode]) -> list[str]:
    """How what is judged was known, and what isn't judged for want of it."""
    view, out = evidence.view, list[str]()
    if view.speed_from == "ground speed and wind":
        out.append(
            "No airspeed was recorded: it was worked out from ground speed and the wind found from the whole flight. "
            "Maneuvers are recognized with less certainty and airspeed is never judged."
        )
    elif view.speed_from == "ground speed":
        out.append(
            "No airspeed was recorded and no wind could be found: ground speed stands in for airspeed. Wind may hide a "
            "stall or slow flight; airspeed is never judged."
        )
    if not view.turn_known:
        seen = "turns show only in the bank" if view.bank_measured else "turns can't be seen"
        out.append(f"No heading, track or position was recorded: {seen}, and a slip can't be told.")
    elif not view.bank_measured:
        off = np.degrees(evidence.bank_error_rad)
        good = "a few degrees" if off < ROUGH_DEG else f"some {off:.0f}° where the positions hop"
        out.append(f"Bank was worked out from the turn rate: good to {good}, and blind to a slip or skid.")
    if evidence.altitude_is_satellite and evidence.flight.has("gps_altitude_m"):
        out.append("Altitude is the satellite receiver's: good for deviations, not for what the altimeter showed.")
    if evidence.airplane is None:
        out.append("No airplane was given: stall margin, percent power and handbook speeds are left out.")
    _, which = evidence.above_ground()
    if evidence.ground_m is None and not np.isfinite(view.agl_m).any():
        out.append("Height above ground is not known (give the elevation): floors are not judged.")
    elif which:
        out.append(f"Heights above ground: {which}.")
    unsure = sorted({room(e.kind).named for e in episodes if e.score < UNSURE})
    if unsure:
        out.append(f"Less sure: {', '.join(unsure)}.")
    air = in_the_air(evidence)
    gaps = float(1.0 - view.known[air].mean()) if air.any() else 0.0
    if gaps > 0.01:
        out.append(f"{100 * gaps:.0f} % of the time in the air was not recorded.")
    return out


def _flights(flight: Flight) -> list[str]:
    """Stops that nothing received; that it holds more than one flight, where it stood for long between them."""
    stops = flight.source.get("unseen_stops") or ()
    unseen = " and ".join(f"{clock(a)} to {clock(b)}" for a, b in stops)
    out = (
        [f"On the ground or not received {unseen}: no time in the air, landing and takeoff not seen."] if stops else []
    )
    stood = [b.time_s - a.time_s for a, b in pairwise(flight.contacts)
             if not room(a.kind).takes_off and not room(b.kind).lands]  # fmt: skip
    stood = [s for s in stood if s > ANOTHER_FLIGHT_S]
    if not stood:
        return out
    between = " and ".join(f"{s / 60.0:.0f} min" for s in stood)
    return [*out, f"This recording holds {len(stood) + 1} flights, {between} on the ground between them, told as one."]


def _clearing(clearing: Sequence[Mapping[str, Any]]) -> list[str]:
    missed = [row for row in clearing if not row["cleared"] and "turned_seconds_before" not in row]
    if not missed:
        return []
    out = []
    for late, words in ((False, "No clearing turn seen"), (True, "The clearing turn ended too long")):
        rows = [r for r in missed if (r["seconds_before"] is not None and r["seconds_before"] < LATE_S) == late]
        if rows:
            kinds = ", ".join(dict.fromkeys(room(row["for"]).named for row in rows))
            out.append(f"{words} before {len(rows)} of {len(clearing)} series of maneuvers ({kinds}).")
    return out


def _left(left: Sequence[Mapping[str, Any]]) -> list[str]:
    out = []
    for what in dict.fromkeys(str(row["what"]) for row in left):
        rows = [row for row in left if row["what"] == what]
        kinds = ", ".join(dict.fromkeys(room(row["during"]).named for row in rows))
        most = max((row.get("by_ft", 0) for row in rows), default=0)
        long = f" for {sum(row['end_s'] - row['start_s'] for row in rows):.0f} s"
        out.append(f"{what[0].upper()}{what[1:]}{long} in {kinds}" + (f", by up to {most:,} ft." if most else "."))
    return out
