"""Takeoff and landing distance from the handbook's tables and corrections, the safety factor stated apart. SI.

Straight lines in pressure altitude and temperature; between weights straight in log(distance) over log(weight).
Corrections one after another: temperature above standard, wind, surface, slope; one that changes the ground roll adds
the same feet to the total. Heavier, higher or hotter than the table is refused. Lighter, lower or colder takes the
table's first row, which is not shorter than the truth; the steps say so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.file.printed import as_printed, printed_unit, unit_of
from airwork.airplane.parts import indicated_mps
from airwork.airplane.tables import Axis, GridTable
from airwork.errors import InputError, NotPossible, OutOfRange

if TYPE_CHECKING:
    from airwork.airplane.file.performance import Correction, DistanceRow, DistanceTable

TEMPERATURE = "above_standard_temperature"
SURFACES = ("paved_dry", "paved_wet", "dry_grass", "wet_grass", "soft_ground", "snow")

# Generic factors for what a handbook doesn't correct, after UK CAA SafetySense leaflet 7c: FROM MEMORY, not checked
# against the text. (takeoff, landing)
GENERIC_SURFACE = {"dry_grass": (1.20, 1.15), "wet_grass": (1.30, 1.35), "paved_wet": (1.0, 1.15)}
GENERIC_ADVERSE_SLOPE_2_PERCENT = (1.10, 1.10)
GENERIC_TAILWIND_TENTH_OF_SPEED = (1.20, 1.20)
TAKEOFF_SAFETY_FACTOR, LANDING_SAFETY_FACTOR = 1.33, 1.43  # same source, from memory
_FROM_MEMORY = "generic factor, from memory; the handbook has none"

_SLACK = 1e-4  # a mass that comes from SI and back is the printed one
LEAST_WIND_FACTOR = 0.5  # a proportional headwind rule shortens no further: it was not made for such wind (our own)


@dataclass(frozen=True, slots=True)
class _Print:
    """How one distance table is printed: the unit of each column, and whether by deviation from standard.

    Questions are asked, and refusals named, in the book's own units, so that both can be compared with its page.
    """

    weight: str
    height: str
    temperature: str
    distance: str
    by_deviation: bool

    @classmethod
    def of(cls, airplane: Airplane, table: DistanceTable, kind: str) -> _Print:
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


@dataclass(frozen=True, slots=True)
class RunwayDistance:
    """A takeoff or landing distance by the handbook, and with the safety factor on top.

    `ground_roll_m` and `over_50_ft_m` carry the handbook's corrections, not the safety factor; `needed_m` is the longer
    of the two times `factor`. `over_50_ft_m` is None where the handbook prints ground rolls only.
    """

    ground_roll_m: float
    over_50_ft_m: float | None
    factor: float
    steps: tuple[str, ...]
    conditions: str

    @property
    def needed_m(self) -> float:
        """Length to have: total over 50 ft (ground roll where there is no total) times the safety factor. [m]"""
        return self.factor * (self.ground_roll_m if self.over_50_ft_m is None else self.over_50_ft_m)


def takeoff(
    airplane: Airplane,
    mass_kg: float,
    pressure_altitude_m: float,
    temperature_k: float,
    headwind_mps: float = 0.0,
    surface: str = "paved_dry",
    slope: float = 0.0,
    factor: float = TAKEOFF_SAFETY_FACTOR,
) -> RunwayDistance:
    """Takeoff distance.

    Parameters
    ----------
    headwind_mps : negative is a tailwind. [m/s]
    surface : one of SURFACES.
    slope : rise over run in the direction of takeoff; positive is uphill. [1]
    factor : safety factor for `needed_m`.

    Raises
    ------
    OutOfRange : heavier, higher or hotter than the table, or more tailwind than its correction covers.
    NotPossible : no table, or no correction and no generic factor for the surface.
    """
    table = airplane.file.performance.takeoff
    asked = (mass_kg, pressure_altitude_m, temperature_k, headwind_mps, surface, slope, factor)
    return _distance(airplane, table, "takeoff", *asked)


def landing(
    airplane: Airplane,
    mass_kg: float,
    pressure_altitude_m: float,
    temperature_k: float,
    headwind_mps: float = 0.0,
    surface: str = "paved_dry",
    slope: float = 0.0,
    factor: float = LANDING_SAFETY_FACTOR,
) -> RunwayDistance:
    """Landing distance; `slope` is positive uphill in the direction of landing. As `takeoff` otherwise."""
    table = airplane.file.performance.landing
    asked = (mass_kg, pressure_altitude_m, temperature_k, headwind_mps, surface, slope, factor)
    return _distance(airplane, table, "landing", *asked)


def wind_factor(headwind_share: float) -> float:
    """Ground roll in a wind over that in still air, from the lift-off or touchdown speed alone: (1 − W/V)². [1]

    Parameters
    ----------
    headwind_share : headwind over the ground speed in still air; negative for a tailwind. [1]

    The most a headwind can shorten the roll ([PHAK] FAA-H-8083-25C ch. 11); `airplane check` holds the handbook's
    correction against it.
    """
    return (1.0 - headwind_share) ** 2


class _Steps:
    """The two distances as they are corrected, with each step in words. In the table's unit."""

    def __init__(self, roll: float, total: float | None, unit: str) -> None:
        self.roll, self.total, self.unit = roll, total, unit
        self.over = "15 m" if unit == "m" else "50 ft"
        self.said: list[str] = []

    def apply(self, factor: float, words: str, applies_to: str = "total") -> None:
        before = self.roll
        if applies_to == "share_of_total" and self.total is not None:  # so much of the total, added to both
            added = (factor - 1.0) * self.total
            self.roll, self.total = self.roll + added, self.total + added
        else:
            self.roll *= factor
            if self.total is not None:
                only = applies_to == "ground_roll"
                self.total = self.total + (self.roll - before) if only else self.total * factor
        total = "" if self.total is None else f", over {self.over} {self.total:,.0f} {self.unit}"
        self.said.append(f"{words}: roll {self.roll:,.0f} {self.unit}{total}")


