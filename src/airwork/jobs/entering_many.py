"""Many debriefed recordings into the logbook: each flight once, even where the run is killed or a file is a copy.

Who flew is settled before anything is read: as told for all of them, else by the lesson beside the recording
(`NAME.toml` for `NAME.csv`), else by a folder called by a student's whole name. What is judged lies beside the logbook,
in `debriefed/`; workers judge, and this process alone writes the logbook, one flight, one transaction.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import sqlalchemy as sa

from airwork.airplane import find_airplane_file
from airwork.errors import AirworkError, InputError
from airwork.jobs import many
from airwork.jobs.entering import enter_flight
from airwork.jobs.files import airplane_file_of, lesson_beside
from airwork.jobs.verdict_tables import write_tables
from airwork.logbook import fleet, people
from airwork.logbook.debrief_json import read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.recordings import Packing
from airwork.logbook.records import AirplaneEntry, Person, Role
from airwork.logbook.schema import flight
from airwork.logbook.store import FILE_NAME, Store, default_path

ENDINGS = {".sqlite", ".sqlite3", ".db"}


@dataclass(frozen=True, slots=True)
class WhoFlew:
    """Who flew, in what. standard : "" for the one the pilot aims at; file : the airplane's, "" for none."""

    pilot: Person
    role: Role
    instructor: Person | None = None
    airplane: AirplaneEntry | None = None
    standard: str = ""
    file: str = ""
    title: str = ""


def is_logbook(into: str) -> bool:
    """A server's address, a logbook's file, or a folder that has one."""
    path = Path(into).expanduser()
    return "://" in into or path.is_file() or path.suffix in ENDINGS or (path / FILE_NAME).is_file()


def results_of(store: Store) -> Path:
    """Where what was judged of this logbook's flights is kept."""
    return ((store.path or default_path()).resolve().parent / "debriefed").absolute()


def who_flew(
    store: Store, paths: Iterable[Path], *, student: str = "", instructor: str = "", role: Role | None = None,
    airplane: str = "", standard: str = "",
) -> tuple[dict[Path, WhoFlew], list[many.Outcome]]:  # fmt: skip
    """Who flew each recording, and those of which it isn't known.

    Parameters
    ----------
    student, instructor : names as entered, of all of them. airplane : a registration, or an airplane file or its id.

    Raises
    ------
    InputError : a name or airplane told for all that isn't entered, no such file.
    """
    found: dict[Path, WhoFlew] = {}
    unknown: list[many.Outcome] = []
    files: dict[tuple[str, Path], str] = {}
    with store.read() as connection:
        planes, everybody = fleet.airplanes(connection), {p.name: p for p in people.people(connection)}
        pilot = people.find_person(connection, student) if student else None
        teacher = people.find_person(connection, instructor, instructor=True) if instructor else None
    plane = fleet.named(planes, airplane)
    told = WhoFlew(pilot or Person("", ""), role or "dual", teacher, plane, standard)
    if airplane and plane is None:
        told = replace(told, file=str(find_airplane_file(airplane).resolve()))
    for path in paths:
        try:
            one = _from_lesson(told, path, planes, everybody, named=pilot is not None)
            if not one.pilot.id:
                one = replace(one, pilot=_of_folder(path, everybody))
            if one.instructor is None and one.role == "dual":
                raise InputError("say who was in charge: --instructor NAME, or --role solo or pic.", where="role")
            if one.airplane is not None and not one.file:
                key = (one.airplane.airplane_file, path.parent)
                if key not in files:
                    beside = airplane_file_of(*key, results_of(store).parent)
                    files[key] = str(find_airplane_file(str(beside)).resolve()) if beside else ""
                one = replace(one, file=files[key])
            found[path] = replace(one, standard=one.standard or one.pilot.certificate_aimed)
        except AirworkError as problem:
            unknown.append(many.Outcome(str(path), "", " ".join(str(problem).split())))
    return found, unknown


