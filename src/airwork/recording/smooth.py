"""Zero-phase smoothing and slopes on an uneven time base, by sliding windows of seconds.

The slope at a sample is the mean of the half window after it less the mean of the half window before it, over the
time between their middles: exact for a straight line and, on even spacing, for a parabola; 8/9 as efficient as least
squares. The window is symmetric, so nothing is delayed. Means come from running totals, so the cost doesn't grow with
the window (least squares from running totals of t² would lose the digits). NaN samples take no part.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import unwrap_rad

Array = NDArray[np.float64]


class Window:
    """A sliding window over one time base, made once and used for many columns.

    Parameters
    ----------
    time_s : shape (n,), strictly increasing. [s]
    half_s : half the width; widened to hold at least one sample on each side. [s]
    spacing : what `spacing` of another window over these times, or over more of them evenly, says.
    """

    def __init__(self, time_s: Array, half_s: float, spacing: tuple[float, bool] | None = None) -> None:
        n = time_s.size
        self.time_s: Array = time_s - (time_s[0] if n else 0.0)
        self.spacing: tuple[float, bool] = spacing or _spacing(time_s)
        self.step_s, even = self.spacing
        self.half_s = max(half_s, 1.01 * self.step_s) if n > 1 else half_s
        # even spacing is the usual case, and goes without a search
        self.reach = int(self.half_s / self.step_s + 1e-6) if even else 0

    @cached_property
    def low(self) -> NDArray[np.intp]:
        """First sample of each window."""
        if self.reach:
            return np.maximum(np.arange(self.time_s.size) - self.reach, 0)
        return np.searchsorted(self.time_s, self.time_s - self.half_s, side="left")

    @cached_property
    def high(self) -> NDArray[np.intp]:
        """One past the last sample of each window."""
        if self.reach:
            return np.minimum(np.arange(self.time_s.size) + self.reach + 1, self.time_s.size)
        return np.searchsorted(self.time_s, self.time_s + self.half_s, side="right")

    def _at_ends(self, running: Array) -> tuple[Array, Array]:
        """A running total at each window's beginning and end; on even spacing by shifting it, not by looking it up."""
        n, k = self.time_s.size, min(self.reach, self.time_s.size)
        if not k:
            return running[self.low], running[self.high]
        low = np.concatenate((np.full(k, running[0]), running[: n - k]))
        return low, np.concatenate((running[k + 1 :], np.full(min(k + 1, n), running[-1])))[:n]

    def _between(self, values: Array) -> Array:
        low, high = self._at_ends(_running(values))
        return high - low

    def slope(self, values: Array) -> Array:
        """Slope per second at each sample, NaN where fewer than two are known in its window."""
        n = values.size
        if not n:
            return values
        good = np.isfinite(values)
        whole = bool(good.all())
        center = float(values.mean()) if whole else float(values[good].mean()) if good.any() else 0.0
        x = values - center if whole else np.where(good, values - center, 0.0)
        k = self.reach
        if not whole or not k or n < 4 * k + 4:
            return self._slope_at(x, None if whole else good, slice(None))
        # even spacing: the same window everywhere but at the ends
        run, slope = _running(x), np.empty(n)
        before, after = run[k + 1 : n - k + 1] - run[: n - 2 * k], run[2 * k + 1 :] - run[k : n - k]
        slope[k : n - k] = (after - before) / ((k + 1) * k * self.step_s)
        for ends, taken in ((slice(0, k), slice(0, 2 * k + 1)), (slice(n - k, n), slice(n - 2 * k - 1, n))):
            edge = Window(self.time_s[taken], self.half_s, self.spacing)
            part = slice(ends.start - taken.start, ends.stop - taken.start)
            slope[ends] = edge._slope_at(x[taken], None, part)
        return slope

    def _slope_at(self, x: Array, good: NDArray[np.bool_] | None, part: slice) -> Array:
        """The same whatever the spacing, at a part of the samples; `x` is centered, nought where not known."""
        known = np.ones(x.size) if good is None else good.astype(np.float64)
        t = self.time_s if good is None else np.where(good, self.time_s, 0.0)
        totals = [_running(one) for one in (x, t, known)]
        (x_low, x_high), (t_low, t_high), (n_low, n_high) = (
            tuple(end[part] for end in self._at_ends(total)) for total in totals
        )
        (x_here, x_next), (t_here, t_next), (n_here, n_next) = ((total[:-1][part], total[1:][part]) for total in totals)
        before, after = n_next - n_low, n_high - n_here
        with np.errstate(invalid="ignore", divide="ignore"):
            middle_before = (t_next - t_low) / before
            apart = (t_high - t_here) / after - middle_before
            slope: Array = ((x_high - x_here) / after - (x_next - x_low) / before) / apart
        slope[~(apart > 1e-9)] = np.nan
        return slope

    def mean(self, values: Array) -> Array:
        """Mean of the known samples in each window; NaN where there is none."""
        good = np.isfinite(values)
        if good.all():
            center = float(values.mean()) if values.size else 0.0
            return self._between(values - center) / (self.high - self.low) + center
        with np.errstate(invalid="ignore", divide="ignore"):
            count = self._between(good.astype(np.float64))
            return self._between(np.where(good, values, 0.0)) / np.where(count > 0, count, np.nan)


def _spacing(time_s: Array) -> tuple[float, bool]:
    """(usual time between samples [s], whether it is the same throughout)."""
    steps = np.diff(time_s)
    if not steps.size:
        return 1.0, False
    step = float(np.median(steps))
    return step, float(np.abs(steps - step).max()) < 1e-3 * step


def _running(values: Array) -> Array:
    """Running total, 0 first."""
    out = np.empty(values.size + 1)
    out[0] = 0.0
    np.cumsum(values, out=out[1:])
    return out


def unwrapped(direction_rad: Array) -> Array:
    """A direction history without jumps, NaN kept in its place. [rad]"""
    return unwrap_rad(direction_rad)


def least_around(values: Array, half: int) -> Array:
    """The least of each sample and of `half` samples to each side, as many as there are; NaN takes no part.

    SciPy's `minimum_filter1d`, whose import takes a sixth of a debrief's processor time; the tests hold it to that.
    """
    if half < 1 or not values.size:
        return values.copy()
    least, width, rest = np.pad(values, half, mode="edge"), 1, 2 * half  # least of `width` samples from each on
    while width <= rest:
        least = np.fmin(least[:-width], least[width:])
        width *= 2
        rest = 2 * half + 1 - width
    return np.fmin(least[: least.size - rest], least[rest:])


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


def slow_rate(time_s: Array, values: Array, span_s: float) -> Array:
    """Change per second over about `span_s`, crude and quick; NaN at the ends and where time doesn't advance."""
    out = np.full(values.shape, np.nan)
    known = np.isfinite(time_s) & np.isfinite(values)
    good = np.flatnonzero(known)
    if good.size < 5:
        return out
    t, x = (time_s, values) if good.size == values.size else (time_s[known], values[known])
    if (np.diff(t) < 0.0).any():  # rows out of order are sorted only later, when the whole recording is cleaned
        order = np.argsort(t, kind="stable")
        good, t, x = good[order], t[order], x[order]
    step = float(np.median(np.diff(t)))
    k = int(min(max(round(span_s / step) if step > 0 else 1, 1), good.size - 1))
    dt = t[k:] - t[:-k]
    ok = (dt > 0.2 * span_s) & (dt < 5.0 * span_s)
    rate = np.divide(x[k:] - x[:-k], dt, out=np.full(dt.shape, np.nan), where=ok)
    out[good[k // 2 : k // 2 + rate.size]] = rate
    return out
