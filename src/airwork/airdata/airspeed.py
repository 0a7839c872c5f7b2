"""Calibrated, equivalent and true airspeed and Mach number, with compressibility. SI.

Indicated to calibrated is the airplane's own table and lives with the airplane.
Standard subsonic relations (from memory; checked against an independent inversion and a general-purpose package).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import A0_MPS, GAMMA, P0_PA, R_AIR, Array, density_ratio, standard_air


def impact_pressure_pa(cas_mps: ArrayLike) -> Array:
    """Impact pressure of a calibrated airspeed: qc = p0·((1 + 0.2·(CAS/a0)²)^3.5 − 1). [Pa]"""
    return P0_PA * ((1.0 + 0.2 * (np.asarray(cas_mps, dtype=float) / A0_MPS) ** 2) ** 3.5 - 1.0)


def mach_from_cas(cas_mps: ArrayLike, pressure_altitude_m: ArrayLike) -> Array:
    """Mach number at a calibrated airspeed: M² = 5·((qc/p + 1)^(2/7) − 1). [1]"""
    p = standard_air(pressure_altitude_m).pressure_pa
    return np.sqrt(5.0 * ((impact_pressure_pa(cas_mps) / p + 1.0) ** (2.0 / 7.0) - 1.0))


def tas_from_cas_mps(cas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """True airspeed at a calibrated airspeed. [m/s]

    TAS = M·a(T); the temperature is the actual outside air temperature.
    """
    sound = np.sqrt(GAMMA * R_AIR * np.asarray(temperature_k, dtype=float))
    return mach_from_cas(cas_mps, pressure_altitude_m) * sound


def cas_from_tas_mps(tas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """Calibrated airspeed at a true airspeed; inverse of `tas_from_cas_mps`. [m/s]"""
    mach = np.asarray(tas_mps, dtype=float) / np.sqrt(GAMMA * R_AIR * np.asarray(temperature_k, dtype=float))
    qc = standard_air(pressure_altitude_m).pressure_pa * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0)
    return A0_MPS * np.sqrt(5.0 * ((qc / P0_PA + 1.0) ** (2.0 / 7.0) - 1.0))


def eas_from_tas_mps(tas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """Equivalent airspeed: EAS = TAS·√σ (14 CFR 1.1). [m/s]"""
    return np.asarray(tas_mps, dtype=float) * np.sqrt(density_ratio(pressure_altitude_m, temperature_k))


def tas_from_eas_mps(eas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """True airspeed at an equivalent airspeed. [m/s]"""
    return np.asarray(eas_mps, dtype=float) / np.sqrt(density_ratio(pressure_altitude_m, temperature_k))
