"""What the history speaks of: a person, an airplane, a flight with all its parts … each as one state in plain data."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from datetime import date
from functools import cache
from typing import Any

import rfc8785
import sqlalchemy as sa
from sqlalchemy import Connection, Table

from airwork.logbook import schema

# Table -> the column that names the thing its rows belong to; a table that isn't here belongs to no thing.
_BY_ID = (
    schema.person, schema.airplane, schema.place, schema.lesson, schema.flight, schema.mark, schema.endorsement,
    schema.dated, schema.note, schema.removed, schema.signing_key, schema.signature,
)  # fmt: skip
NAMED_BY: dict[str, tuple[str, str]] = {
    **{t.name: (t.name, "id") for t in _BY_ID},
    **{t.name: (schema.flight.name, "flight_id") for t in schema.OF_FLIGHT},
    **{t.name: (schema.recording.name, "sha256") for t in (schema.recording, schema.recording_bytes)},
}
_WHOLE: dict[str, Table] = {t.name: t for t in (*_BY_ID, schema.recording)}
_LEFT_OUT = {schema.signature.name: {"form_json"}}  # said by a hash of its own beside it
# What a state says of its thing by a hash since tables 0003, where there is anything: what pages read of a recording,
# and the packed key, a secret.
HASHED = {schema.recording.name: "columns_sha256", schema.signing_key.name: "private_sha256"}
_AT_ONCE, _WITH_BYTES_AT_ONCE = 400, 8

State = dict[str, Any]


def canonical(value: Any) -> bytes:
    """JSON in the one form that can be signed (RFC 8785): keys sorted, no spaces, one way to write each number."""
    return rfc8785.dumps(value)


def digest(value: Any) -> str:
    """SHA-256 of the canonical form, in hexadecimal digits."""
    return hashlib.sha256(canonical(value)).hexdigest()


def kinds() -> tuple[str, ...]:
    return tuple(_WHOLE)


def states(connection: Connection, what: str, ids: Sequence[str] | None = None) -> Iterator[tuple[str, State | None]]:
    """The state of things as they stand; None for one that isn't there. ids None: of all that are.

    Yields
    ------
    identity and state, plain data that `canonical` can write.
    """
    table = _WHOLE[what]
    key = table.c[NAMED_BY[what][1]]
    if ids is None:
        ids = [str(row[0]) for row in connection.execute(_identities(table, key.name))]
    at_once = _WITH_BYTES_AT_ONCE if table is schema.recording else _AT_ONCE
    for first in range(0, len(ids), at_once):
        part = list(ids[first : first + at_once])
        rows = {row._mapping[key.name]: _plain(row, _LEFT_OUT.get(what, set()))
                for row in connection.execute(_of(table, key.name), {"ids": part})}  # fmt: skip
        if what == schema.flight.name and rows:
            _with_parts(connection, rows)
        elif table is schema.recording:
            b = schema.recording_bytes.c
            read = sa.select(b.sha256, b.columns_parquet, b.facts_json).where(b.sha256.in_(part))
            for identity, columns, facts in connection.execute(read):
                if identity in rows and (columns is not None or facts != "{}"):
                    said = hashlib.sha256((columns or b"") + facts.encode()).hexdigest()
                    rows[identity][HASHED[what]] = said
        elif table is schema.signing_key:
            for state in rows.values():
                if secret := state.pop("private_pem"):
                    state[HASHED[what]] = hashlib.sha256(secret.encode()).hexdigest()
        for identity in part:
            yield identity, rows.get(identity)


@cache
def _identities(table: Table, key: str) -> sa.Select[Any]:
    """All there are. Put together once, as below: doing it anew takes longer than the database's answer."""
    return sa.select(table.c[key]).order_by(table.c[key])


@cache
def _of(table: Table, key: str) -> sa.Select[Any]:
    """Rows of the things in `ids`, in the order of their keys."""
    wanted = sa.select(table).where(table.c[key].in_(sa.bindparam("ids", expanding=True)))
    return wanted.order_by(*table.primary_key.columns)


def _with_parts(connection: Connection, flights: dict[str, State]) -> None:
    """Add to each flight its route and movements, and what its debrief and maneuvers come to as hashes."""
    ids = list(flights)
    parts: dict[str, dict[str, list[State]]] = {t.name: {i: [] for i in ids} for t in schema.OF_FLIGHT}
    for table in schema.OF_FLIGHT:
        for row in connection.execute(_of(table, "flight_id"), {"ids": ids}):
            parts[table.name][row.flight_id].append(_plain(row, {"flight_id"}))
    for identity, state in flights.items():
        for table in (schema.stop, schema.movement):
            state[table.name] = parts[table.name][identity]
        found = parts[schema.debrief.name][identity]
        if found:
            judged = [parts[t.name][identity] for t in (schema.episode, schema.criterion)]
            state["debrief_sha256"] = hashlib.sha256(found[0].pop("debrief_json").encode()).hexdigest()
            state["judged_sha256"] = digest([found[0], judged])


def _plain(row: Any, without: set[str]) -> State:
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in row._mapping.items()
        if name not in without
    }
