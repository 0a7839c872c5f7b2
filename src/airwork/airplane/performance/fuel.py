"""Fuel flow at a power: the handbook's, moved by what this airplane's readings say. SI."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airplane.engine import Mixture
from airwork.airplane.performance import throttle
from airwork.airplane.performance.condition import Setting
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import Reading, states_of
from airwork.errors import AirworkError, NotPossible, OutOfRange
from airwork.units import from_unit
from airwork.values import BAND

# Spread of airplanes about their book, of one reading, of the table's own rounding, of a flight's gauge and mixture
# (common practice, no source)
AIRPLANE_SD_M3PS, READ_SD_M3PS, TABLE_SD_M3PS, FLIGHT_SD_M3PS = (from_unit(x, "gph") for x in (0.4, 0.3, 0.1, 0.3))


@dataclass(frozen=True, slots=True)
class FuelFlow:
    """Fuel flow with its 90 % half-width, and how it was had."""

    flow_m3ps: float
    flow_90_m3ps: float
    source: str


def flow_differences_m3ps(performance: Performance) -> dict[str, list[float]]:
    """Fuel flow read less printed at the power flown, by mixture."""
    out: dict[str, list[float]] = {}
    for reading in performance.learned.readings_used:
        if reading.fuel_flow_m3ps is None or reading.kind != "level" or reading.rpm is None:
            continue
        try:
            printed = performance.airplane.fuel_flow_m3ps(_power(performance, reading), _mixture(reading.mixture))
        except AirworkError:
            continue
        out.setdefault(reading.mixture, []).append(reading.fuel_flow_m3ps - printed)
    return out


def fuel_flow(
    performance: Performance, power_ratio: float, mixture: Mixture = "full_rich", pressure_pa: float | None = None
) -> FuelFlow:
    """Fuel flow at a power: the handbook's, moved by this airplane's readings and flights. [m³/s]

    Where the file prints none, what flights recorded at that power (and air pressure), rich or leaned as they leaned.

    Raises
    ------
    NotPossible : leaned above the handbook's limit, or no such column. OutOfRange : leaned beyond the table.
    """
    airplane = performance.airplane
    try:
        answer = airplane.engine.fuel_flow(power_ratio, mixture)
    except OutOfRange:
        if mixture != "full_rich":
            raise
        answer = airplane.engine.full_power_fuel_flow(power_ratio)
    except NotPossible:
        flown = _as_flown(performance, power_ratio, mixture, pressure_pa)
        if flown is None:
            raise
        return flown
    printed, source = answer.value, "; ".join(filter(None, [answer.source, answer.note]))
    read = flow_differences_m3ps(performance).get(mixture, [])
    flights = _flights_differ(performance, power_ratio, printed, mixture)
    weight = len(read) / READ_SD_M3PS**2 + len(flights) / FLIGHT_SD_M3PS**2
    variance = 1.0 / (weight + 1.0 / AIRPLANE_SD_M3PS**2)
    moved = (float(np.sum(read)) / READ_SD_M3PS**2 + float(np.sum(flights)) / FLIGHT_SD_M3PS**2) * variance
    half = BAND * float(np.sqrt(variance + TABLE_SD_M3PS**2))
    more = [f"{len(read)} readings"] * bool(read) + [f"{len(flights)} flights"] * bool(flights)
    return FuelFlow(printed + moved, half, " and ".join([source, *more]))


def _as_flown(
    performance: Performance, power_ratio: float, mixture: Mixture, pressure_pa: float | None = None
) -> FuelFlow | None:
    """What flights recorded at a power, at the height usually flown at if no pressure is given; None where none did, or
    none was seen leaned."""
    line, leaned = performance.learned.fuel, mixture != "full_rich"
    if line is None or (leaned and not line.leaner):
        return None
    flow = float(line.flow_m3ps(power_ratio * performance.airplane.rated_power_w, pressure_pa, leaned))
    half = BAND * flow * float(np.hypot(line.sd_share, 0.02))
    return FuelFlow(flow, half, f"{line.flights} flights, {'leaned' if leaned else 'mixture'} as flown")


def _flights_differ(performance: Performance, power_ratio: float, printed: float, mixture: Mixture) -> list[float]:
    """Flown less printed at a power, once for each flight; none where another mixture's column lies nearer."""
    line = performance.learned.fuel
    if line is None:
        return []
    flown = _as_flown(performance, power_ratio, mixture) or _as_flown(performance, power_ratio, "full_rich")
    assert flown is not None
    off = abs(flown.flow_m3ps - printed)
    for other in ("full_rich", "best_power", "best_economy"):
        try:
            column = performance.airplane.engine.fuel_flow(power_ratio, other).value
        except AirworkError:
            continue
        if other != mixture and abs(flown.flow_m3ps - column) < off:
            return []
    return [flown.flow_m3ps - printed] * line.flights


def _mixture(text: str) -> Mixture:
    return text if text in ("best_power", "best_economy") else "full_rich"  # type: ignore[return-value]


def _power(performance: Performance, reading: Reading) -> float:
    """Share of rated power at a reading's RPM (and manifold pressure)."""
    at = states_of(performance.airplane, [reading])
    control = throttle.control(performance, at, Setting(reading.rpm, reading.manifold_pressure_pa))
    return float(performance.engine.power_of(control, at)[0]) / performance.airplane.rated_power_w
