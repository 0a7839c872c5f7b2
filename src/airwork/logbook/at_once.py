"""Flights that can't both be true: a pilot, an instructor or an airplane in two of them at the same time."""

from __future__ import annotations

from collections.abc import Container
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_text
from airwork.logbook.flights import counts
from airwork.logbook.schema import airplane, flight, person

_TENTH_S = 360.0  # flights are logged in tenths of an hour: by so much one may seem to begin before the other ends


def at_once(connection: Connection, *, among: Container[str] | None = None, most: int = 50) -> list[str]:
    """Each two flights that count and put somebody in two places at once, in words; among : at least one of these."""
    f = flight.c
    names = {row.id: row.name for row in connection.execute(sa.select(person.c.id, person.c.name))}
    names |= {row.id: row.registration for row in connection.execute(sa.select(airplane.c.id, airplane.c.registration))}
    query = sa.select(
        f.id, f.pilot_id, f.instructor_id, f.airplane_id, f.start_utc_s, f.end_utc_s, f.dual_s, f.time_zone
    ).where(f.start_utc_s.is_not(None), f.end_utc_s.is_not(None), counts())
    said: list[str] = []
    flying: list[Any] = []
    for row in connection.execute(query.order_by(f.start_utc_s, f.id)):
        flying = [one for one in flying if one.end_utc_s > row.start_utc_s]
        for one in flying:
            told = _told(one, row, names)
            if told and (among is None or one.id in among or row.id in among):
                said.append(f"{told} on {local_text(row.start_utc_s, row.time_zone)} ({one.id[:8]}, {row.id[:8]})")
        flying.append(row)
    return said if len(said) <= most else [*said[:most], f"and {len(said) - most} more at the same time as another"]


def _told(a: Any, b: Any, names: dict[str, str]) -> str:
    """What is wrong with two flights at the same time, `b` the later; "" for nothing."""
    if a.pilot_id is not None and a.pilot_id == b.pilot_id:
        return f"two flights of {names[a.pilot_id]} overlap"
    if min(a.end_utc_s, b.end_utc_s) - b.start_utc_s <= _TENTH_S:
        return ""
    by_a, by_b = (one.instructor_id if one.dual_s > 0 else None for one in (a, b))
    taught = {w for w in (by_a if by_a == b.pilot_id else None, by_b if by_b == a.pilot_id else None) if w}
    same_plane = a.airplane_id is not None and a.airplane_id == b.airplane_id
    if taught and (same_plane or a.airplane_id is None or b.airplane_id is None):
        return ""  # one flight, in the instructor's book and in the student's
    busy = taught | ({by_a} if by_a is not None and by_a == by_b else set())
    who = [names[w] for w in sorted(busy)] + ([names[a.airplane_id]] if same_plane else [])
    return f"{' and '.join(who)} {'are' if len(who) > 1 else 'is'} in two flights" if who else ""
