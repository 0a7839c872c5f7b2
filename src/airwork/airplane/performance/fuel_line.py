"""Fuel flow over power and air pressure as flown: one line through all flights that record a flow. SI.

flow = (at rest + per watt·P)·(p/p_usual)^−m.  With the lever left where it is a mixture grows richer with height: the
air's mass falls, the fuel less or not at all (a fixed jet: m = ½, common practice, no source). Leaned, m = 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from airwork.airdata.atmosphere import standard_air
from airwork.airplane.performance.engine import FixedPitchEngine, ManifoldEngine
from airwork.airplane.performance.flown import POWERED, Flown
from airwork.airplane.performance.state import Array
from airwork.units import HP_W, from_unit

# A carbureted or injected engine burns 0.52 ± 0.1 lb per horsepower and hour, rich, and a little at no power at all
# (from memory): as m³/s per watt of avgas, and as a share of the flow at rated power
_PER_POUND_M3PS = from_unit(1.0 / 6.0, "gph")  # of avgas at 6 lb/US gal
_PER_WATT, _PER_WATT_SD = 0.52 * _PER_POUND_M3PS / HP_W, 0.10 * _PER_POUND_M3PS / HP_W
_AT_REST_SHARE, _AT_REST_SD = 0.03, 0.04
_ROW_SD = 0.03  # of a row's flow: the gauge and a mixture that is moved
_FLIGHT_SD = 0.02  # what a whole flight's mixture differs by
_OTHERS_SD = 0.05  # what a flight's mixture may differ by from those learned from, while these are few
_LEAST_ROWS = 10
_THIN, _THIN_SD, _THIN_MOST = 0.4, 0.7, 2.5  # m: between leaned and a fixed jet, wide


@dataclass(frozen=True)
class FuelLine:
    """Flow at the usual air pressure = at_rest + per_watt·power [m³/s]; elsewhere times (pressure / usual)^−thin.

    sd_share : of the flow, how far a flight strays from it.
    """

    at_rest_m3ps: float
    per_watt_m3ps: float
    sd_share: float
    flights: int
    usual_pa: float = 1e5
    thin: float = 0.0

    def flow_m3ps(self, power_w: Array | float, pressure_pa: Array | float | None = None) -> Array:
        """Fuel flow at a shaft power; at the height usually flown at if no air pressure is given. [m³/s]"""
        flow = np.asarray(self.at_rest_m3ps + self.per_watt_m3ps * np.asarray(power_w, dtype=float))
        return flow if pressure_pa is None else flow * (np.asarray(pressure_pa) / self.usual_pa) ** -self.thin


def power_of(flown: Flown, engine: FixedPitchEngine | ManifoldEngine) -> Array:
    """Shaft power of each row. [W]"""
    r = flown.rows
    if isinstance(engine, ManifoldEngine):
        return engine.power_w(r.rpm, r.pressure_pa, r.altitude_m, r.temperature_k)
    return engine.power_w(r.tas_mps, r.rpm / 60.0, r.density_kgpm3)


def fuel_line(flights: Sequence[Flown], engine: FixedPitchEngine | ManifoldEngine) -> FuelLine | None:
    """The line through all flights; each flight counts alike, windows off it count less. None without flows."""
    parts = []
    for i, flown in enumerate(flights):
        r = flown.rows
        known = np.isfinite(r.flow_m3ps) & (r.kind == POWERED) & (r.flow_m3ps > 0)
        if known.sum() >= _LEAST_ROWS:
            columns = power_of(flown, engine), r.flow_m3ps, standard_air(r.altitude_m).pressure_pa, np.full(len(r), i)
            parts.append(np.stack(columns)[:, known])
    if not parts:
        return None
    power, flow, pressure, which = np.concatenate(parts, axis=1)
    rest = _AT_REST_SHARE * _PER_WATT * engine.rated_power_w
    mean = np.array([rest, _PER_WATT, _THIN])
    precision = np.diag([(_AT_REST_SD / _AT_REST_SHARE * rest) ** -2, _PER_WATT_SD**-2, _THIN_SD**-2])
    count = np.bincount(which.astype(np.int64))[which.astype(np.int64)]
    usual = float(np.median(pressure))
    thinner = -np.log(pressure / usual)
    answer = mean
    for _ in range(12):
        rise = np.exp(answer[2] * thinner)
        line = (answer[0] + answer[1] * power) * rise
        off = (flow - line) / (_ROW_SD * flow)
        weight = 1.0 / (1.0 + (off / 1.5) ** 2) / (_ROW_SD * flow) ** 2
        weight = weight / (1.0 + count * (_FLIGHT_SD / _ROW_SD) ** 2) * np.minimum(count, 50)
        terms = np.stack([rise, power * rise, line * thinner], axis=1)
        weighed = terms * weight[:, None]
        downhill = weighed.T @ (flow - line) - precision @ (answer - mean)
        answer = answer + np.linalg.solve(weighed.T @ terms + precision, downhill)
        answer[2] = np.clip(answer[2], -0.5, _THIN_MOST)
    found = FuelLine(float(answer[0]), float(answer[1]), 0.0, len(parts), usual, float(answer[2]))
    spread = float(np.median(np.abs(flow / found.flow_m3ps(power, pressure) - 1.0))) * 1.4826
    return replace(found, sd_share=float(np.hypot(max(spread, 0.015), _OTHERS_SD / np.sqrt(len(parts)))))