def _from_lesson(
    told: WhoFlew, path: Path, planes: tuple[AirplaneEntry, ...], everybody: Mapping[str, Person], *, named: bool
) -> WhoFlew:
    """What the lesson beside the recording says, where it isn't told for all."""
    lesson = lesson_beside(path)
    if lesson is None:
        return told
    pilot = told.pilot if named else _entered(everybody, lesson.student.name)
    teacher = told.instructor
    if teacher is None and lesson.instructor is not None and not lesson.student.solo:
        teacher = _entered(everybody, lesson.instructor.name)
    plane, file = told.airplane, told.file
    if plane is None and not file:
        of_it = [a for a in planes if a.airplane_file == lesson.airplane_path.stem]
        plane, file = of_it[0] if len(of_it) == 1 else None, str(lesson.airplane_path)
    role: Role = "solo" if lesson.student.solo and told.instructor is None else told.role
    return replace(told, pilot=pilot, instructor=teacher, airplane=plane, role=role, file=file,
                   title=lesson.title)  # fmt: skip


def _entered(everybody: Mapping[str, Person], name: str) -> Person:
    found = next((p for n, p in everybody.items() if n.casefold() == name.strip().casefold()), None)
    if found is None:
        raise InputError(f"its lesson names {name!r}, who isn't in the logbook.", where="lesson")
    return found


def _of_folder(path: Path, everybody: Mapping[str, Person]) -> Person:
    names = {name.casefold(): p for name, p in everybody.items() if p.is_student}
    found = next((names[part.casefold()] for part in reversed(path.parent.parts) if part.casefold() in names), None)
    if found is None:
        raise InputError(
            "whose flight is it? Say --student NAME, put it in a folder called by the student's whole name, or a "
            f"lesson beside it ({path.name.split('.')[0]}.toml).", where="student",
        )  # fmt: skip
    return found


Work = Callable[[list[Path], many.Order], Iterator[many.Outcome]]


def judged(flown: Mapping[Path, WhoFlew], into: Path, work: Work) -> Iterator[tuple[many.Order, many.Outcome]]:
    """All recordings, by standard and airplane file; `work` judges some under one order."""
    orders: dict[many.Order, list[Path]] = {}
    for path, one in flown.items():
        orders.setdefault(many.Order(str(into), one.file, one.standard), []).append(path)
    for order, paths in orders.items():
        for outcome in work(paths, order):
            yield order, outcome


def enter_many(
    store: Store, outcomes: Iterable[tuple[many.Order, many.Outcome]], flown: Mapping[Path, WhoFlew]
) -> Iterator[many.Outcome]:
    """Enter each flight that is judged, as it comes; the same outcomes, with what became of them in the logbook.

    One that can't be entered is an outcome with a problem, the others go on.
    """
    there = _entered_already(store)
    for order, outcome in outcomes:
        who = flown[Path(outcome.path)]
        pilot = there.get(outcome.sha256)
        if outcome.problem:
            yield outcome
        elif pilot is not None:
            other = "" if pilot == who.pilot.id else "this recording is in the logbook as somebody else's flight"
            yield replace(outcome, problem=other)
        else:
            try:
                _enter(store, order, outcome, who)
                there[outcome.sha256] = who.pilot.id
                yield replace(outcome, entered=True)
            except AirworkError as problem:
                yield replace(outcome, problem=f"judged, not entered: {' '.join(str(problem).split())}")


def _entered_already(store: Store) -> dict[str, str | None]:
    with store.read() as connection:
        rows = connection.execute(sa.select(flight.c.recording_sha256, flight.c.pilot_id))
        return {row.recording_sha256: row.pilot_id or "" for row in rows if row.recording_sha256}


def _enter(store: Store, order: many.Order, outcome: many.Outcome, who: WhoFlew) -> None:
    into, path = Path(order.into), Path(outcome.path)
    clean = many.kept_flight(into, outcome.sha256)
    facts = read_debrief(many.verdict_path(order, outcome.sha256).read_bytes(), path.name)
    plane = who.airplane
    if plane is None:
        with store.read() as connection:
            named = "" if clean is None else str(clean.source.get("aircraft", ""))
            plane = fleet.named(fleet.airplanes(connection), named) or fleet.airplane_of(connection, facts.airplane)
    packing = Packing(path.read_bytes(), path.name)
    if clean is not None:
        packing.was_read(clean)
    about = FlightEntry(who.pilot, who.role, instructor=who.instructor, airplane=plane, remarks=who.title)
    enter_flight(facts, about, logbook=store, recording=packing, clean=clean)


def tidy(store: Store) -> int:
    """Take out what was judged of recordings that are no longer in the logbook; returns how many."""
    into = results_of(store)
    gone = set(many.kept(into)) - set(_entered_already(store))
    for sha256 in gone:
        many.forget(into, sha256)
    if gone:
        write_tables(into)
    return len(gone)
