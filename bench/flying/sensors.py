"""What a recorder keeps of the truth: lag, noise and steps of the instruments and of the satellite receiver."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.units import FT_M, KT_MPS

Array = NDArray[np.float64]
EARTH_M = 6_371_000.0


@dataclass(frozen=True, slots=True)
class Sensors:
    """Errors of a recorder; `Sensors.none()` has none. Standard deviations unless named otherwise."""

    airspeed_lag_s: float = 0.5
    airspeed_noise_mps: float = 0.25 * KT_MPS
    altitude_noise_m: float = 0.5
    altitude_step_m: float = 1.0 * FT_M
    attitude_noise_rad: float = math.radians(0.15)
    heading_noise_rad: float = math.radians(0.4)
    acceleration_noise: float = 0.015
    gps_noise_m: float = 1.5
    gps_wander_s: float = 120.0  # the error of a fix changes this slowly
    gps_height_offset_m: float = 0.0
    gps_height_noise_m: float = 3.0
    gps_speed_noise_mps: float = 0.15
    rpm_noise: float = 6.0

    @classmethod
    def none(cls) -> Sensors:
        return cls(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0)


def _filtered(gain: float, keep: float, values: Array, before: float) -> Array:
    """A filter of the first order after `before`."""
    from scipy.signal import lfilter  # a second to load, for everybody who only looks at a flight

    return np.asarray(lfilter([gain], [1.0, -keep], values, zi=[keep * before])[0], dtype=float)


def _lagged(values: Array, lag_s: float, dt_s: float) -> Array:
    if lag_s <= 0.0:
        return values
    keep = math.exp(-dt_s / lag_s)
    return _filtered(1.0 - keep, keep, values, values[0])


def _wandering(n: int, sigma: float, time_s: float, dt_s: float, rng: np.random.Generator) -> Array:
    keep = math.exp(-dt_s / time_s)
    noise = rng.standard_normal(n) * math.sqrt(1.0 - keep * keep) * sigma
    return _filtered(1.0, keep, noise, 0.0)


def record(truth: dict[str, Array], sensors: Sensors, seed: int) -> dict[str, Array]:
    """The recorded columns of a flight, all at the truth's rate."""
    rng = np.random.default_rng([seed, 991])
    time_s = truth["time_s"]
    n, dt_s = time_s.size, float(np.median(np.diff(time_s)))
    out = {name: values.copy() for name, values in truth.items()}

    def noise(sigma: float) -> Array:
        return rng.standard_normal(n) * sigma

    out["ias_mps"] = np.maximum(
        _lagged(truth["ias_mps"], sensors.airspeed_lag_s, dt_s) + noise(sensors.airspeed_noise_mps), 0.0
    )
    out["tas_mps"] = np.maximum(
        _lagged(truth["tas_mps"], sensors.airspeed_lag_s, dt_s) + noise(sensors.airspeed_noise_mps), 0.0
    )
    altitude_noise = noise(sensors.altitude_noise_m)
    for name in ("indicated_altitude_m", "pressure_altitude_m"):
        values = truth[name] + altitude_noise
        step = sensors.altitude_step_m
        out[name] = np.round(values / step) * step if step > 0.0 else values
    for name in ("pitch_rad", "bank_rad"):
        out[name] = truth[name] + noise(sensors.attitude_noise_rad)
    out["heading_mag_rad"] = np.mod(truth["heading_mag_rad"] + noise(sensors.heading_noise_rad), 2.0 * math.pi)
    out["load_factor"] = truth["load_factor"] + noise(sensors.acceleration_noise)
    out["lateral_g"] = truth["lateral_g"] + noise(sensors.acceleration_noise)
    out["angle_of_attack_rad"] = np.where(truth["tas_mps"] > 10.0, truth["angle_of_attack_rad"], np.nan)  # a limp vane
    out["rpm"] = truth["rpm"] + noise(sensors.rpm_noise)
    north = _wandering(n, sensors.gps_noise_m, sensors.gps_wander_s, dt_s, rng) + noise(0.15 * sensors.gps_noise_m)
    east = _wandering(n, sensors.gps_noise_m, sensors.gps_wander_s, dt_s, rng) + noise(0.15 * sensors.gps_noise_m)
    out["latitude_rad"] = truth["latitude_rad"] + north / EARTH_M
    out["longitude_rad"] = truth["longitude_rad"] + east / (EARTH_M * np.cos(truth["latitude_rad"]))
    height = _wandering(n, sensors.gps_height_noise_m, sensors.gps_wander_s, dt_s, rng)
    out["gps_altitude_m"] = truth["altitude_m"] + sensors.gps_height_offset_m + height
    north_speed = truth["north_mps"] + noise(sensors.gps_speed_noise_mps)
    east_speed = truth["east_mps"] + noise(sensors.gps_speed_noise_mps)
    out["groundspeed_mps"] = np.hypot(north_speed, east_speed)
    out["track_rad"] = np.mod(np.arctan2(east_speed, north_speed), 2.0 * math.pi)
    return out
