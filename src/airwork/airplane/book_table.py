"""How a table by weight, altitude and temperature is printed: it is asked, and its refusals named, in its own units.

So both can be compared with the book's page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.performance import ClimbRow, DistanceRow
from airwork.airplane.file.printed import as_printed, printed_unit, unit_of
from airwork.airplane.tables import Axis


@dataclass(frozen=True, slots=True)
class Print:
    """The unit of each input, and whether the table counts temperature by deviation from standard."""

    weight: str
    height: str
    temperature: str
    by_deviation: bool

    @classmethod
    def of(cls, file: AirplaneFile, table: str, rows: Sequence[ClimbRow | DistanceRow]) -> Print:
        """As a file prints a table of `[performance]`."""
        by_deviation = any(row.isa_deviation_c is not None for row in rows)
        keys = ("weight_lb", "pressure_altitude_ft", "isa_deviation_c" if by_deviation else "oat_c")
        weight, height, heat = (printed_unit(file.printed, f"performance.{table}.rows", key) for key in keys)
        return cls(weight, height, heat, by_deviation)

    def axes(self, *, smooth: bool = False) -> tuple[Axis, Axis, Axis]:
        """Weight, height, temperature; smooth : shape-preserving along the temperature."""
        above = "above standard " if self.by_deviation else ""
        return (
            Axis("weight", f"weight [{self.weight}]"),
            Axis("height", f"pressure altitude [{self.height}]"),
            Axis("temperature", f"temperature {above}[{self.temperature}]", smooth=smooth),
        )

    def asked(self, mass_kg: float, height_m: float, temperature_k: float) -> tuple[float, float, float]:
        """The axes' inputs of a question."""
        heat = units.to_unit(temperature_k, self.temperature)
        if self.by_deviation:
            above = temperature_k - float(standard_temperature_k(height_m))
            heat = above * (1.8 if self.temperature == "°F" else 1.0)
        return units.to_unit(mass_kg, self.weight), units.to_unit(height_m, self.height), heat

    def inputs(self, row: ClimbRow | DistanceRow) -> dict[str, float | None]:
        """The axes' values of a row."""
        heat = "isa_deviation_c" if self.by_deviation else "oat_c"
        return {
            "weight": shown(row.weight_lb, "weight_lb", self.weight),
            "height": shown(row.pressure_altitude_ft, "pressure_altitude_ft", self.height),
            "temperature": shown(getattr(row, heat), heat, self.temperature),
        }


def printed_heat(rows: Iterable[tuple[float, float]], height: float, which: Callable[[float, float], float]) -> float:
    """The coldest (`min`) or warmest (`max`) a table prints at a height, straight between the rows about it.

    rows : (height, temperature) of each row, and the answer, in one unit each.
    """
    ends: dict[float, float] = {}
    for at, heat in rows:
        ends[at] = which(heat, ends.get(at, heat))
    heights = sorted(ends)
    return float(np.interp(height, heights, [ends[h] for h in heights]))


def shown(number: float | None, key: str, unit: str) -> float | None:
    """A number of the model as printed in a unit."""
    return number if number is None or unit == unit_of(key) else as_printed(number, key, unit)
