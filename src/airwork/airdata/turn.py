"""Turning flight: load factor, rate, radius, stall in the bank, pivotal altitude, gliding turns. SI, radians.

[PHAK] FAA-H-8083-25C ch. 5; [AFH] FAA-H-8083-3C ch. 3, 7, 10. The handbooks' constants 1091 and 11.26 are rounded
by 0.1 and 0.3 %; here g and the units are exact. The sign of the bank is ignored where only its size matters.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import G0_MPS2, Array


def _bank(bank_rad: ArrayLike) -> Array:
    b = np.abs(np.asarray(bank_rad, dtype=float))
    return np.where(b < np.pi / 2, b, np.nan)


def load_factor(bank_rad: ArrayLike) -> Array:
    """Load factor of a level, coordinated turn: n = 1/cos φ. [1]  NaN from 90° on.

    References
    ----------
    [PHAK] chapter 5, load factors in turns.
    """
    return 1.0 / np.cos(_bank(bank_rad))


def bank_for_load_rad(load: ArrayLike) -> Array:
    """Bank of the level turn with this load factor; NaN below 1. [rad]"""
    n = np.asarray(load, dtype=float)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.arccos(np.where(n >= 1.0, 1.0 / n, np.nan))


def stall_speed_factor(load: ArrayLike) -> Array:
    """Stall speed under a load factor over that at 1 g: √n (calibrated speeds). [1]"""
    return np.sqrt(np.asarray(load, dtype=float))


def turn_rate_radps(tas_mps: ArrayLike, bank_rad: ArrayLike) -> Array:
    """Rate of a level, coordinated turn: ω = g·tan φ/V, TRUE airspeed. [rad/s]"""
    return G0_MPS2 * np.tan(_bank(bank_rad)) / np.asarray(tas_mps, dtype=float)


def turn_radius_m(tas_mps: ArrayLike, bank_rad: ArrayLike) -> Array:
    """Radius of a level, coordinated turn in still air: r = V²/(g·tan φ). [m]"""
    return np.asarray(tas_mps, dtype=float) ** 2 / (G0_MPS2 * np.tan(_bank(bank_rad)))


def turn_time_s(tas_mps: ArrayLike, bank_rad: ArrayLike, turn_rad: ArrayLike) -> Array:
    """Time for a turn through an angle at constant bank. [s]"""
    return np.abs(np.asarray(turn_rad, dtype=float)) / turn_rate_radps(tas_mps, bank_rad)


def bank_for_rate_rad(tas_mps: ArrayLike, rate_radps: ArrayLike) -> Array:
    """Bank that gives a rate of turn: φ = atan(V·ω/g). [rad]"""
    return np.arctan(np.asarray(tas_mps, dtype=float) * np.abs(np.asarray(rate_radps, dtype=float)) / G0_MPS2)


def bank_for_radius_rad(speed_mps: ArrayLike, radius_m: ArrayLike) -> Array:
    """Bank that gives a radius: tan φ = V²/(g·r). With GROUND speed: the bank of a turn about a point. [rad]

    In wind the ground-speed form neglects the drift angle (see `ground_reference_bank_rad`).
    """
    return np.arctan(np.asarray(speed_mps, dtype=float) ** 2 / (G0_MPS2 * np.asarray(radius_m, dtype=float)))


def ground_reference_bank_rad(
    tas_mps: ArrayLike, wind_mps: float, radius_m: float, track_minus_wind_rad: ArrayLike
) -> Array:
    """Bank that keeps a circle over the ground in a steady wind, exact. [rad]

    The air path's turn rate is the track's rate plus the rate of the drift angle: with GS(χ) along the track,
    heading ψ = χ + asin(W/V·sin(wd − χ)), dψ/dt = dψ/dχ·GS/r and tan φ = V·dψ/dt/g.

    Parameters
    ----------
    track_minus_wind_rad : track direction less the direction the wind blows FROM; 0 = straight upwind. [rad]

    Derived here; the handbook's simpler tan φ = GS²/(g·r) is `bank_for_radius_rad`.
    """
    v, chi = np.asarray(tas_mps, dtype=float), np.asarray(track_minus_wind_rad, dtype=float)
    ratio = wind_mps / v
    s = ratio * np.sin(-chi)
    root = np.sqrt(1.0 - s**2)
    groundspeed = v * root - wind_mps * np.cos(chi)
    heading_per_track = 1.0 - ratio * np.cos(chi) / root
    return np.arctan(v * heading_per_track * groundspeed / radius_m / G0_MPS2)


def pivotal_altitude_m(groundspeed_mps: ArrayLike) -> Array:
    """Height above the pylon at which the line of sight stays on it: h = GS²/g. [m]

    References
    ----------
    [AFH] chapter 7, eights on pylons: GS²/11.3 (kt, ft); exact constant 11.294.
    """
    return np.asarray(groundspeed_mps, dtype=float) ** 2 / G0_MPS2


def rollout_lead_rad(bank_rad: ArrayLike) -> Array:
    """Heading before the wanted one at which to begin the roll-out: half the bank ([AFH] ch. 3, 10). [rad]"""
    return _bank(bank_rad) / 2.0


def gliding_turn_height_loss_m(
    tas_mps: ArrayLike, glide_ratio: ArrayLike, bank_rad: ArrayLike, turn_rad: ArrayLike
) -> Array:
    """Height lost in a gliding turn at constant lift coefficient. [m]

    Δh = 2·ψ·V²/(g·(L/D)·sin 2φ), V the true speed of the wings-level glide; least at 45°. The speed in the turn is
    V·√n. Derived in this project; valid for shallow glide angles.
    """
    b = _bank(bank_rad)
    v2 = np.asarray(tas_mps, dtype=float) ** 2
    psi = np.abs(np.asarray(turn_rad, dtype=float))
    return 2.0 * psi * v2 / (G0_MPS2 * np.asarray(glide_ratio, dtype=float) * np.sin(2.0 * b))


def energy_height_m(altitude_m: ArrayLike, tas_mps: ArrayLike) -> Array:
    """Specific energy as a height: h + V²/2g ([AFH] ch. 4). [m]"""
    return np.asarray(altitude_m, dtype=float) + np.asarray(tas_mps, dtype=float) ** 2 / (2.0 * G0_MPS2)
