"""What follows from the raw columns of a flight: altitudes by pressure, groundspeed, track, turn rate, wind."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def standard_pressure_pa(altitude_m: float) -> float:
    """Pressure of the standard troposphere (ISO 2533). [Pa]"""
    return float(101325.0 * (1.0 - 0.0065 * altitude_m / 288.15) ** 5.255879)


def standard_altitude_m(pressure_pa: float) -> float:
    """Pressure altitude in the standard troposphere (ISO 2533). [m]"""
    return float(288.15 / 0.0065 * (1.0 - (pressure_pa / 101325.0) ** (1.0 / 5.255879)))


def complete(raw: dict[str, Array], setting_pa: float, variation_rad: float) -> dict[str, Array]:
    """Add what follows from the raw columns: altitudes by pressure, groundspeed, track, turn rate, wind, lateral g."""
    out = dict(raw)
    pressure_altitude_m = 288.15 / 0.0065 * (1.0 - (raw["pressure_pa"] / 101325.0) ** (1.0 / 5.255879))
    out["pressure_altitude_m"] = pressure_altitude_m
    out["indicated_altitude_m"] = pressure_altitude_m - standard_altitude_m(setting_pa)
    # The wheels' springs ring for a step or two when they touch: spikes of the simulation, not of any airplane.
    touched = np.convolve(raw["on_ground"], np.ones(15), "same") > 0.0
    out["load_factor"] = np.where(touched, np.clip(raw["load_factor"], 0.4, 2.2), raw["load_factor"])
    out["lateral_g"] = np.where(touched, np.clip(raw["lateral_g"], -0.5, 0.5), raw["lateral_g"])
    out["groundspeed_mps"] = np.hypot(raw["north_mps"], raw["east_mps"])
    out["track_rad"] = np.mod(np.arctan2(raw["east_mps"], raw["north_mps"]), 2.0 * math.pi)
    out["heading_mag_rad"] = np.mod(raw["heading_rad"] - variation_rad, 2.0 * math.pi)
    heading = np.unwrap(raw["heading_rad"])
    out["turn_rate_radps"] = np.gradient(heading, raw["time_s"]) if heading.size > 1 else np.zeros_like(heading)
    out["wind_mps"] = np.hypot(raw["wind_north_mps"], raw["wind_east_mps"])
    out["wind_from_rad"] = np.mod(np.arctan2(-raw["wind_east_mps"], -raw["wind_north_mps"]), 2.0 * math.pi)
    return out
