"""What an authority asks of a lesson (who is aboard, a student alone, oxygen, contact), read from its file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

from airwork.errors import InputError, Where
from airwork.lesson.rules import RuleSet
from airwork.units import parse
from airwork.values import sourced

FILE_OF: dict[RuleSet, str] = {"91.151": "us", "NCO": "eu"}
_QUANTITY = {"least": "distance", "most": "distance", "above": "altitude", "longer_than": "time"}
_WORDS = {"text", "need", "source", "label"}
_FLAGS = {"nobody_else", "needed"}


@dataclass(frozen=True, slots=True)
class Rule:
    """One row: numbers in SI (least_m, most_m, above_m, longer_than_s as `number`), words, and where it stands."""

    name: str
    text: str
    source: str
    number: float | None = None
    longer_than_s: float | None = None


@dataclass(frozen=True, slots=True)
class Authority:
    """An authority's rows by table and name; a row it hasn't is None."""

    id: str
    name: str
    first_certificates: frozenset[str]
    rows: Mapping[str, Rule]

    def rule(self, table: str, name: str) -> Rule | None:
        """A row, None where the file has none."""
        return self.rows.get(f"{table}.{name}")


def authority_of(rules: RuleSet) -> Authority:
    """The authority whose rules a lesson is planned by."""
    return _load(FILE_OF[rules])


@lru_cache(maxsize=4)
def _load(name: str) -> Authority:
    text = files("airwork.lesson").joinpath("authorities", f"{name}.toml").read_text("utf-8")
    return read_authority(tomllib.loads(text), f"{name}.toml")


def read_authority(data: Mapping[str, Any], where: str) -> Authority:
    """An authority's file as read. InputError: a row with an unknown word, or without source and label."""
    rows = {}
    for table, found in data.items():
        if not isinstance(found, Mapping):
            continue
        for name, row in found.items():
            rows[f"{table}.{name}"] = _row(name, row, Where.of(where, (table, name), dotted=True))
    return Authority(str(data["id"]), str(data["name"]), frozenset(data["first_certificates"]), rows)


def _row(name: str, row: Mapping[str, Any], where: Where) -> Rule:
    unknown = set(row) - _WORDS - _FLAGS - set(_QUANTITY)
    if unknown or row.get("label") not in {"V", "M", "P", "S"} or not row.get("source"):
        raise InputError(f"a row needs source and label (V, M, P or S); not known: {sorted(unknown)}.", where=where)
    numbers = {key: parse(row[key], kind) for key, kind in _QUANTITY.items() if key in row}  # type: ignore[arg-type]
    longer = numbers.pop("longer_than", None)
    words = str(row.get("text", row.get("need", "")))
    return Rule(name, words, sourced(row["source"], row["label"]), next(iter(numbers.values()), None), longer)
