"""The history in words: for the page and the command line."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.errors import InputError
from airwork.logbook.history import differences
from airwork.logbook.schema import history

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
    out = []
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
                _called(state or before or {}) or row["thing_id"][:8], row["action"], _told(row, before, state),
                row["thing_id"], bool(row["own"]),
            )
        )  # fmt: skip
    return tuple(out)


def _called(state: dict[str, Any]) -> str:
    return next((str(state[name]) for name in _CALLED if state.get(name)), "")


def _told(row: Any, before: dict[str, Any] | None, state: dict[str, Any] | None) -> str:
    if row["what"] == "logbook":
        return ", ".join(f"{name}: {short(value)}" for name, value in (state or {}).items())
    if row["action"] != "changed":
        return ""
    if before is None or state is None:
        return "its words were taken out"
    told = differences(before, state)
    return ", ".join(
        f"{name.removesuffix('_utc_s').replace('_', ' ')} {_shown(name, a)} → {_shown(name, b)}"
        for name, (a, b) in told.items()
    )


def _shown(name: str, value: Any) -> str:
    """A moment as a clock says it; anything else as it is."""
    if name.endswith("_utc_s") and isinstance(value, (int, float)):
        return datetime.fromtimestamp(value, UTC).strftime("%Y-%m-%d %H:%M")
    return short(value)


def short(value: Any) -> str:
    """A value of a row, short enough for a line."""
    if value is None or value == "":
        return "nothing"
    text = f"{value:g}" if isinstance(value, float) else str(value)
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"
