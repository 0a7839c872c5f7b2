"""Noise out of a column without cutting its tops off, and the lag of an airspeed found from what the recording shows.

A pressure line and a recorder's filter make an airspeed late by some tenths of a second; the top of an excursion is cut
off by it. In straight level flight the ground speed changes as the airspeed does: how late the one is against the other
can be seen, and is taken out. Where it can't be seen nothing is done.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from airwork.maneuvers.seeing.signal import Array, Mask
from airwork.masks import runs

# Through a parabola, not a mean: a mean of the same noise cuts the tops off, and with them excursions of a second.
PARABOLA = 2.25  # times as long for the same noise
RATE_S = 0.9  # to each side, for a rate
LEAST_RUN_S, LEAST_RANGE_MPS, LEVEL_M, LEAST_RUNS = 6.0, 3.0, 25.0, 4
MOST_S, SURE_S, WORTH_S = 1.2, 0.1, 0.1  # a greater lag is no instrument's; one standard error; less isn't felt


def through_parabolas(values: Array, half: int) -> Array:
    """Each sample from the parabola that fits `half` samples to each side best (Savitzky and Golay 1964); a new array.

    `scipy.signal.savgol_filter` with its ends held; its import alone takes longer than grading a flight.
    """
    if half < 2:
        return np.array(values, dtype=float)
    at = np.arange(-half, half + 1)
    weights = 3.0 * (3 * half * half + 3 * half - 1 - 5 * at * at) / ((2 * half - 1) * (2 * half + 1) * (2 * half + 3))
    return _weighted(values, weights)


def rate(values: Array, step_s: float) -> Array:
    """Slope of the same parabolas over about two seconds. [1/s]"""
    half = max(2, round(RATE_S / step_s))
    at = np.arange(-half, half + 1, dtype=float)
    return _weighted(values, at / float((at * at).sum()) / step_s)


def _weighted(values: Array, weights: Array) -> Array:
    if not values.size:
        return np.array(values, dtype=float)
    return np.correlate(np.pad(values, weights.size // 2, mode="edge"), weights, mode="valid")


def _ranges(values: Array, at: NDArray[np.intp]) -> Array:
    """Greatest less least from each of these places to the one after the next."""
    most, least = np.maximum.reduceat(values, at), np.minimum.reduceat(values, at)
    most[:-1], least[:-1] = np.maximum(most[:-1], most[1:]), np.minimum(least[:-1], least[1:])
    return np.asarray(most - least)


def lag_s(speed_mps: Array, ground_mps: Array, altitude_m: Array, straight: Mask, step_s: float) -> float:
    """How late a true airspeed is against the ground speed; 0 where that doesn't show surely. [s]

    straight : samples of straight flight. In each level run of them in which the speed changes,
    ground speed = airspeed + lag · its rate + the wind, which stays the same.
    """
    known = np.isfinite(speed_mps) & np.isfinite(ground_mps) & np.isfinite(altitude_m)
    length, rates = round(LEAST_RUN_S / step_s), rate(np.where(known, speed_mps, 0.0), step_s)
    rows: list[tuple[float, float]] = []  # (lag, weight) of each stretch
    for first, end in runs(straight & known):
        at = np.arange(first, end, length)
        speed, height = (_ranges(x[:end], at) for x in (speed_mps, altitude_m))
        steady = (speed < LEAST_RANGE_MPS) | (height > LEVEL_M)
        for a in at[: (end - first) // length][~steady[: (end - first) // length]]:
            part = slice(a, min(a + 2 * length, end))
            change = rates[part] - rates[part].mean()
            off = ground_mps[part] - speed_mps[part]
            weight = float((change * change).sum())
            rows.append((float((change * (off - off.mean())).sum()) / weight, weight))
    if len(rows) < LEAST_RUNS:
        return 0.0
    each, weights = np.array(rows).T  # by stretch, not by sample: gusts last for seconds
    found = float(np.average(each, weights=weights))
    spread = float(np.sqrt(np.average((each - found) ** 2, weights=weights) / (each.size - 1)))
    return found if spread < SURE_S and WORTH_S < found < MOST_S else 0.0
