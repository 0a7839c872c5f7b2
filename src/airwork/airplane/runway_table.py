"""A distance table as its book prints it, and one of its columns at a weight, altitude and temperature."""

from __future__ import annotations

import math
from collections.abc import Iterable

from airwork.airplane.book_table import Print, printed_heat, shown
from airwork.airplane.file.performance import DistanceRow
from airwork.airplane.tables import GridTable
from airwork.errors import NotPossible, OutOfRange

TEMPERATURE = "above_standard_temperature"
_SLACK = 1e-4  # a mass that comes from SI and back is the printed one


class Sheet:
    """The rows of one distance table as printed, and the grids they make: made once, asked again and again.

    rows : of the file, all calm or all at one headwind.
    """

    def __init__(self, book: Print, distance: str, kind: str, rows: Iterable[DistanceRow]) -> None:
        self.shown, self.distance, self.kind = book, distance, kind  # distance : the unit of both columns
        self.rows = [
            book.inputs(row)
            | {c: shown(getattr(row, c), "ground_roll_ft", distance) for c in ("ground_roll_ft", "total_over_50_ft")}
            for row in rows
        ]
        self.weights = sorted({w for row in self.rows if (w := row["weight"]) is not None})
        self._grids: dict[tuple[float, str], GridTable | None] = {}

    def grid(self, weight: float, column: str) -> GridTable:
        """One column at a printed weight; NotPossible where it is not printed."""
        if (weight, column) not in self._grids:
            name = f"{self.kind} table at {weight:,.0f} {self.shown.weight}"
            rows = [row for row in self.rows if row["weight"] == weight]
            self._grids[weight, column] = GridTable.from_rows(name, self.shown.axes()[1:], column, rows)
        if (found := self._grids[weight, column]) is None:
            raise NotPossible(f"The {self.kind} table has no {column} at {weight:,.0f} {self.shown.weight}.")
        return found


def at_weight(sheet: Sheet, column: str, weight: float, height: float, heat: float) -> tuple[float, list[str]]:
    """One column at a weight, all in the printed units: (distance, what was put on the safe side)."""
    book, weights = sheet.shown, sheet.weights
    notes: list[str] = []
    weight = round(weight, 6)
    if weight > weights[-1] + _SLACK:
        where = f"the {sheet.kind} table"
        raise OutOfRange(
            f"weight [{book.weight}]",
            weight,
            weights[0],
            weights[-1],
            where=where,
            hint="It has no row as heavy as this.",
        )
    weight = min(weight, weights[-1])
    if weight < weights[0]:
        notes.append(
            f"lighter than the table's {weights[0]:,.0f} {book.weight}: its distance is taken, on the safe side"
        )
        weight = weights[0]
    heavier = next(w for w in weights if w >= weight)
    lighter = max((w for w in weights if w <= weight), default=heavier)
    found = []
    for printed in (lighter, heavier):
        grid = sheet.grid(printed, column)
        lowest = grid.range_of(0)[0]
        coldest = _coldest(grid, max(height, lowest))
        if height < lowest and lighter == printed:
            notes.append(f"lower than the table's {lowest:,.0f} {book.height}: that row is taken, on the safe side")
        if heat < coldest and lighter == printed:
            notes.append(
                f"colder than the table's {coldest:.0f} {book.temperature}: that column is taken, on the safe side"
            )
        try:
            found.append(grid(max(height, lowest), max(heat, coldest)))
        except OutOfRange as refused:
            if refused.low == refused.high and refused.what == book.axes()[2].what:  # printed for one temperature alone
                hint = f"If the handbook has a rule for warmer air, add it as a correction ({TEMPERATURE})."
                raise OutOfRange(
                    refused.what, refused.asked, refused.low, refused.high, where=refused.where, hint=hint
                ) from None
            raise
    if lighter == heavier:
        return found[0], list(dict.fromkeys(notes))
    share = math.log(weight / lighter) / math.log(heavier / lighter)
    return math.exp(math.log(found[0]) * (1 - share) + math.log(found[1]) * share), list(dict.fromkeys(notes))


def _coldest(grid: GridTable, height: float) -> float:
    """Lowest temperature printed at a pressure altitude: straight between the first columns of the rows about it.

    A table printed for standard temperature alone has one column, and another one at every altitude.
    """
    printed = ((at, heat) for at, below in grid.tree.items() if isinstance(below, dict) for heat in below)
    return printed_heat(printed, height, min)
