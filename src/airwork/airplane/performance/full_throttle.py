"""Full throttle found in flights that record no throttle: the plateau of torque in each flight's climbs. SI.

At full throttle a fixed-pitch engine gives one torque for an air density, whatever the speed. In each flight the
climbing windows whose torque lies in the top cluster are taken for full throttle; flights far below the others (where
nobody opened the throttle) are left out. The airplane's own prediction takes no part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from airwork.airplane.performance.engine import FixedPitchEngine, PowerPoints
from airwork.airplane.performance.flown import POWERED, Flown, Rows
from airwork.airplane.performance.state import Array

_CLIMBING_MPS = 1.0
_CLUSTER = 0.025  # torque within this share of the top is full throttle
_LEAST_ROWS = 3
_BELOW_OTHERS = 0.025  # a flight whose top is lower by this share never had the throttle open
_OPENED = 0.9  # of the flights that count: near the strongest
_STRENGTH_SD, _FLIGHT_SD = 0.04, 0.015
_FLIGHT_COUNTS, _POWER_SD = 4.0, 0.02  # readings a flight's climbs count as, and the share each is known to


def full_rows(rows: Rows, engine: FixedPitchEngine) -> tuple[NDArray[np.bool_], float]:
    """(mask of rows at full throttle, mean log of torque taken over torque given there); no rows, NaN."""
    torque = _log_torque(rows, engine)
    climbing = (rows.kind == POWERED) & (rows.rate_mps > _CLIMBING_MPS) & np.isfinite(torque)
    nothing = np.zeros(len(rows), dtype=bool)
    if climbing.sum() < _LEAST_ROWS:
        return nothing, float("nan")
    ordered = np.sort(torque[climbing])[::-1]
    top = float(np.median(ordered[:_LEAST_ROWS]))
    near = climbing & (np.abs(torque - top) < _CLUSTER)
    if near.sum() < _LEAST_ROWS:
        return nothing, float("nan")
    return near, float(np.median(torque[near]))


def _log_torque(rows: Rows, engine: FixedPitchEngine) -> Array:
    n = rows.rpm / 60.0
    taken = engine.power_w(rows.tas_mps, n, rows.density_kgpm3)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.log(taken / engine.full_power_w(n, rows.density_kgpm3)))


def engine_of_flights(engine: FixedPitchEngine, flights: Sequence[Flown]) -> FixedPitchEngine:
    """The engine with its strength set by the RPM of full-throttle climbs; the same engine where there are none.

    Without a power table the tachometer sets the propeller's power coefficient over the advance ratio: the rated power
    is taken for given.
    """
    found = [full_rows(f.rows, engine) for f in flights]
    tops = np.array([top for _, top in found])
    if not np.isfinite(tops).any():
        return engine
    open_throttle = tops > np.nanmax(tops) - _BELOW_OTHERS
    mean = float(np.quantile(tops[open_throttle], _OPENED))  # a climb is flown at less now and then, never at more
    count = int(open_throttle.sum())
    if engine.known:
        weight = count / _FLIGHT_SD**2
        more = np.exp(mean * weight / (weight + 1.0 / _STRENGTH_SD**2))
        return replace(engine, strength=engine.strength * float(more))
    parts = [
        _points(f.rows.take(full), engine)
        for f, (full, _), good in zip(flights, found, open_throttle, strict=True)
        if good
    ]
    points = PowerPoints(*(np.concatenate([getattr(p, n) for p in parts]) for n in PowerPoints.__dataclass_fields__))
    return engine.with_powers(points)


def _points(rows: Rows, engine: FixedPitchEngine) -> PowerPoints:
    """Full-throttle rows of a flight as powers known; a flight counts as a few readings, however long it climbed."""
    n = rows.rpm / 60.0
    power = engine.full_power_w(n, rows.density_kgpm3)
    weight = np.full(n.size, min(1.0, _FLIGHT_COUNTS / n.size))
    return PowerPoints(n, rows.tas_mps, rows.density_kgpm3, power, np.full(n.size, _POWER_SD), weight)
