"""Flights from an older logbook: lines of a CSV typed or exported from paper or a spreadsheet."""

from __future__ import annotations

import csv
import io
import re

from sqlalchemy import Connection

from airwork.errors import AirworkError, InputError
from airwork.logbook import people
from airwork.logbook.doubts import odd, require_possible
from airwork.logbook.entering import Completed, FlightEntry
from airwork.logbook.flights import add_flight
from airwork.logbook.plausible import slips
from airwork.logbook.records import Person
from airwork.logbook.taken import in_the_way
from airwork.logbook.typed import flight as read_flight

COLUMNS = (
    "date", "start", "end", "hours", "role", "instructor", "airplane", "route", "takeoffs", "landings", "night",
    "instrument", "actual", "cross_country", "test_preparation", "ground", "passengers", "distance_nm", "farthest_nm",
    "remarks",
)  # fmt: skip


def enter_csv(
    connection: Connection, pilot: Person, raw: bytes, where: str, *, now_utc_s: float, twice: bool = False
) -> tuple[list[Completed], list[str]]:
    """Enter every line of a CSV; the error of any line refuses them all and names the line.

    twice : also what is like a flight on record. Returns the flights, and what can hardly be as written (it counts so,
    and somebody looks).
    """
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError("is not UTF-8 text; save it as CSV UTF-8.", where=where) from None
    separator = ";" if text.split("\n", 1)[0].count(";") > text.split("\n", 1)[0].count(",") else ","
    reader = csv.DictReader(io.StringIO(text), delimiter=separator)
    names = [(name or "").strip().lower().replace(" ", "_") for name in reader.fieldnames or ()]
    unknown = [name for name in names if name not in COLUMNS]
    if unknown or not names:
        wrong = f"no column {unknown[0]!r}" if unknown else "is empty: its first line names the columns"
        raise InputError(f"{wrong}; there are {', '.join(COLUMNS)}.", where=where)
    reader.fieldnames = names
    done: list[Completed] = []
    look_at: list[str] = []
    for line in reader:
        at = f"{where}, line {reader.line_num}"
        if line.get(None):
            raise InputError("has more cells than the head; put text with commas in quotes.", where=at)
        cells = {name: (value or "").strip() for name, value in line.items()}
        if not any(cells.values()):
            continue
        try:
            entry = _entry(connection, pilot, cells, now_utc_s)
            require_possible(entry, now_utc_s, recorded=True)
            if not twice and (asked := in_the_way(connection, entry) if entry.start_utc_s is None else []):
                raise InputError(f"{asked[0]}. If both were flown, enter them with --overlap.")
            done.append(add_flight(connection, entry, now_utc_s=now_utc_s))
        except AirworkError as problem:
            raise InputError(str(problem), where=at) from None
        moves, row = done[-1].movements, done[-1].row
        strange = (*slips(row.start_utc_s, row.end_utc_s, row.total_s, moves), *odd(entry))
        look_at += [f"look at line {reader.line_num}, {row.local_date}: {one}" for one in strange]
    return done, look_at


def _entry(connection: Connection, pilot: Person, cells: dict[str, str], now_utc_s: float) -> FlightEntry:
    name = cells.get("instructor")
    teacher = people.find_person(connection, name, instructor=True) if name else None
    far = {one: f"{cells[f'{one}_nm']} NM" for one in ("distance", "farthest") if cells.get(f"{one}_nm")}
    typed = {**cells, **far, "route": re.sub(r"[>–/-]", " ", cells.get("route", ""))}
    return read_flight(connection, pilot, typed, now_utc_s=now_utc_s, instructor=teacher)
