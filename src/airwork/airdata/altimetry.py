"""What the altimeter shows: altimeter setting, pressure, indicated and true altitude. SI."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import P0_PA, Array, pressure_altitude_m, standard_air


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


def station_pressure_pa(elevation_m: ArrayLike, setting_pa: ArrayLike) -> Array:
    """Air pressure at a place of known elevation and altimeter setting. [Pa]"""
    return standard_air(pressure_altitude_from_setting_m(elevation_m, setting_pa)).pressure_pa


def setting_from_station_pa(elevation_m: ArrayLike, station_pressure_pa_: ArrayLike) -> Array:
    """Altimeter setting that makes an altimeter at this elevation show it. [Pa]"""
    shift = pressure_altitude_m(station_pressure_pa_) - np.asarray(elevation_m, dtype=float)
    return P0_PA * (standard_air(shift).pressure_pa / P0_PA)


def true_altitude_m(
    indicated_altitude_m_: ArrayLike, station_elevation_m: ArrayLike, isa_deviation_k: ArrayLike, setting_pa: ArrayLike
) -> Array:
    """Height above sea level when the air column is not at standard temperature. [m]

    h_true = h_station + Σ dh·T/T_std over the column from the station up, with a constant deviation from standard:
    warm air stands taller, so the airplane is higher than the altimeter says; cold air lower.
    (Density altitude asks what the air weighs, pressure altitude which pressure it has, true altitude how high it is.)

    Integrated exactly for a constant deviation ΔT: Δh = ΔT/L · ln(T_std(station)/T_std(airplane)) in the troposphere.
    """
    low = pressure_altitude_from_setting_m(station_elevation_m, setting_pa)
    high = pressure_altitude_from_setting_m(indicated_altitude_m_, setting_pa)
    t_low, t_high = standard_air(low).temperature_k, standard_air(high).temperature_k
    stretch = np.asarray(isa_deviation_k, dtype=float) / 0.0065 * np.log(t_low / t_high)
    return np.asarray(indicated_altitude_m_, dtype=float) + stretch
