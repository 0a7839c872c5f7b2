"""What the altimeter shows: altimeter setting, pressure, indicated and true altitude, cold air. SI.

Pressure altitude says which pressure the air has, density altitude what it weighs, true altitude how high it is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import (
    LAPSE_K_PER_M,
    TROPOPAUSE_M,
    ZERO_C_K,
    Array,
    pressure_altitude_m,
    standard_temperature_k,
)


def pressure_altitude_from_setting_m(indicated_altitude_m: ArrayLike, setting_pa: ArrayLike) -> Array:
    """Pressure altitude of an altimeter that shows this altitude with this setting. [m]

    PA = E + h_std(Q): an altimeter setting shifts the scale by the standard height of the setting, whatever E is
    (definition of the altimeter setting). A field elevation with the field's setting is the same question.

    >>> round(float(pressure_altitude_from_setting_m(5883 * 0.3048, 30.10 * 3386.389)) / 0.3048)
    5718
    """
    return np.asarray(indicated_altitude_m, dtype=float) + pressure_altitude_m(setting_pa)


def indicated_altitude_m(pressure_altitude_m_: ArrayLike, setting_pa: ArrayLike) -> Array:
    """Altitude an altimeter with this setting shows at a pressure altitude. [m]"""
    return np.asarray(pressure_altitude_m_, dtype=float) - pressure_altitude_m(setting_pa)


def true_altitude_m(
    indicated_altitude_m_: ArrayLike, station_elevation_m: ArrayLike, isa_deviation_k: ArrayLike, setting_pa: ArrayLike
) -> Array:
    """Height above sea level when the air column is not at standard temperature. [m]

    h_true = h_station + Σ dh·T/T_std over the column from the station up, with a constant deviation from standard:
    warm air stands taller, so the airplane is higher than the altimeter says; cold air lower.

    Integrated exactly for a constant deviation ΔT: Δh = ΔT/L · ln(T_std(station)/T_std(airplane)) in the troposphere,
    ΔT/T_std · Δh above. The setting must be the station's.
    """
    low = pressure_altitude_from_setting_m(station_elevation_m, setting_pa)
    high = pressure_altitude_from_setting_m(indicated_altitude_m_, setting_pa)
    t_low, t_high = standard_temperature_k(low), standard_temperature_k(high)
    above = np.maximum(high - TROPOPAUSE_M, 0.0) - np.maximum(low - TROPOPAUSE_M, 0.0)
    stretch = np.log(t_low / t_high) / LAPSE_K_PER_M + above / t_high
    return np.asarray(indicated_altitude_m_, dtype=float) + np.asarray(isa_deviation_k, dtype=float) * stretch


def cold_temperature_correction_m(
    height_above_station_m: ArrayLike, station_temperature_k: ArrayLike, station_elevation_m: ArrayLike = 0.0
) -> Array:
    """What to add to an altitude in cold air so that the airplane really is that high above the station. [m]

    corr = H·(15 − t0)/(273 + t0 − ½·L·(H + H_station)), t0 the station's temperature in °C as reported.

    Parameters
    ----------
    height_above_station_m : the TRUE height wanted above the station that gives the setting. [m]

    Never negative: warm air needs no correction. The reported temperature is not reduced to sea level, as the
    printed tables are used: at a high station the answer is then too large, the safe side.

    References
    ----------
    [ICAO-8168] formula from memory; [AIM] chapter 7 section 3 gives 300 ft for 2,994 ft at −12 °C.
    """
    h, station = np.asarray(height_above_station_m, dtype=float), np.asarray(station_elevation_m, dtype=float)
    t0 = np.asarray(station_temperature_k, dtype=float) - ZERO_C_K
    corr = h * (15.0 - t0) / (273.0 + t0 - 0.5 * LAPSE_K_PER_M * (h + station))
    return np.where(h >= 0.0, np.maximum(corr, 0.0), np.nan)
