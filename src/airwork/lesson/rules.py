"""Rules the verdict holds a lesson against, as data with their source: VFR minima, fuel reserve, an authority's rows.

An authority's file says who may be aboard, what a student alone may, oxygen, contact.

[V] found in the text named, [M] from memory. Local rules apply; amendments after 2024 were not checked.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any, Literal

from airwork.errors import InputError, Where
from airwork.units import FT_M, SM_M, parse
from airwork.values import sourced

RuleSet = Literal["91.151", "NCO"]


@dataclass(frozen=True, slots=True)
class Minima:
    """Least flight visibility and distance from cloud. `clear_of_clouds`: no distance, only out of them."""

    visibility_m: float
    below_m: float | None
    above_m: float | None
    horizontal_m: float | None
    source: str
    label: str


def _us(miles: float, below: float | None, above: float | None, horizontal_ft: float | None) -> Minima:
    return Minima(
        miles * SM_M,
        None if below is None else below * FT_M,
        None if above is None else above * FT_M,
        None if horizontal_ft is None else horizontal_ft * FT_M,
        "14 CFR 91.155",
        "V",
    )


_USUAL = (500.0, 1000.0, 2000.0)
_HIGH = (1000.0, 1000.0, 5280.0)


def vfr_minima(airspace: str, altitude_m: float, agl_m: float, night: bool, rules: RuleSet = "91.151") -> Minima:
    """VFR weather minima of an airspace class at an altitude.

    Parameters
    ----------
    airspace : "A" to "G". altitude_m : above sea level. agl_m : above ground. night : by civil twilight.

    Class A has no VFR: its minima are those of IFR, an infinite visibility here.

    References
    ----------
    [91.155] 14 CFR 91.155 (a) [V]; SERA.5001 for the EU rule set [M].
    """
    if airspace == "A":
        return Minima(float("inf"), None, None, None, "class A: no VFR", "V")
    if rules == "NCO":
        return _sera(airspace, altitude_m, agl_m)
    high = altitude_m >= 10_000 * FT_M
    if airspace == "B":
        return _us(3, None, None, None)
    if airspace in {"C", "D"} or (airspace == "E" and not high):
        return _us(3, *_USUAL)
    if airspace == "E":
        return _us(5, *_HIGH)
    if airspace != "G":
        raise ValueError(f"no airspace class {airspace!r}")
    if agl_m <= 1200 * FT_M:
        return _us(3, *_USUAL) if night else _us(1, None, None, None)
    if high:
        return _us(5, *_HIGH)
    return _us(3, *_USUAL) if night else _us(1, *_USUAL)


def _sera(airspace: str, altitude_m: float, agl_m: float) -> Minima:
    source = "SERA.5001"
    if altitude_m >= 10_000 * FT_M:
        return Minima(8000.0, 1000 * FT_M, 1000 * FT_M, 1500.0, source, "M")
    if airspace in {"F", "G"} and (altitude_m <= 3000 * FT_M or agl_m <= 1000 * FT_M):
        return Minima(5000.0, None, None, None, source, "M")
    return Minima(5000.0, 1000 * FT_M, 1000 * FT_M, 1500.0, source, "M")


@dataclass(frozen=True, slots=True)
class Reserve:
    """Fuel to be left, as a time at normal cruise."""

    time_s: float
    source: str
    label: str


def legal_reserve(rules: RuleSet, night: bool, stays_at_aerodrome: bool = False) -> Reserve:
    """Final reserve for a VFR flight. [s at normal cruise]

    References
    ----------
    [91.151] 14 CFR 91.151: 30 min by day, 45 min by night [V]. Part-NCO: day 30 min, 10 min for a local flight with
    the aerodrome in sight, night 45 min [M].
    """
    if rules == "91.151":
        return Reserve(45 * 60.0 if night else 30 * 60.0, "14 CFR 91.151", "V")
    if night:
        return Reserve(45 * 60.0, "Part-NCO", "M")
    return Reserve(10 * 60.0 if stays_at_aerodrome else 30 * 60.0, "Part-NCO", "M")


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
