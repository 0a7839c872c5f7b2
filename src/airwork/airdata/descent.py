"""Gliding and descending: distance, sink, path angle, the turn back, ground effect. SI.

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


def glide_sink_mps(tas_mps: ArrayLike, glide_ratio: ArrayLike) -> Array:
    """Rate of descent in a straight glide: V/(L/D), for shallow glides. [m/s]"""
    return np.asarray(tas_mps, dtype=float) / np.asarray(glide_ratio, dtype=float)


def path_descent_rate_mps(groundspeed_mps: ArrayLike, path_rad: ArrayLike) -> Array:
    """Rate of descent that keeps a path angle: GS·tan γ. [m/s]  (Rule: 5 times the ground speed in kt for 3°.)"""
    return np.asarray(groundspeed_mps, dtype=float) * np.tan(np.asarray(path_rad, dtype=float))


def path_gradient(vertical_speed_mps: ArrayLike, groundspeed_mps: ArrayLike) -> Array:
    """Height gained or lost per distance over the ground. [1]  NaN without ground speed."""
    gs = np.asarray(groundspeed_mps, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(gs > 0.0, np.asarray(vertical_speed_mps, dtype=float) / gs, np.nan)


def turn_back_height_loss_m(
    sink_mps: ArrayLike, turn_rad: ArrayLike, turn_rate_radps: ArrayLike, reaction_s: ArrayLike
) -> Array:
    """Height lost from engine failure to the end of a turn back to the runway: sink·(reaction + turn/rate). [m]

    The least of what it takes: lining up, and wind, come on top.

    References
    ----------
    [AFH] chapter 18, worked example: 4 s and 225° at 3°/s, 1,000 ft/min: 1,316 ft.
    """
    time = np.asarray(reaction_s, dtype=float) + np.abs(np.asarray(turn_rad, dtype=float)) / turn_rate_radps
    return np.asarray(sink_mps, dtype=float) * time


def ground_effect_reduction(height_over_span: ArrayLike) -> Array:
    """Part of the induced drag that ground effect takes away: (1 − 1.32·x)/(1.05 + 7.4·x), x = height/span. [1]

    Valid for 1/15 ≤ x ≤ 1/2; elsewhere NaN.

    References
    ----------
    Wieselsberger's fit, from memory; within 1 point of [PHAK] chapter 5 (x = 0.25: 23.5 %, 0.1: 47.6 %).
    """
    x = np.asarray(height_over_span, dtype=float)
    x = np.where((x >= 1.0 / 15.0) & (x <= 0.5), x, np.nan)
    return (1.0 - 1.32 * x) / (1.05 + 7.4 * x)
