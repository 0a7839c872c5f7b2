"""Who changed what, when: every change is written down as it is committed, each entry chained to the one before it.

An entry holds the state a thing was brought into (the state before stands in the entry before it). Its hash covers the
hash of the entry before, so that nothing can be slipped in, taken out or changed later without `verify` finding it; and
a table edited behind the program's back no longer fits the newest entry of its thing. Cutting off the newest entries
together with their changes can't be seen from inside: compare with a hash written down elsewhere (`newest`; each
signature holds one, each backup too).
"""

from __future__ import annotations

import getpass
import hashlib
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Engine, Table
from sqlalchemy.sql.dml import Delete, Insert, Update

from airwork.errors import InputError
from airwork.logbook import things
from airwork.logbook.schema import TABLES, history, removed

_OPTION = "airwork_touched"
_MOST_SAID = 20
_HASHED = ("previous_hash", "utc_s", "by", "what", "thing_id", "action", "state_sha256")  # what an entry's hash covers
CLOCKS_S = 300.0  # a clock put right by less is nobody's business
_actor: ContextVar[str] = ContextVar("airwork_actor", default="")


@dataclass(slots=True)
class Touched:
    """The things a change under way has touched, by what they are."""

    ids: dict[str, dict[str, None]] = field(default_factory=dict)

    def note(self, what: str, ids: Iterable[str]) -> None:
        """Remember them, in order."""
        self.ids.setdefault(what, {}).update(dict.fromkeys(ids))


@contextmanager
def acting(who: str) -> Iterator[None]:
    """Changes inside are written down as made by this person."""
    token = _actor.set(who)
    try:
        yield
    finally:
        _actor.reset(token)


def actor() -> str:
    """Who acts: as set by `acting`, else this machine's user at the command line."""
    found = _actor.get()
    if found:
        return found
    try:
        return f"{getpass.getuser()}, at this machine"
    except (KeyError, OSError):  # no name for this user number
        return "at this machine"


def watch(engine: Engine) -> None:
    """From now on every change through this engine's tracked connections is noted as it is executed."""

    @sa.event.listens_for(engine, "before_execute")
    def on_execute(connection: Connection, statement: Any, many: Any, one: Any, _options: Any) -> None:
        touched = connection.get_execution_options().get(_OPTION)
        if touched is not None and isinstance(statement, (Insert, Update, Delete)):
            _note(connection, touched, statement, many, one)


def tracked(connection: Connection) -> Touched:
    """Begin to note what this connection changes."""
    touched = Touched()
    connection.execution_options(**{_OPTION: touched})
    return touched


def _note(connection: Connection, touched: Touched, statement: Any, many: Any, one: Any) -> None:
    table: Table = statement.table
    named = things.NAMED_BY.get(table.name)
    if named is None:
        return
    what, column = named
    if isinstance(statement, Insert):
        touched.note(what, [str(row[column]) for row in many or [one or statement.compile().params]])
        return
    query = sa.select(table.c[column]).distinct()
    if statement.whereclause is not None:
        query = query.where(statement.whereclause)
    ids = [str(row[0]) for row in connection.execute(query)]
    touched.note(what, ids)
    if isinstance(statement, Delete) and ids and column == "id":
        _note_referring(connection, touched, table, ids)


def _note_referring(connection: Connection, touched: Touched, table: Table, ids: list[str]) -> None:
    """What the database itself takes out or cuts loose when these rows go."""
    for other in TABLES:
        named = things.NAMED_BY.get(other.name)
        for reference in other.foreign_keys:
            if (
                named is None
                or reference.column.table is not table
                or reference.ondelete not in {"CASCADE", "SET NULL"}
            ):
                continue
            found = connection.execute(sa.select(other.c[named[1]]).where(reference.parent.in_(ids)).distinct())
            touched.note(named[0], [str(row[0]) for row in found])


