"""Turning flight: load factor, rate, radius, bank for a rate, pivotal altitude, gliding turns. SI, radians.

Sources: [PHAK] ch. 5, 11; [AFH] ch. 3, 4, 7, 10. The handbooks' constants 1091 and 11.26 are rounded
by 0.1 and 0.3 %; here g and the units are exact. The sign of the bank is ignored where only its size matters.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import G0_MPS2, Array, only_between

_STEEPEST_RAD = float(np.nextafter(np.pi / 2, 0.0))


def _bank(bank_rad: ArrayLike) -> Array:
    """The bank with its sign; NaN from 90° on."""
    return only_between(bank_rad, -_STEEPEST_RAD, _STEEPEST_RAD)


def _size(x: Array) -> Array:
    """|x| of a fresh result, in its own memory."""
    return np.abs(x, out=x) if isinstance(x, np.ndarray) else np.abs(x)


def load_factor(bank_rad: ArrayLike) -> Array:
    """Load factor of a level, coordinated turn: n = 1/cos φ. [1]  NaN from 90° on.

    References
    ----------
    [PHAK] chapter 5, load factors in turns.
    """
    return 1.0 / np.cos(_bank(bank_rad))


def turn_rate_radps(tas_mps: ArrayLike, bank_rad: ArrayLike) -> Array:
    """Rate of a level, coordinated turn: ω = g·tan φ/V, TRUE airspeed. [rad/s]  Infinite or NaN without speed.

    References
    ----------
    [PHAK] chapter 5, rate of turn: 1091·tan φ/KTAS °/s; exact constant 1092.2.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        return G0_MPS2 * _size(np.tan(_bank(bank_rad))) / np.asarray(tas_mps, dtype=float)


def turn_radius_m(tas_mps: ArrayLike, bank_rad: ArrayLike) -> Array:
    """Radius of a level, coordinated turn in still air: r = V²/(g·tan φ). [m]  Infinite with the wings level.

    >>> kt = 1852 / 3600
    >>> round(float(turn_radius_m(100 * kt, np.pi / 4)) / 0.3048, 1)
    885.4

    References
    ----------
    [PHAK] chapter 5, radius of turn: KTAS²/(11.26·tan φ) ft; exact constant 11.294.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.square(np.asarray(tas_mps, dtype=float)) / (G0_MPS2 * _size(np.tan(_bank(bank_rad))))


def bank_for_rate_rad(tas_mps: ArrayLike, rate_radps: ArrayLike) -> Array:
    """Bank that gives a rate of turn: φ = atan(V·ω/g). [rad]

    Exact; the two printed rules for the standard rate (15 % of the speed; a tenth plus 7, both [IFH]) disagree by up
    to 3° below 140 kt.
    """
    return np.arctan(np.asarray(tas_mps, dtype=float) * np.abs(np.asarray(rate_radps, dtype=float)) / G0_MPS2)


def pivotal_altitude_m(groundspeed_mps: ArrayLike) -> Array:
    """Height above the pylon at which the line of sight stays on it: h = GS²/g. [m]

    Bank does not matter. Add the pylon's elevation for the altitude to fly.

    References
    ----------
    [AFH] chapter 7, eights on pylons: GS²/11.3 (kt, ft); exact constant 11.294.
    """
    return np.asarray(groundspeed_mps, dtype=float) ** 2 / G0_MPS2


def rollout_lead_rad(bank_rad: ArrayLike) -> Array:
    """Heading before the wanted one at which to begin the roll-out: half the bank ([AFH] ch. 3, 10). [rad]"""
    return _size(_bank(bank_rad) / 2.0)


def gliding_turn_height_loss_m(
    tas_mps: ArrayLike, glide_ratio: ArrayLike, bank_rad: ArrayLike, turn_rad: ArrayLike
) -> Array:
    """Height lost in a gliding turn at constant lift coefficient. [m]

    Δh = 2·ψ·V²/(g·(L/D)·sin 2φ), V the true speed of the wings-level glide; least at 45°. The speed in the turn is
    V·√n. Derived in this project; valid for shallow glide angles. Infinite with the wings level.
    """
    v2, psi = np.square(np.asarray(tas_mps, dtype=float)), np.abs(np.asarray(turn_rad, dtype=float))
    with np.errstate(invalid="ignore", divide="ignore"):
        return 2.0 * psi * v2 / (G0_MPS2 * np.asarray(glide_ratio, dtype=float) * _size(np.sin(2.0 * _bank(bank_rad))))
