"""Forgetting a student: all of it goes, but for what the law makes their instructors keep, and that only so long."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from datetime import date

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_date, plus_years
from airwork.errors import InputError
from airwork.logbook import history
from airwork.logbook.held import ENDS
from airwork.logbook.recordings import drop_unused
from airwork.logbook.records import Person
from airwork.logbook.rules import load_rules
from airwork.logbook.schema import (
    WHOSE,
    dated,
    debrief,
    endorsement,
    episode,
    flight,
    lesson,
    mark,
    note,
    person,
    removed,
    signature,
)
from airwork.logbook.store import Store


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What went and what stays. keep_until : None when nothing had to be kept."""

    flights_removed: int
    flights_without_name: int  # the instructors' own time, kept without the student
    recordings_removed: int
    endorsements_kept: int
    keep_until: date | None
    why: str
    cleared: bool = True  # False: another program had the logbook open, its journal is cleared when that has closed


def forget_student(store: Store, student: Person, *, now_utc_s: float) -> Forgotten:
    """Take a student out of the logbook.

    Flights with an instructor stay as the instructor's time, without name, remarks, recording or debrief; the student's
    own go. Endorsements the instructor must keep stay with the name until the time is over, then go with the next call
    of `drop_kept`. Their identity is remembered so that a merge with an older logbook doesn't bring them back.

    Raises
    ------
    InputError : somebody who is an instructor on others' records can't be forgotten.
    """
    with store.change() as connection:
        drop_kept(connection, today=local_date(now_utc_s, student.time_zone))
        if not student.is_student or student.is_instructor or _signs_for_others(connection, student):
            raise InputError(
                f"{student.name} stands as an instructor on other people's records, which must stay whole.",
                where="forget",
            )
        done = _forget(connection, student, now_utc_s)
    return replace(done, cleared=compact(store))


def _signs_for_others(connection: Connection, student: Person) -> bool:
    asked = (
        (endorsement.c.instructor_id, endorsement),
        (flight.c.instructor_id, flight),
        (flight.c.signed_by_id, flight),
    )
    return any(
        connection.execute(sa.select(sa.literal(1)).select_from(table).where(column == student.id).limit(1)).first()
        for column, table in asked
    )


def _forget(connection: Connection, student: Person, now_utc_s: float) -> Forgotten:
    today = local_date(now_utc_s, student.time_zone)
    mine = flight.c.pilot_id == student.id
    mine_ids = sa.select(flight.c.id).where(mine)
    _take_words_out(connection, student, mine)
    connection.exec_driver_sql("DROP TABLE IF EXISTS worked_out")  # of progress, as an earlier airwork kept it
    for table in (mark, note, dated):
        connection.execute(sa.delete(table).where(table.c[WHOSE[table]] == student.id))
    connection.execute(sa.delete(debrief).where(debrief.c.flight_id.in_(mine_ids)))
    connection.execute(sa.delete(episode).where(episode.c.flight_id.in_(mine_ids)))
    with_instructor = sa.and_(mine, flight.c.instructor_id.is_not(None), flight.c.dual_s > 0)
    unnamed = connection.execute(
        sa.update(flight)
        .where(with_instructor)
        .values(
            pilot_id=None, remarks="", recording_sha256="", lesson_id=None, passengers=0, source="typed",
            changed_utc_s=now_utc_s,
        )
    ).rowcount  # fmt: skip
    gone = connection.execute(sa.delete(flight).where(mine)).rowcount
    connection.execute(sa.delete(lesson).where(lesson.c.student_id == student.id))
    recordings = drop_unused(connection)
    kept, until, why = _keep_what_must_be(connection, student, today)
    connection.execute(
        sa.insert(removed), {"id": student.id, "what": "person", "utc_s": now_utc_s, "keep_until": until}
    )
    if kept:
        connection.execute(
            sa.update(person)
            .where(person.c.id == student.id)
            .values(
                is_student=False, born_on=None, contact="", certificate_number="", certificate_held="",
                certificate_aimed="", changed_utc_s=now_utc_s,
            )
        )  # fmt: skip
    else:
        connection.execute(sa.delete(person).where(person.c.id == student.id))
    return Forgotten(gone, unnamed, recordings, kept, until, why)