def append(connection: Connection, touched: Touched) -> None:
    """Write down what a change has come to, at its end and inside its transaction."""
    connection.execution_options(**{_OPTION: None})
    new: list[tuple[str, str, str, str, str | None]] = []
    for what, ids in touched.ids.items():
        known = _known(connection, what, list(ids))
        for identity, state in things.states(connection, what, list(ids)):
            was = known.get(identity, "")
            text = None if state is None else things.canonical(state).decode()
            now = "" if text is None else _sha256(text)
            if now != was:
                action = "added" if not was else "taken out" if not now else "changed"
                new.append((what, identity, action, now, text))
    _write(connection, new)


def mark(connection: Connection, what: str, words: dict[str, Any]) -> None:
    """An entry about the logbook as a whole: restored, merged, brought up to date."""
    text = things.canonical(words).decode()
    _write(connection, [("logbook", "", what, _sha256(text), text)])


def take_stock(connection: Connection, *, everything: bool) -> None:
    """Write down what a logbook from before tables 0003 has not: everything, or only what states say since.

    Then a thing that was not as its newest entry says stays so, for `verify` to find.
    """
    touched = Touched()
    for what in things.kinds() if everything else things.HASHED:
        states = dict(things.states(connection, what))
        known = {} if everything else _known(connection, what, list(states))
        for identity, state in states.items():
            before = {k: v for k, v in (state or {}).items() if k != things.HASHED.get(what)}
            if everything or known.get(identity) == things.digest(before):
                touched.note(what, [identity])
    append(connection, touched)


def _known(connection: Connection, what: str, ids: list[str]) -> dict[str, str]:
    """The newest own state's hash of each thing that has one."""
    found: dict[str, str] = {}
    h = history.c
    for first in range(0, len(ids), 400):
        query = sa.select(h.thing_id, h.state_sha256).where(
            h.own, h.what == what, h.thing_id.in_(ids[first : first + 400])
        )
        found.update({row.thing_id: row.state_sha256 for row in connection.execute(query.order_by(h.number))})
    return found


def newest(connection: Connection) -> str:
    """The hash of this logbook's newest own entry, "" without one: written down elsewhere it shows what was cut off."""
    h = history.c
    return str(connection.execute(sa.select(h.hash).where(h.own).order_by(h.number.desc()).limit(1)).scalar() or "")


def holds(connection: Connection, noted: str) -> bool:
    """Our own history has an entry whose hash begins so (8 characters or more)."""
    h, asked = history.c, noted.strip().lower()
    if len(asked) < 8 or not asked.isalnum():
        raise InputError(f"{noted!r}: write at least 8 characters of the hash.", where="noted")
    return connection.execute(sa.select(h.number).where(h.own, h.hash.startswith(asked))).first() is not None


def _write(connection: Connection, new: list[tuple[str, str, str, str, str | None]]) -> None:
    if not new:
        return
    last = int(connection.execute(sa.select(sa.func.max(history.c.number))).scalar() or 0)
    previous, now, by, rows = newest(connection), time.time(), actor(), []
    for number, (what, identity, action, sha256, text) in enumerate(new, last + 1):
        row = dict(zip(_HASHED, (previous, now, by, what, identity, action, sha256), strict=True))
        previous = things.digest(row)
        rows.append({**row, "hash": previous, "number": number, "own": True, "state_json": text})
    connection.execute(sa.insert(history), rows)


def bring(connection: Connection, theirs: Iterable[dict[str, Any]]) -> int:
    """Entries of another logbook, kept beside our own, none of them twice. Returns how many."""
    here = {str(row[0]) for row in connection.execute(sa.select(history.c.hash))}
    last = int(connection.execute(sa.select(sa.func.max(history.c.number))).scalar() or 0)
    rows = [row for row in theirs if row["hash"] not in here and row["hash"] == _hash(row)]
    if rows:
        connection.execute(sa.insert(history), [{**r, "own": False, "number": last + k} for k, r in enumerate(rows, 1)])
    return len(rows)


