"""The table of lessons and the verdict an instructor would give: read, changed, written as a lesson file's text.

A row names a base lesson, fields to set (dotted) and to drop; what comes out is text as a user would type it.
"""

from __future__ import annotations

import copy
import datetime as dt
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent / "verdicts"
BASES: dict[str, dict[str, Any]] = tomllib.loads((HERE / "bases.toml").read_text("utf-8"))


@dataclass(frozen=True, slots=True)
class Row:
    """One lesson of the table. verdict: "go", "think", "no-go", or "stop" (think or no-go, never go)."""

    id: str
    base: str
    verdict: str
    says: tuple[str, ...]
    never: tuple[str, ...]
    refused: bool  # a file with this in it may also be refused in one clear line
    text: str


def rows(name: str) -> list[Row]:
    """The rows of a file, the grouped ones too."""
    read = tomllib.loads((HERE / name).read_text("utf-8"))
    found = [*read["row"], *(row for group in read.get("more", []) for row in group["row"])]
    return [_row(row) for row in found]


def _row(row: Mapping[str, Any]) -> Row:
    lesson = copy.deepcopy(BASES[row.get("base", "dual")])
    for field, value in row.get("set", {}).items():
        _put(lesson, field.split("."), value)
    for field in row.get("drop", ()):
        *above, last = field.split(".")
        at: dict[str, Any] = lesson
        for key in above:
            at = at.get(key, {})
        at.pop(last, None)
    return Row(
        row["id"], row.get("base", "dual"), row.get("verdict", "go"), tuple(row.get("says", ())),
        tuple(row.get("never", ())), row.get("refused", False), as_toml(lesson),
    )  # fmt: skip


def _put(at: dict[str, Any], keys: list[str], value: Any) -> None:
    for key in keys[:-1]:
        at = at.setdefault(key, {})
    at[keys[-1]] = value


def as_toml(lesson: Mapping[str, Any]) -> str:
    """The lesson as TOML text, one top-level field a line."""
    return "\n".join(f"{key} = {_value(value)}" for key, value in lesson.items()) + "\n"


def _value(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case dt.date() | int() | float():
            return str(value)
        case str():
            return json.dumps(value, ensure_ascii=False)
        case list():
            return "[" + ", ".join(_value(v) for v in value) + "]"
        case dict():
            return "{ " + ", ".join(f"{json.dumps(k)} = {_value(v)}" for k, v in value.items()) + " }"
    raise TypeError(type(value))
