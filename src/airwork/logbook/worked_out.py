"""What each student's tasks come to, kept in the logbook beside what it came from: a chief asks for all at once.

Working out one student's progress takes some 40 ms, a school's seconds; after a change only those it touched are
worked out again. What is kept is no record: no export or merge carries it, it may be thrown away at any time, and its
table is no step of the logbook's own tables (an older airwork and a read-only medium do without it).
"""

from __future__ import annotations

import hashlib
import json
import math
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, fields, replace
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.logbook.attempts import wanted_tasks
from airwork.logbook.pages import progress_of, standard_of
from airwork.logbook.progress import Forecast, StudentProgress, TaskProgress, next_three
from airwork.logbook.records import Person
from airwork.logbook.schema import ID, SHA256, flight, history, mark, person
from airwork.logbook.store import Store
from airwork.logbook.thresholds import thresholds
from airwork.version import VERSION

KEPT = sa.Table(
    "worked_out",
    sa.MetaData(),
    sa.Column("student_id", ID, sa.ForeignKey(person.c.id, ondelete="CASCADE"), primary_key=True),
    sa.Column("came_from", SHA256, nullable=False),
    sa.Column("tasks_json", sa.Text, nullable=False),
)

SHAPE = tuple(f.name for f in fields(TaskProgress))  # what was kept in another is worked out again

New = dict[str, tuple[str, str]]  # student -> (what it came from, the tasks as JSON)


def progress_in_brief(
    connection: Connection, days: Sequence[tuple[Person, date]], *, most_s: float = math.inf
) -> tuple[dict[str, StudentProgress], New]:
    """Each student's progress on a day, its tasks without their attempts and marks, by the student's identity.

    most_s : so long is worked out anew; who is not come to by then is left out.

    Returns
    -------
    and what had to be worked out anew, for `keep`.
    """
    ends = time.monotonic() + most_s
    changed, kept = _changed(connection), _kept(connection)
    standards: dict[str, tuple[Any, str]] = {}
    found: dict[str, StudentProgress] = {}
    new: New = {}
    for student, today in days:
        if student.certificate_aimed not in standards:
            standard = standard_of(student)
            standards[student.certificate_aimed] = standard, repr((VERSION, SHAPE, thresholds(), standard))
        standard, rules = standards[student.certificate_aimed]
        came_from = hashlib.sha256(f"{rules} {changed.get(student.id)}".encode()).hexdigest()
        there = kept.get(student.id)
        if there is None or there[0] != came_from:
            if time.monotonic() > ends:
                continue
            whole = progress_of(connection, student, today)
            there = new[student.id] = came_from, json.dumps([_plain(t) for t in whole.tasks])
        tasks = tuple(_task(t) for t in json.loads(there[1]))
        title = standard.title if standard else student.certificate_aimed
        first = next_three(tasks, wanted_tasks(standard), thresholds(), today)
        found[student.id] = StudentProgress(title, today, tasks, first)
    return found, new


def keep(store: Store, new: New) -> None:
    """Keep what was worked out, where the logbook can be written."""
    if not new or store.read_only:
        return
    with store.change() as connection:
        KEPT.create(connection, checkfirst=True)
        forget(connection, new)
        here = {row[0] for row in connection.execute(sa.select(person.c.id))}  # somebody may have gone meanwhile
        rows = [{"student_id": k, "came_from": a, "tasks_json": b} for k, (a, b) in new.items() if k in here]
        if rows:
            connection.execute(sa.insert(KEPT), rows)


def forget(connection: Connection, students: Iterable[str]) -> None:
    """Throw away what is kept of these."""
    if sa.inspect(connection).has_table(KEPT.name):
        gone = [{"gone": identity} for identity in students]
        if gone:
            connection.execute(sa.delete(KEPT).where(KEPT.c.student_id == sa.bindparam("gone")), gone)


def _kept(connection: Connection) -> dict[str, tuple[str, str]]:
    if not sa.inspect(connection).has_table(KEPT.name):
        return {}
    return {row.student_id: (row.came_from, row.tasks_json) for row in connection.execute(sa.select(KEPT))}


def _changed(connection: Connection) -> Mapping[str, list[tuple[str, int, int]]]:
    """(what, newest entry, number of entries) of the history of each student's flights and of their marks.

    Entries are numbered upwards and an entry of what is gone no longer counts, so that no change leaves both the same.
    """
    h, out = history.c, dict[str, list[tuple[str, int, int]]]()
    for table, owner in ((flight, flight.c.pilot_id), (mark, mark.c.student_id)):
        rows = connection.execute(
            sa.select(owner, sa.func.max(h.number), sa.func.count())
            .select_from(history.join(table, sa.and_(h.what == table.name, h.thing_id == table.c.id)))
            .group_by(owner)
        )
        for who, newest, entries in rows:
            out.setdefault(who, []).append((table.name, newest, entries))
    return out


def _plain(task: TaskProgress) -> dict[str, Any]:
    """A task as plain data, without what is only shown on the student's own page."""
    brief = asdict(replace(task, criteria=(), instructor=None, student=None))
    return brief | {"last_flown": task.last_flown and task.last_flown.isoformat()}


def _task(plain: dict[str, Any]) -> TaskProgress:
    day, forecast = plain["last_flown"], plain["forecast"]
    return TaskProgress(**plain | {
        "criteria": (), "last_flown": day and date.fromisoformat(day), "forecast": forecast and Forecast(**forecast),
    })  # fmt: skip
