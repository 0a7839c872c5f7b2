"""A logbook entry as a form: filled from recording, lesson and log-in, and asking what none of them knows.

Who was in charge (dual, solo, in command) is never taken for granted: filled where the lesson says so, else asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from fastapi import Request
from sqlalchemy import Connection

from airwork.days import local_date, read_moment
from airwork.errors import AirworkError, InputError
from airwork.jobs.entering import TENTH_S
from airwork.logbook import fleet, people, typed
from airwork.logbook.debrief_json import DebriefFacts, read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import moving_s, not_stood_at, place_of, stood_at
from airwork.logbook.pages import FlightPage, lesson_standing
from airwork.logbook.plausible import slips
from airwork.logbook.recordings import columns
from airwork.logbook.records import HOUR_S, Person, Role, hours
from airwork.logbook.standing import Finding, LessonAsked
from airwork.logbook.taken import in_the_way
from airwork.recording.flight import Flight
from airwork.web import book
from airwork.web.meanwhile import mark_of

if TYPE_CHECKING:
    from airwork.lesson.lesson import Lesson
    from airwork.web.desk import About

ROLES: dict[Role, str] = {
    "dual": "dual: training received", "solo": "solo: alone aboard", "pic": "pilot in command",
}  # fmt: skip
HOURS = {
    "total": "flight time, h", "night": "at night, h", "cross_country": "cross-country, h",
    "instrument_simulated": "instruments, simulated, h", "instrument_actual": "instruments, actual, h",
    "pic": "in command, h", "test_preparation": "preparing for the test, h", "ground_training": "ground training, h",
}  # fmt: skip


@dataclass(slots=True)
class Filled:
    """What stands in the form. source : where a value comes from, by field. recorded : a recording says the rest."""

    values: dict[str, str] = field(default_factory=dict)
    source: dict[str, str] = field(default_factory=dict)
    recorded: bool = False

    def fill(self, source: str, **values: str) -> None:
        """Values nobody has given yet."""
        for name, value in values.items():
            if value and not self.values.get(name):
                self.values[name], self.source[name] = value, source


def from_lesson(filled: Filled, connection: Connection, lesson: Lesson) -> None:
    """Who, in what, from where: as the lesson says."""
    said = "the lesson"
    student = _known(connection, lesson.student.name)
    teacher = None if lesson.instructor is None else _known(connection, lesson.instructor.name)
    aboard = {one.role for one in lesson.people}
    if lesson.student.solo:
        filled.fill(said, role="solo")
    elif "instructor" in aboard and lesson.instructor is not None:
        filled.fill(said, role="dual")
    filled.fill(
        said, student=student.id if student else "", route=lesson.place.ident,
        instructor=teacher.id if teacher and not lesson.student.solo else "",
        passengers=str(sum(1 for one in lesson.people if one.role == "passenger")), remarks=lesson.title,
    )  # fmt: skip
    if not filled.recorded:
        filled.fill(said, start=_local(lesson.start_utc_s, lesson.zone))
    plane = next((a for a in fleet.airplanes(connection) if a.airplane_file == lesson.airplane_path.stem), None)
    filled.fill(said, airplane=plane.registration if plane else "")


def from_recording(asking: Request, about: About) -> dict[str, str]:
    """How long, from where to where, in what: as it was recorded. Asked where the debrief is open."""
    found = asking.app.state.desk.debrief(about)
    seconds = moving_s(found.flight)
    with book.reading(asking) as connection:
        _, route = place_of(connection, found.flight)
        try:
            only = fleet.airplane_of(connection, found.airplane_name)
        except InputError:
            only = None  # several of the kind: asked
    return {
        "total": "" if seconds is None else f"{round(seconds / TENTH_S) / 10:.1f}",
        "route": " ".join(p.ident for p in route), "airplane": only.registration if only else "",
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a recording says of its flight. start_utc_s : [s since 1970 UTC], None where it names no date.

    stood_at : where it begins and ends, and every landing. [rad, latitude and longitude]
    """

    start_utc_s: float | None
    length_s: float
    stood_at: tuple[tuple[float, float], ...] = ()


