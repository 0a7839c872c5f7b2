"""The units an airplane's book prints its numbers in, for whatever is shown of this airplane.

Altitudes are feet and winds knots, as charts and radio have them, whatever the book.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from airwork import units
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import spellings, unit_of

# airwork's own unit of each kind, as its texts and the models' keys have it
_OWN = {
    "mass": "lb", "arm": "in", "runway": "ft", "fuel": "gal", "flow": "gph", "pressure": "inHg", "climb": "fpm",
}  # fmt: skip
_KIND = {unit: kind for kind, unit in _OWN.items() if kind != "runway"}  # feet are heights too
_DIGITS = {
    "in": 1, "m": 3, "cm": 1, "gal": 1, "L": 1, "impgal": 1, "gph": 1, "L/h": 1, "impgal/h": 1, "inHg": 1, "kPa": 1,
    "m/s": 1,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class BookUnits:
    """One unit for each kind of number; the US ones where the book prints none."""

    mass: str = "lb"
    arm: str = "in"
    runway: str = "ft"
    fuel: str = "gal"
    flow: str = "gph"
    pressure: str = "inHg"
    climb: str = "fpm"

    def metric(self) -> BookUnits:
        """Kilograms, meters, liters in place of US units; the dials stay as they are marked."""
        other = {"mass": "kg", "arm": "m", "runway": "m", "fuel": "L", "flow": "L/h"}
        return replace(self, **{kind: unit for kind, unit in other.items() if getattr(self, kind) == _OWN[kind]})

    def unit(self, unit: str) -> str:
        """The book's unit in place of "lb", "in", "gal", "gph", "inHg", "fpm"; any other as it is."""
        return str(getattr(self, _KIND[unit])) if unit in _KIND else unit

    def digits(self, unit: str) -> int:
        """Decimals its numbers are usually printed with."""
        return _DIGITS.get(self.unit(unit), 0)

    def number(self, number: float, unit: str) -> float:
        """A number in one of these, in the book's unit; its own digits where the unit is the book's."""
        own = self.unit(unit)
        if own == unit:
            return number
        return round(units.to_unit(units.from_unit(number, unit), own), self.digits(unit))

    def write(self, number: float, unit: str, digits: int | None = None, *, more: int = 0) -> str:
        """A number in "lb", "in", "gal", "gph", "inHg" or "fpm", as the book would print it.

        digits : of the unit given; the book's own unit takes what it is usually printed with, and `more` of them.
        """
        own, usual = self.unit(unit), self.digits(unit) + more
        return units.write(units.from_unit(number, unit), own, usual if own != unit or digits is None else digits)

    def spoken(self, number: float, unit: str) -> str:
        """As `write`, with the unit as it is said: "640 ft/min"."""
        words = {"fpm": "ft/min", "gph": "gal/h"}
        return f"{self.number(number, unit):,.{self.digits(unit)}f} {words.get(own := self.unit(unit), own)}"

    def run(self, length_m: float, step: int = 1) -> float:
        """A length of runway as a number in `runway`, feet to a step."""
        found = units.to_unit(length_m, self.runway)
        return float(round(found / step) * step if self.runway == "ft" else round(found))

    def length(self, length_m: float) -> str:
        """A length of runway."""
        return units.write(length_m, self.runway)

    @property
    def over(self) -> str:
        """The obstacle distances are printed over: 50 ft and 15 m are the same."""
        return "15 m" if self.runway == "m" else "50 ft"

    def rate(self, rate_mps: float, step_fpm: int = 1) -> str:
        """A rate of climb or descent, in feet a minute to a step."""
        return self.write(round(units.to_unit(rate_mps, "fpm") / step_fpm) * step_fpm, "fpm")


US_BOOK = BookUnits()


def book_units(file: AirplaneFile) -> BookUnits:
    """What a file prints, by the first table that says so; flow follows the tanks in a book that prints none."""

    def first(kind: str, key: str, tables: str = "") -> str:
        ends = dict(spellings(key))
        found = (
            ends[name]
            for table, keys in file.printed.items()
            if table.startswith(tables)
            for own, name in keys.items()
            if own == key and name in ends
        )
        return next(found, _OWN[kind])

    fuel = first("fuel", "usable_us_gal", "fuel.tanks")
    flows = [
        dict(spellings(own))[name]
        for keys in file.printed.values()
        for own, name in keys.items()
        if unit_of(own) == "gph"
    ]
    return BookUnits(
        mass=first("mass", "maximum_takeoff_weight_lb", "airplane"),
        arm=first("arm", "empty_arm_in", "weight_and_balance"),
        runway=first("runway", "ground_roll_ft", "performance."),
        fuel=fuel,
        flow=flows[0] if flows else "gph" if _prints_gph(file) else {"L": "L/h", "impgal": "impgal/h"}.get(fuel, "gph"),
        pressure=first("pressure", "manifold_pressure_inhg", "performance."),
        climb=first("climb", "rate_of_climb_fpm", "performance.climb"),
    )


def _prints_gph(file: AirplaneFile) -> bool:
    """A cruise table with a flow that was not converted."""
    rows = [] if file.performance.cruise is None else file.performance.cruise.rows
    return any(unit_of(key) == "gph" and value is not None for row in rows for key, value in row)
