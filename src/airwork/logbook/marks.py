"""Three marks side by side: measured by airwork, given by the instructor, given by the student.

Instructor and student mark on the learner-centered scale for maneuvers of the FAA's Aviation Instructor's Handbook
(FAA-H-8083-9B, chapter on assessment, "collaborative assessment"). Its words are used; what they mean is put here in
our words, from memory [M]. The instructor's mark always stands: no measurement is written over it, and a later mark of
the same hand replaces an earlier one in what is shown, not in the record;
what stood under a signature is shown beside a later one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.errors import InputError
from airwork.logbook.records import Person, clean, new_id
from airwork.logbook.schema import criterion, episode, flight, mark, person

# level -> what it says, best last; "not observed" is no level of skill. Words of FAA-H-8083-9B, collaborative
# assessment; meanings from memory.
SCALE: dict[str, str] = {
    "not observed": "not done or not seen this time",
    "describe": "knows what the maneuver is and can tell its parts, but needs help to fly it",
    "explain": "understands why it is flown so, but needs help to fly it",
    "practice": "flies it with some coaching; sees and corrects most errors",
    "perform": "flies it without help to the standard; sees and corrects errors alone",
}
GivenBy = Literal["instructor", "student"]
Measured = Literal["held", "briefly out and corrected", "not held", "can't be judged"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark somebody gave.

    after_signature : of the flight; no part of what is signed. signed : what the same hand had given before that,
    under the signature: it stays in sight. flown : the day of its flight, where that was asked for.
    """

    level: str
    remark: str
    by: str  # name, "" when forgotten
    utc_s: float
    after_signature: bool = False
    signed: Mark | None = None
    flown: date | None = None

    @property
    def each(self) -> tuple[Mark, ...]:
        """This mark, and before it the one under the signature where this one was given later."""
        return (self,) if self.signed is None else (self.signed, self)


@dataclass(frozen=True, slots=True)
class TaskMarks:
    """The three marks of one task in one flight. position : of the episode; None: the task as a whole."""

    kind: str
    position: int | None
    measured: Measured | None  # the worst verdict of its criteria; None when airwork measured nothing
    missed: tuple[str, ...]  # criteria not held
    instructor: Mark | None  # the flight's own instructor's newest; another's where they gave none
    student: Mark | None
    also: tuple[Mark, ...] = ()  # the newest of each other instructor

    @property
    def stands(self) -> str:
        """What counts: the instructor's mark where there is one, else the measurement."""
        if self.instructor is not None and self.instructor.level != "not observed":
            return self.instructor.level
        return self.measured or "not marked"


def read_level(text: str) -> str:
    """A level of the scale, from a person's word for it."""
    asked = clean(text, "mark", needed=True).casefold().replace("-", " ").replace("_", " ")
    fits = [level for level in SCALE if level.startswith(asked)]
    if len(fits) != 1:
        raise InputError(f"{text!r} is no level of the scale; write one of {', '.join(SCALE)}.", where="mark")
    return fits[0]


def give_mark(  # noqa: PLR0913
    connection: Connection,
    student: Person,
    kind: str,
    level: str,
    *,
    given_by: GivenBy,
    by: Person,
    now_utc_s: float,
    flight_id: str,
    position: int | None = None,
    remark: str = "",
) -> None:
    """Write a mark down. It is added: marks before it stay in the record."""
    owner = connection.execute(sa.select(flight.c.pilot_id).where(flight.c.id == flight_id)).scalar()
    if owner != student.id:
        raise InputError(f"is no flight of {student.name}.", where=f"flight {flight_id[:8]}")
    if given_by == "student" and by.id != student.id:
        raise InputError("a student's own mark is given by the student.", where="mark")
    if given_by == "instructor" and (not by.is_instructor or by.id == student.id):
        raise InputError(f"{by.name} is not an instructor for {student.name}.", where="mark")
    if position is not None:
        found = connection.execute(
            sa.select(episode.c.kind).where(episode.c.flight_id == flight_id, episode.c.position == position)
        ).scalar()
        if found is None:
            raise InputError(f"the flight has no episode {position}.", where="mark")
        kind = found
    connection.execute(
        sa.insert(mark),
        {
            "id": new_id(),
            "student_id": student.id,
            "flight_id": flight_id,
            "kind": clean(kind, "task", needed=True, longest=48),
            "episode_position": position,
            "given_by": given_by,
            "by_id": by.id,
            "level": read_level(level),
            "remark": clean(remark, "remark"),
            "utc_s": now_utc_s,
        },
    )


