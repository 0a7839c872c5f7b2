"""What the logbook says of a lesson file: reasons for its verdict, ready for `build_briefing(currency=…)`."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from sqlalchemy import Connection

from airwork.airplane.file.load import identity_of
from airwork.errors import InputError
from airwork.lesson.area import farthest_m
from airwork.lesson.cautions import cautions_for
from airwork.lesson.lesson import Lesson
from airwork.lesson.verdict import Reason
from airwork.logbook import fleet, people
from airwork.logbook.pages import lesson_standing
from airwork.logbook.records import AirplaneEntry, Person
from airwork.logbook.standing import LessonAsked

LENGTH_S = 2.0 * 3600.0  # taken for the flight's length where none is known yet: long enough to reach the dark


def lesson_reasons(
    connection: Connection, lesson: Lesson, *, length_s: float = LENGTH_S,
    training_planned: Sequence[tuple[float, float]] = (),
) -> tuple[Reason, ...]:  # fmt: skip
    """The record held against a lesson: endorsements, medicals, recency, the instructor's day.

    People and airplane are found by the names in the lesson file; who or what is not in the logbook is said, and what
    depends on it is "not checked" or "unknown", never good. training_planned : start and end of the instructor's other
    lessons that are planned and not flown yet. [s since 1970 UTC]
    """
    said: list[Reason] = []
    student = _person(connection, lesson.student.name, said)
    if student is None:
        return tuple(said)
    teacher = None
    if lesson.instructor is not None and not lesson.student.solo:
        teacher = _person(connection, lesson.instructor.name, said, instructor=True)
    airplane = _airplane(connection, lesson)
    if airplane is None:
        text = f"{lesson.airplane_path.stem} is not in the logbook; what depends on make, model and class is not shown"
        said.append(Reason("record: airplane", "unknown", text))
    asked = LessonAsked(
        start_utc_s=lesson.start_utc_s,
        end_utc_s=lesson.start_utc_s + length_s,
        time_zone=lesson.zone,
        role="solo" if lesson.student.solo else "dual",
        airplane=airplane,
        passengers=sum(1 for load in lesson.loads if load.role == "passenger"),
        farthest_m=farthest_m(lesson),
        position_rad=(lesson.place.latitude_rad, lesson.place.longitude_rad),
        cautions=cautions_for(lesson.student.solo, lesson.school.cautions, {}, lesson.student.cautions),
    )
    found = lesson_standing(
        connection, student.id, asked, instructor_id=teacher.id if teacher else None, training_planned=training_planned
    )
    return (*found.reasons, *said)


def _person(connection: Connection, name: str, said: list[Reason], *, instructor: bool = False) -> Person | None:
    try:
        return people.find_person(connection, name, instructor=instructor)
    except InputError:
        said.append(Reason("record", "unknown", f"{name} is not in the logbook: currency and endorsements not shown"))
        return None


def _airplane(connection: Connection, lesson: Lesson) -> AirplaneEntry | None:
    """The entry of the lesson's airplane file; of several of one kind the first, which the rules can't tell apart."""
    name = _airplane_id(lesson.airplane_path)
    return next((a for a in fleet.airplanes(connection) if a.airplane_file == name), None)


def _airplane_id(path: Path) -> str:
    """The id an airplane file gives itself, whatever the file is called; its name where it can't be read."""
    try:
        return _read_id(path, path.stat().st_mtime_ns)
    except OSError:
        return path.stem


@lru_cache(maxsize=64)
def _read_id(path: Path, _changed_ns: int) -> str:
    """Read once for each state of the file: a page asks at every key that is pressed."""
    try:
        return str(identity_of(path.read_text(encoding="utf-8-sig")).get("id") or path.stem)
    except (OSError, ValueError):
        return path.stem
