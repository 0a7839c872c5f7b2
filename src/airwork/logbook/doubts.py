"""What is asked of a logbook entry before it is written: what can't be, what may be a slip, what the record forbids."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from airwork.airdata.geodesy import leg
from airwork.days import local_date, read_moment
from airwork.errors import AirworkError, InputError
from airwork.logbook.debrief_json import DebriefFacts, read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import not_stood_at, stood_at
from airwork.logbook.night import night_s
from airwork.logbook.pages import FlightPage, lesson_standing
from airwork.logbook.plausible import slips, wrong_times
from airwork.logbook.recordings import columns
from airwork.logbook.records import HOUR_S, TENTH_S
from airwork.logbook.rules import load_rules
from airwork.logbook.standing import Finding, LessonAsked
from airwork.logbook.taken import in_the_way
from airwork.recording.flight import Flight
from airwork.units import NM_M

LONGEST_H = 16.0  # of a flight of a light single: longer is a slip of the pen; our own choice
AWAY_M = 5.0 * NM_M  # a recorder is switched on late and off early; our own choice
STUDENTS = {"", "none", "student"}  # certificates of who is on the way to a first one
NO_AIRPLANE = Finding(
    "not on record", "airplane", "airplane", "an entry names the airplane; without it the flight counts for little",
    "14 CFR 61.51(b)(1)(iv), FCL.050", "M",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a recording says of its flight. start_utc_s : [s since 1970 UTC], None where it names no date.

    stood_at : where it begins and ends, and every landing. [rad, latitude and longitude]
    """

    start_utc_s: float | None
    length_s: float
    stood_at: tuple[tuple[float, float], ...] = ()


def recorded_of(connection: Connection, one: FlightPage) -> Recorded | None:
    """What the recording kept with an entry says; None for an entry without one."""
    if one.flight.source != "debrief" or one.debrief is None:
        return None
    return recorded(read_debrief(one.debrief), columns(connection, one.flight.recording_sha256))


def recorded(facts: DebriefFacts, flown: Flight | None) -> Recorded:
    """What a recording with its debrief says."""
    landings = [at_s for kind, at_s in facts.contacts if kind != "takeoff"]
    return Recorded(facts.start_utc_s, facts.duration_s, stood_at(flown, landings))


@dataclass(frozen=True, slots=True)
class Doubts:
    """What an entry is asked about. asked : what may be a slip. findings : what of the record speaks against it."""

    asked: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()

    def refuse(self) -> None:
        """InputError while nobody has said that it was so."""
        if any(f.level == "forbids" for f in self.findings):
            raise InputError("the record speaks against such a flight; see below.", where="endorsements")
        if NO_AIRPLANE in self.findings:
            raise InputError("which one was it? Choose it, or give its registration.", where="airplane")
        if self.asked:
            raise InputError("Is it so? What the record says stands below.")


def require_possible(entry: FlightEntry, now_utc_s: float, *, recorded: bool = False) -> None:
    """A day that has been, in the student's life, no more hours than a light single flies on end, nor than there are
    between start and end, and time for every landing. recorded : a recording says how long and what landed.

    Raises
    ------
    InputError : it isn't; one for each field.
    """
    wrong: list[InputError] = []
    start, end, day = entry.start_utc_s, entry.end_utc_s, entry.local_date
    if start is not None:
        day = local_date(start, (entry.route[0].time_zone if entry.route else "") or entry.pilot.time_zone)
    if day is not None and day > local_date(now_utc_s, "Pacific/Kiritimati"):  # where a day begins first
        wrong.append(InputError(f"{day} is still to come.", where="date"))
    if day is not None and entry.pilot.born_on is not None and day <= entry.pilot.born_on:
        wrong.append(InputError(f"{day} is before {entry.pilot.name} was born.", where="date"))
    total = entry.times_s.get("total")
    if total is not None and total > LONGEST_H * HOUR_S:
        wrong.append(InputError(f"found {total / HOUR_S:.0f} h, more than a light single flies.", where="flight time"))
    if start is not None and end is not None and end - start > LONGEST_H * HOUR_S:
        text = f"{(end - start) / HOUR_S:.0f} h after the start: is it the right day and hour?"
        wrong.append(InputError(text, where="end"))
    wrong += wrong_times(start, end, entry.times_s)
    if not recorded:
        wrong += slips(start, end, total, entry.movements)
    if wrong:
        raise InputError(wrong[0].problem, where=wrong[0].where, each=wrong)


