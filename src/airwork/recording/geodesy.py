"""Positions → meters: a local plane for drawing, and the radii that turn rates of degrees into speeds. WGS-84."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.recording.smooth import slow_rate

Array = NDArray[np.float64]
EARTH_M = 6_371_000.0  # a sphere's radius, near enough over a step
_A_M = 6_378_137.0  # WGS-84 semi-major axis and flattening (from memory, exact by definition)
_E2 = (1 / 298.257223563) * (2 - 1 / 298.257223563)


def radii_m(latitude_rad: ArrayLike) -> tuple[Array, Array]:
    """(meridian radius, radius of the parallel) of the ellipsoid at a latitude. [m]

    M = a(1 − e²)/(1 − e²sin²φ)^1.5; p = a·cos φ/√(1 − e²sin²φ). Speed north = M·dφ/dt, speed east = p·dλ/dt.
    """
    phi = np.asarray(latitude_rad, dtype=float)
    w2 = 1.0 - _E2 * np.sin(phi) ** 2
    w = np.sqrt(w2)
    return _A_M * (1.0 - _E2) / (w2 * w), _A_M * np.cos(phi) / w


def east_north_m(latitude_rad: Array, longitude_rad: Array) -> tuple[Array, Array]:
    """Metres east and north of the first known fix, on the plane that touches the ellipsoid there. [m]

    e = ρ sin Δλ; n = (z − z0) cos φ0 − (ρ cos Δλ − ρ0) sin φ0, with ρ = N cos φ, z = N(1 − e²) sin φ.
    """
    known = np.flatnonzero(np.isfinite(latitude_rad) & np.isfinite(longitude_rad))
    if not known.size:
        return np.full_like(latitude_rad, np.nan), np.full_like(longitude_rad, np.nan)
    lat0, lon0 = float(latitude_rad[known[0]]), float(longitude_rad[known[0]])
    turn = longitude_rad - lon0
    if np.nanmax(np.abs(turn)) > np.pi:
        turn = turn - 2.0 * np.pi * np.round(turn / (2.0 * np.pi))
    sin_turn, cos_turn = _sine_cosine(turn)
    sin_up, cos_up = _sine_cosine(latitude_rad - lat0)
    sin_phi = np.sin(lat0) * cos_up + np.cos(lat0) * sin_up
    cos_phi = np.cos(lat0) * cos_up - np.sin(lat0) * sin_up
    across = _A_M / np.sqrt(1.0 - _E2 * sin_phi * sin_phi)
    rho, z = across * cos_phi, across * (1.0 - _E2) * sin_phi
    rho0, z0 = rho[known[0]], z[known[0]]
    return rho * sin_turn, (z - z0) * np.cos(lat0) - (rho * cos_turn - rho0) * np.sin(lat0)


def _sine_cosine(angle: Array) -> tuple[Array, Array]:
    """Sine and cosine; by their series for the small angles within one flight (exact to 1e-12 up to 3°)."""
    if np.nanmax(np.abs(angle)) > 0.05:
        return np.sin(angle), np.cos(angle)
    square = angle * angle
    return (
        angle * (1.0 - square * (1.0 / 6.0 - square * (1.0 / 120.0 - square / 5040.0))),
        1.0 - square * (0.5 - square * (1.0 / 24.0 - square / 720.0)),
    )


def way_m(latitude_rad: Array, longitude_rad: Array) -> Array:
    """From each fix to the next, one fewer. [m]"""
    meridian, parallel = radii_m(latitude_rad)
    turn = np.diff(longitude_rad)
    turn -= 2.0 * np.pi * np.round(turn / (2.0 * np.pi))
    return np.asarray(np.hypot(np.diff(latitude_rad) * meridian[1:], turn * parallel[1:]), dtype=np.float64)


def velocity_mps(time_s: Array, latitude_rad: Array, longitude_rad: Array, span_s: float) -> tuple[Array, Array]:
    """(east, north) over the ground by fixes about so far apart, crude and quick; NaN at the ends. [m/s]"""
    meridian, parallel = radii_m(np.nanmedian(latitude_rad))
    return slow_rate(time_s, longitude_rad, span_s) * parallel, slow_rate(time_s, latitude_rad, span_s) * meridian
