"""What no entry can say."""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from airwork.days import local_date, zone
from airwork.errors import InputError
from airwork.logbook.records import HOUR_S, TENTH_S, Movement, number
from airwork.logbook.rules import authorities

LONGEST_S = 24.0 * 3600.0  # of a flight
LEAST_LANDING_S = 60.0  # a landing and the circuit before it take longer; our own choice


def refuse_person(row: dict[str, Any]) -> None:
    """InputError, naming the field, for a person nobody can be."""
    zone(row["time_zone"])
    _on("born", row["born_on"], " a birth date")
    if row["authority"] not in authorities():
        known = ", ".join(authorities())
        raise InputError(f"no rules for {row['authority']!r}; there are {known}.", where="authority")


def refuse_place(row: dict[str, Any]) -> None:
    """InputError, naming the field, for a place that can't be."""
    if row["time_zone"]:
        zone(row["time_zone"])
    for name, most in (("latitude_rad", 90.0), ("longitude_rad", 180.0)):
        if row[name] is not None:
            number(math.degrees(row[name]), name.removesuffix("_rad"), -most, most)


def wrong_times(
    start_utc_s: float | None, end_utc_s: float | None, times_s: Mapping[str, float]
) -> tuple[InputError, ...]:
    """What no flight has: an end before its start, times below nothing, one longer than the whole. [s]

    times_s : by kind; without a total the time from start to end is the whole.
    """
    found = []
    between = None if start_utc_s is None or end_utc_s is None else end_utc_s - start_utc_s
    if between is not None and not 0.0 < between <= LONGEST_S:
        found.append(InputError("the end must be after the start, within 24 h.", where="flight"))
    total = times_s.get("total")
    total = total if total is not None and math.isfinite(total) and total >= 0.0 else between
    for kind, seconds in times_s.items():
        where = f"{kind.replace('_', ' ')} hours"
        try:
            number(seconds / 3600.0, where, 0.0, 24.0)
        except InputError as outside:
            found.append(outside)
            continue
        if total is not None and kind not in {"total", "ground_training"} and round(seconds) > round(total):
            text = f"{seconds / 3600:.1f} h is more than the flight's {total / 3600:.1f} h."
            found.append(InputError(text, where=where))
    return tuple(found)


def refuse_times(start_utc_s: float | None, end_utc_s: float | None, times_s: Mapping[str, float]) -> None:
    """InputError for a flight that ends before it starts, or a time of it longer than the whole. [s]"""
    if wrong := wrong_times(start_utc_s, end_utc_s, times_s):
        raise InputError(wrong[0].problem, where=wrong[0].where, each=wrong)


def slips(
    start_utc_s: float | None, end_utc_s: float | None, total_s: float | None, movements: Iterable[Movement]
) -> tuple[InputError, ...]:
    """What a typed flight can't mean: hours that don't fit between its start and end, more takeoffs or landings than
    there is time for. Refused where one flight is typed; an old logbook's row is taken as it stands, and this said.
    """
    found = []
    between = None if start_utc_s is None or end_utc_s is None else end_utc_s - start_utc_s
    if total_s is not None and between is not None and total_s > between + TENTH_S + 1.0:
        text = f"{total_s / HOUR_S:.1f} h is more than from start to end, {between / HOUR_S:.1f} h."
        found.append(InputError(text, where="flight time"))
    aloft = between if total_s is None else total_s
    moves = list(movements)
    for what in ("takeoff", "landing"):
        count = sum(m.number for m in moves if m.what == what)
        if aloft and count > 1 and count * LEAST_LANDING_S > aloft:
            text = f"{count} in {aloft / HOUR_S:.1f} h is more than one a minute."
            found.append(InputError(text, where=f"{what}s"))
    return tuple(found)


def refuse_aboard(role: str, passengers: int, dual_s: float, pilot_id: str | None, instructor_id: str | None) -> None:
    """InputError for people who can't be aboard together."""
    if role == "solo" and (passengers or dual_s > 0):
        raise InputError("solo means alone aboard: no passengers and no training received.", where="flight")
    if instructor_id is not None and instructor_id == pilot_id:
        raise InputError("pilot and instructor are the same person.", where="flight")


def _on(name: str, day: date | None, what: str = "") -> None:
    """A day that has been, within the time there are pilots."""
    if day is not None and not date(1900, 1, 1) <= day <= local_date(time.time(), "UTC") + timedelta(days=1):
        raise InputError(f"{day} can't be{what}.", where=name)