def forget(connection: Connection, what: str, ids: Iterable[str]) -> None:
    """Take the words out of what is written down of these things; that something was, and its hash, stays."""
    h, wanted = history.c, list(ids)
    for first in range(0, len(wanted), 400):
        some = sa.and_(h.what == what, h.thing_id.in_(wanted[first : first + 400]))
        connection.execute(sa.update(history).where(some).values(state_json=None))


def differences(before: dict[str, Any] | None, after: dict[str, Any] | None) -> dict[str, tuple[Any, Any]]:
    """What changed between two states, by name: (before, after)."""
    a, b = before or {}, after or {}
    return {k: (a.get(k), b.get(k)) for k in {**a, **b} if a.get(k) != b.get(k) and k != "changed_utc_s"}


def _hash(row: Any) -> str:
    return things.digest({name: row[name] for name in _HASHED})


def verify(connection: Connection) -> list[str]:
    """Everything in which history and logbook don't agree, in words; empty when the chain and every thing hold."""
    wrong: list[str] = []
    newest_state: dict[tuple[str, str], str] = {}
    wordless: dict[tuple[str, str], int] = {}
    previous = ""
    for row in connection.execute(sa.select(history).order_by(history.c.number)).mappings():
        said = f"history, entry {row['number']} ({row['action']} {row['what']} {row['thing_id'][:8]})"
        if _hash(row) != row["hash"]:
            wrong.append(f"{said}: was edited; it does not fit its own hash")
        elif row["state_json"] is not None and _sha256(row["state_json"]) != row["state_sha256"]:
            wrong.append(f"{said}: its state was edited")
        if row["own"]:
            if row["previous_hash"] != previous:
                wrong.append(f"{said}: the entry before it was taken out or put in")
            previous = row["hash"]
            newest_state[row["what"], row["thing_id"]] = row["state_sha256"]
            if row["state_json"] is None and row["state_sha256"]:
                wordless[row["what"], row["thing_id"]] = row["number"]
    forgotten = set(connection.execute(sa.select(removed.c.id).where(removed.c.what == "person")).scalars())
    for what in things.kinds():
        for identity, state in things.states(connection, what):
            was = newest_state.pop((what, identity), None)
            whose = {"person": "id", "flight": "pilot_id"}.get(what, "student_id")
            if forgotten and (state or {}).get(whose, "") in {None, *forgotten}:
                wordless.pop((what, identity), None)
            if not was:
                wrong.append(f"{what} {identity[:8]} was put in by something other than airwork")
            elif was != things.digest(state):
                wrong.append(f"{what} {identity[:8]} was changed by something other than airwork")
    wrong += [
        f"history, entry {number} ({what} {identity[:8]}): its words were taken out, and nobody was forgotten"
        for (what, identity), number in wordless.items()
        if not (forgotten and (what, identity) in newest_state)  # what is gone may have been somebody's
    ]
    wrong += [
        f"{what} {identity[:8]} was taken out by something other than airwork"
        for (what, identity), was in newest_state.items()
        if was and what != "logbook"
    ]
    return _some(wrong)


def set_back(connection: Connection) -> list[str]:
    """Entries that say an earlier moment than the one before: a clock put right, or put back on purpose. In words."""
    h, said, last = history.c, list[str](), 0.0
    for row in connection.execute(sa.select(h.number, h.utc_s, h.action, h.what).where(h.own).order_by(h.number)):
        if row.utc_s < last - CLOCKS_S:
            then, before = (datetime.fromtimestamp(t, UTC).strftime("%Y-%m-%d %H:%M") for t in (row.utc_s, last))
            said.append(
                f"history, entry {row.number} ({row.action} {row.what}) says {then}, the one before it {before}: "
                "the clock was set back"
            )
        last = row.utc_s
    return _some(said)


def _some(said: list[str]) -> list[str]:
    more = len(said) - _MOST_SAID
    return said if more <= 0 else [*said[:_MOST_SAID], f"and {more} more like these"]


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
