"""Takeoff and landing distance from the handbook's tables and corrections, the safety factor stated apart. SI.

Straight lines in pressure altitude and temperature; between weights straight in log(distance) over log(weight).
Corrections one after another: temperature above standard, wind, surface, slope; one that changes the ground roll adds
the same feet to the total. Heavier, higher or hotter than the table is refused. Lighter, lower or colder takes the
table's first row, which is not shorter than the truth; the steps say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import product
from typing import Literal

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.book_table import Print, printed_heat
from airwork.airplane.engine import dry_density_altitude_m
from airwork.airplane.file.performance import DistanceTable
from airwork.airplane.file.printed import printed_unit
from airwork.airplane.parts import knots_mps
from airwork.airplane.runway_corrections import (
    GENERIC_SURFACE,
    Steps,
    by_wind_columns,
    correction,
    slope_step,
    surface_step,
    temperature,
    wind,
)
from airwork.airplane.runway_table import TEMPERATURE, Sheet, at_weight
from airwork.errors import AirworkError, InputError, NotPossible, OutOfRange

AT_DENSITY = "at density altitude: the sheet has no rule for heat; common practice, no source"
STANDARD_K = 1.0  # a column printed to the degree, in °C or °F, is the standard one within so much
SURFACES = ("paved_dry", "paved_wet", "dry_grass", "wet_grass", "soft_ground", "snow")

Asked = tuple[float, float, float]  # weight, altitude, temperature in the table's own units

TAKEOFF_SAFETY_FACTOR, LANDING_SAFETY_FACTOR = 1.33, 1.43  # same source, from memory


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


def wind_factor(headwind_share: float) -> float:
    """Ground roll in a wind over that in still air, from the lift-off or touchdown speed alone: (1 − W/V)². [1]

    Parameters
    ----------
    headwind_share : headwind over the ground speed in still air; negative for a tailwind. [1]

    The most a headwind can shorten the roll ([PHAK] FAA-H-8083-25C ch. 11); `airplane check` holds the handbook's
    correction against it.
    """
    return (1.0 - headwind_share) ** 2


def runway_distance(
    kind: Literal["takeoff", "landing"],
    airplane: Airplane,
    mass_kg: float,
    pressure_altitude_m: float,
    temperature_k: float,
    headwind_mps: float = 0.0,
    surface: str | Sequence[str] = "paved_dry",
    slope: float = 0.0,
    factor: float | None = None,
) -> RunwayDistance:
    """Takeoff or landing distance.

    Parameters
    ----------
    headwind_mps : negative is a tailwind. [m/s]
    surface : one of SURFACES, or several that are so at once, corrected for one after another: wet grass, soft ground.
    slope : rise over run in the direction of takeoff or landing; positive is uphill. [1]
    factor : safety factor for `needed_m`; the usual one if not given.

    Raises
    ------
    OutOfRange : heavier, higher or hotter than the table, or more tailwind than its correction covers.
    NotPossible : no table, or no correction and no generic factor for the surface.
    """
    table: DistanceTable | None = getattr(airplane.file.performance, kind)
    factor = (TAKEOFF_SAFETY_FACTOR if kind == "takeoff" else LANDING_SAFETY_FACTOR) if factor is None else factor
    if table is None:
        raise NotPossible(f"The airplane file of {airplane.name} has no [performance.{kind}].")
    surfaces = (surface,) if isinstance(surface, str) else tuple(surface)
    _require_sensible(surfaces, slope, factor)
    sheet = _sheet(airplane, kind)
    air = _entered(table, kind, pressure_altitude_m, temperature_k)
    asked = sheet.shown.asked(mass_kg, air.height_m, air.at_k)
    roll, notes = _ground_roll(sheet, asked, air.dense)
    total: float | None = None
    if any(row["total_over_50_ft"] is not None for row in sheet.rows):
        total, _ = at_weight(sheet, "total_over_50_ft", *asked)
    steps = Steps(roll, total, sheet.distance)
    steps.apply(1.0, _in_words(sheet, asked, air.dense))
    steps.said += notes
    temperature(table, kind, steps, 0.0 if air.dense else air.warmer_k)
    if table.wind_rows and headwind_mps > 0:
        by_wind_columns(sheet, table, steps, asked, headwind_mps)
    else:
        wind(table, kind, steps, headwind_mps, _wind_speed_mps(airplane, table, kind))
    for one in surfaces:
        surface_step(table, kind, steps, one)
    slope_step(table, kind, steps, 100.0 * slope)
    over = None if steps.total is None else units.from_unit(steps.total, sheet.distance)
    return RunwayDistance(
        units.from_unit(steps.roll, sheet.distance), over, factor, tuple(steps.said), table.conditions
    )


def at_least(
    kind: Literal["takeoff", "landing"],
    airplane: Airplane,
    mass_kg: float,
    pressure_altitude_m: float,
    temperature_k: float,
    headwind_mps: float,
    surfaces: Sequence[str],
    slope: float,
    factor: float,
) -> RunwayDistance | None:
    """A distance refused for want of a correction, without it: soft ground, snow, a tailwind, a slope against it only
    lengthen, so this much it takes at the very least. As little is left out as can be; None where the table refuses.

    Parameters
    ----------
    As of `runway_distance`.
    """
    known = tuple(s for s in surfaces if s in {"paved_dry", *GENERIC_SURFACE} or _ruled(airplane, kind, s))
    eased = min(slope, 0.0) if kind == "takeoff" else max(slope, 0.0)
    for wind_mps, along, on in product((headwind_mps, max(headwind_mps, 0.0)), (slope, eased), (surfaces, known)):
        try:
            return runway_distance(
                kind, airplane, mass_kg, pressure_altitude_m, temperature_k, wind_mps, on, along, factor
            )
        except AirworkError:
            continue
    return None


def _ruled(airplane: Airplane, kind: str, surface: str) -> bool:
    table: DistanceTable | None = getattr(airplane.file.performance, kind)
    return table is not None and correction(table, surface) is not None


def _require_sensible(surfaces: Sequence[str], slope: float, factor: float) -> None:
    for one in surfaces:
        if one not in SURFACES:
            raise InputError(f"unknown; use one of {', '.join(SURFACES)}.", where=f"surface {one!r}")
    if not 1.0 <= factor <= 5.0:
        raise InputError(f"{factor:g} is no safety factor; use 1 to 5.", where="safety factor")
    if not abs(slope) <= 0.15:
        raise InputError(f"{100 * slope:.1f} % is no runway slope.", where="slope")


@dataclass(frozen=True, slots=True)
class _Entered:
    """Where a table is entered: its height and temperature; how much warmer it is than the table is printed for.

    dense : at the density altitude, in the place of a rule for heat.
    """

    height_m: float
    at_k: float
    warmer_k: float
    dense: bool


def _entered(table: DistanceTable, kind: str, pressure_altitude_m: float, temperature_k: float) -> _Entered:
    warm = temperature_k > float(standard_temperature_k(pressure_altitude_m)) + 0.05
    dense = warm and kind == "landing" and standard_sheet(table)
    height_m = dry_density_altitude_m(pressure_altitude_m, temperature_k) if dense else pressure_altitude_m
    warmer_k, at_k = _above_standard(table, height_m, temperature_k, ruled=dense)
    return _Entered(height_m, at_k, warmer_k, dense)


def _ground_roll(sheet: Sheet, asked: Asked, dense: bool) -> tuple[float, list[str]]:
    """The table's ground roll, in its unit, and what is to be said of it; a refusal names which altitude it is."""
    try:
        roll, notes = at_weight(sheet, "ground_roll_ft", *asked)
    except OutOfRange as refused:
        if not dense or refused.what != sheet.shown.axes()[1].what:
            raise
        what, hint = f"density altitude [{sheet.shown.height}]", "It is entered there: it has no rule for heat."
        raise OutOfRange(what, refused.asked, refused.low, refused.high, where=refused.where, hint=hint) from None
    return roll, [*notes, *([AT_DENSITY] if dense else [])]