def _distance(
    airplane: Airplane,
    table: DistanceTable | None,
    kind: str,
    mass_kg: float,
    pressure_altitude_m: float,
    temperature_k: float,
    headwind_mps: float,
    surface: str,
    slope: float,
    factor: float,
) -> RunwayDistance:
    if table is None:
        raise NotPossible(f"The airplane file of {airplane.name} has no [performance.{kind}].")
    if surface not in SURFACES:
        raise InputError(f"unknown; use one of {', '.join(SURFACES)}.", where=f"surface {surface!r}")
    if not 1.0 <= factor <= 5.0:
        raise InputError(f"{factor:g} is no safety factor; use 1 to 5.", where="safety factor")
    if not abs(slope) <= 0.15:
        raise InputError(f"{100 * slope:.1f} % is no runway slope.", where="slope")
    shown = _Print.of(airplane, table, kind)
    warmer, at_k = _above_standard(table, pressure_altitude_m, temperature_k)
    asked = (
        units.to_unit(mass_kg, shown.weight),
        units.to_unit(pressure_altitude_m, shown.height),
        shown.heat(pressure_altitude_m, at_k),
    )
    rows = [shown.row(row) for row in table.rows]
    roll, notes = _at_weight(shown, rows, kind, "ground_roll_ft", *asked)
    total: float | None = None
    if any(row["total_over_50_ft"] is not None for row in rows):
        total, _ = _at_weight(shown, rows, kind, "total_over_50_ft", *asked)
    steps = _Steps(roll, total, shown.distance)
    sign = "+" if shown.by_deviation and asked[2] >= 0 else ""
    heat = (
        f"standard {sign}{asked[2]:.0f} {shown.temperature}"
        if shown.by_deviation
        else f"{asked[2]:.0f} {shown.temperature}"
    )
    words = f"table, {asked[0]:,.0f} {shown.weight}, pressure altitude {asked[1]:,.0f} {shown.height}, {heat}"
    steps.apply(1.0, words.replace("-", "−"))
    steps.said += notes
    _temperature(table, kind, steps, warmer)
    _wind(table, kind, steps, headwind_mps, _wind_speed_mps(airplane, table, kind))
    _surface(table, kind, steps, surface)
    _slope(table, kind, steps, 100.0 * slope)
    over = None if steps.total is None else units.from_unit(steps.total, shown.distance)
    return RunwayDistance(
        units.from_unit(steps.roll, shown.distance), over, factor, tuple(steps.said), table.conditions
    )


