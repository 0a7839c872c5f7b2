"""What a school asks of its flights: tasks and who taught them, weak ones, hours and fuel.

Answers are tables; people are letters unless asked for. Shares carry the 90 % interval of Wilson (1927), so that three
flights don't look like a finding. What can't be told from the record is left out, never guessed.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt
from typing import Any, Literal

import polars as pl
import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.logbook import flights
from airwork.logbook.attempts import title_of
from airwork.logbook.schema import airplane, criterion, debrief, episode, flight, person

Question = Literal["tasks", "weak", "teaching", "hours"]
Z_90 = 1.6449  # standard normal, two-sided 90 %
FEWEST = 5  # attempts below which a task is not called weak: our own choice


@dataclass(frozen=True, slots=True)
class Answer:
    """A table and what it says. frame : units in the column names."""

    question: str
    title: str
    frame: pl.DataFrame
    remark: str = ""


def ask(connection: Connection, question: Question, *, names: bool = False) -> Answer:
    """The answer to one question, from everything in the logbook."""
    return _QUESTIONS[question](connection, names)


def questions() -> dict[str, str]:
    """What can be asked, in words."""
    return {name: (answer.__doc__ or "").splitlines()[0] for name, answer in _QUESTIONS.items()}


def _attempts(connection: Connection, *by: sa.ColumnElement[Any]) -> list[Any]:
    """Attempts of tasks with criteria, and in how many of them all were held, by kind, student and further columns."""
    e, c, f = episode.c, criterion.c, flight.c
    each = (
        sa.select(c.flight_id, c.position, sa.func.sum(sa.case((c.verdict == "not held", 1), else_=0)).label("missed"))
        .where(c.verdict != "can't be judged")
        .group_by(c.flight_id, c.position)
        .subquery()
    )
    held = sa.func.sum(sa.case((each.c.missed == 0, 1), else_=0)).label("held")
    query = (
        sa.select(e.kind, f.pilot_id, *by, sa.func.count().label("attempts"), held)
        .select_from(each)
        .join(episode, sa.and_(e.flight_id == each.c.flight_id, e.position == each.c.position))
        .join(flight, f.id == e.flight_id)
        .where(flights.counts())
        .group_by(e.kind, f.pilot_id, *by)
    )
    return list(connection.execute(query))


def _called(connection: Connection, names: bool) -> dict[str, str]:
    """What instructors are called: by name, or by letters in the order of their identities."""
    rows = connection.execute(
        sa.select(person.c.id, person.c.name).where(person.c.is_instructor).order_by(person.c.id)
    ).all()
    return {r.id: r.name if names else f"instructor {_letters(n)}" for n, r in enumerate(rows)}


def _letters(number: int) -> str:
    first, last = divmod(number, 26)
    return (_letters(first - 1) if first else "") + chr(ord("A") + last)


def _quarter(day: object) -> str:
    year, month, _ = str(day).split("-")
    return f"{year} Q{(int(month) + 2) // 3}"


def _shares(attempts: list[Any], *more: tuple[str, Callable[[Any], str]]) -> pl.DataFrame:
    """Shares held by task, and by further columns worked out of a row. (name, how)"""
    by: list[tuple[str, Callable[[Any], str]]] = [("task", lambda r: title_of(r.kind)), *more]
    rows = [
        {**{name: of(r) for name, of in by}, "student": r.pilot_id or "", "attempts": r.attempts, "held": int(r.held)}
        for r in attempts
    ]
    names = [name for name, _ in by]
    text = dict.fromkeys((*names, "student"), pl.String)
    grouped = (
        pl.DataFrame(rows, schema={**text, "attempts": pl.Int64, "held": pl.Int64})
        .group_by(names)
        .agg(pl.col("attempts").sum(), pl.col("student").n_unique().alias("students"), pl.col("held").sum())
    )
    bounds = [wilson(int(h), int(n)) for h, n in zip(grouped["held"], grouped["attempts"], strict=True)]
    return grouped.with_columns(
        (100.0 * pl.col("held") / pl.col("attempts")).round(0).alias("held_percent"),
        pl.Series("low_percent", [round(100.0 * low) for low, _ in bounds], dtype=pl.Int64),
        pl.Series("high_percent", [round(100.0 * high) for _, high in bounds], dtype=pl.Int64),
    ).sort(names)


def wilson(held: int, attempts: int) -> tuple[float, float]:
    """The 90 % interval of a share.

    References
    ----------
    E. B. Wilson, "Probable inference, the law of succession, and statistical inference", J. Am. Stat. Assoc. 22 (1927).
    """
    if attempts == 0:
        return 0.0, 1.0
    p, z2 = held / attempts, Z_90 * Z_90
    middle = (p + z2 / (2 * attempts)) / (1 + z2 / attempts)
    half = Z_90 / (1 + z2 / attempts) * sqrt(p * (1 - p) / attempts + z2 / (4 * attempts * attempts))
    return max(0.0, middle - half), min(1.0, middle + half)


def _tasks(connection: Connection, _names: bool) -> Answer:
    """how each task is flown, quarter by quarter"""
    by_quarter = ("quarter", lambda r: _quarter(r.local_date))
    return Answer("tasks", "How each task is flown", _shares(_attempts(connection, flight.c.local_date), by_quarter))


def _weak(connection: Connection, _names: bool) -> Answer:
    """which tasks are weak in the school"""
    every = _shares(_attempts(connection))
    missed = every.filter(pl.col("held") < pl.col("attempts"))
    found = missed.filter(pl.col("attempts") >= FEWEST)
    few = f"; {missed.height - found.height} with fewer are left out" if missed.height > found.height else ""
    remark = f"tasks missed at least once, with {FEWEST} attempts or more{few}"
    return Answer("weak", "Weak first", found.sort("high_percent", "task"), remark)


def _teaching(connection: Connection, names: bool) -> Answer:
    """how each task is flown, by who taught it"""
    called = _called(connection, names)
    by_teacher = ("instructor", lambda r: called.get(r.instructor_id or "", "alone"))
    remark = "students differ too: a share is a question to talk about, not a mark"
    found = _shares(_attempts(connection, flight.c.instructor_id), by_teacher)
    return Answer("teaching", "By instructor", found, remark)


def _hours(connection: Connection, _names: bool) -> Answer:
    """hours and fuel of each airplane"""
    f = flight.c
    rows = connection.execute(
        sa.select(airplane.c.registration, f.local_date, f.total_s, debrief.c.debrief_json)
        .join(airplane, airplane.c.id == f.airplane_id)
        .outerjoin(debrief, debrief.c.flight_id == f.id)
        .where(flights.counts())
    ).all()
    found = [
        {"airplane": r.registration, "quarter": _quarter(r.local_date), "hours": r.total_s / 3600.0,
         "fuel_gal": _burned(r.debrief_json)}
        for r in rows
    ]  # fmt: skip
    schema = {"airplane": pl.String, "quarter": pl.String, "hours": pl.Float64, "fuel_gal": pl.Float64}
    known = pl.col("fuel_gal").is_not_null()
    frame = (
        pl.DataFrame(found, schema=schema)
        .group_by("airplane", "quarter")
        .agg(pl.len().alias("flights"), pl.col("hours").sum().round(1),
             (pl.col("fuel_gal").sum() / pl.col("hours").filter(known).sum()).round(1).alias("fuel_gph"),
             known.sum().alias("flights_with_fuel"))
        .sort("airplane", "quarter")
    )  # fmt: skip
    return Answer("hours", "Hours and fuel", frame, "fuel from recorded flow or gauges alone")


def _burned(debrief_json: str | None) -> float | None:
    """Gallons burned, where the debrief says so."""
    if debrief_json is None:
        return None
    used = json.loads(debrief_json).get("fuel", {}).get("used_gal")
    return float(used) if isinstance(used, (int, float)) else None


_QUESTIONS: dict[Question, Callable[[Connection, bool], Answer]] = {
    "tasks": _tasks, "weak": _weak, "teaching": _teaching, "hours": _hours,
}  # fmt: skip
