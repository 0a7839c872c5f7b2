"""What each student's tasks come to, held while the program runs: a chief asks for all at once.

Working out one student's progress takes some 40 ms, a school's seconds; after a change only those it touched are
worked out again.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.logbook.attempts import wanted_tasks
from airwork.logbook.pages import progress_of, standard_of
from airwork.logbook.progress import StudentProgress, TaskProgress, next_three
from airwork.logbook.records import Person
from airwork.logbook.schema import flight, history, mark
from airwork.logbook.thresholds import thresholds

Tasks = tuple[TaskProgress, ...]
_held: dict[tuple[str, str], tuple[object, Tasks]] = {}  # (logbook, student) -> (what it came from, the tasks)


def progress_in_brief(
    connection: Connection, days: Sequence[tuple[Person, date]], *, most_s: float = math.inf
) -> dict[str, StudentProgress]:
    """Each student's progress on a day, its tasks without their attempts and marks, by the student's identity.

    most_s : so long is worked out anew; who is not come to by then is left out.
    """
    ends, logbook = time.monotonic() + most_s, str(connection.engine.url)
    changed = _changed(connection)
    found: dict[str, StudentProgress] = {}
    for student, today in days:
        standard = standard_of(student)
        came_from = standard, student.certificate_aimed, thresholds(), changed.get(student.id)
        before, tasks = _held.get((logbook, student.id), (None, ()))
        if before != came_from:
            if time.monotonic() > ends:
                continue
            tasks = _brief(progress_of(connection, student, today).tasks)
            _held[logbook, student.id] = came_from, tasks
        title = standard.title if standard else student.certificate_aimed
        first = next_three(tasks, wanted_tasks(standard), thresholds(), today)
        found[student.id] = StudentProgress(title, today, tasks, first)
    return found


def _brief(tasks: Tasks) -> Tasks:
    """Without what is only shown on the student's own page."""
    return tuple(replace(task, criteria=(), instructor=None, student=None) for task in tasks)


def _changed(connection: Connection) -> Mapping[str, Any]:
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
