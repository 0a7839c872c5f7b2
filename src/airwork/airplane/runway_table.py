"""A distance table as its book prints it, and one of its columns at a weight, altitude and temperature."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.file.printed import as_printed, printed_unit, unit_of
from airwork.airplane.tables import Axis, GridTable
from airwork.errors import NotPossible, OutOfRange

if TYPE_CHECKING:
    from airwork.airplane.file.performance import DistanceRow, DistanceTable

TEMPERATURE = "above_standard_temperature"
_SLACK = 1e-4  # a mass that comes from SI and back is the printed one


@dataclass(frozen=True, slots=True)
class Print:
    """How one distance table is printed: the unit of each column, and whether by deviation from standard.

    Questions are asked, and refusals named, in the book's own units, so that both can be compared with its page.
    """

    weight: str
    height: str
    temperature: str
    distance: str
    by_deviation: bool

    @classmethod
    def of(cls, airplane: Airplane, table: DistanceTable, kind: str) -> Print:
        def unit(key: str) -> str:
            return printed_unit(airplane.file.printed, f"performance.{kind}.rows", key)

        by_deviation = any(row.isa_deviation_c is not None for row in table.rows)
        temperature = unit("isa_deviation_c" if by_deviation else "oat_c")
        return cls(unit("weight_lb"), unit("pressure_altitude_ft"), temperature, unit("ground_roll_ft"), by_deviation)

    @property
    def axes(self) -> tuple[Axis, Axis]:
        above = "above standard " if self.by_deviation else ""
        return (
            Axis("height", f"pressure altitude [{self.height}]"),
            Axis("temperature", f"temperature {above}[{self.temperature}]"),
        )

    def heat(self, height_m: float, temperature_k: float) -> float:
        """A temperature as the table's column has it."""
        if not self.by_deviation:
            return units.to_unit(temperature_k, self.temperature)
        above = temperature_k - float(standard_temperature_k(height_m))
        return above * (1.8 if self.temperature == "°F" else 1.0)

    def row(self, row: DistanceRow) -> dict[str, float | None]:
        """A row in the printed units."""

        def shown(number: float | None, key: str, unit: str) -> float | None:
            return number if number is None or unit == unit_of(key) else as_printed(number, key, unit)

        heat_key = "isa_deviation_c" if self.by_deviation else "oat_c"
        return {
            "weight": shown(row.weight_lb, "weight_lb", self.weight),
            "height": shown(row.pressure_altitude_ft, "pressure_altitude_ft", self.height),
            "temperature": shown(getattr(row, heat_key), heat_key, self.temperature),
            "ground_roll_ft": shown(row.ground_roll_ft, "ground_roll_ft", self.distance),
            "total_over_50_ft": shown(row.total_over_50_ft, "ground_roll_ft", self.distance),
        }


class Sheet:
    """The rows of one distance table as printed, and the grids they make: made once, asked again and again.

    rows : of the file, all calm or all at one headwind.
    """

    def __init__(self, shown: Print, kind: str, rows: Iterable[DistanceRow]) -> None:
        self.shown, self.kind = shown, kind
        self.rows = [shown.row(row) for row in rows]
        self.weights = sorted({w for row in self.rows if (w := row["weight"]) is not None})
        self._grids: dict[tuple[float, str], GridTable | None] = {}

    def grid(self, weight: float, column: str) -> GridTable:
        """One column at a printed weight; NotPossible where it is not printed."""
        if (weight, column) not in self._grids:
            name = f"{self.kind} table at {weight:,.0f} {self.shown.weight}"
            rows = [row for row in self.rows if row["weight"] == weight]
            self._grids[weight, column] = GridTable.from_rows(name, self.shown.axes, column, rows)
        if (found := self._grids[weight, column]) is None:
            raise NotPossible(f"The {self.kind} table has no {column} at {weight:,.0f} {self.shown.weight}.")
        return found


def at_weight(sheet: Sheet, column: str, weight: float, height: float, heat: float) -> tuple[float, list[str]]:
    """One column at a weight, all in the printed units: (distance, what was put on the safe side)."""
    shown, weights = sheet.shown, sheet.weights
    notes: list[str] = []
    weight = round(weight, 6)
    if weight > weights[-1] + _SLACK:
        where = f"the {sheet.kind} table"
        raise OutOfRange(
            f"weight [{shown.weight}]",
            weight,
            weights[0],
            weights[-1],
            where=where,
            hint="It has no row as heavy as this.",
        )
    weight = min(weight, weights[-1])
    if weight < weights[0]:
        notes.append(
            f"lighter than the table's {weights[0]:,.0f} {shown.weight}: its distance is taken, on the safe side"
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
            notes.append(f"lower than the table's {lowest:,.0f} {shown.height}: that row is taken, on the safe side")
        if heat < coldest and lighter == printed:
            notes.append(
                f"colder than the table's {coldest:.0f} {shown.temperature}: that column is taken, on the safe side"
            )
        try:
            found.append(grid(max(height, lowest), max(heat, coldest)))
        except OutOfRange as refused:
            if refused.low == refused.high and refused.what == shown.axes[1].what:  # printed for one temperature alone
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
    firsts = {at: min(below) for at, below in sorted(grid.tree.items()) if isinstance(below, dict)}
    return float(np.interp(height, list(firsts), list(firsts.values())))
