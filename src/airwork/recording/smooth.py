"""Zero-phase smoothing and slopes on an uneven time base, by sliding windows of seconds.

The slope at a sample is the mean of the half window after it less the mean of the half window before it, over the
time between their middles: exact for a straight line and, on even spacing, for a parabola; 8/9 as efficient as least
squares. The window is symmetric, so nothing is delayed. Means come from running totals, so the cost doesn't grow with
the window (least squares from running totals of t² would lose the digits). NaN samples take no part.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Window:
    """A sliding window over one time base, made once and used for many columns.

    Parameters
    ----------
    time_s : shape (n,), strictly increasing. [s]
    half_s : half the width; widened to hold at least one sample on each side. [s]
    """

    def __init__(self, time_s: Array, half_s: float) -> None:
        n = time_s.size
        self.time_s = time_s - (time_s[0] if n else 0.0)
        steps = np.diff(time_s)
        step = float(np.median(steps)) if steps.size else 1.0
        half = max(half_s, 1.01 * step) if n > 1 else half_s
        self.half_s = half
        uniform = steps.size > 0 and float(np.abs(steps - step).max()) < 1e-3 * step
        index = np.arange(n)
        if uniform:  # the usual case, without a search
            k = int(half / step + 1e-6)
            self.low, self.high = np.maximum(index - k, 0), np.minimum(index + k + 1, n)
        else:
            self.low = np.searchsorted(self.time_s, self.time_s - half, side="left")
            self.high = np.searchsorted(self.time_s, self.time_s + half, side="right")

    def _between(self, values: Array, low: NDArray[np.intp], high: NDArray[np.intp]) -> Array:
        running = np.empty(values.size + 1)
        running[0] = 0.0
        np.cumsum(values, out=running[1:])
        return running[high] - running[low]

    def line(self, values: Array) -> tuple[Array, Array]:
        """(smoothed value, slope per second) at each sample; the slope is NaN where fewer than two are known."""
        if not values.size:
            return values, values
        good = np.isfinite(values)
        index = np.arange(values.size)
        centre = float(values[good].mean()) if good.any() else 0.0
        if good.all():
            x, t, weight = values - centre, self.time_s, None
            before, after = (index - self.low + 1).astype(np.float64), (self.high - index).astype(np.float64)
        else:
            x, t = np.where(good, values - centre, 0.0), np.where(good, self.time_s, 0.0)
            weight = good.astype(np.float64)
            running = np.concatenate(([0.0], np.cumsum(weight)))
            before, after = running[index + 1] - running[self.low], running[self.high] - running[index]
        run_x = np.concatenate(([0.0], np.cumsum(x)))
        run_t = np.concatenate(([0.0], np.cumsum(t)))
        low_x, high_x = run_x[index + 1] - run_x[self.low], run_x[self.high] - run_x[index]
        low_t, high_t = run_t[index + 1] - run_t[self.low], run_t[self.high] - run_t[index]
        with np.errstate(invalid="ignore", divide="ignore"):
            apart = high_t / after - low_t / before
            slope = (high_x / after - low_x / before) / apart
            all_x, all_t, count = (
                run_x[self.high] - run_x[self.low],
                run_t[self.high] - run_t[self.low],
                before + after - 1,
            )
            if weight is not None:
                count = before + after - weight
            value = all_x / count + np.where(np.isfinite(slope), slope * (self.time_s - all_t / count), 0.0) + centre
        thin = ~(apart > 1e-9)
        if thin.any():
            slope = np.where(thin, np.nan, slope)
            value = np.where(np.isfinite(value), value, values)
        return value, slope

    def mean(self, values: Array) -> Array:
        """Mean of the known samples in each window; NaN where there is none."""
        good = np.isfinite(values)
        if good.all():
            return self._between(values, self.low, self.high) / (self.high - self.low)
        with np.errstate(invalid="ignore", divide="ignore"):
            count = self._between(good.astype(np.float64), self.low, self.high)
            return self._between(np.where(good, values, 0.0), self.low, self.high) / np.where(count > 0, count, np.nan)


def unwrapped(direction_rad: Array) -> Array:
    """A direction history without jumps, NaN kept in its place. [rad]"""
    from airwork.airdata.angles import unwrap_rad

    if np.isfinite(direction_rad).all():
        turn = np.diff(direction_rad)
        turn -= 2.0 * np.pi * np.round(turn / (2.0 * np.pi))
        out = np.empty_like(direction_rad)
        if out.size:
            out[0] = direction_rad[0]
            np.cumsum(turn, out=out[1:])
            out[1:] += out[0]
        return out
    return unwrap_rad(direction_rad)


def filled(time_s: Array, values: Array, longest_s: float) -> tuple[Array, int]:
    """(values with gaps up to `longest_s` bridged by straight lines, how many samples were filled)."""
    good = np.isfinite(values)
    if good.all() or not good.any():
        return values, 0
    known = np.flatnonzero(good)
    after = np.searchsorted(known, np.flatnonzero(~good))
    inside = (after > 0) & (after < known.size)
    missing = np.flatnonzero(~good)[inside]
    after = after[inside]
    span = time_s[known[after]] - time_s[known[after - 1]]
    take = missing[span <= longest_s]
    if not take.size:
        return values, 0
    out = values.copy()
    out[take] = np.interp(time_s[take], time_s[known], values[known])
    return out, int(take.size)
