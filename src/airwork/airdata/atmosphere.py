"""The standard atmosphere to 20 km (geopotential), air density with humidity, density altitude. SI.

[ICAO-7488] ICAO Doc 7488/3, Manual of the ICAO Standard Atmosphere; identical to the US Standard Atmosphere 1976
in this range. Heights are geopotential meters, which is what altimeters and "pressure altitude" mean.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.units import G0_MPS2 as G0_MPS2  # both are constants of the standard atmosphere too
from airwork.units import ZERO_C_K as ZERO_C_K

Array = NDArray[np.float64]

# [ICAO-7488] defining constants, with G0_MPS2 and ZERO_C_K
T0_K = 288.15
P0_PA = 101_325.0
LAPSE_K_PER_M = 0.0065
R_AIR = 287.05287  # J/(kg·K)
GAMMA = 1.4

TROPOPAUSE_M = 11_000.0
TOP_M = 20_000.0
BOTTOM_M = -5_000.0
R_VAPOR = 461.495  # J/(kg·K), gas constant of water vapor (from memory)

RHO0_KGPM3 = P0_PA / (R_AIR * T0_K)
A0_MPS = float(np.sqrt(GAMMA * R_AIR * T0_K))
_N = G0_MPS2 / (R_AIR * LAPSE_K_PER_M)  # exponent of the pressure ratio, 5.25588
_T_TROPOPAUSE_K = T0_K - LAPSE_K_PER_M * TROPOPAUSE_M
_DELTA_TROPOPAUSE = (_T_TROPOPAUSE_K / T0_K) ** _N
_SIGMA_TROPOPAUSE = _DELTA_TROPOPAUSE * T0_K / _T_TROPOPAUSE_K
_SCALE_M = R_AIR * _T_TROPOPAUSE_K / G0_MPS2


class StandardAir(NamedTuple):
    """Standard air at a height; each field has the shape of the height asked."""

    temperature_k: Array
    pressure_pa: Array
    density_kgpm3: Array
    sound_mps: Array


def _all_between(x: Array, low: float, high: float) -> bool:
    """Every value lies inside the limits (False with a NaN): the common case, which needs no masks and no copy."""
    if x.ndim == 0:
        return low <= float(x) <= high
    return bool(x.size and x.min() >= low and x.max() <= high)


def only_between(values: ArrayLike, low: float, high: float) -> Array:
    """The values as they are inside the limits (both included), NaN outside. The input is never changed."""
    x = np.asarray(values, dtype=float)
    return x if _all_between(x, low, high) else np.where((x >= low) & (x <= high), x, np.nan)


def _inside(height_m: ArrayLike) -> Array:
    return only_between(height_m, BOTTOM_M, TOP_M)


def standard_pressure_pa(height_m: ArrayLike) -> Array:
    """Standard pressure at a pressure altitude: p = p0·(1 − L·h/T0)^(g0/(R·L)) to 11 km, exponential above. [Pa]

    Valid for −5,000 m to 20,000 m; elsewhere NaN.
    """
    h = np.asarray(height_m, dtype=float)
    if _all_between(h, BOTTOM_M, TROPOPAUSE_M):  # training airplanes never leave it
        return P0_PA * (1.0 - LAPSE_K_PER_M * h / T0_K) ** _N
    h = _inside(h)
    below = P0_PA * (1.0 - LAPSE_K_PER_M * np.minimum(h, TROPOPAUSE_M) / T0_K) ** _N
    return below * np.exp(-np.maximum(h - TROPOPAUSE_M, 0.0) / _SCALE_M)


def standard_air(height_m: ArrayLike) -> StandardAir:
    """Temperature, pressure, density and speed of sound of the standard atmosphere.

    T = T0 − L·h, p = p0·(T/T0)^(g0/(R·L)) to 11 km; isothermal above.

    Parameters
    ----------
    height_m : shape (n,) or scalar. Geopotential height = pressure altitude. [m]

    Valid for −5,000 m to 20,000 m; elsewhere NaN.

    >>> round(float(standard_air(11000.0).pressure_pa), 0)
    22632.0

    References
    ----------
    [ICAO-7488] section 3 and table 3.
    """
    h = _inside(height_m)
    temperature = T0_K - LAPSE_K_PER_M * np.minimum(h, TROPOPAUSE_M)
    pressure = standard_pressure_pa(h)
    return StandardAir(temperature, pressure, pressure / (R_AIR * temperature), sound_speed_mps(temperature))


def standard_temperature_k(height_m: ArrayLike) -> Array:
    """Standard temperature at a pressure altitude. [K]"""
    return T0_K - LAPSE_K_PER_M * np.minimum(_inside(height_m), TROPOPAUSE_M)


def sound_speed_mps(temperature_k: ArrayLike) -> Array:
    """Speed of sound: a = √(γ·R·T). [m/s]  NaN below 0 K."""
    with np.errstate(invalid="ignore"):
        return np.sqrt(GAMMA * R_AIR * np.asarray(temperature_k, dtype=float))


def pressure_altitude_m(pressure_pa: ArrayLike) -> Array:
    """Height in the standard atmosphere at which this pressure stands. [m]

    Inverse of `standard_air`; NaN outside −5,000 m to 20,000 m.
    """
    delta = np.asarray(pressure_pa, dtype=float) / P0_PA
    return _height_of_ratio_m(delta, _N, _DELTA_TROPOPAUSE)


def _height_of_ratio_m(ratio: Array, exponent: float, ratio_tropopause: float) -> Array:
    """Height at which a pressure or density ratio stands: a power law to 11 km, exponential above.

    An array of ratios is used up (its memory holds the answer): hand over a fresh one.
    """
    ratio_bottom = (1.0 - LAPSE_K_PER_M * BOTTOM_M / T0_K) ** exponent
    if _all_between(ratio, ratio_tropopause, ratio_bottom):
        ratio **= 1.0 / exponent
        return T0_K / LAPSE_K_PER_M * (1.0 - ratio)
    with np.errstate(invalid="ignore", divide="ignore"):
        low = T0_K / LAPSE_K_PER_M * (1.0 - ratio ** (1.0 / exponent))
        high = TROPOPAUSE_M - _SCALE_M * np.log(ratio / ratio_tropopause)
    return _inside(np.where(ratio >= ratio_tropopause, low, high))


def vapor_pressure_pa(dewpoint_k: ArrayLike) -> Array:
    """Vapor pressure of air with this dew point; at the air's temperature: the saturation pressure. [Pa]

    e = 6.11 hPa · 10^(7.5·t/(237.7 + t)), t in °C: the weather service's form ([NWS-DA]). The WMO form
    (6.112·exp(17.62·t/(243.12 + t)), from memory) differs by less than 0.4 % from 0 to 40 °C,
    0.8 % at −20 °C.

    Valid for −80 °C to 60 °C; elsewhere NaN.
    """
    t = only_between(np.asarray(dewpoint_k, dtype=float) - ZERO_C_K, -80.0, 60.0)
    return 611.0 * 10.0 ** (7.5 * t / (237.7 + t))


def relative_humidity(temperature_k: ArrayLike, dewpoint_k: ArrayLike) -> Array:
    """Relative humidity: vapor pressure at the dew point over that at the temperature. [1]

    NaN where the dew point is above the temperature.
    """
    t, d = np.asarray(temperature_k, dtype=float), np.asarray(dewpoint_k, dtype=float)
    return np.where(d <= t, vapor_pressure_pa(d) / vapor_pressure_pa(t), np.nan)


def density_kgpm3(pressure_pa: ArrayLike, temperature_k: ArrayLike, dewpoint_k: ArrayLike | None = None) -> Array:
    """Density of air, dry or moist. [kg/m³]

    ρ = (p − e)/(R·T) + e/(Rv·T); e = 0 without a dew point. NaN where the dew point is above the temperature.
    """
    p, t = np.asarray(pressure_pa, dtype=float), np.asarray(temperature_k, dtype=float)
    if dewpoint_k is None:
        return p / (R_AIR * t)
    d = np.asarray(dewpoint_k, dtype=float)
    e = vapor_pressure_pa(np.where(d <= t, d, np.nan))
    return (p - e) / (R_AIR * t) + e / (R_VAPOR * t)


def density_altitude_m(pressure_pa: ArrayLike, temperature_k: ArrayLike, dewpoint_k: ArrayLike | None = None) -> Array:
    """Height in the standard atmosphere at which this density stands. [m]

    Inverts ρ/ρ0 = (T/T0)^(n−1) below 11 km, exponential above. With a dew point the air is moist, hence lighter:
    the density altitude is higher. NaN outside −5,000 m to 20,000 m.

    >>> round(float(density_altitude_m(101325.0, 303.15)) / 0.3048)
    1724
    """
    sigma = density_kgpm3(pressure_pa, temperature_k, dewpoint_k) / RHO0_KGPM3
    return _height_of_ratio_m(sigma, _N - 1.0, _SIGMA_TROPOPAUSE)


def density_ratio(pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """σ = ρ/ρ0 of dry air at a pressure altitude and the actual temperature. [1]"""
    return density_kgpm3(standard_pressure_pa(pressure_altitude_m), temperature_k) / RHO0_KGPM3
