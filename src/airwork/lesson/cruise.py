"""Cruise and climb as the plan uses them: true airspeed, power setting, fuel flow, rate of climb. SI."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.column import AirColumn
from airwork.airplane import Airplane
from airwork.airplane.engine import Mixture
from airwork.airplane.performance import Condition, Performance
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.level import level_flight
from airwork.errors import AirworkError, NotPossible, OutOfRange
from airwork.units import from_unit, write

DESCENT_MPS = from_unit(500.0, "fpm")  # [AFH] ch. 3: target descent rate with partial power
Edge = tuple[float, float]  # pressure altitude [m], temperature [K]
CRUISE_POWER = 0.65  # where the lesson names none; common practice, no source


@dataclass(frozen=True, slots=True)
class Cruise:
    """A level cruise setting at an altitude."""

    altitude_m: float
    ias_mps: float
    tas_mps: float
    power_ratio: float
    rpm: float | None
    rpm_90: float | None
    manifold_pressure_pa: float | None
    mixture: str
    fuel_flow_m3ps: float
    note: str = ""


def cruise_at(
    airplane: Airplane,
    performance: Performance,
    air: AirColumn,
    altitude_m: float,
    mass_kg: float,
    power_ratio: float | None,
    mixture: str | None,
) -> Cruise:
    """Level flight at a power, on the fast side of the power curve.

    More power than the airplane has at this height gives its most, with a note. The mixture is full rich unless the
    lesson says otherwise: that burns more, so the fuel plan errs on the safe side.
    """
    wanted = CRUISE_POWER if power_ratio is None else power_ratio
    pressure, temperature = float(air.pressure_altitude_m(altitude_m)), float(air.temperature_at_k(altitude_m))
    slowest = 1.2 * float(airplane.stall_cas_mps(mass_kg))
    cas = np.linspace(slowest, 3.2 * slowest, 96)
    level = level_flight(performance, cas, Condition(mass_kg, pressure, temperature))
    fast, power = level.fast_side, level.power_ratio
    if not fast.size:
        raise NotPossible(
            f"{airplane.name} can't hold level flight at {write(altitude_m, 'ft')} with today's air and weight."
        )
    shown = fast[np.isfinite(np.asarray(airplane.ias_from_cas_mps(cas[fast])))]  # speeds the calibration can show
    beyond = 0 < shown.size < fast.size and wanted > power[shown[-1]]
    fast = shown if shown.size else fast
    rising, at = power[fast], cas[fast]
    note = ""
    if beyond:
        note = f"{wanted:.0%} power is faster than the airspeed calibration reaches; {rising[-1]:.0%} taken"
    elif wanted > rising[-1]:
        note = f"{wanted:.0%} power is not there at this height; {rising[-1]:.0%} is"
    speed = float(np.interp(wanted, rising, at))
    ratio = float(np.interp(speed, at, rising))

    def of(column: Any) -> float | None:
        values = None if column is None else np.asarray(column, dtype=float)
        if values is None or not np.all(np.isfinite(values[fast])):
            return None
        return float(np.interp(speed, at, values[fast]))

    chosen = cast(Mixture, mixture or "full_rich")
    flow = flow_at(airplane, ratio, chosen)
    return Cruise(
        altitude_m=altitude_m,
        ias_mps=float(airplane.ias_from_cas_mps(speed)),
        tas_mps=float(tas_from_cas_mps(speed, pressure, temperature)),
        power_ratio=ratio,
        rpm=of(level.rpm),
        rpm_90=of(level.rpm_90),
        manifold_pressure_pa=None if airplane.fixed_pitch else of(level.manifold_pressure_pa),
        mixture=chosen,
        fuel_flow_m3ps=flow,
        note=note,
    )


def flow_at(airplane: Airplane, power_ratio: float, mixture: str) -> float:
    """Fuel flow at a power; full rich above the cruise table along its line, as the airplane's estimate. [m³/s]"""
    try:
        return airplane.fuel_flow_m3ps(power_ratio, cast(Mixture, mixture))
    except OutOfRange:
        if mixture != "full_rich":
            raise
        return airplane.engine.full_power_fuel_flow(power_ratio).value


def least_flow(airplane: Airplane) -> float:
    """Fuel flow of the cruise table's lowest row, full rich: not less than idling or taxiing needs. [m³/s]"""
    return airplane.fuel_flow_m3ps(0.0, "full_rich")


def climb_rate(
    airplane: Airplane, performance: Performance, mass_kg: float, pressure_altitude_m: float, temperature_k: float
) -> tuple[float, bool]:
    """Full-throttle rate of climb [m/s] and whether the handbook has it; else the fitted airplane says what is lost
    from the table's edge on, and never more than it says of the whole.
    """

    def fitted(mass: float, height: float, temperature: float) -> float:
        cas = airplane.speed_cas_mps("best_rate_of_climb", mass)
        return float(climb(performance, cas, Condition(mass, height, temperature)).climb_rate_mps)

    try:
        return airplane.climb_rate_mps(mass_kg, pressure_altitude_m, temperature_k), True
    except AirworkError as refused:
        try:
            found = fitted(mass_kg, pressure_altitude_m, temperature_k)
        except AirworkError:
            raise refused from None
    table = airplane.file.performance.climb
    rows = table.rows if table else []
    colds, lows = [from_unit(r.oat_c, "°C") for r in rows], [from_unit(r.pressure_altitude_ft, "ft") for r in rows]
    printed = min(mass_kg, max((from_unit(r.weight_lb, "lb") for r in rows), default=mass_kg))
    for edge in _edges(pressure_altitude_m, lows, temperature_k, colds):
        try:
            return min(found, airplane.climb_rate_mps(printed, *edge) + found - fitted(printed, *edge)), False
        except AirworkError:
            continue
    return found, False


def _edges(height_m: float, heights_m: list[float], kelvin: float, printed_k: list[float]) -> Iterator[Edge]:
    """Conditions no higher and no warmer than these, the nearest in height and then in warmth first."""
    top = min(height_m, max(heights_m, default=height_m))
    for height in sorted({top, *(h for h in heights_m if h < height_m)}, reverse=True):
        for temperature in sorted({kelvin, *(t for t in printed_k if t < kelvin)}, reverse=True):
            yield height, temperature


def climb_tas_mps(airplane: Airplane, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> float:
    """True airspeed in the climb at best rate. [m/s]"""
    density = airplane.density_altitude_m(pressure_altitude_m, temperature_k)
    try:
        cas = airplane.speed_cas_mps("best_rate_of_climb", mass_kg, density)
    except AirworkError:
        cas = 1.4 * float(
            airplane.stall_cas_mps(mass_kg)
        )  # about where best rate lies; only the way covered hangs on it
    return float(tas_from_cas_mps(cas, pressure_altitude_m, temperature_k))
