"""What a page, a table or a print of the logbook shows, as frozen records: one function for each, no drawing.

Who may see what is the face's business; the core only leaves instructors' notes out unless they are asked for.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_date
from airwork.errors import InputError
from airwork.logbook.attempts import attempts_of, newest_marks, said_first, wanted_tasks
from airwork.logbook.experience import LoggedFlight, Progress, progress_to
from airwork.logbook.flights import counts, flight_by_id, flights_of, logged_flights, training_given, waits
from airwork.logbook.held import Validity, running_out
from airwork.logbook.keeping import holdings
from airwork.logbook.marks import TaskMarks, marks_of_flight
from airwork.logbook.people import person_by_id
from airwork.logbook.progress import StudentProgress, progress
from airwork.logbook.recency import Recent, movements_total, recent
from airwork.logbook.records import TIMES, AirplaneEntry, FlightRow, Movement, Person, Place, record
from airwork.logbook.rules import Rules, load_rules
from airwork.logbook.schema import airplane, debrief, episode, flight, note, person, place, recording, stop
from airwork.logbook.seal import Seal, seal_of, seals_of
from airwork.logbook.standing import LessonAsked, Standing, standing
from airwork.logbook.thresholds import Thresholds

if TYPE_CHECKING:
    from airwork.standards.model import Standard


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over flights: seconds by kind of time, and movements."""

    times_s: tuple[tuple[str, float], ...]
    flights: int
    takeoffs: int
    landings: int
    landings_night: int

    def time_s(self, kind: str) -> float:
        """Time of one kind. [s]"""
        return dict(self.times_s)[kind]


@dataclass(frozen=True, slots=True)
class FlightLine:
    logged: LoggedFlight
    instructor: str
    route: tuple[str, ...]
    tasks: tuple[str, ...]  # kinds flown, in order
    signed: Seal
    note: str  # what it corrects, and that it waits for its signature

    @property
    def way(self) -> str:
        """The route in a cell: HOME–NEAR–HOME, one place alone once."""
        return "–".join(self.route) if len(set(self.route)) > 1 else self.route[0] if self.route else ""


@dataclass(frozen=True, slots=True)
class NoteLine:
    id: str
    words: str
    by: str
    utc_s: float
    flight_id: str | None
    for_instructors: bool
    by_id: str | None = None


@dataclass(frozen=True, slots=True)
class StudentPage:
    """Everything an instructor wants to see of a student before a lesson."""

    student: Person
    today: date
    totals: Totals
    flights: tuple[FlightLine, ...]  # newest first
    left: tuple[Progress, ...]
    aimed_title: str  # "" when the rules file has no requirements for what is aimed at
    rules: Rules
    holdings: tuple[Validity, ...]
    running_out: tuple[Validity, ...]
    recent: tuple[Recent, ...]
    progress: StudentProgress
    notes: tuple[NoteLine, ...]


@dataclass(frozen=True, slots=True)
class StudentLine:
    student: Person
    flights: int
    total_s: float
    last_flown: date | None


@dataclass(frozen=True, slots=True)
class FlightPage:
    """One flight with its debrief and marks."""

    flight: FlightRow
    pilot: str
    instructor: str
    airplane: AirplaneEntry | None
    route: tuple[Place, ...]
    movements: tuple[Movement, ...]
    marks: tuple[TaskMarks, ...]
    debrief: dict[str, Any] | None
    standard: str
    program_version: str
    seal: Seal
    corrected_by: str  # the later entry that puts it right, "" without one
    counts: bool  # no signed later entry counts in its place, and it is no correction that waits for its signature
    recording_kept: bool
    notes: tuple[NoteLine, ...]

    @property
    def signed(self) -> str:
        """By whom and on which day, there; "not signed" where no signature stands that can be verified."""
        if self.seal.state != "sealed":
            return "not signed"
        day = "" if self.seal.utc_s is None else f" on {local_date(self.seal.utc_s, self.flight.time_zone)}"
        return f"signed{f' by {self.seal.by}' if self.seal.by else ''}{day}"

    @property
    def told(self) -> dict[int, str]:
        """Position of a maneuver → what an instructor said of its grading, with who said it."""
        episodes = () if self.debrief is None else self.debrief.get("episodes", ())
        return {k: "; ".join(e["said"]) for k, e in enumerate(episodes) if e.get("said")}


def students(connection: Connection) -> tuple[StudentLine, ...]:
    """Every student with hours and the last flight, by name."""
    f = flight.c
    n, total, last = sa.func.count(), sa.func.sum(f.total_s), sa.func.max(f.local_date)
    flown = sa.select(f.pilot_id, n.label("n"), total.label("total"), last.label("last")).where(counts())
    sums = flown.group_by(f.pilot_id).subquery()
    rows = connection.execute(
        sa.select(person, sums.c.n, sums.c.total, sums.c.last)
        .outerjoin(sums, sums.c.pilot_id == person.c.id)
        .where(person.c.is_student)
        .order_by(sa.func.lower(person.c.name))
    )
    return tuple(StudentLine(record(Person, r), int(r.n or 0), float(r.total or 0.0), r.last) for r in rows)


