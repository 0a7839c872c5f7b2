"""The history in words: for the page and the command line."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.errors import InputError
from airwork.logbook.history import differences
from airwork.logbook.schema import airplane, history, person
from airwork.units import DEG_RAD, NM_M

_CALLED = ("name", "registration", "ident", "title", "local_date", "kind", "file_name")
_LONGEST = 40


@dataclass(frozen=True, slots=True)
class Change:
    """One entry of the history as a person reads it. told : what changed, "from → to"."""

    when: str
    by: str
    what: str
    called: str
    action: str
    told: str
    thing_id: str
    own: bool


def changes(connection: Connection, *, thing: str = "", most: int = 40) -> tuple[Change, ...]:
    """The newest entries, newest first. thing : the first characters (6 or more) of an identity, or "" for all."""
    h = history.c
    query = sa.select(history).order_by(h.number.desc()).limit(most)
    if thing:
        asked = thing.strip().lower()
        if len(asked) < 6 or not asked.isalnum():
            raise InputError(f"{thing!r}: write at least 6 characters of the identity.", where="history")
        query = query.where(h.thing_id.startswith(asked))
    out, names = [], _names(connection)
    for row in connection.execute(query).mappings():
        state = None if row["state_json"] is None else json.loads(row["state_json"])
        before_json = connection.execute(
            sa.select(h.state_json)
            .where(h.what == row["what"], h.thing_id == row["thing_id"], h.number < row["number"], h.own == row["own"])
            .order_by(h.number.desc())
            .limit(1)
        ).scalar()
        before = None if before_json is None else json.loads(before_json)
        when = datetime.fromtimestamp(row["utc_s"], UTC).strftime("%Y-%m-%d %H:%M:%S")
        out.append(
            Change(
                when, row["by"] if row["own"] else f"{row['by']} (elsewhere)", row["what"],
                _called(state or before or {}) or row["thing_id"][:8], row["action"],
                _told(row, before, state, names),
                row["thing_id"], bool(row["own"]),
            )
        )  # fmt: skip
    return tuple(out)


def _called(state: dict[str, Any]) -> str:
    return next((str(state[name]) for name in _CALLED if state.get(name)), "")


def _names(connection: Connection) -> dict[str, str]:
    """What people and airplanes are called, by their identities."""
    one, plane = person.c, airplane.c
    return {
        **{str(i): str(n) for i, n in connection.execute(sa.select(one.id, one.name))},
        **{str(i): str(n) for i, n in connection.execute(sa.select(plane.id, plane.registration))},
    }


def _told(row: Any, before: dict[str, Any] | None, state: dict[str, Any] | None, names: Mapping[str, str]) -> str:
    if row["what"] == "logbook":
        return ", ".join(f"{name}: {_shown('', value)}" for name, value in (state or {}).items())
    if row["action"] != "changed":
        return ""
    if before is None or state is None:
        return "its words were taken out"
    return in_words(differences(before, state), names)


_UNITS = {"_utc_s": 1.0, "_s": 3600.0, "_m": NM_M, "_rad": DEG_RAD}  # of a column, and what it is shown in
_SHOWN = {"_s": ".1f} h", "_m": ".1f} NM", "_rad": ".4f}°"}


def in_words(changed: Mapping[str, tuple[Any, Any]], names: Mapping[str, str] = MappingProxyType({})) -> str:
    """What changed, by the columns' names, as a person reads it: "solo 0.9 h → 9.0 h".

    names : of people and airplanes, by identity. What reads the same before and after is left out.
    """
    said = []
    for name, pair in changed.items():
        unit = next((u for u in _UNITS if name.endswith(u)), "")
        a, b = (_shown(unit, names.get(value, value) if isinstance(value, str) else value) for value in pair)
        if a != b:
            said.append(f"{name.removesuffix(unit).removesuffix('_id').replace('_', ' ')} {a} → {b}")
    return ", ".join(said)


def _shown(unit: str, value: Any) -> str:
    """A value in what people read it in, short enough for a line."""
    if value is None or value == "":
        return "nothing"
    if unit and isinstance(value, (int, float)):
        if unit == "_utc_s":
            return datetime.fromtimestamp(value, UTC).strftime("%Y-%m-%d %H:%M")
        return ("{:" + _SHOWN[unit]).format(value / _UNITS[unit])
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"
