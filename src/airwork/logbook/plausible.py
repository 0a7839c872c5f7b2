"""What no row of a student's export can say: what typed entries refuse, an export that was written by hand may hold."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from airwork.errors import InputError
from airwork.logbook.days import local_date, zone
from airwork.logbook.entering import LONGEST_S
from airwork.logbook.marks import SCALE
from airwork.logbook.records import TIMES, number
from airwork.logbook.rules import authorities, load_rules

_DAY_S = 86400.0


def refuse_implausible(table: str, row: dict[str, Any]) -> None:
    """InputError, naming the field, for a row that could not have been entered here."""
    if table in _CHECKS:
        _CHECKS[table](row)


def _person(row: dict[str, Any]) -> None:
    zone(row["time_zone"])
    _on("born_on", row["born_on"])
    if row["authority"] not in authorities():
        raise InputError(f"no rules for {row['authority']!r}.", where="authority")


def _place(row: dict[str, Any]) -> None:
    if row["time_zone"]:
        zone(row["time_zone"])
    for name, most in (("latitude_rad", 90.0), ("longitude_rad", 180.0)):
        if row[name] is not None:
            number(math.degrees(row[name]), name.removesuffix("_rad"), -most, most)


def _flight(row: dict[str, Any]) -> None:
    zone(row["time_zone"])
    _on("local_date", row["local_date"])
    start, end = row["start_utc_s"], row["end_utc_s"]
    if start is not None and end is not None and not 0.0 < end - start <= LONGEST_S:
        raise InputError("the end must be after the start, within 24 h.", where="end_utc_s")
    if start is not None:
        number(start, "start_utc_s", -_DAY_S * 366 * 70, time.time() + _DAY_S)
        if abs(local_date(start, row["time_zone"]) - row["local_date"]) > timedelta(days=1):
            raise InputError(f"{row['local_date']} is not the day it started.", where="local_date")
    for kind in TIMES:
        number(row[f"{kind}_s"] / 3600.0, f"{kind}_s in hours", 0.0, 24.0)
        if kind not in {"total", "ground_training"} and round(row[f"{kind}_s"]) > round(row["total_s"]):
            raise InputError("is more than the whole flight.", where=f"{kind}_s")
    number(row["passengers"], "passengers", 0, 20)
    if row["role"] == "solo" and (row["passengers"] or row["dual_s"] > 0):
        raise InputError("solo means alone aboard: no passengers and no training received.", where="role")
    if row["instructor_id"] is not None and row["instructor_id"] == row["pilot_id"]:
        raise InputError("pilot and instructor are the same person.", where="instructor_id")


def _movement(row: dict[str, Any]) -> None:
    number(row["number"], f"number of {row['what']}s", 0, 500)


def _mark(row: dict[str, Any]) -> None:
    if row["level"] not in SCALE:
        raise InputError(f"{row['level']!r} is no level of the scale.", where="level")


def _held(row: dict[str, Any]) -> None:
    name = "given_on" if "given_on" in row else "on_date"
    _on(name, row[name])
    if row["expires_on"] is not None and row["expires_on"] < row[name]:
        raise InputError(f"would expire on {row['expires_on']}, before it begins.", where="expires_on")
    if row["kind"] not in _kinds():
        raise InputError(f"no rules here know {row['kind']!r}.", where="kind")


def _on(name: str, day: date | None) -> None:
    """A day that has been, within the time there are pilots."""
    if day is not None and not date(1900, 1, 1) <= day <= local_date(time.time(), "UTC") + timedelta(days=1):
        raise InputError(f"{day} can't be.", where=name)


@lru_cache(maxsize=1)
def _kinds() -> frozenset[str]:
    return frozenset(kind.id for name in authorities() for kind in load_rules(name).held)


_CHECKS: dict[str, Callable[[dict[str, Any]], None]] = {
    "person": _person, "place": _place, "flight": _flight, "movement": _movement, "mark": _mark, "endorsement": _held,
    "dated": _held,
}  # fmt: skip