def student_page(
    connection: Connection,
    student_id: str,
    *,
    now_utc_s: float,
    test_on: date | None = None,
    newest: int | None = 20,
    instructor_notes: bool = True,
) -> StudentPage:
    """A student's page.

    Parameters
    ----------
    test_on : planned date of the practical test; today when not given.
    newest : how many flights to list, None for all; hours, requirements and progress always count all.
    """
    student = person_by_id(connection, student_id)
    today = local_date(now_utc_s, student.time_zone)
    rules = load_rules(student.authority)
    flown = flights_of(connection, student.id)
    held = holdings(connection, student)
    last_plane = next((one.airplane for one in reversed(flown) if one.airplane), None)
    return StudentPage(
        student=student,
        today=today,
        totals=totals(flown),
        flights=flight_lines(connection, student.id, newest=newest, waiting=True),
        left=left_to_fly(student, rules, flown, held, test_on or today),
        aimed_title=rules.authority.certificates.get(student.certificate_aimed, ""),
        rules=rules,
        holdings=held,
        running_out=running_out(held, today),
        recent=tuple(recent(rule, flown, today, last_plane) for rule in rules.recency),
        progress=progress_of(connection, student, today),
        notes=notes_about(connection, student.id, instructor_notes=instructor_notes),
    )


def left_to_fly(
    student: Person, rules: Rules, flown: Sequence[LoggedFlight], held: Sequence[Validity], test_on: date
) -> tuple[Progress, ...]:
    """The experience asked for what a student aims at, held against their flights."""
    issued = {h.held.kind.rsplit(".", 1)[1]: h.held.on_date for h in reversed(held) if ".certificate." in h.held.kind}
    return progress_to(
        rules.for_certificate(student.certificate_aimed), flown, test_on=test_on, certificate_dates=issued
    )


def progress_of(
    connection: Connection, student: Person, today: date, *, limits: Thresholds | None = None
) -> StudentProgress:
    """Where a student stands with each task of the standard aimed at."""
    standard = standard_of(student)
    return progress(
        attempts_of(connection, student.id, standard),
        newest_marks(connection, student.id),
        wanted_tasks(standard),
        standard=standard.title if standard else student.certificate_aimed,
        today=today,
        limits=limits,
        warned=said_first(connection, student.id),
    )


def standard_of(student: Person) -> Standard | None:
    """The standard a student aims at; None when there is no file for it."""
    from airwork.standards import load_standard

    try:
        return load_standard(student.certificate_aimed)
    except InputError:
        return None


def lesson_standing(
    connection: Connection,
    student_id: str,
    lesson: LessonAsked,
    *,
    instructor_id: str | None = None,
    training_planned: Sequence[tuple[float, float]] = (),
) -> Standing:
    """What the record says of a lesson: what forbids it, what is not on record, what runs out.

    training_planned : start and end of the instructor's other planned lessons, which count beside the training given.
    """
    pilot = person_by_id(connection, student_id)
    teacher = person_by_id(connection, instructor_id) if instructor_id else None
    zone = lesson.time_zone
    return standing(
        pilot,
        teacher,
        lesson,
        load_rules(pilot.authority),
        pilot_holds=holdings(connection, pilot),
        instructor_holds=holdings(connection, teacher) if teacher else (),
        pilot_flights=flights_of(connection, pilot.id),
        training_given=(*training_given(connection, teacher.id, lesson.start_utc_s, zone), *training_planned)
        if teacher
        else (),
        instructor_flights=flights_of(connection, teacher.id) if teacher and lesson.passengers else (),
    )


def flight_page(connection: Connection, flight_id: str, *, instructor_notes: bool = True) -> FlightPage:
    """A flight's page; `flight_id` may be the first characters of it."""
    from airwork.standards import available

    row = flight_by_id(connection, flight_id)
    logged = logged_flights(connection, flight.c.id == row.id)[0]
    names = _names(connection, [i for i in (row.pilot_id, row.instructor_id) if i])
    about = connection.execute(sa.select(debrief).where(debrief.c.flight_id == row.id)).first()
    route = connection.execute(
        sa.select(place)
        .join(stop, stop.c.place_id == place.c.id)
        .where(stop.c.flight_id == row.id)
        .order_by(stop.c.position)
    )
    kept = connection.execute(sa.select(recording.c.sha256).where(recording.c.sha256 == row.recording_sha256)).first()
    called = "" if about is None else available().get(about.standard_name, about.standard_name)
    return FlightPage(
        flight=row,
        pilot=names.get(row.pilot_id or "", ""),
        instructor=names.get(row.instructor_id or "", ""),
        airplane=logged.airplane,
        route=tuple(record(Place, r) for r in route),
        movements=logged.movements,
        marks=marks_of_flight(connection, row.id),
        debrief=json.loads(about.debrief_json) if about else None,
        standard="" if about is None else ", ".join(filter(None, (called, about.standard_edition))),
        program_version=about.program_version if about else "",
        seal=seal_of(connection, "flight", row.id),
        corrected_by=connection.execute(sa.select(flight.c.id).where(flight.c.corrects_id == row.id)).scalar() or "",
        counts=connection.execute(sa.select(flight.c.id).where(flight.c.id == row.id, counts())).first() is not None,
        recording_kept=kept is not None,
        notes=notes_about(connection, row.id, instructor_notes=instructor_notes),
    )