def questions(
    connection: Connection, entry: FlightEntry, flown: Recorded | None, *, seats: int | None = None, but: str = ""
) -> list[str]:
    """What may be a slip in an entry, a question each. seats : of its airplane. but : the entry it puts right.

    Raises
    ------
    InputError : it can't be.
    """
    begun = flown.start_utc_s if flown is not None and entry.start_utc_s is None else entry.start_utc_s
    length_s = None if flown is None else flown.length_s
    if length_s is None and entry.start_utc_s is not None and entry.end_utc_s is not None:
        length_s = entry.end_utc_s - entry.start_utc_s
    over = None if begun is None or length_s is None else begun + length_s
    asked = in_the_way(connection, replace(entry, start_utc_s=begun), over, but=but)
    if flown is not None:
        asked += _beside_the_recording(entry, flown)
    asked += odd(entry, seats)
    nowhere = dict.fromkeys(p.ident for p in entry.route if p.position_rad is None)
    if nowhere and len(entry.route) > 1:
        asked.append(
            f"nothing here says where {' and '.join(nowhere)} {'is' if len(nowhere) == 1 else 'are'}: a slip of a "
            "letter? Distance and cross-country time are then as typed"
        )
    on = sum(m.number for m in entry.movements if m.what == "landing")
    if on and not any(m.full_stop for m in entry.movements if m.what == "landing"):
        many = "s" if on > 1 else ""
        asked.append(f"{on} landing{many} and none to a full stop, as a flight's last one is: 1 full-stop?")
    if begun is not None and over is not None:
        asked += _by_day(entry, flown, begun, over)
    return asked


def _beside_the_recording(entry: FlightEntry, flown: Recorded) -> Iterator[str]:
    """Places it was not at, another end of the route than its own, more hours than it has."""
    beside = dict.fromkeys(p.ident for p in not_stood_at(entry.route, flown.stood_at))
    if beside:
        yield (
            f"the recording neither begins, lands nor ends at {' or '.join(beside)}: a route to there counts as "
            "distance, and as cross-country time where it is far enough"
        )
    ends = entry.route[:: max(1, len(entry.route) - 1)]
    for place, what, here in zip(ends, ("begins", "ends"), flown.stood_at, strict=False):
        apart_m = 0.0 if place.position_rad is None else leg(*place.position_rad, *here).distance_m
        if apart_m > AWAY_M and place.ident not in beside:
            yield f"the recording {what} {apart_m / NM_M:.0f} NM from {place.ident}"
    total = entry.times_s.get("total", 0.0)
    if total > flown.length_s + TENTH_S:
        yield f"{total / HOUR_S:.1f} h is more than was recorded, {flown.length_s / HOUR_S:.1f} h"


def odd(entry: FlightEntry, seats: int | None = None) -> Iterator[str]:
    """What an entry, also of an older logbook, can hardly mean by itself: more people than seats, a student in command
    beside an instructor, cross-country time without the distance it is for, takeoffs and nothing that came down."""
    people = 1 + entry.passengers + (entry.instructor is not None and entry.role != "solo")
    if entry.passengers and seats is not None and people > seats:
        yield f"{people} people aboard, {seats} seats in this airplane"
    if entry.role == "dual" and entry.times_s.get("pic") and entry.pilot.certificate_held in STUDENTS:
        yield (
            f"in command {entry.times_s['pic'] / HOUR_S:.1f} h besides dual: a student pilot commands alone only "
            "[14 CFR 61.51(e)(4), FCL.050; M]"
        )
    rule, typed = load_rules(entry.pilot.authority).cross_country, entry.times_s.get("cross_country", 0.0)
    known = [p.position_rad for p in entry.route if p.position_rad is not None]
    away = len({p.id for p in entry.route}) > 1
    if typed and entry.route and (len(known) == len(entry.route) or not away):
        farthest_m = max(leg(*known[0], *there).distance_m for there in known) if away else 0.0
        if farthest_m <= rule.more_than_m:
            yield (
                f"cross-country {typed / HOUR_S:.1f} h, and its farthest landing is {farthest_m / NM_M:.0f} NM away: "
                f"{rule.text}"
            )
    off, on = (sum(m.number for m in entry.movements if m.what == what) for what in ("takeoff", "landing"))
    if off and not on:
        yield f"{off} takeoff{'s' if off > 1 else ''} and no landing"


def _by_day(entry: FlightEntry, flown: Recorded | None, begun: float, over: float) -> Iterator[str]:
    """More night than there was between start and end."""
    typed, places = entry.times_s.get("night", 0.0), [p.position_rad for p in entry.route if p.position_rad]
    at = places or list(flown.stood_at[:2] if flown else ())
    if typed and at:
        dark = night_s(begun, over, at[0], at[-1])
        if typed > dark + TENTH_S:
            yield f"night {typed / HOUR_S:.1f} h, and between its start and end there were {dark / HOUR_S:.1f} h of it"


def against(connection: Connection, entry: FlightEntry, start_utc_s: float | None) -> tuple[Finding, ...]:
    """What of the record forbids such a flight or is not on it, at the flight's own time; of a day alone at noon."""
    zone = entry.pilot.time_zone
    if start_utc_s is None and entry.local_date is not None:
        start_utc_s = read_moment(f"{entry.local_date} 12:00", zone or "UTC", "date")
    if start_utc_s is None:
        return ()
    length, places = entry.times_s.get("total", HOUR_S), {place.id for place in entry.route}
    at = next((place.position_rad for place in entry.route if place.position_rad), None)
    asked = LessonAsked(start_utc_s, start_utc_s + length, zone, entry.role, airplane=entry.airplane,
                        passengers=entry.passengers, farthest_m=None if len(places) > 1 else 0.0,
                        position_rad=at)  # fmt: skip
    try:
        found = lesson_standing(
            connection, entry.pilot.id, asked, instructor_id=entry.instructor.id if entry.instructor else None
        ).findings
    except AirworkError:
        return ()
    return tuple(f for f in found if f.level in {"forbids", "not on record"})
