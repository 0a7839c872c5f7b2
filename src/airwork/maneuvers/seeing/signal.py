"""Small zero-phase filters and run-finding on evenly spaced samples. Pure, vectorized; lengths in samples."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.masks import runs

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = NDArray[np.intp]


def known_share(values: Array) -> float:
    """Share of the samples that are known; 0 of none. [1]"""
    return np.count_nonzero(np.isfinite(values)) / values.size if values.size else 0.0


def median(values: Array) -> float:
    """`np.median` of a short stretch without its cost per call: the same number, NaN when a sample is."""
    n = values.size
    if not n:
        return math.nan
    ordered = np.sort(values, axis=None)
    if math.isnan(ordered[-1]):  # NaN is sorted last
        return math.nan
    return float(ordered[n // 2] if n % 2 else (ordered[n // 2 - 1] + ordered[n // 2]) / 2.0)


def percentile(values: Array, percent: float) -> float:
    """`np.percentile` of a short stretch (linear between samples), the same number; NaN when a sample is."""
    if not values.size:
        return math.nan
    ordered = np.sort(values, axis=None)
    if math.isnan(ordered[-1]):
        return math.nan
    rank = (values.size - 1) * (percent / 100.0)
    below = math.floor(rank)
    share = rank - below
    low, high = float(ordered[below]), float(ordered[min(below + 1, values.size - 1)])
    return high - (high - low) * (1.0 - share) if share >= 0.5 else low + (high - low) * share


def filled(values: ArrayLike) -> Array:
    """NaN samples bridged in a straight line; the ends held. All NaN stays all NaN; all known, the array itself."""
    x = np.asarray(values, dtype=float)
    good = np.isfinite(x)
    if good.all() or not good.any():
        return x
    x = x.copy()
    at = np.flatnonzero(good)
    x[~good] = np.interp(np.flatnonzero(~good), at, x[good])
    return x


def mean_over(values: ArrayLike, samples: int) -> Array:
    """Centred running mean over about `samples` (made odd); the ends use what there is. No NaN in, none out."""
    x = np.asarray(values, dtype=float)
    half = min(samples // 2, max(x.size - 1, 0))
    if half < 1 or x.size == 0:
        return x.copy()
    n, width = x.size, 2 * half + 1
    total = np.empty(n + 1)
    total[0] = 0.0
    np.cumsum(x, out=total[1:])
    if n <= width:
        low, high = np.maximum(np.arange(n) - half, 0), np.minimum(np.arange(n) + half + 1, n)
        return (total[high] - total[low]) / (high - low)
    out = np.empty(n)
    inner = out[half : n - half]
    np.subtract(total[width:], total[: n + 1 - width], out=inner)
    inner /= width
    held = np.arange(half + 1, width)  # samples in the windows that reach over an end
    out[:half] = total[half + 1 : width] / held
    out[n - half :] = (total[n] - total[n + 1 - width : n - half]) / held[::-1]
    return out


def smooth(values: ArrayLike, samples: int) -> Array:
    """Two running means: no delay, and no ripple from a box's edges."""
    return mean_over(mean_over(values, samples), samples)


def rate(values: ArrayLike, step_s: float) -> Array:
    """Central difference. [per second]"""
    x = np.asarray(values, dtype=float)
    if x.size < 2:
        return np.zeros_like(x)
    return np.gradient(x, step_s)


def first_true(mask: Mask, otherwise: int) -> int:
    """Index of the first True, or what stands for none."""
    return int(mask.argmax()) if mask.any() else otherwise


def last_true(mask: Mask, otherwise: int) -> int:
    """Index of the last True, or what stands for none."""
    return int(np.flatnonzero(mask)[-1]) if mask.any() else otherwise


def bridged(mask: ArrayLike, gap: int) -> Mask:
    """The mask with holes of at most `gap` samples closed."""
    out = np.array(mask, dtype=bool)
    for first, last in runs(~out):
        if last - first <= gap and first > 0 and last < out.size:
            out[first:last] = True
    return out


def stretches(state: ArrayLike) -> list[tuple[int, int, int]]:
    """State changes into stretches: (state, first, one past the last). The shared step of every recognizer."""
    s = np.asarray(state)
    if s.size == 0:
        return []
    edges = np.concatenate(([0], np.flatnonzero(s[1:] != s[:-1]) + 1, [s.size]))
    return [(int(s[a]), int(a), int(b)) for a, b in pairwise(edges)]


def ramp(value: float, zero: float, one: float) -> float:
    """0 at `zero`, 1 at `one`, straight between, held outside; either order. NaN counts as 0.

    >>> ramp(35, 30, 40), ramp(90, 100, 80)
    (0.5, 0.5)
    """
    if not math.isfinite(value):
        return 0.0
    share = (value - zero) / (one - zero)
    return float(min(1.0, max(0.0, share)))


NEARLY_ALL = 90.0  # percentile: what lasts but for a moment
SOFT, SHARP = 0.3, 0.08  # half a ramp's width over its limit: of heights, times, rates; of speeds against each other


def over(value: float, limit: float, soft: float = SOFT) -> float:
    """1 well above a limit, half at it, 0 well below; NaN counts as 0.

    >>> over(100, 100), over(130, 100), over(70, 100)
    (0.5, 1.0, 0.0)
    """
    return ramp(value, limit * (1.0 - soft), limit * (1.0 + soft))


def under(value: float, limit: float, soft: float = SOFT) -> float:
    """1 well below a limit, half at it, 0 well above; NaN counts as 0."""
    return ramp(value, limit * (1.0 + soft), limit * (1.0 - soft))