def flight_lines(
    connection: Connection, pilot_id: str, *, newest: int | None = None, waiting: bool = False
) -> tuple[FlightLine, ...]:
    """A pilot's flights that count as a list, newest first. waiting : corrections that aren't signed yet too."""
    which = sa.or_(counts(), waits()) if waiting else counts()
    flown = logged_flights(connection, sa.and_(flight.c.pilot_id == pilot_id, which))[::-1]
    return _lines(connection, flown if newest is None else flown[:newest])


def totals(flown: Sequence[LoggedFlight]) -> Totals:
    """Sums over flights."""
    moves = [m for one in flown for m in one.movements]
    return Totals(
        times_s=tuple((kind, sum(float(getattr(one.flight, f"{kind}_s")) for one in flown)) for kind in TIMES),
        flights=len(flown),
        takeoffs=movements_total(moves, "takeoff"),
        landings=movements_total(moves, "landing"),
        landings_night=sum(m.number for m in moves if m.what == "landing" and m.night),
    )


def _lines(connection: Connection, flown: Sequence[LoggedFlight]) -> tuple[FlightLine, ...]:
    ids = [one.flight.id for one in flown]
    teachers = {one.flight.instructor_id for one in flown if one.flight.instructor_id}
    names = _names(connection, teachers)
    routes: dict[str, list[str]] = {}
    for flight_id, ident in connection.execute(
        sa.select(stop.c.flight_id, place.c.ident)
        .join(place, place.c.id == stop.c.place_id)
        .where(stop.c.flight_id.in_(ids))
        .order_by(stop.c.flight_id, stop.c.position)
    ):
        routes.setdefault(flight_id, []).append(ident)
    seals = seals_of(connection, "flight", list(ids))
    old = {one.flight.corrects_id for one in flown if one.flight.corrects_id}
    hours = {r.id: r.total_s / 3600.0 for r in connection.execute(sa.select(flight).where(flight.c.id.in_(old)))}
    tasks: dict[str, list[str]] = {}
    for flight_id, kind in connection.execute(
        sa.select(episode.c.flight_id, episode.c.kind)
        .where(episode.c.flight_id.in_(ids))
        .order_by(episode.c.flight_id, episode.c.position)
    ):
        tasks.setdefault(flight_id, []).append(kind)
    return tuple(
        FlightLine(
            one,
            names.get(one.flight.instructor_id or "", ""),
            tuple(routes.get(one.flight.id, ())),
            tuple(dict.fromkeys(tasks.get(one.flight.id, ()))),
            seals[one.flight.id],
            _corrects(one.flight.corrects_id, hours, seals[one.flight.id]),
        )
        for one in flown
    )


def _corrects(old: str | None, hours: Mapping[str, float], seal: Seal) -> str:
    """What a correction puts right, and that it waits; "" for any other flight."""
    if old is None or old not in hours:
        return ""
    said = f"corrects {old[:8]}, signed {hours[old]:.1f} h"
    return said if seal.state == "sealed" else f"{said}; doesn't count until it is signed"


def _names(connection: Connection, ids: Collection[str]) -> dict[str, str]:
    rows = connection.execute(sa.select(person.c.id, person.c.name).where(person.c.id.in_(ids)))
    return {str(row.id): str(row.name) for row in rows}


def notes_about(connection: Connection, identity: str, *, instructor_notes: bool) -> tuple[NoteLine, ...]:
    """The notes about somebody or about a flight, newest first."""
    query = (
        sa.select(note, person.c.name.label("by_name"))
        .outerjoin(person, person.c.id == note.c.by_id)
        .where(sa.or_(note.c.person_id == identity, note.c.flight_id == identity))
        .order_by(note.c.utc_s.desc(), note.c.id)
    )
    if not instructor_notes:
        query = query.where(note.c.for_instructors.is_(False))
    return tuple(
        NoteLine(r.id, r.words, r.by_name or "", r.utc_s, r.flight_id, r.for_instructors, r.by_id)
        for r in connection.execute(query)
    )


def airplane_lines(connection: Connection) -> tuple[tuple[AirplaneEntry, int, float], ...]:
    """Every airplane with its number of flights and hours. [s]"""
    f = flight.c
    rows = connection.execute(
        sa.select(
            airplane, sa.func.count(f.id).label("n"), sa.func.coalesce(sa.func.sum(f.total_s), 0.0).label("total")
        )
        .select_from(airplane.outerjoin(flight, sa.and_(f.airplane_id == airplane.c.id, counts())))
        .group_by(airplane.c.id)
        .order_by(airplane.c.registration)
    )
    return tuple((record(AirplaneEntry, r), int(r.n), float(r.total)) for r in rows)
