"""The day's air over the practice area: one column with altimeter setting, temperature and wind by height. SI."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.altimetry import pressure_altitude_from_setting_m
from airwork.airdata.atmosphere import (
    P0_PA,
    T0_K,
    Array,
    density_altitude_m,
    density_ratio,
    standard_pressure_pa,
    standard_temperature_k,
)
from airwork.airdata.wind import wind_from_vector, wind_vector_mps


@dataclass(frozen=True, slots=True)
class WindLayer:
    """Wind at an altitude above sea level. Direction FROM, true."""

    altitude_m: float
    from_rad: float
    speed_mps: float


@dataclass(frozen=True, slots=True)
class AirColumn:
    """The air of a day. Altitudes are above sea level as the altimeter shows them (indicated).

    The temperature keeps the deviation from standard found at `temperature_altitude_m` all the way up and down: a
    plain assumption, to be shown as such. The wind is interpolated by vector between its layers and held constant below
    the lowest and above the highest.
    """

    setting_pa: float = P0_PA
    temperature_k: float = T0_K
    temperature_altitude_m: float = 0.0
    winds: tuple[WindLayer, ...] = field(default_factory=tuple)

    def pressure_altitude_m(self, altitude_m: ArrayLike) -> Array:
        """Pressure altitude at an indicated altitude. [m]"""
        return pressure_altitude_from_setting_m(altitude_m, self.setting_pa)

    @property
    def isa_deviation_k(self) -> float:
        """Temperature less standard temperature where it was measured. [K]"""
        here = self.pressure_altitude_m(self.temperature_altitude_m)
        return self.temperature_k - float(standard_temperature_k(here))

    def temperature_at_k(self, altitude_m: ArrayLike) -> Array:
        """Temperature at an indicated altitude. [K]"""
        return standard_temperature_k(self.pressure_altitude_m(altitude_m)) + self.isa_deviation_k

    def density_ratio(self, altitude_m: ArrayLike) -> Array:
        """σ of dry air at an indicated altitude. [1]"""
        return density_ratio(self.pressure_altitude_m(altitude_m), self.temperature_at_k(altitude_m))

    def density_altitude_m(self, altitude_m: ArrayLike) -> Array:
        """Density altitude (dry) at an indicated altitude. [m]"""
        return density_altitude_m(self.pressure_at_pa(altitude_m), self.temperature_at_k(altitude_m))

    def pressure_at_pa(self, altitude_m: ArrayLike) -> Array:
        """Air pressure at an indicated altitude. [Pa]"""
        return standard_pressure_pa(self.pressure_altitude_m(altitude_m))

    def wind_at(self, altitude_m: ArrayLike) -> tuple[Array, Array]:
        """(direction FROM [rad], speed [m/s]) at an altitude; calm without layers."""
        east, north = self.wind_vector_at(altitude_m)
        return wind_from_vector(east, north) if self.winds else (east, north)

    def wind_vector_at(self, altitude_m: ArrayLike) -> tuple[Array, Array]:
        """Velocity of the air over the ground at an altitude, (east, north); nothing without layers. [m/s]"""
        h = np.asarray(altitude_m, dtype=float)
        if not self.winds:
            return np.zeros_like(h), np.zeros_like(h)
        layers = sorted(self.winds, key=lambda w: w.altitude_m)
        heights = np.array([w.altitude_m for w in layers])
        east, north = wind_vector_mps([w.from_rad for w in layers], [w.speed_mps for w in layers])
        return np.asarray(np.interp(h, heights, east)), np.asarray(np.interp(h, heights, north))
