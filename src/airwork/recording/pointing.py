"""The columns of a table as a person looks at them to say what each is: first cells, range, a line to see, a guess."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from airwork.errors import AirworkError, InputError
from airwork.recording.cells import numbers_of
from airwork.recording.layout import interpret
from airwork.recording.mapping import find_mapping
from airwork.recording.names import common_words, understand
from airwork.recording.open_file import open_recording
from airwork.recording.quantities import QUANTITIES, TIME_QUANTITIES
from airwork.recording.read_table import aircraft_in, raw_table
from airwork.recording.recorded import Array
from airwork.recording.table import RawTable
from airwork.recording.unit_guess import Known, guess

FIRST = 6  # rows shown
FEWEST_COLUMNS, FEWEST_ROWS = 3, 10  # less can't tell a flight, whatever it is
POINTS = 120  # of the line: twice as many as a small drawing has room for
FIXED = {"igc", "nmea"}  # their fields have no names to point at
# What a debrief lives on, asked for first.
WANTED = ("elapsed", "time", "local_time", "date", "latitude", "longitude", "gps_altitude", "indicated_altitude",
          "ground_speed", "indicated_airspeed", "track", "magnetic_heading", "bank", "pitch", "rpm",
          "manifold_pressure", "fuel_flow", "load_factor")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """One column. said : its quantity as settled or as its name says, "" for none; unit : settled, named or guessed.

    line : (share of the rows, value as written) from the first row to the last, thinned; empty for text.
    """

    name: str
    first: tuple[str, ...]
    said: str
    unit: str
    settled: bool
    line: tuple[tuple[float, float], ...]


def table_of(path: Path) -> RawTable:
    """The columns as they lie in the file. InputError for a format whose fields are fixed, or no table at all."""
    opened = open_recording(path)
    if opened.kind in FIXED:
        raise InputError(f"is {opened.kind.upper()}: its fields are fixed by the format.", where=path.name)
    return raw_table(opened)


def several(path: Path) -> list[tuple[str, int]]:
    """(name, rows) of each aircraft of a table that holds more than one; nothing for any other file."""
    try:
        found = aircraft_in(table_of(path))
    except AirworkError:
        return []
    return found if len(found) > 1 else []


def is_unknown(path: Path) -> bool:
    """A table that can be shown, but whose columns don't tell a flight: somebody must say what they are."""
    try:
        table = table_of(path)
        settled, _ = find_mapping(path, table.names, None)
    except AirworkError:
        return False
    try:
        interpret(table, settled, path.name)
    except AirworkError:
        return len(table.names) >= FEWEST_COLUMNS and table.frame.height >= FEWEST_ROWS
    return False


def columns_of(table: RawTable, settled: dict[str, str]) -> tuple[Column, ...]:
    """Each column with what is thought of it. settled : name -> "quantity:unit" as pointed before."""
    common = common_words(table.names)
    known = Known(np.arange(float(table.frame.height)))
    return tuple(
        _column(table.frame[str(i)], name, cell, settled.get(name), common, known)
        for i, (name, cell) in enumerate(zip(table.names, table.unit_cells, strict=True))
    )


def _column(
    series: pl.Series, name: str, cell: str, said: str | None, common: frozenset[str], known: Known
) -> Column:  # fmt: skip
    first = tuple("" if v is None else str(v)[:24] for v in series.head(FIRST).to_list())
    numbers = _numbers(series)
    quantity, unit = "", ""
    if said is not None:
        quantity, _, unit = said.partition(":")
    elif name and len(name) < 120 and (meaning := understand(name, cell, common)) is not None and not meaning.aside:
        quantity, unit = meaning.quantity, meaning.units[0].name if meaning.units else ""
    quantity = "ignore" if quantity == "not_needed" else quantity
    if quantity in QUANTITIES and not unit and quantity not in TIME_QUANTITIES and QUANTITIES[quantity].units:
        unit = guess(quantity, numbers_of(series, QUANTITIES[quantity].dimension, quantity), known)[0].name
    return Column(name, first, quantity, unit, said is not None, _line(numbers))


def _numbers(series: pl.Series) -> Array:
    return np.asarray(series.cast(pl.Float64, strict=False).to_numpy(), dtype=float)


def _line(values: Array) -> tuple[tuple[float, float], ...]:
    """Lowest and highest of each stretch of rows, so that a short excursion stays in sight."""
    good = np.flatnonzero(np.isfinite(values))
    if good.size < 2:
        return ()
    out = []
    for part in np.array_split(good, min(POINTS // 2, good.size)):
        for at in sorted({int(part[np.argmin(values[part])]), int(part[np.argmax(values[part])])}):
            out.append((at / max(values.size - 1, 1), float(values[at])))
    return tuple(out)
