"""A logbook entry as a form: filled from recording, lesson and log-in, and asking what none of them knows.

Who was in charge (dual, solo, in command) is never taken for granted: filled where the lesson says so, else asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from fastapi import Request
from sqlalchemy import Connection

from airwork.days import local_date, read_moment
from airwork.errors import AirworkError, InputError
from airwork.jobs.entering import TENTH_S
from airwork.logbook import fleet, people, typed
from airwork.logbook.debrief_json import read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import moving_s, place_of
from airwork.logbook.pages import FlightPage, lesson_standing
from airwork.logbook.records import HOUR_S, Person, Role, hours
from airwork.logbook.standing import Finding, LessonAsked
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


def start_of(asking: Request, about: About) -> float | None:
    """When the recorded flight began, where its recording says so. [s since 1970 UTC]"""
    return read_debrief(asking.app.state.desk.debrief(about).as_json()).start_utc_s


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


LONGEST_H = 16.0  # of a flight of a light single: longer is a slip of the pen; our own choice


def require_possible(entry: FlightEntry, now_utc_s: float) -> None:
    """A day that has been, in the student's life, and no more hours than a light single flies on end.

    Raises
    ------
    InputError : it isn't.
    """
    start, end, day = entry.start_utc_s, entry.end_utc_s, entry.local_date
    if start is not None:
        day = local_date(start, (entry.route[0].time_zone if entry.route else "") or entry.pilot.time_zone)
    if day is not None and day > local_date(now_utc_s, "Pacific/Kiritimati"):  # where a day begins first
        raise InputError(f"{day} is still to come.", where="date")
    if day is not None and entry.pilot.born_on is not None and day <= entry.pilot.born_on:
        raise InputError(f"{day} is before {entry.pilot.name} was born.", where="date")
    if entry.times_s.get("total", 0.0) > LONGEST_H * HOUR_S:
        total_h = entry.times_s["total"] / HOUR_S
        raise InputError(f"found {total_h:.0f} h, more than a light single flies.", where="total")
    if start is not None and end is not None and end - start > LONGEST_H * HOUR_S:
        raise InputError(f"{(end - start) / HOUR_S:.0f} h after the start: is it the right day and hour?", where="end")


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
