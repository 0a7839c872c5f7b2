"""Full-throttle climb from the climb table, and time, fuel and distance to climb. SI."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from airwork import units
from airwork.airplane.answer import Answer, table
from airwork.airplane.tables import Axis, GridTable
from airwork.errors import NotPossible

if TYPE_CHECKING:
    from airwork.airplane.file.model import AirplaneFile

_AXES = (
    Axis("weight_lb", "weight [lb]"),
    Axis("pressure_altitude_ft", "pressure altitude [ft]"),
    Axis("oat_c", "temperature [°C]", smooth=True),
)
# The usual sentence under the table, where the file has no `start_taxi_takeoff_us_gal` of its own.
_SENTENCE = re.compile(r"add\s+([\d.]+)\s*(?:us\s+)?gal\w*\s+for\s+start", re.IGNORECASE)
_TO_CLIMB_AXES = (Axis("pressure_altitude_ft", "pressure altitude [ft]", smooth=True),)


@dataclass(frozen=True, slots=True)
class ToClimb:
    """Time, fuel and still-air distance of a climb, from the handbook's table."""

    time_s: float
    fuel_m3: float
    distance_m: float
    start_taxi_takeoff_m3: float | None  # not contained in `fuel_m3`; None where the file doesn't say
    conditions: str


class ClimbTables:
    """The climb tables of one airplane file."""

    def __init__(self, file: AirplaneFile) -> None:
        self.file = file

    @cached_property
    def _rows(self) -> list[dict[str, float | None]]:
        climb = self.file.performance.climb
        rows = [r.model_dump() for r in climb.rows] if climb else []
        for row in rows:  # one column for the climb speed
            if row["climb_speed_kias"] is None and row["climb_speed_indicated_mph"] is not None:
                row["climb_speed_kias"] = row["climb_speed_indicated_mph"] * units.MPH_MPS / units.KT_MPS
        return rows

    @cached_property
    def _rate(self) -> GridTable | None:
        return GridTable.from_rows("climb table", _AXES, "rate_of_climb_fpm", self._rows)

    @cached_property
    def _speed(self) -> GridTable | None:
        return GridTable.from_rows("climb table, speeds", _AXES, "climb_speed_kias", self._rows)

    def rate(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> Answer:
        """Rate of climb. [m/s]"""
        found = self._ask(self._rate, mass_kg, pressure_altitude_m, temperature_k)
        return Answer(units.from_unit(found, "fpm"), "handbook table", table("climb"))

    def speed_ias_mps(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> float:
        """Climb speed the rates are for, indicated. [m/s]"""
        return units.from_unit(self._ask(self._speed, mass_kg, pressure_altitude_m, temperature_k), "kt")

    def _ask(self, grid: GridTable | None, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> float:
        if grid is None:
            raise NotPossible("The airplane file has no [performance.climb] with this column.")
        return grid(
            round(units.to_unit(mass_kg, "lb"), 6),
            round(units.to_unit(pressure_altitude_m, "ft"), 6),
            round(units.to_unit(temperature_k, "°C"), 6),
        )

    def to_climb(
        self, from_pressure_altitude_m: float, to_pressure_altitude_m: float, isa_deviation_k: float = 0.0
    ) -> ToClimb:
        """Time, fuel and distance between two pressure altitudes: the difference of two readings of the table.

        Above standard temperature they grow by the table's own rule (`temperature_correction`); without one, and below
        standard, the table's figures stand.
        """
        printed = self.file.performance.time_fuel_distance_to_climb
        if printed is None:
            raise NotPossible("The airplane file has no [performance.time_fuel_distance_to_climb].")
        rows = [r.model_dump() for r in printed.rows]
        low, high = (round(units.to_unit(h, "ft"), 6) for h in (from_pressure_altitude_m, to_pressure_altitude_m))
        spent = {}
        for column in ("time_min", "fuel_us_gal", "distance_nm"):
            grid = GridTable.from_rows("time, fuel and distance to climb", _TO_CLIMB_AXES, column, rows)
            assert grid is not None  # the model requires rows with every column
            spent[column] = grid(high) - grid(low)
        rule, growth = printed.temperature_correction, 1.0
        if rule is not None and isa_deviation_k > 0:
            growth += rule.increase_percent / 100.0 * isa_deviation_k / rule.per_c
        start = printed.start_taxi_takeoff_us_gal
        if start is None and (said := _SENTENCE.search(printed.conditions)):
            start = float(said[1])
        return ToClimb(
            growth * units.from_unit(spent["time_min"], "min"),
            growth * units.from_unit(spent["fuel_us_gal"], "gal"),
            growth * units.from_unit(spent["distance_nm"], "NM"),
            None if start is None else units.from_unit(start, "gal"),
            printed.conditions,
        )
