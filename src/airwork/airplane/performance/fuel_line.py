"""Fuel flow over power and air pressure as flown: rich and leaned, from all flights that record a flow. SI.

rich: flow = (at rest + per watt·P)·(p/p_usual)^−m.  With the lever left where it is a mixture grows richer with height:
the air's mass falls, the fuel less or not at all (a fixed jet: m = ½, common practice, no source).
leaned: flow = leaner·(at rest + per watt·P), the same at any height, as air and fuel go together again.

No recorder keeps the lever. Each window belongs to one or the other by how well its flow fits, leaned being likely in
level flight above 2,500 ft alone; a window that fits neither counts little. Where only the gauges are recorded, a
flight says what it burned on the whole, which is one value for its mean power.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import standard_air
from airwork.airplane.performance.engine import Engine
from airwork.airplane.performance.flown import POWERED, Flown
from airwork.airplane.performance.state import Array
from airwork.units import HP_W, LB_KG, from_unit

# A carbureted or injected engine burns 0.52 ± 0.1 lb per horsepower and hour, rich, and a little at no power at all
# (from memory): as m³/s per watt of avgas, and as a share of the flow at rated power
_PER_POUND_M3PS = from_unit(1.0 / 6.0, "gph")  # of avgas at 6 lb/US gal
_PER_WATT, _PER_WATT_SD = 0.52 * _PER_POUND_M3PS / HP_W, 0.10 * _PER_POUND_M3PS / HP_W
_AT_REST_SHARE, _AT_REST_SD = 0.03, 0.04
_ROW_SD, _GAUGE_SD = 0.03, 0.08  # of a row's flow: the sender and a mixture that is moved; of what the gauges say
_FLIGHT_SD = 0.02  # what a whole flight's mixture differs by
_OTHERS_SD = 0.05  # what a flight's mixture may differ by from those learned from, while these are few
_LEAST_ROWS, _LEVEL_MPS = 10, 1.0
_THIN, _THIN_SD, _THIN_MOST = 0.4, 0.7, 2.5  # m: between leaned and a fixed jet, wide
_LEANER, _LEANER_SD, _SURELY_LEANER = 0.87, 0.08, 0.96  # best power to best economy over full rich (from memory)
_LEANED_OFTEN = 0.3  # of the windows in which it is likely: fewer are stragglers, not a lever that was moved
_LEANED_LEVEL, _LEANED_ELSE, _NEITHER = 0.5, 0.03, 0.02  # how likely leaned, and how seldom neither, before a look
_LEAN_ABOVE_PA = 92500.0  # 2,500 ft: it is leaned from 3,000 ft on (common practice, no source)


@dataclass(frozen=True)
class FuelLine:
    """Rich flow at the usual air pressure = at_rest + per_watt·power [m³/s]; elsewhere times (pressure / usual)^−thin.

    sd_share : of the flow, how far a flight strays from it. leaner : leaned flow over the rich one at the usual
    pressure; 0 where no flight was seen leaned.
    """

    at_rest_m3ps: float
    per_watt_m3ps: float
    sd_share: float
    flights: int
    usual_pa: float = 1e5
    thin: float = 0.0
    leaner: float = 0.0

    def flow_m3ps(
        self, power_w: Array | float, pressure_pa: Array | float | None = None, leaned: NDArray[np.bool_] | bool = False
    ) -> Array:
        """Fuel flow at a shaft power; at the height usually flown at if no air pressure is given. [m³/s]"""
        flow = np.asarray(self.at_rest_m3ps + self.per_watt_m3ps * np.asarray(power_w, dtype=float))
        rich = 1.0 if pressure_pa is None else (np.asarray(pressure_pa) / self.usual_pa) ** -self.thin
        return np.asarray(flow * np.where(np.asarray(leaned) & (self.leaner > 0), self.leaner, rich))


def power_of(flown: Flown, engine: Engine) -> Array:
    """Shaft power of each row. [W]"""
    r = flown.rows
    return engine.power_of(engine.set_to(r.rpm, r.pressure_pa, r), r)


def _rows(flown: Flown, number: int, engine: Engine) -> Array:
    """Power, flow, air pressure, the flow's spread, how likely leaned, the flight's number: a column for each window,
    or one for the whole flight where only the gauges were recorded."""
    r, power = flown.rows, power_of(flown, engine)
    pressure = standard_air(r.altitude_m).pressure_pa
    likely = (np.abs(r.rate_mps) < _LEVEL_MPS) & (pressure < _LEAN_ABOVE_PA)
    odds, spread = np.where(likely, _LEANED_LEVEL, _LEANED_ELSE), np.full(len(r), _ROW_SD)
    columns = np.stack([power, r.flow_m3ps, pressure, spread, odds, np.full(len(r), number)])
    known = np.isfinite(columns).all(axis=0) & (r.kind == POWERED) & (r.flow_m3ps > 0)
    if known.sum() >= _LEAST_ROWS:
        return columns[:, known]
    if known.any() or len(r) < _LEAST_ROWS or np.ptp(r.burned_kg) <= 0 or not np.isfinite(power).all():
        return columns[:, :0]
    flow = np.polyfit(r.time_s, r.burned_kg, 1)[0] / LB_KG * 3600.0 * _PER_POUND_M3PS
    return np.array([[power.mean()], [flow], [pressure.mean()], [_GAUGE_SD], [odds.mean()], [number]])


def fuel_line(flights: Sequence[Flown], engine: Engine) -> FuelLine | None:
    """The line through all flights; each flight counts alike, windows off it count less. None without flows."""
    parts = [rows for i, flown in enumerate(flights) if (rows := _rows(flown, i, engine)).size]
    if not parts:
        return None
    columns = np.concatenate(parts, axis=1)
    power, flow, pressure, sd = columns[:4]
    usual = float(np.median(pressure))
    answer, leaned = _two_lines(columns, usual, engine.rated_power_w)
    could = (columns[4] == _LEANED_LEVEL) & (sd == _ROW_SD)
    seen = answer[3] < _SURELY_LEANER and leaned[could].sum() >= max(_LEAST_ROWS, _LEANED_OFTEN * could.sum())
    if not seen:  # one mixture, then: a line for windows that are none would only take from it
        columns[4] = 0.0
        answer, leaned = _two_lines(columns, usual, engine.rated_power_w)
    at_rest, per_watt, thin, leaner = (float(x) for x in answer)
    found = FuelLine(at_rest, per_watt, 0.0, len(parts), usual, thin, leaner if seen else 0.0)
    spread = float(np.median(np.abs(flow / found.flow_m3ps(power, pressure, leaned > 0.5) - 1.0))) * 1.4826
    return replace(found, sd_share=float(np.hypot(max(spread, 0.015), _OTHERS_SD / np.sqrt(len(parts)))))


def _two_lines(columns: Array, usual_pa: float, rated_power_w: float) -> tuple[Array, Array]:
    """(at rest, per watt, m, leaner; how sure each row is a leaned one), each row belonging to one of both in turn."""
    power, flow, pressure, sd, odds, which = columns
    rest = _AT_REST_SHARE * _PER_WATT * rated_power_w
    mean = np.array([rest, _PER_WATT, _THIN, _LEANER])
    precision = np.diag(np.array([_AT_REST_SD / _AT_REST_SHARE * rest, _PER_WATT_SD, _THIN_SD, _LEANER_SD]) ** -2.0)
    count = np.bincount(which.astype(np.int64))[which.astype(np.int64)]
    each = np.minimum(count, 50) / (1.0 + count * (_FLIGHT_SD / _ROW_SD) ** 2) / (sd * flow) ** 2
    thinner, none = -np.log(pressure / usual_pa), np.zeros(power.size)
    answer, leaned = mean, odds
    for _ in range(25):
        line = answer[0] + answer[1] * power
        rise = np.exp(answer[2] * thinner)
        rich, lean = line * rise, line * answer[3]
        fits = [p * np.exp(-0.5 * ((flow - x) / (sd * flow)) ** 2) for p, x in ((1.0 - odds, rich), (odds, lean))]
        leaned, sure = fits[1] / (sum(fits) + 1e-300), sum(fits) / (sum(fits) + _NEITHER)
        normal, downhill = precision, -precision @ (answer - mean)
        for mine, there, terms in (
            (1.0 - leaned, rich, (rise, power * rise, rich * thinner, none)),
            (leaned, lean, (none + answer[3], power * answer[3], none, line)),
        ):
            slope = np.stack(terms, axis=1)
            weighed = slope * (mine * each * np.maximum(sure, 0.05))[:, None]
            normal, downhill = normal + weighed.T @ slope, downhill + weighed.T @ (flow - there)
        answer = answer + np.linalg.solve(normal, downhill)
        answer[2:] = np.clip(answer[2:], [-0.5, 0.6], [_THIN_MOST, 1.05])
    return answer, leaned
