"""Climbs of a flight that records no RPM, taken for full throttle: what position alone can teach of the power. SI.

A long wings-level climb is flown at full throttle and with the flaps up, as a rule. In each flight the fastest ones
count, held against each other by what height takes from a climb; how far a flight's climbs may lie from full throttle
is part of what the fit allows for (`airplane.performance.joint`). Level flight and descents say nothing without a
tachometer: any power could have been set.
"""

from __future__ import annotations

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2, standard_temperature_k
from airwork.airplane import Airplane
from airwork.airplane.performance.flown import FULL_CLIMB, Rows
from airwork.errors import NotPossible
from airwork.masks import runs
from airwork.recording.flight import Array, Flight
from airwork.recording.flown.seconds import by_second

_WINDOW_S, _LEAST_S, _SETTLE_S, _CALM_S = 20, 40, 10, 21
_CLIMBING_MPS = 1.0
_BANK_RAD = np.radians(20.0)
_OVER_STALL = 1.15
_CEILING_M = 5000.0  # a climb is thought to fall to nothing about there: only to compare climbs of one flight
_FAST_SHARE = 0.85  # of the flight's fastest climbs
_LEAST_ROWS = 3


def climbs_by_path(flight: Flight, airplane: Airplane, mass_kg: float) -> Rows | None:
    """Windows of the flight's fastest climbs; None where there are too few, or the height or speed is not known."""
    s = by_second(flight, airplane)
    if s is None:
        return None
    try:
        stall = float(airplane.stall_cas_mps(mass_kg))
    except NotPossible:
        return None
    rate = np.convolve(np.gradient(s.altitude_m), np.ones(_CALM_S) / _CALM_S, "same")
    energy = s.altitude_m * s.temperature_k / standard_temperature_k(s.altitude_m) + s.tas_mps**2 / (2.0 * G0_MPS2)
    with np.errstate(invalid="ignore"):
        climbing = (rate > _CLIMBING_MPS) & (np.abs(s.bank_rad) < _BANK_RAD) & ~s.on_ground & np.isfinite(energy)
        climbing &= s.cas_mps > _OVER_STALL * stall
    starts = _starts(climbing)
    if starts.size < _LEAST_ROWS:
        return None
    index = starts[:, None] + np.arange(_WINDOW_S)
    centered = np.arange(_WINDOW_S) - 0.5 * (_WINDOW_S - 1)
    slope = energy[index] @ centered / np.sum(centered**2)
    height = s.altitude_m[index].mean(axis=1)
    alike = slope / (1.0 - np.minimum(height / _CEILING_M, 0.8))
    fast = alike > _FAST_SHARE * float(np.median(np.sort(alike)[-_LEAST_ROWS:]))
    if fast.sum() < _LEAST_ROWS:
        return None
    index, unknown, nothing = index[fast], np.full(int(fast.sum()), np.nan), np.zeros(int(fast.sum()), dtype=np.int64)

    def mean(values: Array) -> Array:
        return np.asarray(values[index].mean(axis=1))

    return Rows(
        time_s=s.time_s[index].mean(axis=1), tas_mps=mean(s.tas_mps), cas_mps=mean(s.cas_mps),
        density_kgpm3=mean(s.density_kgpm3), load_factor=mean(s.load_factor), notch=nothing,
        burned_kg=mean(s.burned_m3) * airplane.fuel_density_kgpm3, altitude_m=mean(s.altitude_m),
        temperature_k=mean(s.temperature_k), rpm=unknown, pressure_pa=unknown, rate_mps=slope[fast],
        kind=nothing + FULL_CLIMB, flow_m3ps=unknown, guessed=nothing,
    )  # fmt: skip


def _starts(climbing: Array) -> Array:
    """First seconds of windows inside climbs that last, their beginning and end left out."""
    out: list[int] = []
    for begin, end in runs(climbing):
        if end - begin >= _LEAST_S:
            out += range(begin + _SETTLE_S, end - _WINDOW_S - _SETTLE_S // 2 + 1, _WINDOW_S)
    return np.array(out, dtype=np.int64)