def _wind_speed_mps(airplane: Airplane, table: DistanceTable, kind: str) -> float | None:
    """The speed a generic tailwind factor is a share of: lift-off or approach. [m/s]"""
    key = "liftoff" if kind == "takeoff" else "approach"
    dial = airplane.file.airplane.airspeed_indicator_unit
    return indicated_mps(getattr(table, f"{key}_kias"), getattr(table, f"{key}_indicated_mph"), dial)


def _above_standard(table: DistanceTable, height_m: float, temperature_k: float) -> tuple[float, float]:
    """(how much warmer it is than the table is printed for [K], temperature to look it up at [K]), where it has a rule.

    A table with such a rule prints one temperature, the standard one, at each altitude.
    """
    if _correction(table, TEMPERATURE) is None:
        return 0.0, temperature_k
    printed = sorted({(r.pressure_altitude_ft, r.oat_c) for r in table.rows})
    feet, celsius = units.to_unit(height_m, "ft"), units.to_unit(temperature_k, "°C")
    there = float(np.interp(feet, [h for h, _ in printed], [t for _, t in printed]))
    return max(celsius - there, 0.0), units.from_unit(min(celsius, there), "°C")


def _temperature(table: DistanceTable, kind: str, steps: _Steps, warmer_c: float) -> None:
    rule = _correction(table, TEMPERATURE)
    if rule is None or rule.per is None or warmer_c < 0.05:
        return
    amount = warmer_c
    if rule.unit == "F":
        amount = units.to_unit(units.ZERO_C_K + warmer_c, "°F") - units.to_unit(units.ZERO_C_K, "°F")
    if rule.maximum is not None and amount > rule.maximum + 1e-6:
        where = f"the {kind} table's temperature correction"
        raise OutOfRange(f"above standard temperature [°{rule.unit}]", round(amount, 1), 0, rule.maximum, where=where)
    factor = 1.0 + rule.change_percent / 100.0 * amount / rule.per
    words = f"{amount:.0f} °{rule.unit} above the printed temperature, {_rule_words(rule)}"
    steps.apply(factor, words, rule.applies_to)


def _at_weight(
    shown: _Print,
    rows: list[dict[str, float | None]],
    kind: str,
    column: str,
    weight: float,
    height: float,
    heat: float,
) -> tuple[float, list[str]]:
    """One column at a weight, all in the printed units: (distance, what was put on the safe side)."""
    weights = sorted({w for row in rows if (w := row["weight"]) is not None})
    notes: list[str] = []
    weight = round(weight, 6)
    if weight > weights[-1] + _SLACK:
        where = f"the {kind} table"
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
        grid = GridTable.from_rows(
            f"{kind} table at {printed:,.0f} {shown.weight}",
            shown.axes, column, [r for r in rows if r["weight"] == printed],
        )  # fmt: skip
        if grid is None:
            raise NotPossible(f"The {kind} table has no {column} at {printed:,.0f} {shown.weight}.")
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


def _correction(table: DistanceTable, cause: str) -> Correction | None:
    return next((c for c in table.corrections if c.cause == cause), None)


