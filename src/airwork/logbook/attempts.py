"""The attempts of a student as the logbook holds them, against the limits of the standard aimed at."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.logbook.debrief_json import CriterionJson, limit_ratio
from airwork.logbook.flights import counts, in_time
from airwork.logbook.marks import Mark
from airwork.logbook.schema import criterion, debrief, episode, flight, mark, person
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.standards.model import Standard


LOOKED_BACK = 10  # flights; what was said first in an older one was said often enough


@dataclass(frozen=True, slots=True)
class Attempt:
    """One criterion of one episode. ratio : worst deviation over the limit aimed at; None: only the verdict is known.

    same_limit : the limit aimed at is the one it was graded to, so that the verdict applies.
    """

    flight_id: str
    day: date
    position: int
    kind: str
    criterion: str
    limit_text: str
    worst: float | None
    unit: str
    ratio: float | None
    verdict: str
    wind_mps: float | None
    airplane_id: str
    same_limit: bool


def title_of(kind: str) -> str:
    """What people read for a kind: its room's title; a kind this airwork has no room for in its own words."""
    from airwork.maneuvers import ROOMS, room

    return str(room(kind).title) if kind in ROOMS else kind.replace("_", " ").capitalize()


def is_task(kind: str) -> bool:
    """A task to be ready for, not a part of any flight; a kind without a room is taken for one."""
    from airwork.maneuvers import ROOMS, room

    return kind not in ROOMS or room(kind).is_task


def is_everyday(kind: str) -> bool:
    """Part of most flights, not worth a word in the line of one."""
    from airwork.maneuvers import ROOMS, room

    return kind in ROOMS and room(kind).everyday


def named_in_a_line(kind: str) -> str:
    """The title within a sentence: "power-off stall", "S-turns"."""
    title = title_of(kind)
    return title[0].lower() + title[1:] if title[1:2].islower() else title


def attempts_of(connection: Connection, pilot_id: str, standard: Standard | None) -> list[Attempt]:
    """Every criterion graded in a pilot's flights that count, in order of time, against the standard aimed at."""
    f, e, c = flight.c, episode.c, criterion.c
    rows = connection.execute(
        sa.select(
            f.id, f.local_date, e.position, e.kind, c.name, c.limit_text, c.worst, c.unit, c.limit_ratio, c.verdict,
            e.wind_mps, f.airplane_id,
        )
        .select_from(criterion)
        .join(episode, sa.and_(c.flight_id == e.flight_id, c.position == e.position))
        .join(flight, f.id == e.flight_id)
        .where(f.pilot_id == pilot_id, counts())
        .order_by(*in_time(), e.position, c.number)
    )  # fmt: skip
    aims = _aims(standard)
    out = []
    for row in rows:
        flight_id, day, position, kind, name, limit, worst, unit, ratio, verdict, wind, plane = row
        aim = aims.get((kind, name))
        same = aim is None or aim.limit == limit or aim.unit != unit
        if aim is not None and aim.unit == unit and (ratio is None or not same):
            moved = limit_ratio(aim.model_copy(update={"worst": worst}))
            ratio, limit = (moved, aim.limit) if moved is not None else (ratio, limit)
        out.append(
            Attempt(
                flight_id, day, position, kind, name, limit, worst, unit, ratio, verdict, wind, plane or "", same
            )
        )  # fmt: skip
    return out


def _aims(standard: Standard | None) -> Mapping[tuple[str, str], CriterionJson]:
    """Each criterion of a standard in its printed unit."""
    if standard is None:
        return {}
    out = {}
    for kind, task in standard.tasks.items():
        for c in task.criteria:
            if not c.unit or not c.has_limit:
                continue
            low, high = (v if v is None or c.unit == "turns" else to_unit(v, c.unit) for v in (c.low, c.high))
            out[kind, c.name] = CriterionJson(
                name=c.name, limit=c.text, low=low, high=high, unit=c.unit, verdict="held"
            )
    return out


def said_first(connection: Connection, pilot_id: str) -> dict[str, tuple[date, str]]:
    """Kind to the day and what its debrief said first: a thin margin in the newest flight it was flown in.

    No criterion of a standard tells it, and an instructor's next lesson begins with it. Of the last flights debriefed.
    """
    from airwork.debrief.first_margins import ALSO

    found: dict[str, tuple[date, str]] = {}
    flown: set[str] = set()
    rows = connection.execute(
        sa.select(flight.c.local_date, debrief.c.debrief_json)
        .join(debrief, debrief.c.flight_id == flight.c.id)
        .where(flight.c.pilot_id == pilot_id, counts())
        .order_by(*(c.desc() for c in in_time()))
        .limit(LOOKED_BACK)
    )
    for day, content in rows:
        seen = json.loads(content)
        episodes = [e for e in seen["episodes"] if is_task(e["kind"])]
        for line in seen.get("first", ()):
            if line["heading"] == "first" and line["start_s"] is not None:
                at = [e["kind"] for e in episodes if e["start_s"] <= line["end_s"] and e["end_s"] >= line["start_s"]]
                found |= {kind: (day, line["text"].split(ALSO)[0]) for kind in at[:1] if kind not in flown}
        flown |= {e["kind"] for e in episodes}
    return found


def newest_marks(connection: Connection, student_id: str) -> dict[tuple[str, str], Mark]:
    """(kind, "instructor" or "student") to the newest mark given."""
    m = mark.c
    rows = connection.execute(
        sa.select(m.kind, m.given_by, m.level, m.remark, person.c.name, m.utc_s, flight.c.local_date)
        .outerjoin(person, person.c.id == m.by_id)
        .outerjoin(flight, flight.c.id == m.flight_id)
        .where(m.student_id == student_id)
        .order_by(m.utc_s, m.id)
    )
    return {
        (kind, by): Mark(level, remark, name or "", at, flown=day) for kind, by, level, remark, name, at, day in rows
    }


def wanted_tasks(standard: Standard | None) -> dict[str, str]:
    """Kind to title of the tasks a standard prints numbers for."""
    if standard is None:
        return {}
    return {k: t.title for k, t in standard.tasks.items() if any(c.has_limit for c in t.criteria) and is_task(k)}
