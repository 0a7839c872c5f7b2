"""Brief a lesson: lesson → airplane → Briefing, and what the logbook says of its people."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from airwork.airplane import Airplane
from airwork.jobs.files import load_airplane, load_lesson
from airwork.lesson.briefing import Briefing
from airwork.lesson.lesson import Lesson
from airwork.lesson.plan import Currency, build_briefing
from airwork.lesson.verdict import Reason


def brief_lesson(
    lesson: str | Path | Lesson,
    *,
    airplane: str | Path | Airplane | None = None,
    conditions: Mapping[str, str] | None = None,
    currency: Currency = None,
) -> Briefing:
    """A lesson briefed: the verdict with its reasons, the plan in time, fuel by tank, the numbers of every exercise.

    Parameters
    ----------
    lesson : its file, "demo", or a lesson that is read already.
    airplane : in place of the one the lesson names.
    conditions : values in place of the file's: {"wind": "260/18 kt", "temperature": "34 °C"}.
    currency : what the logbook says (`ask_logbook`), or a function of the planned length [s] that asks it; None: no
        logbook was asked, and the verdict says so.

    Raises
    ------
    InputError : what the lesson or the airplane says can't be used, or doesn't fit.
    NotPossible, OutOfRange : the flight can't be computed at all.
    """
    read = load_lesson(lesson, conditions=conditions)
    return build_briefing(read, load_airplane(read.airplane_path if airplane is None else airplane), currency=currency)


def ask_logbook(
    lesson: Lesson, logbook: str | Path | None = None, length_s: float | None = None
) -> tuple[Reason, ...] | None:
    """What the logbook says of a lesson's people and airplane; None where there is none, which the verdict says.

    Parameters
    ----------
    logbook : a file, folder or address; if not given AIRWORK_DATA, else the user's own, where there is one.
    length_s : the lesson's planned length, for duty and daylight; two hours if not given. [s]
    """
    where = logbook or os.environ.get("AIRWORK_DATA")
    if not where:
        from platformdirs import user_data_path

        if not user_data_path("airwork", appauthor=False).exists():  # before the database library is loaded
            return None
    from airwork.logbook.for_lesson import LENGTH_S, lesson_reasons
    from airwork.logbook.store import default_path, open_store

    if not where and not default_path().exists():
        return None
    store = open_store(where or None)
    try:
        with store.read() as connection:
            return lesson_reasons(connection, lesson, length_s=LENGTH_S if length_s is None else length_s)
    finally:
        store.close()