_WORST: tuple[Measured, ...] = ("not held", "briefly out and corrected", "held", "can't be judged")


def worst_verdict(verdicts: Iterable[str]) -> Measured | None:
    """The verdict of a whole episode: the worst of its criteria; None without any."""
    found = set(verdicts)
    return next((verdict for verdict in _WORST if verdict in found), None)


def marks_of_flight(connection: Connection, flight_id: str) -> tuple[TaskMarks, ...]:
    """The marks of a flight: one line for each episode in order of time, then tasks marked as a whole."""
    return marks_of(connection, flight.c.id == flight_id)


def marks_of(connection: Connection, which: sa.ColumnElement[bool]) -> tuple[TaskMarks, ...]:
    """The marks of the flights a condition on `flight` picks."""
    verdicts: dict[tuple[str, int], list[tuple[str, str]]] = {}
    c, e = criterion.c, episode.c
    for flight_id, position, name, verdict in connection.execute(
        sa.select(c.flight_id, c.position, c.name, c.verdict)
        .join(flight, flight.c.id == c.flight_id)
        .where(which)
        .order_by(c.flight_id, c.position, c.number)
    ):
        verdicts.setdefault((flight_id, position), []).append((name, verdict))
    given: dict[
        tuple[str, str, int | None], dict[str, Mark]
    ] = {}  # newest last; "student", or an instructor's identity
    own: dict[str, str | None] = {}  # flight -> its instructor
    m = mark.c
    for row in connection.execute(
        sa.select(
            m.flight_id, m.kind, m.episode_position, m.given_by, m.level, m.remark, person.c.name, m.utc_s, m.by_id,
            flight.c.instructor_id, flight.c.signed_utc_s,
        )
        .join(flight, flight.c.id == m.flight_id)
        .outerjoin(person, person.c.id == m.by_id)
        .where(which)
        .order_by(m.utc_s, m.id)
    ):  # fmt: skip
        of, who = given.setdefault((row[0], row[1], row[2]), {}), "student" if row[3] == "student" else row.by_id or ""
        before, later = of.pop(who, None), row.signed_utc_s is not None and row.utc_s > row.signed_utc_s
        signed = before.signed if before is not None and before.after_signature else before
        of[who] = Mark(row.level, row.remark, row.name or "", row.utc_s, later, signed if later else None)
        own[row.flight_id] = row.instructor_id

    def by(key: tuple[str, str, int | None]) -> tuple[Mark | None, Mark | None, tuple[Mark, ...]]:
        of = given.pop(key, {})
        student, teacher = of.pop("student", None), own.get(key[0]) or ""
        first = of.pop(teacher, None) or (of.popitem()[1] if of else None)
        return first, student, tuple(of.values())

    out = []
    for flight_id, position, kind in connection.execute(
        sa.select(e.flight_id, e.position, e.kind)
        .join(flight, flight.c.id == e.flight_id)
        .where(which)
        .order_by(e.flight_id, e.position)
    ):
        rows = verdicts.get((flight_id, position), [])
        out.append(
            TaskMarks(
                kind,
                position,
                worst_verdict(v for _, v in rows),
                tuple(name for name, v in rows if v == "not held"),
                *by((flight_id, kind, position)),
            )
        )
    for flight_id, kind, place in sorted(given, key=str):
        out.append(TaskMarks(kind, place, None, (), *by((flight_id, kind, place))))
    return tuple(out)
