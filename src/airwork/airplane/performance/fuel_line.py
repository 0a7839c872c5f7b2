"""Fuel flow over power as flown: a straight line through all flights that record a flow. SI."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

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
_LEAST_ROWS = 10


@dataclass(frozen=True)
class FuelLine:
    """Flow = at_rest + per_watt·power. [m³/s]  sd_share : of the flow, how far a flight strays from it."""

    at_rest_m3ps: float
    per_watt_m3ps: float
    sd_share: float
    flights: int

    def flow_m3ps(self, power_w: Array | float) -> Array:
        """Fuel flow at a shaft power. [m³/s]"""
        return np.asarray(self.at_rest_m3ps + self.per_watt_m3ps * np.asarray(power_w, dtype=float))


def power_of(flown: Flown, engine: FixedPitchEngine | ManifoldEngine) -> Array:
    """Shaft power of each row. [W]"""
    r = flown.rows
    if isinstance(engine, ManifoldEngine):
        return engine.power_w(r.rpm, r.pressure_pa, r.altitude_m, r.temperature_k)
    return engine.power_w(r.tas_mps, r.rpm / 60.0, r.density_kgpm3)


def fuel_line(flights: Sequence[Flown], engine: FixedPitchEngine | ManifoldEngine) -> FuelLine | None:
    """The line through all flights; each flight counts alike, windows off it count less. None without flows."""
    powers, flows, flight = [], [], []
    for i, flown in enumerate(flights):
        known = np.isfinite(flown.rows.flow_m3ps) & (flown.rows.kind == POWERED) & (flown.rows.flow_m3ps > 0)
        if known.sum() >= _LEAST_ROWS:
            powers.append(power_of(flown, engine)[known])
            flows.append(flown.rows.flow_m3ps[known])
            flight.append(np.full(int(known.sum()), i))
    if not powers:
        return None
    power, flow, which = np.concatenate(powers), np.concatenate(flows), np.concatenate(flight)
    rest = _AT_REST_SHARE * _PER_WATT * engine.rated_power_w
    mean = np.array([rest, _PER_WATT])
    precision = np.diag([(_AT_REST_SD / _AT_REST_SHARE * rest) ** -2, _PER_WATT_SD**-2])
    count = np.bincount(which)[which]
    terms = np.stack([np.ones_like(power), power], axis=1)
    answer = mean
    for _ in range(8):
        off = (flow - terms @ answer) / (_ROW_SD * flow)
        weight = 1.0 / (1.0 + (off / 1.5) ** 2) / (_ROW_SD * flow) ** 2
        weight = weight / (1.0 + count * (_FLIGHT_SD / _ROW_SD) ** 2) * np.minimum(count, 50)
        normal = (terms * weight[:, None]).T @ terms + precision
        answer = np.linalg.solve(normal, (terms * weight[:, None]).T @ flow + precision @ mean)
    spread = float(np.median(np.abs(flow / (terms @ answer) - 1.0))) * 1.4826
    return FuelLine(float(answer[0]), float(answer[1]), max(spread, 0.015), len(powers))
