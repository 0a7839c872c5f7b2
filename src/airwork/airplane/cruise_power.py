"""Percent power of a cruise table's rows: printed, else the power chart's, else estimated from the printed fuel flow.

Many books print only RPM (or manifold pressure), true airspeed and fuel flow. What such a book burns at a setting is
kept exactly; the percent that stands between the two is an estimate, and says so.
"""

from __future__ import annotations

from collections.abc import Callable

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.performance import CruiseRow
from airwork.errors import AirworkError

# Pounds of fuel for each horsepower and hour of gasoline piston engines, the middle of what is usual (from memory), in
# the order a flow is taken from
USUAL_CONSUMPTION = {"best_power": 0.47, "best_economy": 0.43, "full_rich": 0.57}
JET_CONSUMPTION = 0.37  # of a diesel, whatever its row is called (from memory: 0.21 to 0.23 kg/kWh)
JET_FUEL_LB_PER_GAL = 6.4  # avgas weighs 6.0, jet fuel 6.5 to 7.0
ESTIMATE_SHARE = 0.10  # how far the estimate may be off (our own)
ESTIMATED = "power estimated from fuel flow"


def cruise_percents(
    file: AirplaneFile, by_chart: Callable[[float, float, float, float | None], float] | None
) -> tuple[tuple[float | None, ...], bool]:
    """(percent power of each cruise row, None where it can't be had; whether it is estimated from fuel flows).

    by_chart : power ratio by the book's own chart, of RPM, pressure altitude [m], temperature [K], manifold pressure
        [Pa]; None without a chart.
    """
    cruise = file.performance.cruise
    rows = cruise.rows if cruise is not None else []
    found = [row.percent_power for row in rows]
    if by_chart is not None:
        return tuple(_by_chart(row, by_chart) if p is None else p for row, p in zip(rows, found, strict=True)), False
    if any(p is not None for p in found):
        return tuple(found), False
    mixture = next((m for m in USUAL_CONSUMPTION if sum(_flow(row, m) is not None for row in rows) > 1), None)
    if mixture is None:
        return tuple(found), False
    usual = JET_CONSUMPTION if burns_jet_fuel(file) else USUAL_CONSUMPTION[mixture]
    per_gph = file.engine.fuel_density_lb_per_us_gal / usual / file.engine.rated_power_hp
    flows = (_flow(row, mixture) for row in rows)
    return tuple(None if f is None else round(100.0 * f * per_gph, 2) for f in flows), True


def burns_jet_fuel(file: AirplaneFile) -> bool:
    """A diesel, told by the weight of its fuel."""
    return file.engine.fuel_density_lb_per_us_gal > JET_FUEL_LB_PER_GAL


def _flow(row: CruiseRow, mixture: str) -> float | None:
    flow: float | None = getattr(row, f"gph_{mixture}")
    return flow


def _by_chart(row: CruiseRow, chart: Callable[[float, float, float, float | None], float]) -> float | None:
    if row.rpm is None:
        return None
    height = units.from_unit(row.pressure_altitude_ft, "ft")
    pressure = None if row.manifold_pressure_inhg is None else units.from_unit(row.manifold_pressure_inhg, "inHg")
    try:
        at_k = float(standard_temperature_k(height)) + row.isa_deviation_c
        return round(100.0 * chart(row.rpm, height, at_k, pressure), 2)
    except AirworkError:
        return None