def _wind(table: DistanceTable, kind: str, steps: _Steps, headwind_mps: float, speed_mps: float | None) -> None:
    cause = "headwind" if headwind_mps >= 0 else "tailwind"
    wind_mps, rule = abs(headwind_mps), _correction(table, cause)
    wind_kt = units.to_unit(wind_mps, "kt")
    if wind_kt < 0.05:
        return
    if rule is None and cause == "headwind":
        steps.said.append("headwind: no correction in the handbook, no credit taken")
        return
    if rule is None:
        if speed_mps is None:
            raise NotPossible(f"The {kind} table has no tailwind correction.")
        generic = GENERIC_TAILWIND_TENTH_OF_SPEED[kind == "landing"]
        steps.apply(1.0 + (generic - 1.0) * wind_mps / (0.1 * speed_mps), f"tailwind {wind_kt:.0f} kt ({_FROM_MEMORY})")
        return
    amount = units.to_unit(wind_mps, rule.unit or "kt")
    if rule.maximum is not None and amount > rule.maximum + 1e-6:
        if cause == "tailwind":
            where = f"the {kind} table's tailwind correction"
            raise OutOfRange(f"tailwind [{rule.unit}]", round(amount, 1), 0, rule.maximum, where=where)
        amount = rule.maximum
    factor = 1.0 + rule.change_percent / 100.0 * (amount / rule.per if rule.per else 1.0)
    words = f"{cause} {wind_kt:.0f} kt, {_rule_words(rule)}"
    if factor < LEAST_WIND_FACTOR:
        factor, words = LEAST_WIND_FACTOR, f"{words}; no more than half is credited"
    steps.apply(factor, words, rule.applies_to)


_UNIT_WORDS = {"percent": "%", "C": "°C", "F": "°F"}


def _rule_words(rule: Correction) -> str:
    sign = f"{rule.change_percent:+g}".replace("-", "−")
    of = " of the total" if rule.applies_to == "share_of_total" else ""
    return f"{sign} %{of}" + (f" per {rule.per:g} {_UNIT_WORDS.get(rule.unit or '', rule.unit)}" if rule.per else "")


def _surface(table: DistanceTable, kind: str, steps: _Steps, surface: str) -> None:
    if surface == "paved_dry":
        return
    words = surface.replace("_", " ")
    rule = _correction(table, "wet_paved" if surface == "paved_wet" else surface)
    if rule is not None:
        factor = 1.0 + rule.change_percent / 100.0
        steps.apply(factor, f"{words}, {_rule_words(rule)}", rule.applies_to)
    elif surface in GENERIC_SURFACE:
        steps.apply(GENERIC_SURFACE[surface][kind == "landing"], f"{words} ({_FROM_MEMORY})")
    else:
        raise NotPossible(f"The {kind} table has no correction for {words}, and there is no generic factor for it.")


def _slope(table: DistanceTable, kind: str, steps: _Steps, percent: float) -> None:
    if abs(percent) < 0.005:
        return
    cause = "upslope" if percent > 0 else "downslope"
    words, rule = f"{cause} {abs(percent):.1f} %", _correction(table, cause)
    if rule is not None:
        amount = abs(percent) if rule.maximum is None else min(abs(percent), rule.maximum)
        if rule.maximum is not None and abs(percent) > rule.maximum and rule.change_percent > 0:
            where = f"the {kind} table's {cause} correction"
            raise OutOfRange(f"{cause} [percent]", round(abs(percent), 2), 0, rule.maximum, where=where)
        factor = max(1.0 + rule.change_percent / 100.0 * (amount / rule.per if rule.per else 1.0), LEAST_WIND_FACTOR)
        steps.apply(factor, f"{words}, {_rule_words(rule)}", rule.applies_to)
        return
    if (cause == "upslope") == (kind == "takeoff"):  # adverse
        generic = GENERIC_ADVERSE_SLOPE_2_PERCENT[kind == "landing"]
        steps.apply(1.0 + (generic - 1.0) * abs(percent) / 2.0, f"{words} ({_FROM_MEMORY})")
    else:
        steps.said.append(f"{words}: no correction in the handbook, no credit taken")
