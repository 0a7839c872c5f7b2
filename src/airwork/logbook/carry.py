"""Carrying rows from one logbook to another, table by table in the order that references allow."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Table

from airwork.logbook.schema import TABLES, recording_bytes

_ROWS = 500
_ROWS_WITH_BYTES = 4  # recordings may be tens of megabytes each


def rows(
    connection: Connection, table: Table, which: sa.ColumnElement[bool] | None = None
) -> Iterator[list[dict[str, Any]]]:
    """A table's rows as dictionaries, in batches that fit in memory, in the order of their keys.

    Each batch begins after the last one's key and is one question to a server: a table is seldom more than a batch.
    """
    keys = [*table.primary_key.columns]
    size = _ROWS_WITH_BYTES if table is recording_bytes else _ROWS
    query = _in_order(table)
    if which is not None:
        query = query.where(which)
    part = connection.execute(query).all()
    while part:
        yield [dict(row._mapping) for row in part]
        if len(part) < size:
            return
        last = [part[-1]._mapping[key.name] for key in keys]
        part = connection.execute(query.where(sa.tuple_(*keys) > sa.tuple_(*last))).all()


@cache
def _in_order(table: Table) -> sa.Select[Any]:
    """The first batch of a table."""
    size = _ROWS_WITH_BYTES if table is recording_bytes else _ROWS
    return sa.select(table).order_by(*table.primary_key.columns).limit(size)


def copy_all(source: Connection, target: Connection) -> dict[str, int]:
    """Every row of every table into empty tables; returns how many by table."""
    counts: dict[str, int] = {}
    for table in TABLES:
        counts[table.name] = 0
        for batch in rows(source, table):
            target.execute(sa.insert(table), batch)
            counts[table.name] += len(batch)
    return counts


def clear(target: Connection) -> None:
    """Take every row out."""
    for table in reversed(TABLES):
        target.execute(sa.delete(table))


def counts(connection: Connection) -> dict[str, int]:
    """Rows by table: all tables in one question."""
    return {name: int(n) for name, n in connection.execute(_COUNTS).one()._mapping.items()}


# Put together once: SQLAlchemy takes twenty times as long to do it anew as the database takes to answer.
_COUNTS = sa.select(*(sa.select(sa.func.count()).select_from(t).scalar_subquery().label(t.name) for t in TABLES))