def _in_words(sheet: Sheet, asked: Asked, dense: bool) -> str:
    """Weight, altitude and temperature the table was read at, in its own units."""
    shown = sheet.shown
    weight, height, degrees = asked
    sign = "+" if shown.by_deviation and degrees >= 0 else ""
    heat = f"standard {sign}{degrees:.0f}" if shown.by_deviation else f"{degrees:.0f}"
    where = "density altitude" if dense else "pressure altitude"
    words = f"table, {weight:,.0f} {shown.weight}, {where} {height:,.0f} {shown.height}, {heat} {shown.temperature}"
    return words.replace("-", "−")


@lru_cache(maxsize=16)
def _sheet(airplane: Airplane, kind: str) -> Sheet:
    table: DistanceTable = getattr(airplane.file.performance, kind)
    distance = printed_unit(airplane.file.printed, f"performance.{kind}.rows", "ground_roll_ft")
    return Sheet(Print.of(airplane.file, kind, table.rows), distance, kind, table.rows)


takeoff, landing = partial(runway_distance, "takeoff"), partial(runway_distance, "landing")


def _wind_speed_mps(airplane: Airplane, table: DistanceTable, kind: str) -> float | None:
    """The speed a generic tailwind factor is a share of: lift-off or approach. [m/s]"""
    key = "liftoff" if kind == "takeoff" else "approach"
    return knots_mps(getattr(table, f"{key}_kias"))


def standard_sheet(table: DistanceTable) -> bool:
    """Does a table print standard air alone, and no rule for heat?

    A landing sheet of that kind is entered at density altitude in warmer air: at one indicated speed true airspeed
    grows with 1/√σ ([PHAK] ch. 11), so a landing, its approach and roll alike with the square of it, is as
    long as where the standard air is as thin. A takeoff hangs on the engine too, and stays refused.
    """
    if correction(table, TEMPERATURE) is not None:
        return False
    return all(
        abs(units.from_unit(r.oat_c, "°C") - float(standard_temperature_k(r.pressure_altitude_ft * units.FT_M)))
        <= STANDARD_K
        for r in table.rows
    )


def _above_standard(table: DistanceTable, height_m: float, temperature_k: float, *, ruled: bool) -> tuple[float, float]:
    """(how much warmer it is than the table is printed for [K], temperature to look it up at [K]), where it has a rule.

    A table with such a rule prints one temperature, the standard one, at each altitude.
    """
    if not ruled and correction(table, TEMPERATURE) is None:
        return 0.0, temperature_k
    celsius = units.to_unit(temperature_k, "°C")
    printed = ((r.pressure_altitude_ft, r.oat_c) for r in table.rows)
    there = printed_heat(printed, units.to_unit(height_m, "ft"), min)
    return max(celsius - there, 0.0), units.from_unit(min(celsius, there), "°C")
