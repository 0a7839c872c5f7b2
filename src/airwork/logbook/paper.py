"""Flights from an older logbook: lines of a CSV typed or exported from paper or a spreadsheet."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from typing import Literal

from sqlalchemy import Connection

from airwork.errors import AirworkError, InputError
from airwork.logbook import fleet, people
from airwork.logbook.days import read_date, read_moment
from airwork.logbook.entering import Completed, FlightEntry
from airwork.logbook.flights import add_flight
from airwork.logbook.records import Movement, Person
from airwork.units import NM_M

HOUR_S = 3600.0
COLUMNS = (
    "date", "start", "end", "hours", "role", "instructor", "airplane", "route", "takeoffs", "landings", "night",
    "instrument", "actual", "cross_country", "test_preparation", "ground", "passengers", "distance_nm", "farthest_nm",
    "remarks",
)  # fmt: skip
_TIMES = {
    "hours": "total", "night": "night", "instrument": "instrument_simulated", "actual": "instrument_actual",
    "cross_country": "cross_country", "test_preparation": "test_preparation", "ground": "ground_training",
}  # fmt: skip
_FLAGS = ("full-stop", "night", "late-night", "towered")


def read_movements(takeoffs: Sequence[str], landings: Sequence[str]) -> tuple[Movement, ...]:
    """Movements from a person's words: "4", "3 full-stop night", "2 night late-night towered"."""
    out = []
    for texts, what in ((takeoffs, "takeoff"), (landings, "landing")):
        for text in texts:
            words = text.replace(",", " ").split()
            if not words or not words[0].isdigit():
                raise InputError(f'{text!r}: write the number first, e.g. "3 full-stop night".', where=f"{what}s")
            unknown = [w for w in words[1:] if w not in _FLAGS]
            if unknown:
                raise InputError(f"{unknown[0]!r} is none of {', '.join(_FLAGS)}.", where=f"{what}s")
            full_stop, night, late_night, towered = (flag in words for flag in _FLAGS)
            kind: Literal["takeoff", "landing"] = "takeoff" if what == "takeoff" else "landing"
            out.append(Movement(kind, int(words[0]), None, full_stop, night, late_night, towered))
    return tuple(out)


def enter_csv(connection: Connection, pilot: Person, raw: bytes, where: str, *, now_utc_s: float) -> list[Completed]:
    """Enter every line of a CSV; the error of any line refuses them all and names the line."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError("is not UTF-8 text; save it as CSV UTF-8.", where=where) from None
    separator = ";" if text.split("\n", 1)[0].count(";") > text.split("\n", 1)[0].count(",") else ","
    reader = csv.DictReader(io.StringIO(text), delimiter=separator)
    names = [(name or "").strip().lower().replace(" ", "_") for name in reader.fieldnames or ()]
    unknown = [name for name in names if name not in COLUMNS]
    if unknown or not names:
        raise InputError(f"no column {unknown[0] if unknown else ''!r}; there are {', '.join(COLUMNS)}.", where=where)
    reader.fieldnames = names
    done = []
    for line in reader:
        at = f"{where}, line {reader.line_num}"
        if line.get(None):
            raise InputError("has more cells than the head; put text with commas in quotes.", where=at)
        cells = {name: (value or "").strip() for name, value in line.items()}
        if not any(cells.values()):
            continue
        try:
            entry = _entry(connection, pilot, cells, now_utc_s)
            done.append(add_flight(connection, entry, now_utc_s=now_utc_s))
        except AirworkError as problem:
            raise InputError(str(problem), where=at) from None
    return done


def _entry(connection: Connection, pilot: Person, cells: dict[str, str], now_utc_s: float) -> FlightEntry:
    def cell(name: str) -> str:
        return cells.get(name, "")

    teacher = people.find_person(connection, cell("instructor"), instructor=True) if cell("instructor") else None
    idents = re.split(r"[\s>–/-]+", cell("route")) if cell("route") else []
    route = tuple(fleet.place_for(connection, i, now_utc_s=now_utc_s) for i in idents if i)
    zone = (route[0].time_zone if route else "") or pilot.time_zone
    role = cell("role") or ("dual" if teacher else "pic")
    if role not in {"dual", "solo", "pic"}:
        raise InputError(f"{role!r} is none of dual, solo, pic.", where="role")

    def moment(name: str) -> float | None:
        written = cell(name)
        if not written:
            return None
        if re.fullmatch(r"\d{1,2}:\d{2}", written):  # a time of the line's day
            written = f"{read_date(cell('date'))} {written:>05}"
        return read_moment(written, zone, name)

    return FlightEntry(
        pilot=pilot,
        role=role,  # type: ignore[arg-type]
        start_utc_s=moment("start"),
        end_utc_s=moment("end"),
        local_date=read_date(cell("date")) if cell("date") else None,
        instructor=teacher,
        airplane=fleet.find_airplane(connection, cell("airplane")) if cell("airplane") else None,
        route=route,
        times_s={kind: _number(cell(n), n) * HOUR_S for n, kind in _TIMES.items() if cell(n)},
        movements=read_movements(_list(cell("takeoffs")), _list(cell("landings"))),
        passengers=int(_number(cell("passengers") or "0", "passengers")),
        remarks=cell("remarks"),
        distance_m=_number(cell("distance_nm"), "distance_nm") * NM_M if cell("distance_nm") else None,
        farthest_landing_m=_number(cell("farthest_nm"), "farthest_nm") * NM_M if cell("farthest_nm") else None,
    )


def _list(text: str) -> list[str]:
    return [part for part in (p.strip() for p in re.split(r"[;+]", text)) if part]


def _number(text: str, where: str) -> float:
    """A number of hours: 1.3, 1,3 or 1:18."""
    clock = re.fullmatch(r"(\d{1,2}):(\d{2})", text)
    if clock:
        return int(clock[1]) + int(clock[2]) / 60.0
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise InputError(f"{text!r} is no number.", where=where) from None
