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

from airwork.errors import InputError
from airwork.logbook import fleet, people, typed
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import moving_s, place_of
from airwork.logbook.pages import FlightPage
from airwork.logbook.records import Person, Role, hours
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
        "total": "" if seconds is None else hours(seconds) or "0.0",
        "route": " ".join(p.ident for p in route), "airplane": only.registration if only else "",
    }  # fmt: skip


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

    lacks = []
    if not text("student"):
        lacks.append(InputError("whose flight is it?", where="student"))
    if text("role") not in ROLES:
        asked = "was it dual, solo, or pilot in command? Nothing here says so."
        lacks.append(InputError(asked, where="who was in charge"))
    if text("role") == "dual" and instructor is None:
        lacks.append(InputError("who gave the training?", where="instructor"))
    if lacks:
        raise InputError(lacks[0].problem, where=lacks[0].where, each=lacks)
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


# what a complaint is about, as said: the field. The hours of a kind are the kind's.
_AT = {"flight time": "total", "hours": "total", "total hours": "total", "who was in charge": "role", "flight": "start"}


def at_fields(problem: object) -> dict[str, str]:
    """What is wrong with each field of the form, by its name."""
    found: dict[str, str] = {}
    for one in problem.each if isinstance(problem, InputError) else ():
        said = str(one.where)
        found.setdefault(_AT.get(said, said.removesuffix(" hours").replace(" ", "_")), one.problem)
    if "date" in found:  # asked for where no start is typed
        found.setdefault("start", found["date"])
    return found


def choices(connection: Connection) -> dict[str, Any]:
    """Airplanes to choose from."""
    return {"planes": [(a.registration, f"{a.registration}, {a.make_model}") for a in fleet.airplanes(connection)]}