def _take_words_out(connection: Connection, student: Person, mine: sa.ColumnElement[bool]) -> None:
    """Out of the history and of what was signed: that it was, and its hash, stays."""
    flights = [str(row[0]) for row in connection.execute(sa.select(flight.c.id).where(mine))]
    history.forget(connection, "person", [student.id])
    history.forget(connection, "flight", flights)
    signed = list(flights)
    for table, column in WHOSE.items():
        mine_too = sa.select(table.c.id).where(table.c[column] == student.id)
        ids = [str(row[0]) for row in connection.execute(mine_too)] if table is not flight else []
        history.forget(connection, table.name, ids)
        signed += ids if table is endorsement else []
    s = signature.c
    for first in range(0, len(signed), 400):
        some = s.thing_id.in_(signed[first : first + 400])
        connection.execute(sa.update(signature).where(some).values(form_json=None))


def _keep_what_must_be(connection: Connection, student: Person, today: date) -> tuple[int, date | None, str]:
    """Endorsements that must be kept stay, the others go; how many stay, to when, and under which rule."""
    rules = load_rules(student.authority)
    if not rules.record_keeping:
        connection.execute(sa.delete(endorsement).where(endorsement.c.student_id == student.id))
        return 0, None, ""
    rule = max(rules.record_keeping, key=lambda r: r.years)
    kept_kinds = {kind.id for kind in rules.held if kind.keep}
    kept, until = 0, None
    rows = connection.execute(sa.select(endorsement).where(endorsement.c.student_id == student.id)).all()
    kinds = {row.id: row.kind for row in rows}
    for row in rows:  # what ended one stays with it
        last = plus_years(row.given_on, rule.years)
        if kinds.get(row.kind.removeprefix(ENDS), row.kind) in kept_kinds and last >= today:
            kept += 1
            until = last if until is None else max(until, last)
            connection.execute(sa.update(endorsement).where(endorsement.c.id == row.id).values(words=""))
        else:
            connection.execute(sa.delete(endorsement).where(endorsement.c.id == row.id))
    return kept, until, f"{rule.text} ({rule.known})"


def drop_kept(connection: Connection, *, today: date) -> int:
    """Take out kept records whose time is over; returns of how many people."""
    over = connection.execute(
        sa.select(removed.c.id).where(removed.c.what == "person", removed.c.keep_until < today)
    ).all()
    for (identity,) in over:
        history.forget(connection, "person", [identity])
        given = connection.execute(sa.select(endorsement.c.id).where(endorsement.c.student_id == identity))
        history.forget(connection, "endorsement", [str(row[0]) for row in given])
        connection.execute(sa.delete(endorsement).where(endorsement.c.student_id == identity))
        connection.execute(sa.delete(person).where(person.c.id == identity))
        connection.execute(sa.update(removed).where(removed.c.id == identity).values(keep_until=None))
    return len(over)


def compact(store: Store) -> bool:
    """Give freed space back, so that what was taken out is not left in the file. False: another program has it open.

    Deleted rows of a SQLite logbook are overwritten at once (secure_delete); this also empties the journal beside it.
    """
    if not store.is_sqlite:
        with store.engine.connect() as connection:
            connection.execution_options(isolation_level="AUTOCOMMIT").exec_driver_sql("VACUUM")
        return True
    raw = store.engine.raw_connection()
    try:
        cursor = raw.cursor()
        cursor.execute("VACUUM")
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        busy = cursor.fetchone()
        cursor.close()
        return busy is not None and not busy[0]
    except sqlite3.OperationalError:
        return False
    finally:
        raw.close()
