"""What the wind does between one thermal and the next: a slow wandering about the fitted wind, told by the circles.

A flight of hours crosses air that no profile with height describes. Where it circles often, each stretch of two circles
and more tells the wind there; between them it is taken to wander like a Gaussian process of exponential memory.
What the hand does is told apart by its memory: it ends with the thermal. (Method derived here. The drift over whole
circles was tried, too, and is twice as far off: pilots move their circles toward the better lift.)
"""

from __future__ import annotations

from itertools import product

import numpy as np

from airwork.recording.flight import Array
from airwork.recording.wind import WindFits
from airwork.recording.wind_field import WindField

CIRCLE_STEP_S = 2.0  # between coarser fixes a circle is a polygon, and its fit leans to less wind
_LEAST_TURN_RAD = 4.0 * np.pi  # two circles in one window
_BIN_S = 60.0
_LEAST_BINS = 10  # fewer and the whole flight's fit says it better
_MEMORY_S = 1_200.0  # of the wind
_THERMAL_S = 300.0  # of the hand: its speed goes with its heading in the same way for one thermal
_WANDERS_MPS, _STRAYS_MPS = (0.0, 0.5, 1.0, 1.5), (0.0, 0.5, 1.0, 2.0, 4.0)  # weighed by what the circles say
_LEFT_MPS = 0.5  # what the memory above leaves out, by four simulated flights
_NEGLIGIBLE = 0.01
_FIT_OFF_MPS = 0.3  # a circle fit's own error beside what it says


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
    apart = np.abs(middle[:, None] - middle[None, :])
    wind, hand = np.exp(-apart / _MEMORY_S), np.exp(-apart / _THERMAL_S)
    near = np.exp(-np.abs(time_s[:, None] - middle[None, :]) / _MEMORY_S)
    tried = []
    for wanders2, strays2 in product(np.square(_WANDERS_MPS), np.square(_STRAYS_MPS)):
        known = wanders2 * wind + strays2 * hand + np.diag(noise2)
        solved = np.linalg.solve(known, mean)
        likely = -float(np.linalg.slogdet(known)[1]) - 0.5 * float(np.sum(mean * solved))
        tried.append((likely, wanders2, np.linalg.inv(known), solved))
    best = max(row[0] for row in tried)
    weights = np.exp([row[0] - best for row in tried])
    out, left2 = np.zeros((time_s.size, 2)), np.zeros(time_s.size)
    for share, (_, wanders2, inverse, solved) in zip(weights / weights.sum(), tried, strict=True):
        if wanders2 == 0.0 or share < _NEGLIGIBLE:
            continue
        out += share * wanders2 * (near @ solved)
        left2 += share * wanders2 * (1.0 - wanders2 * np.einsum("ij,jk,ik->i", near, inverse, near))
    return out, np.maximum(left2, 0.0) + _LEFT_MPS**2
