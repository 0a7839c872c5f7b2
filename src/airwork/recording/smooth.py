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
        self.half_s, self.step_s, self.reach = half, step, 0
        uniform = steps.size > 0 and float(np.abs(steps - step).max()) < 1e-3 * step
        index = np.arange(n)
        if uniform:  # the usual case, without a search
            k = self.reach = int(half / step + 1e-6)
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
        n = values.size
        if not n:
            return values, values
        good = np.isfinite(values)
        whole = bool(good.all())
        centre = float(values.mean()) if whole else float(values[good].mean()) if good.any() else 0.0
        x = values - centre if whole else np.where(good, values - centre, 0.0)
        k = self.reach
        if not whole or not k or n < 4 * k + 4:
            return self._line_at(x, None if whole else good, np.arange(n), values, centre)
        # even spacing: the same window everywhere but at the ends
        run = np.empty(n + 1)
        run[0] = 0.0
        np.cumsum(x, out=run[1:])
        value, slope = np.empty(n), np.empty(n)
        inner = slice(k, n - k)
        before, after = run[k + 1 : n - k + 1] - run[: n - 2 * k], run[2 * k + 1 :] - run[k : n - k]
        slope[inner] = (after - before) / ((k + 1) * k * self.step_s)
        value[inner] = (run[2 * k + 1 :] - run[: n - 2 * k]) / (2 * k + 1) + centre
        for ends, taken in ((slice(0, k), slice(0, 2 * k + 1)), (slice(n - k, n), slice(n - 2 * k - 1, n))):
            index = np.arange(n)[ends] - taken.start
            part = Window(self.time_s[taken], self.half_s)
            value[ends], slope[ends] = part._line_at(x[taken], None, index, values[taken], centre)
        return value, slope

    def _line_at(
        self, x: Array, good: NDArray[np.bool_] | None, index: NDArray[np.intp], values: Array, centre: float
    ) -> tuple[Array, Array]:
        """The same at some samples, whatever the spacing; `x` is centred, nought where not known."""
        low, high, here = self.low[index], self.high[index], self.time_s[index]
        t = self.time_s if good is None else np.where(good, self.time_s, 0.0)
        run_x, run_t = np.concatenate(([0.0], np.cumsum(x))), np.concatenate(([0.0], np.cumsum(t)))
        if good is None:
            before, after = (index - low + 1).astype(np.float64), (high - index).astype(np.float64)
            own: Array | float = 1.0
        else:
            run_n = np.concatenate(([0.0], np.cumsum(good)))
            before, after, own = (
                run_n[index + 1] - run_n[low],
                run_n[high] - run_n[index],
                good[index].astype(np.float64),
            )
        with np.errstate(invalid="ignore", divide="ignore"):
            middle_before = (run_t[index + 1] - run_t[low]) / before
            apart = (run_t[high] - run_t[index]) / after - middle_before
            slope = ((run_x[high] - run_x[index]) / after - (run_x[index + 1] - run_x[low]) / before) / apart
            count = before + after - own
            mean = (run_x[high] - run_x[low]) / count
            off = here - (run_t[high] - run_t[low]) / count
            value = mean + np.where(np.isfinite(slope), slope * off, 0.0) + centre
        thin = ~(apart > 1e-9)
        if thin.any():
            slope = np.where(thin, np.nan, slope)
            value = np.where(np.isfinite(value), value, values[index])
        return value, slope

    def mean(self, values: Array) -> Array:
        """Mean of the known samples in each window; NaN where there is none."""
        good = np.isfinite(values)
        if good.all():
            centre = float(values.mean()) if values.size else 0.0
            return self._between(values - centre, self.low, self.high) / (self.high - self.low) + centre
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
