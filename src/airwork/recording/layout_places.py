"""Positions of a table before they are settled: both in one cell, with side or minutes, in which continent."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from airwork.recording.cells import numbers_of
from airwork.recording.positions import from_minutes, with_side, without_places
from airwork.recording.recorded import Array
from airwork.recording.table import RawTable

PLACE = ("latitude", "longitude")


def part_places(table: RawTable) -> None:
    """A cell that holds both latitude and longitude becomes two columns."""
    if (parted := without_places(table.frame, table.names)) is not None:
        place, table.frame = parted
        name = table.names[place]
        table.names = [*table.names, f"longitude ({name})"]
        table.names[place] = f"latitude ({name})"
        table.unit_cells = [*table.unit_cells, ""]


def outside_america(table: RawTable, i: int, sides: Mapping[str, int]) -> bool:
    """Its longitudes are in plain degrees and not of the one continent that writes the month first."""
    values = numbers_of(table.frame[str(i)], "angle", "longitude")
    if (side := sides.get("longitude")) is not None:
        values = with_side(values, table.frame[str(side)], "longitude")
    known = values[np.isfinite(values)]
    return bool(known.size) and -30.0 < float(np.median(known)) <= 180.0


def position(raw: Array, quantity: str, table: RawTable, sides: Mapping[str, int]) -> tuple[Array, str]:
    """Degrees with their sign, and what was done to get them."""
    why = []
    if (degrees := from_minutes(raw, quantity)) is not None:
        raw = degrees
        why.append("degrees and minutes in one number")
    if (i := sides.get(quantity)) is not None:
        raw = with_side(raw, table.frame[str(i)], quantity)
        why.append(f"side from the column {table.names[i] or i + 1}")
    return raw, "; ".join(why)