def recorded(asking: Request, about: About) -> Recorded:
    """What the recording on the desk says. Asked where the debrief is open."""
    found = asking.app.state.desk.debrief(about)
    return _recorded(read_debrief(found.as_json()), found.flight)


def recorded_of(connection: Connection, one: FlightPage) -> Recorded | None:
    """What the recording kept with an entry says; None for an entry without one."""
    if one.flight.source != "debrief" or one.debrief is None:
        return None
    return _recorded(read_debrief(one.debrief), columns(connection, one.flight.recording_sha256))


def _recorded(facts: DebriefFacts, flown: Flight | None) -> Recorded:
    landings = [at_s for kind, at_s in facts.contacts if kind != "takeoff"]
    return Recorded(facts.start_utc_s, facts.duration_s, stood_at(flown, landings))


def questions(connection: Connection, entry: FlightEntry, flown: Recorded | None, *, but: str = "") -> list[str]:
    """What may be a slip in an entry, a question each. but : the entry it puts right.

    Raises
    ------
    InputError : it can't be.
    """
    if flown is None:
        return in_the_way(connection, entry, but=but)
    begun = flown.start_utc_s if entry.start_utc_s is None else entry.start_utc_s
    over = None if begun is None else begun + flown.length_s
    asked = in_the_way(connection, replace(entry, start_utc_s=begun), over, but=but)
    beside = dict.fromkeys(p.ident for p in not_stood_at(entry.route, flown.stood_at))
    if beside:
        asked.append(
            f"the recording neither begins, lands nor ends at {' or '.join(beside)}: a route to there counts as "
            "distance, and as cross-country time where it is far enough"
        )
    total = entry.times_s.get("total", 0.0)
    if total > flown.length_s + TENTH_S:
        asked.append(f"{total / HOUR_S:.1f} h is more than was recorded, {flown.length_s / HOUR_S:.1f} h")
    return asked


def from_flight(filled: Filled, one: FlightPage) -> None:
    """An entry as it stands, to be put right."""
    row, said = one.flight, ""
    filled.recorded = row.source == "debrief"
    zone = row.time_zone
    filled.fill(
        said, student=row.pilot_id or "", instructor=row.instructor_id or "", role=row.role,
        airplane=one.airplane.registration if one.airplane else "", route=" ".join(p.ident for p in one.route),
        start="" if row.start_utc_s is None else _local(row.start_utc_s, zone), passengers=str(row.passengers),
        end="" if row.end_utc_s is None else _local(row.end_utc_s, zone)[11:], date=row.local_date.isoformat(),
        remarks=row.remarks,
        **{kind: hours(getattr(row, f"{kind}_s")) for kind in HOURS},
    )  # fmt: skip
    for what in ("takeoff", "landing"):
        typed_ones = (" ".join([str(m.number), *m.flags]) for m in one.movements if m.what == what)
        filled.fill(said, **{f"{what}s": "; ".join(typed_ones)})


def as_it_stands(one: FlightPage) -> str:
    """Changes when anything of the entry does that the form shows."""
    filled = Filled()
    from_flight(filled, one)
    return mark_of(filled.values)


def _local(utc_s: float, zone: str) -> str:
    return datetime.fromtimestamp(utc_s, UTC).astimezone(ZoneInfo(zone or "UTC")).strftime("%Y-%m-%d %H:%M")


def _known(connection: Connection, name: str) -> Person | None:
    try:
        return people.find_person(connection, name)
    except InputError:
        return None


