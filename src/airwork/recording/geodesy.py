"""Positions → metres: a local plane for drawing, and the radii that turn rates of degrees into speeds. WGS-84."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
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
    sin_phi = np.sin(latitude_rad)
    across = _A_M / np.sqrt(1.0 - _E2 * sin_phi**2)
    rho, z = across * np.cos(latitude_rad), across * (1.0 - _E2) * sin_phi
    turn = longitude_rad - lon0
    turn = turn - 2.0 * np.pi * np.round(turn / (2.0 * np.pi))
    rho0, z0 = rho[known[0]], z[known[0]]
    return rho * np.sin(turn), (z - z0) * np.cos(lat0) - (rho * np.cos(turn) - rho0) * np.sin(lat0)
