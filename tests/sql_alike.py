"""SQLAlchemy's dialects for the tests: all engines of one kind find each other's compiled statements.

A program opens one logbook, a test run a thousand: compiling each statement anew for each took a fifth of the time of
their tests. By what SQLAlchemy offers for it: its registry of dialects, the option `compiled_cache`, an event.
"""

from __future__ import annotations

from sqlalchemy import Connection, Engine, event
from sqlalchemy.dialects import registry
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite

COMPILED: dict[object, object] = {}


class _Alike:
    """A compiled statement is looked for under its dialect: any other of its kind will do."""

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self)

    def __hash__(self) -> int:
        return hash(type(self))


class Sqlite(_Alike, SQLiteDialect_pysqlite):
    """A logbook in a file."""

    supports_statement_cache = True  # each dialect says so itself


class Postgres(_Alike, PGDialect_psycopg):
    """A logbook on a server."""

    supports_statement_cache = True


def share() -> None:
    """From now on, in this process."""
    registry.register("sqlite", __name__, "Sqlite")
    registry.register("postgresql.psycopg", __name__, "Postgres")

    @event.listens_for(Engine, "engine_connect")
    def _cached(connection: Connection) -> None:
        connection.execution_options(compiled_cache=COMPILED)
