"""Calibrated, equivalent and true airspeed and Mach number, with compressibility. SI.

Indicated to calibrated is the airplane's own table and lives with the airplane.
Standard subsonic relations (from memory; checked against an independent inversion by bisection on impact pressure).
The shortcut TAS = CAS/√σ reads 0.06 kt high at 100 kt and 5,000 ft, 0.5 kt at 150 kt and 10,000 ft.

Valid from zero speed to Mach 1; elsewhere NaN.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import (
    A0_MPS,
    P0_PA,
    Array,
    only_between,
    sound_speed_mps,
    standard_pressure_pa,
)


def _impact_ratio(mach: Array) -> Array:
    """qc/p = (1 + 0.2·M²)^3.5 − 1 for 0 ≤ M ≤ 1. [1]"""
    return (1.0 + 0.2 * np.square(only_between(mach, 0.0, 1.0))) ** 3.5 - 1.0


def _mach_of(ratio: Array) -> Array:
    """M = √(5·((qc/p + 1)^(2/7) − 1)), inverse of `_impact_ratio`. [1]"""
    with np.errstate(invalid="ignore"):
        return only_between(np.sqrt(5.0 * ((ratio + 1.0) ** (2.0 / 7.0) - 1.0)), 0.0, 1.0)


def impact_pressure_pa(cas_mps: ArrayLike) -> Array:
    """Impact pressure of a calibrated airspeed: qc = p0·((1 + 0.2·(CAS/a0)²)^3.5 − 1). [Pa]"""
    return P0_PA * _impact_ratio(np.asarray(cas_mps, dtype=float) / A0_MPS)


def cas_from_impact_mps(impact_pa: ArrayLike) -> Array:
    """Calibrated airspeed of an impact pressure, inverse of `impact_pressure_pa`; below nought 0. [m/s]"""
    return A0_MPS * _mach_of(np.maximum(np.asarray(impact_pa, dtype=float), 0.0) / P0_PA)


def mach_from_cas(cas_mps: ArrayLike, pressure_altitude_m: ArrayLike) -> Array:
    """Mach number at a calibrated airspeed: M² = 5·((qc/p + 1)^(2/7) − 1). [1]"""
    return _mach_of(impact_pressure_pa(cas_mps) / standard_pressure_pa(pressure_altitude_m))


def tas_from_cas_mps(cas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """True airspeed at a calibrated airspeed. [m/s]

    TAS = M·a(T); the temperature is the actual outside air temperature.

    >>> kt = 1852 / 3600
    >>> round(float(tas_from_cas_mps(110 * kt, 6000 * 0.3048, 293.15)) / kt, 2)
    123.83
    """
    return mach_from_cas(cas_mps, pressure_altitude_m) * sound_speed_mps(temperature_k)


def cas_from_tas_mps(tas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """Calibrated airspeed at a true airspeed; inverse of `tas_from_cas_mps`. [m/s]"""
    mach = np.asarray(tas_mps, dtype=float) / sound_speed_mps(temperature_k)
    return A0_MPS * _mach_of(standard_pressure_pa(pressure_altitude_m) * _impact_ratio(mach) / P0_PA)
