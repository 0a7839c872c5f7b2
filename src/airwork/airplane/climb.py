"""Full-throttle climb from the climb table, and time, fuel and distance to climb. SI."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from airwork import units
from airwork.airplane.answer import Answer, table
from airwork.airplane.book_table import Print, printed_heat
from airwork.airplane.book_units import book_units
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.performance import ClimbTable
from airwork.airplane.tables import Axis, GridTable
from airwork.errors import NotPossible

# The usual sentence under the table, where the file has no `start_taxi_takeoff_us_gal` of its own.
_SENTENCE = re.compile(r"add\s+([\d.]+)\s*(?:us\s+)?gal\w*\s+for\s+start", re.IGNORECASE)
_TO_CLIMB_AXES = (Axis("pressure_altitude_ft", "pressure altitude [ft]", smooth=True),)


@dataclass(frozen=True, slots=True)
class ToClimb:
    """Time, fuel and still-air distance of a climb, from the handbook's table; None for what it doesn't print."""

    time_s: float | None
    fuel_m3: float | None
    distance_m: float | None
    start_taxi_takeoff_m3: float | None  # not contained in `fuel_m3`; None where the file doesn't say
    conditions: str


class ClimbTables:
    """The climb tables of one airplane file."""

    def __init__(self, file: AirplaneFile) -> None:
        self.file = file

    @cached_property
    def _print(self) -> Print:
        climb = self.file.performance.climb
        return Print.of(self.file, "climb", climb.rows if climb else ())

    def _grid(self, name: str, column: str) -> GridTable | None:
        climb = self.file.performance.climb
        rows = [{**self._print.inputs(r), column: getattr(r, column)} for r in (climb.rows if climb else ())]
        return GridTable.from_rows(name, self._print.axes(smooth=True), column, rows)

    @cached_property
    def _rate(self) -> GridTable | None:
        return self._grid("climb table", "rate_of_climb_fpm")

    @cached_property
    def _speed(self) -> GridTable | None:
        return self._grid("climb table, speeds", "climb_speed_kias")

    def rate(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> Answer:
        """Rate of climb; in warmer air than printed by the table's own rule, where it has one. [m/s]

        Lighter, lower or colder than the table takes its first row, where it climbs no better; the note says so.
        """
        climb, notes = self.file.performance.climb, list[str]()
        if climb is not None:
            mass_kg, pressure_altitude_m, temperature_k, notes = self._safe_side(
                climb, mass_kg, pressure_altitude_m, temperature_k
            )
        at_k, warmer_k = self._within(pressure_altitude_m, temperature_k)
        rate = units.from_unit(self._ask(self._rate, mass_kg, pressure_altitude_m, at_k), "fpm")
        rule = None if climb is None else climb.temperature_correction
        if rule is None or warmer_k < 0.05:
            return Answer(rate, "handbook table", table("climb"), "; ".join(notes))
        steps = warmer_k / rule.per_c
        if rule.change_percent is not None:
            rate *= 1.0 + rule.change_percent / 100.0 * steps
        else:
            rate += units.from_unit((rule.change_fpm or 0.0) * steps, "fpm")
        notes.append(f"{warmer_k:.0f} °C above the printed temperature, by its rule")
        return Answer(rate, "handbook table", table("climb"), "; ".join(notes))

    def _safe_side(
        self, climb: ClimbTable, mass_kg: float, height_m: float, temperature_k: float
    ) -> tuple[float, float, float, list[str]]:
        """(mass, height, temperature no lighter, lower or colder than the table's first rows; what was so)."""
        book, notes = book_units(self.file), list[str]()
        lightest = min(units.from_unit(r.weight_lb, "lb") for r in climb.rows)
        lowest = min(units.from_unit(r.pressure_altitude_ft, "ft") for r in climb.rows)
        printed = [(units.from_unit(r.pressure_altitude_ft, "ft"), units.from_unit(r.oat_c, "°C")) for r in climb.rows]
        coldest = printed_heat(printed, max(height_m, lowest), min)
        if mass_kg < lightest - 0.01:
            notes.append(f"that of the table's lightest {units.write(lightest, book.mass)}; lighter climbs no worse")
        if height_m < lowest - 0.1:
            notes.append(f"that of the table's lowest {units.write(lowest, 'ft')}; lower climbs no worse")
        if temperature_k < coldest - 0.05 and climb.temperature_correction is None:
            notes.append(f"that of the table's coldest {units.write(coldest, '°C')}; colder climbs no worse")
            temperature_k = coldest
        return max(mass_kg, lightest), max(height_m, lowest), temperature_k, notes

    def _within(self, pressure_altitude_m: float, temperature_k: float) -> tuple[float, float]:
        """(temperature to look up, how much warmer it is) by the rule of a table of one temperature an altitude. [K]"""
        climb = self.file.performance.climb
        if climb is None or climb.temperature_correction is None:
            return temperature_k, 0.0
        printed = ((r.pressure_altitude_ft, r.oat_c) for r in climb.rows)
        there = units.from_unit(printed_heat(printed, units.to_unit(pressure_altitude_m, "ft"), max), "°C")
        lone = len({(r.weight_lb, r.pressure_altitude_ft) for r in climb.rows}) == len(climb.rows)
        at_k = there if lone else min(temperature_k, there)  # colder than a lone column: it climbs better, no credit
        return at_k, max(temperature_k - there, 0.0)

    def speed_ias_mps(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> float:
        """Climb speed the rates are for, indicated. [m/s]"""
        at_k, _ = self._within(pressure_altitude_m, temperature_k)
        return units.from_unit(self._ask(self._speed, mass_kg, pressure_altitude_m, at_k), "kt")

    def _ask(self, grid: GridTable | None, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> float:
        if grid is None:
            raise NotPossible("The airplane file has no [performance.climb] with this column.")
        return grid(*(round(x, 6) for x in self._print.asked(mass_kg, pressure_altitude_m, temperature_k)))

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
        spent = dict[str, float]()
        for column in printed.columns:
            grid = GridTable.from_rows("time, fuel and distance to climb", _TO_CLIMB_AXES, column, rows)
            assert grid is not None  # every row has the column
            spent[column] = grid(high) - grid(low)
        rule, growth = printed.temperature_correction, 1.0
        if rule is not None and isa_deviation_k > 0:
            growth += rule.increase_percent / 100.0 * isa_deviation_k / rule.per_c
        start = printed.start_taxi_takeoff_us_gal
        if start is None and (said := _SENTENCE.search(printed.conditions)):
            start = float(said[1])

        def grown(column: str, unit: str) -> float | None:
            return growth * units.from_unit(spent[column], unit) if column in spent else None

        return ToClimb(
            grown("time_min", "min"),
            grown("fuel_us_gal", "gal"),
            grown("distance_nm", "NM"),
            None if start is None else units.from_unit(start, "gal"),
            printed.conditions,
        )
