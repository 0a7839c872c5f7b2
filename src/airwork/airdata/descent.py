"""Gliding and descending: the distance of a glide, the rate of descent that keeps a path. SI.

Cautions where it is shown: glide figures are for the speed and configuration of the handbook, propeller as there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import Array


def glide_distance_m(
    height_m: ArrayLike, glide_ratio: ArrayLike, tas_mps: ArrayLike = 1.0, headwind_mps: ArrayLike = 0.0
) -> Array:
    """Distance over the ground of a straight glide: h·(L/D)·(V − W)/V. [m]

    Parameters
    ----------
    height_m : height above the surface. [m]
    headwind_mps : component against the glide; tailwind negative. [m/s]

    Zero where the headwind is as strong as the airspeed.

    References
    ----------
    [AFH] chapter 3, glide ratio; the wind factor from memory.
    """
    v, w = np.asarray(tas_mps, dtype=float), np.asarray(headwind_mps, dtype=float)
    return np.asarray(height_m, dtype=float) * np.asarray(glide_ratio, dtype=float) * np.maximum(1.0 - w / v, 0.0)


def path_descent_rate_mps(groundspeed_mps: ArrayLike, path_rad: ArrayLike) -> Array:
    """Rate of descent that keeps a path angle: GS·tan γ. [m/s]  (Rule: 5 times the ground speed in kt for 3°.)"""
    return np.asarray(groundspeed_mps, dtype=float) * np.tan(np.asarray(path_rad, dtype=float))
