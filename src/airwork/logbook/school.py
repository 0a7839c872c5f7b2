"""What a chief instructor looks at in the morning: who is due, what runs out, what is unsigned, who is stuck."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_date
from airwork.logbook.flights import counts, waits
from airwork.logbook.held import Validity, running_out
from airwork.logbook.keeping import holdings
from airwork.logbook.pages import students
from airwork.logbook.people import people
from airwork.logbook.progress import StudentProgress
from airwork.logbook.records import Person
from airwork.logbook.schema import flight, person
from airwork.logbook.thresholds import thresholds
from airwork.logbook.worked_out import progress_in_brief

DUE_DAYS = 14  # without a flight and without a lesson planned: our own choice; skills fade within weeks


@dataclass(frozen=True, slots=True)
class Due:
    """A student. days : since the last flight, None before the first. planned : the next lesson's day, "" for none.

    stuck : tasks that don't come on, with why.
    """

    student: Person
    last_flown: date | None
    days: int | None
    planned: str
    next_up: str
    stuck: tuple[tuple[str, str], ...]

    @property
    def due(self) -> bool:
        """Nothing planned, and not flown for two weeks."""
        return not self.planned and (self.days is None or self.days >= DUE_DAYS)


@dataclass(frozen=True, slots=True)
class Unsigned:
    """Training nobody has signed."""

    flight_id: str
    day: date
    pilot_id: str
    pilot: str
    instructor: str


@dataclass(frozen=True, slots=True)
class School:
    """The whole school on a day. expiring : (person, what), soonest first.

    left : students whose progress is not worked out yet; nothing is said of their tasks.
    """

    today: date
    students: tuple[Due, ...]
    expiring: tuple[tuple[Person, Validity], ...]
    unsigned: tuple[Unsigned, ...]
    left: int = 0
    due_days: int = DUE_DAYS  # not flown for so long, and nothing planned: due


def school(
    connection: Connection, *, now_utc_s: float, planned: Mapping[str, str] = MappingProxyType({}),
    most_s: float = math.inf,
) -> School:  # fmt: skip
    """Everybody, the most urgent first.

    Parameters
    ----------
    planned : a student's name in lower case -> the day of their next lesson, from the lesson files.
    most_s : so long progress is worked out anew; the rest is `left` for another look. [s]
    """
    lines = students(connection)
    days = [(line.student, local_date(now_utc_s, line.student.time_zone)) for line in lines]
    progress = progress_in_brief(connection, days, most_s=most_s)
    found = []
    for line, (student, today) in zip(lines, days, strict=True):
        flown = None if line.last_flown is None else (today - line.last_flown).days
        their = progress.get(student.id)
        first = their.next_three[0].title if their and their.next_three else ""
        on = planned.get(student.name.casefold(), "")
        found.append(Due(student, line.last_flown, flown, on, first, tuple(_stuck(their)) if their else ()))
    found.sort(key=lambda d: (not d.due, -(d.days if d.days is not None else 0), d.student.name))
    expiring = [
        (one, v)
        for one in people(connection)
        for v in running_out(holdings(connection, one), local_date(now_utc_s, one.time_zone))
    ]
    expiring.sort(key=lambda pair: (pair[1].until or date.max, pair[0].name))
    theirs = Counter(today for _, today in days)  # the day it is where most of the students are
    today = theirs.most_common(1)[0][0] if theirs else local_date(now_utc_s, "UTC")
    left = len(days) - len(progress)
    return School(today, tuple(found), tuple(expiring), _unsigned(connection), left)


def _stuck(progress: StudentProgress) -> list[tuple[str, str]]:
    """Tasks that slipped, and those tried in as many flights as a forecast takes without one in sight."""
    enough = thresholds().forecast_flights
    out = []
    for task in progress.tasks:
        if task.status == "slipped":
            out.append((task.title, task.why))
        elif task.status == "not ready" and not task.warned and task.flights >= enough and task.forecast is None:
            why = (task.forecast_why or task.why).removeprefix("no forecast: ")
            out.append((task.title, f"not ready after {task.flights} flights: {why}"))
    return out


def _unsigned(connection: Connection) -> tuple[Unsigned, ...]:
    """Training given and not signed, oldest first."""
    f, pilot, teacher = flight.c, person.alias("pilot"), person.alias("teacher")
    rows = connection.execute(
        sa.select(f.id, f.local_date, f.pilot_id, pilot.c.name.label("pilot"), teacher.c.name.label("teacher"))
        .join(pilot, pilot.c.id == f.pilot_id)
        .join(teacher, teacher.c.id == f.instructor_id)
        .where(f.signed_utc_s.is_(None), sa.or_(sa.and_(f.dual_s > 0, counts()), waits()))
        .order_by(f.local_date, f.id)
    )
    return tuple(Unsigned(r.id, r.local_date, r.pilot_id, r.pilot, r.teacher) for r in rows)