def entry_of(
    connection: Connection, sent: Mapping[str, str], instructor: Person | None, *, now_utc_s: float,
    of_signed: bool = False, corrects: str = "",
) -> FlightEntry:  # fmt: skip
    """The entry as typed. of_signed : it puts right what is signed, so that its instructor stays whatever the role.

    Raises
    ------
    InputError : what is still asked, or can't be read, under the field's name.
    """

    def text(name: str) -> str:
        return sent.get(name, "").strip()

    if not text("student"):
        raise InputError("whose flight is it?", where="student")
    if text("role") not in ROLES:
        raise InputError("was it dual, solo, or pilot in command? Nothing here says so.", where="who was in charge")
    if text("role") == "dual" and instructor is None:
        raise InputError("who gave the training?", where="instructor")
    wanted = {
        **sent, "route": text("route").upper().replace(",", " "), "date": "" if text("start") else text("date"),
        "corrects": corrects,
    }  # fmt: skip
    pilot = people.person_by_id(connection, text("student"))
    beside = instructor if text("role") != "solo" or of_signed else None
    return typed.flight(connection, pilot, wanted, now_utc_s=now_utc_s, instructor=beside)


def as_before(entry: FlightEntry, typed_now: Mapping[str, str], one: FlightPage) -> FlightEntry:
    """The entry with the moments and times that were not touched as they stand, to the second: the form shows minutes
    and tenths of an hour."""
    before = Filled()
    from_flight(before, one)

    def same(name: str) -> bool:
        return bool(before.values.get(name)) and typed_now.get(name, "").strip() == before.values[name]

    row = one.flight
    start = row.start_utc_s if same("start") and _same_zone(entry, one) else entry.start_utc_s
    end = row.end_utc_s if same("end") and start == row.start_utc_s else entry.end_utc_s
    times = {k: getattr(row, f"{k}_s") if k in HOURS and same(k) else v for k, v in entry.times_s.items()}
    return replace(entry, start_utc_s=start, end_utc_s=end, times_s=times)


def _same_zone(entry: FlightEntry, one: FlightPage) -> bool:
    """The times typed are meant in the zone they are shown in."""
    return ((entry.route[0].time_zone if entry.route else "") or entry.pilot.time_zone) == one.flight.time_zone


_AT = {"flight time": "total", "hours": "total", "who was in charge": "role", "flight": "start"}  # as said: the field


def at_fields(problem: object) -> dict[str, str]:
    """What is wrong with each field of the form, by its name."""
    found: dict[str, str] = {}
    for one in problem.each if isinstance(problem, InputError) else ():
        said = str(one.where)
        found.setdefault(_AT.get(said, said.replace(" ", "_")), one.problem)
    if "date" in found:  # asked for where no start is typed
        found.setdefault("start", found["date"])
    return found


LONGEST_H = 16.0  # of a flight of a light single: longer is a slip of the pen; our own choice


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
    if not recorded:
        wrong += slips(start, end, total, entry.movements)
    if wrong:
        raise InputError(wrong[0].problem, where=wrong[0].where, each=wrong)


NO_AIRPLANE = Finding(
    "not on record", "airplane", "airplane", "an entry names the airplane; without it the flight counts for little",
    "14 CFR 61.51(b)(1)(iv), FCL.050", "M",
)  # fmt: skip


def against(connection: Connection, entry: FlightEntry, start_utc_s: float | None) -> tuple[Finding, ...]:
    """What of the record forbids such a flight or is not on it, at the flight's own time; of a day alone at noon."""
    zone = entry.pilot.time_zone
    if start_utc_s is None and entry.local_date is not None:
        start_utc_s = read_moment(f"{entry.local_date} 12:00", zone or "UTC", "date")
    if start_utc_s is None:
        return ()
    length, places = entry.times_s.get("total", HOUR_S), {place.id for place in entry.route}
    asked = LessonAsked(start_utc_s, start_utc_s + length, zone, entry.role, airplane=entry.airplane,
                        passengers=entry.passengers, farthest_m=None if len(places) > 1 else 0.0)  # fmt: skip
    try:
        found = lesson_standing(
            connection, entry.pilot.id, asked, instructor_id=entry.instructor.id if entry.instructor else None
        ).findings
    except AirworkError:
        return ()
    return tuple(f for f in found if f.level in {"forbids", "not on record"})


def choices(connection: Connection) -> dict[str, Any]:
    """Airplanes to choose from."""
    return {"planes": [(a.registration, f"{a.registration}, {a.make_model}") for a in fleet.airplanes(connection)]}
