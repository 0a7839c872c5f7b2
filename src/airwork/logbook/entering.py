"""A flight as it is entered: what is typed, and what is worked out from it (hours by kind, distances, night)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise
from typing import Any

from airwork.airdata.geodesy import leg
from airwork.days import local_date
from airwork.errors import InputError
from airwork.logbook.night import is_late_night, is_logged_night, night_s
from airwork.logbook.plausible import refuse_aboard, refuse_times
from airwork.logbook.records import (
    TIMES,
    AirplaneEntry,
    FlightRow,
    Movement,
    Person,
    Place,
    Role,
    clean,
    new_id,
    number,
)
from airwork.logbook.rules import Rules, load_rules


@dataclass(frozen=True, slots=True)
class FlightEntry:
    """A flight as a person enters it. SI; what is left out is worked out where that can be done.

    route : the departure and every place landed at, in order. times_s : kind of time (`TIMES`) to seconds, as typed.
    local_date : needed when no start is given. time_zone : of the departure; the place's own goes first.
    """

    pilot: Person
    role: Role
    start_utc_s: float | None = None
    end_utc_s: float | None = None
    local_date: date | None = None
    time_zone: str = ""
    instructor: Person | None = None
    airplane: AirplaneEntry | None = None
    route: tuple[Place, ...] = ()
    times_s: Mapping[str, float] = field(default_factory=dict)
    movements: tuple[Movement, ...] = ()
    passengers: int = 0
    remarks: str = ""
    corrects_id: str | None = None  # the signed entry it puts right
    recording_sha256: str = ""
    source: str = "typed"
    distance_m: float | None = None
    farthest_landing_m: float | None = None
    departure_rad: tuple[float, float] | None = None  # where the recording starts, for a flight without a route


@dataclass(frozen=True, slots=True)
class Completed:
    """An entry with everything that could be worked out, and what was, in words."""

    row: FlightRow
    movements: tuple[Movement, ...]
    notes: tuple[str, ...]


def complete(entry: FlightEntry) -> Completed:
    """Check an entry and work out the rest: who logs what, distances, cross-country and night time."""
    notes: list[str] = []
    rules = load_rules(entry.pilot.authority)
    zone_name = (entry.route[0].time_zone if entry.route else "") or entry.time_zone or entry.pilot.time_zone
    day = _day(entry, zone_name)
    times = _times(entry)
    distances = _distances(entry)
    if (
        "cross_country" not in entry.times_s
        and (distances["farthest_landing_m"] or 0.0) > rules.cross_country.more_than_m
    ):
        times["cross_country"] = times["total"]
        notes.append("counted as cross-country: " + rules.cross_country.text)
    if "night" not in entry.times_s:
        times["night"], said = _night(entry, times["total"])
        notes += said
    movements, said = _movements(entry, times, zone_name, rules)
    notes += said
    row = FlightRow(
        id=new_id(),
        pilot_id=entry.pilot.id,
        instructor_id=entry.instructor.id if entry.instructor else None,
        airplane_id=entry.airplane.id if entry.airplane else None,
        lesson_id=None,
        recording_sha256=entry.recording_sha256,
        start_utc_s=entry.start_utc_s,
        end_utc_s=entry.end_utc_s,
        local_date=day,
        time_zone=zone_name,
        role=entry.role,
        remarks=clean(entry.remarks, "remarks"),
        passengers=int(number(entry.passengers, "passengers", 0, 20)),
        sole_manipulator=True,
        **distances,
        full_stop_points=distances["landing_points"] if any(m.full_stop for m in movements) else None,
        source=entry.source,
        signed_by_id=None,
        signed_utc_s=None,
        corrects_id=entry.corrects_id,
        came_from="",
        **{f"{kind}_s": round(times[kind]) for kind in TIMES},
    )
    return Completed(row, movements, tuple(notes))


def _day(entry: FlightEntry, zone_name: str) -> date:
    if entry.start_utc_s is None:
        if entry.local_date is None:
            raise InputError("give the start (2026-03-08 14:30) or at least the date.", where="flight")
        return entry.local_date
    return local_date(entry.start_utc_s, zone_name)


def _times(entry: FlightEntry) -> dict[str, float]:
    """Seconds by kind: as typed, else as the role gives them."""
    unknown = set(entry.times_s) - set(TIMES)
    if unknown:
        raise InputError(f"no such time: {', '.join(sorted(unknown))}.", where="flight")
    times = dict.fromkeys(TIMES, 0.0)
    between = None
    if entry.start_utc_s is not None and entry.end_utc_s is not None:
        between = entry.end_utc_s - entry.start_utc_s
    total = entry.times_s.get("total", between)
    if total is None:
        if "ground_training" not in entry.times_s:
            raise InputError("give its end or its hours.", where="flight")
        total = 0.0
    times["total"] = total
    if entry.role == "dual":
        times["dual"] = total
    elif entry.role == "solo":
        times["solo"] = times["pic"] = total  # the sole occupant commands (14 CFR 61.51(e)(4))
    else:
        times["pic"] = total
    times.update(entry.times_s)
    refuse_times(entry.start_utc_s, entry.end_utc_s, times)
    if entry.role == "dual" and entry.instructor is None and total > 0:
        raise InputError("training needs its instructor; give --instructor, or --role solo or pic.", where="flight")
    teacher = entry.instructor.id if entry.instructor else None
    refuse_aboard(entry.role, entry.passengers, times["dual"], entry.pilot.id, teacher)
    return times


def _distances(entry: FlightEntry) -> dict[str, Any]:
    """Straight-line distances over the ellipsoid along the route; as typed where the places have no position."""
    typed = {"distance_m": entry.distance_m, "farthest_landing_m": entry.farthest_landing_m}
    out = {**typed, "longest_leg_m": None, "landing_points": len({p.id for p in entry.route[1:]}) or None}
    known = [p.position_rad for p in entry.route if p.position_rad is not None]
    if len(known) < 2 or len(known) < len(entry.route):
        return out
    legs = [leg(*a, *b).distance_m for a, b in pairwise(known)]
    farthest = max(leg(*known[0], *b).distance_m for b in known[1:])
    worked_out = {"distance_m": sum(legs), "farthest_landing_m": farthest, "longest_leg_m": max(legs)}
    return {**out, **worked_out, **{name: value for name, value in typed.items() if value is not None}}


def _night(entry: FlightEntry, total_s: float) -> tuple[float, list[str]]:
    ends = [p.position_rad for p in entry.route if p.position_rad is not None]
    if not ends and entry.departure_rad is not None:
        ends = [entry.departure_rad]
    if entry.start_utc_s is None or entry.end_utc_s is None or not ends:
        return 0.0, [] if total_s == 0 else ["night time: not worked out (needs start, end and place); taken as none"]
    dark = night_s(entry.start_utc_s, entry.end_utc_s, ends[0], ends[-1])
    share = dark / (entry.end_utc_s - entry.start_utc_s)
    if share == 0.0:
        return 0.0, []
    night = min(total_s, round(total_s * share / 360.0) * 360.0)  # logged in tenths of an hour
    return night, [f"night time {night / 3600:.1f} h: worked out from civil twilight at the places"]


def _movements(
    entry: FlightEntry, times: Mapping[str, float], zone_name: str, rules: Rules
) -> tuple[tuple[Movement, ...], list[str]]:
    """Movements with night and tower filled in where time and place tell; else as typed."""
    at = entry.route[0] if entry.route else None
    one_place = at is not None and len({p.id for p in entry.route}) == 1
    towered = bool(at is not None and one_place and at.towered)
    here = at.position_rad if at is not None and one_place else None
    if here is None and not entry.route:
        here = entry.departure_rad
    wholly_dark = 0.0 < times["total"] <= times["night"] + 180.0
    late = None
    if here is not None and entry.start_utc_s is not None and entry.end_utc_s is not None and wholly_dark:
        late = all(is_late_night(t, here, zone_name, rules.night) for t in (entry.start_utc_s, entry.end_utc_s))
    out, unsure = [], False
    for m in entry.movements:
        number(m.number, f"number of {m.what}s", 0, 500)
        new = replace(m, towered=m.towered or towered)
        if m.utc_s is not None and here is not None:
            new = replace(
                new,
                night=is_logged_night(m.utc_s, here),
                late_night=is_late_night(m.utc_s, here, zone_name, rules.night),
            )
        elif wholly_dark:
            new = replace(new, night=True, late_night=m.late_night or bool(late))
        elif times["night"] > 0 and not m.night:
            unsure = True
        out.append(new)
    said = (
        ["part of the flight was at night: takeoffs and landings not marked so are taken as by day"] if unsure else []
    )
    return tuple(m for m in out if m.number > 0), said
