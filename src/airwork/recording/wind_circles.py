"""What the wind does between one thermal and the next: a slow wandering about the fitted wind, told by the circles.

A flight of hours crosses air that no profile with height describes. Where it circles often, each stretch of two circles
and more tells the wind there; between them it is taken to wander like a Gaussian process of exponential memory.
(Method derived here; its constants are round numbers tried on one recorded flight. The drift over whole circles was
tried, too, and is twice as far off: pilots move their circles toward the better lift.)
"""

from __future__ import annotations

import numpy as np

from airwork.recording.flight import Array
from airwork.recording.wind import WindFits
from airwork.recording.wind_field import WindField

CIRCLE_STEP_S = 2.0  # between coarser fixes a circle is a polygon, and its fit leans to less wind
_LEAST_TURN_RAD = 4.0 * np.pi  # two circles in one window
_BIN_S = 60.0
_LEAST_BINS = 10  # fewer and the whole flight's fit says it better
_WANDERS_MPS, _MEMORY_S = 1.5, 1_200.0
_LEFT_MPS = 0.6  # what the memory above leaves out, by four simulated flights
_FIT_OFF_MPS = 0.7  # a circle fit's own error: airspeed and lift change with the direction


def wandering(field: WindField, fits: WindFits, time_s: Array) -> tuple[Array, Array] | None:
    """What to add to the fitted wind at some moments, (n, 2) east and north [m/s], and the variance left, (n,).

    None where it circles too little.
    """
    use = (np.abs(fits.turn_rad) >= _LEAST_TURN_RAD) & np.isfinite(fits.error_mps)
    if not use.any():
        return None
    t, error2 = fits.time_s[use], fits.error_mps[use] ** 2 + _FIT_OFF_MPS**2
    there = field.at(t, fits.altitude_m[use])
    left = np.stack([fits.east_mps[use] - there.east_mps, fits.north_mps[use] - there.north_mps], axis=1)
    bins, place = np.unique(np.floor(t / _BIN_S), return_inverse=True)
    if bins.size < _LEAST_BINS:
        return None
    weight = np.bincount(place, 1.0 / error2)
    middle = np.bincount(place, t / error2) / weight
    mean = np.stack([np.bincount(place, left[:, k] / error2) / weight for k in (0, 1)], axis=1)
    noise2 = np.bincount(place) / weight  # windows overlap: several in a bin are one observation
    memory = np.exp(-np.abs(middle[:, None] - middle[None, :]) / _MEMORY_S) * _WANDERS_MPS**2
    known = np.linalg.inv(memory + np.diag(noise2))
    solved = known @ mean
    out, left2 = np.zeros((time_s.size, 2)), np.zeros(time_s.size)
    for first in range(0, time_s.size, 4_000):  # by parts: memory follows the samples
        part = slice(first, first + 4_000)
        near = np.exp(-np.abs(time_s[part, None] - middle[None, :]) / _MEMORY_S) * _WANDERS_MPS**2
        out[part] = near @ solved
        left2[part] = _WANDERS_MPS**2 - np.einsum("ij,jk,ik->i", near, known, near)
    return out, np.maximum(left2, 0.0) + _LEFT_MPS**2
