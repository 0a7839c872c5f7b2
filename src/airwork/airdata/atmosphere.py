"""The standard atmosphere to 20 km (geopotential), air density with humidity, density altitude. SI.

[ICAO-7488] ICAO Doc 7488/3, Manual of the ICAO Standard Atmosphere; identical to the US Standard Atmosphere 1976
in this range. Heights are geopotential metres, which is what altimeters and "pressure altitude" mean.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# [ICAO-7488] defining constants
T0_K = 288.15
P0_PA = 101_325.0
LAPSE_K_PER_M = 0.0065
R_AIR = 287.05287  # J/(kg·K)
GAMMA = 1.4
G0_MPS2 = 9.80665
TROPOPAUSE_M = 11_000.0
TOP_M = 20_000.0
BOTTOM_M = -5_000.0
R_VAPOUR = 461.495  # J/(kg·K), gas constant of water vapour (from memory)
EARTH_RADIUS_GEOPOTENTIAL_M = 6_356_766.0  # [ICAO-7488]

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
    h = np.asarray(height_m, dtype=float)
    h = np.where((h >= BOTTOM_M) & (h <= TOP_M), h, np.nan)
    temperature = T0_K - LAPSE_K_PER_M * np.minimum(h, TROPOPAUSE_M)
    above = np.maximum(h - TROPOPAUSE_M, 0.0)
    pressure = P0_PA * (temperature / T0_K) ** _N * np.exp(-above / _SCALE_M)
    return StandardAir(temperature, pressure, pressure / (R_AIR * temperature), np.sqrt(GAMMA * R_AIR * temperature))


def standard_temperature_k(height_m: ArrayLike) -> Array:
    """Standard temperature at a pressure altitude. [K]"""
    return standard_air(height_m).temperature_k


def pressure_altitude_m(pressure_pa: ArrayLike) -> Array:
    """Height in the standard atmosphere at which this pressure stands. [m]

    Inverse of `standard_air`; NaN outside −5,000 m to 20,000 m.
    """
    delta = np.asarray(pressure_pa, dtype=float) / P0_PA
    with np.errstate(invalid="ignore", divide="ignore"):
        low = T0_K / LAPSE_K_PER_M * (1.0 - delta ** (1.0 / _N))
        high = TROPOPAUSE_M - _SCALE_M * np.log(delta / _DELTA_TROPOPAUSE)
    h = np.where(delta >= _DELTA_TROPOPAUSE, low, high)
    return np.where((h >= BOTTOM_M) & (h <= TOP_M), h, np.nan)


def vapour_pressure_pa(dewpoint_k: ArrayLike) -> Array:
    """Vapour pressure of air with this dew point. [Pa]

    e = 6.11 hPa · 10^(7.5·t/(237.7 + t)), t in °C: the weather service's form (a public weather-service formula
    page; the WMO form differs by less than 0.3 % from −20 to 40 °C).
    """
    t = np.asarray(dewpoint_k, dtype=float) - 273.15
    return 611.0 * 10.0 ** (7.5 * t / (237.7 + t))


def density_kgpm3(pressure_pa: ArrayLike, temperature_k: ArrayLike, dewpoint_k: ArrayLike | None = None) -> Array:
    """Density of air, dry or moist. [kg/m³]

    ρ = (p − e)/(R·T) + e/(Rv·T); e = 0 without a dew point.
    """
    p, t = np.asarray(pressure_pa, dtype=float), np.asarray(temperature_k, dtype=float)
    e = 0.0 if dewpoint_k is None else vapour_pressure_pa(dewpoint_k)
    return np.asarray((p - e) / (R_AIR * t) + e / (R_VAPOUR * t))


def density_altitude_m(pressure_pa: ArrayLike, temperature_k: ArrayLike, dewpoint_k: ArrayLike | None = None) -> Array:
    """Height in the standard atmosphere at which this density stands. [m]

    Inverts ρ/ρ0 = (T/T0)^(n−1) below 11 km, exponential above. With a dew point the air is moist, hence lighter:
    the density altitude is higher.

    >>> round(float(density_altitude_m(101325.0, 303.15)) / 0.3048)
    1724
    """
    sigma = density_kgpm3(pressure_pa, temperature_k, dewpoint_k) / RHO0_KGPM3
    with np.errstate(invalid="ignore", divide="ignore"):
        low = T0_K / LAPSE_K_PER_M * (1.0 - sigma ** (1.0 / (_N - 1.0)))
        high = TROPOPAUSE_M - _SCALE_M * np.log(sigma / _SIGMA_TROPOPAUSE)
    h = np.where(sigma >= _SIGMA_TROPOPAUSE, low, high)
    return np.where((h >= BOTTOM_M) & (h <= TOP_M), h, np.nan)


def density_ratio(pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
    """σ = ρ/ρ0 of dry air at a pressure altitude and the actual temperature. [1]"""
    p = standard_air(pressure_altitude_m).pressure_pa
    return density_kgpm3(p, temperature_k) / RHO0_KGPM3


def geopotential_m(geometric_m: ArrayLike) -> Array:
    """Geopotential height of a geometric height: H = r·Z/(r + Z). [m]"""
    z = np.asarray(geometric_m, dtype=float)
    return EARTH_RADIUS_GEOPOTENTIAL_M * z / (EARTH_RADIUS_GEOPOTENTIAL_M + z)
