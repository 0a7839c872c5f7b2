"""What positions, time and each other say of the scale of recorded speeds and heights: ratios with their scatter.

Both sides of a ratio are averaged over the same stretch, so that a slow instrument, coarse digits or a late stamp
change neither more than the other. Numbers stay as written in the file; only positions are in SI.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.geodesy import radii_m
from airwork.recording.recorded import Array

FLYING_MPS = 5.0  # a paraglider's slowest; others are told from taxiing by their own fast flight
STRETCH_S = 10.0  # long against stamps and digits, short against turns
CLIMB_STRETCH_S = 30.0  # a vertical speed lags by 2 to 6 s, an altitude may step by 100 ft
_STRAIGHT = 0.985  # a chord this much shorter than its two halves bent: no measure of the way flown
# Stretches; their ratios as logarithms; how far off their middle is, and by how much of a second. The shortest piece.
_FEW, _FEW_DIFFER, _FEW_OFF, _FEW_OFF_S, _SHORTEST_S = 8, 0.3, 0.05, 0.25, 2.0
_FAR_S = 2 * 86_400.0
_MOST = 4_000
_LOW = 0.15  # of the heights flown: a field
_ROLLS, _NEAR_S = 0.45, (25.0, 70.0)  # of flying speed: rolling; seconds before and after, clear of flare and roll


@dataclass(frozen=True, slots=True)
class Ratio:
    """A ratio of two recorded things: its middle, the scatter of stretches about it (as logarithms), how many."""

    middle: float
    scatter: float
    count: int

    @property
    def error(self) -> float:
        """One standard error of the middle, as a logarithm; what scatters much is off to one side, too."""
        return float(self.scatter * max(1.25 / np.sqrt(max(self.count / 5.0, 1.0)), 0.3))


class Stretches:
    """One file's rows in the order of time, for means and changes over stretches of it. Not for use after cleaning."""

    def __init__(self, time_s: Array) -> None:
        good = np.isfinite(time_s)
        if good.any():
            good &= np.abs(time_s - np.median(time_s[good])) < _FAR_S
        order = np.flatnonzero(good)
        order = order[np.argsort(time_s[order], kind="stable")]
        if order.size:
            order = order[np.concatenate(([True], np.diff(time_s[order]) > 1e-6))]
        self.order = order
        self.time_s = time_s[order]
        self.of_all_rows_s = time_s

    def _known(self, values: Array) -> tuple[Array, Array]:
        x = values[self.order]
        good = np.flatnonzero(np.isfinite(x))
        good = good[:: max(good.size // (2 * _MOST), 1)]  # enough is enough: every second or so tells a scale
        return self.time_s[good], x[good]

    def _pairs(self, t: Array, span_s: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """First and last index of stretches of about this length; longer only where the fixes lie further apart.

        A recording of seconds is one stretch.
        """
        if t.size < 3:
            return np.zeros(0, int), np.zeros(0, int)
        low = np.arange(0, t.size, max(t.size // _MOST, 1))
        high = np.minimum(np.searchsorted(t, t[low] + span_s), t.size - 1)
        high = np.maximum(high, np.minimum(low + 2, t.size - 1))
        dt = t[high] - t[low]
        step = float(np.median(np.diff(t)))
        good = (dt > 0.5 * span_s) & (dt < max(2.0 * span_s, 2.5 * step))
        if _SHORTEST_S < t[-1] - t[0] <= 0.5 * span_s:
            return np.array([0]), np.array([t.size - 1])
        return low[good], high[good]

    def change(self, values: Array, span_s: float) -> tuple[Array, Array, Array]:
        """(begin, end, change per second) over stretches of a column."""
        t, x = self._known(values)
        low, high = self._pairs(t, span_s)
        return t[low], t[high], (x[high] - x[low]) / (t[high] - t[low]) if low.size else np.zeros(0)

    def mean(self, values: Array, begin: Array, end: Array) -> Array:
        """Mean of a column over stretches, by trapezoids; NaN where fewer than two readings are near."""
        t, x = self._known(values)
        if t.size < 3:
            return np.full(begin.shape, np.nan)
        area = np.concatenate(([0.0], np.cumsum(0.5 * (x[1:] + x[:-1]) * np.diff(t))))
        out = (np.interp(end, t, area) - np.interp(begin, t, area)) / (end - begin)
        count = np.searchsorted(t, end, side="right") - np.searchsorted(t, begin)
        inside = (begin >= t[0] - 1e-6) & (end <= t[-1] + 1e-6)
        return np.where((count >= 2) & inside, out, np.nan)

    def way(self, latitude_rad: Array, longitude_rad: Array, span_s: float = STRETCH_S) -> tuple[Array, Array, Array]:
        """(begin, end, speed along the way [m/s]) of straight stretches between new fixes."""
        none = np.zeros(0)
        t = self.time_s
        lat, lon = latitude_rad[self.order], longitude_rad[self.order]
        good = np.isfinite(lat) & np.isfinite(lon) & ~((lat == 0.0) & (lon == 0.0))
        t, lat, lon = t[good], lat[good], lon[good]
        if t.size < 3:
            return none, none, none
        new = np.concatenate(([True], (np.diff(lat) != 0.0) | (np.diff(lon) != 0.0)))  # repeated fixes say nothing
        fixes = np.flatnonzero(new)
        fixes = fixes[:: max(fixes.size // (2 * _MOST), 1)]
        t, lat, lon = t[fixes], lat[fixes], lon[fixes]
        low, high = self._pairs(t, span_s)
        if not low.size:
            return none, none, none
        meridian, parallel = radii_m(lat)
        turn = np.diff(lon)
        turn -= 2.0 * np.pi * np.round(turn / (2.0 * np.pi))
        north = np.concatenate(([0.0], np.cumsum(np.diff(lat) * 0.5 * (meridian[1:] + meridian[:-1]))))
        east = np.concatenate(([0.0], np.cumsum(turn * 0.5 * (parallel[1:] + parallel[:-1]))))
        middle = (low + high) // 2
        chord = np.hypot(east[high] - east[low], north[high] - north[low])
        halves = np.hypot(east[middle] - east[low], north[middle] - north[low]) + np.hypot(
            east[high] - east[middle], north[high] - north[middle]
        )
        straight = (chord >= _STRAIGHT * halves) & (chord > 0.0)
        return t[low][straight], t[high][straight], (chord / (t[high] - t[low]))[straight]

    def fields(self, values: Array, way: tuple[Array, Array, Array]) -> tuple[Array, Array]:
        """(descent to each landing, climb from each takeoff): numbers of the column in each meter of way flown."""
        t, x = self._known(values)
        at, along = 0.5 * (way[0] + way[1]), way[2]
        if t.size < 10 or at.size < 10:
            return np.zeros(0), np.zeros(0)
        rolls = along < _ROLLS * float(np.percentile(along, 75.0))
        change = np.flatnonzero(np.diff(rolls))
        ground, top = np.percentile(x, [1.0, 99.0])
        out: tuple[list[float], list[float]] = ([], [])
        for k in change.tolist():
            down = bool(rolls[k + 1])
            begin, end = (at[k] - _NEAR_S[1], at[k] - _NEAR_S[0]) if down else (at[k] + _NEAR_S[0], at[k] + _NEAR_S[1])
            inside = (at >= begin) & (at <= end)
            lies = float(np.interp(at[k], t, x)) - ground
            if (
                at[k + 1] - at[k] > _NEAR_S[0]
                or inside.sum() < 3
                or rolls[inside].any()
                or lies > _LOW * (top - ground)
            ):
                continue
            low, high = np.interp((begin, end), t, x)
            out[not down].append(float((low - high if down else high - low) / np.trapezoid(along[inside], at[inside])))
        return np.array(out[0]), np.array(out[1])


def ratio_of(top: Array, bottom: Array, use: NDArray[np.bool_]) -> Ratio | None:
    """top ÷ bottom over the stretches in use, where both have one sign."""
    good = use & np.isfinite(top) & np.isfinite(bottom) & (top * bottom > 0.0)
    if good.sum() < 8:
        return None
    logs = np.log(top[good] / bottom[good])
    middle = float(np.median(logs))
    return Ratio(float(np.exp(middle)), 1.4826 * float(np.median(np.abs(logs - middle))), int(good.sum()))


def of_few(top: Array, bottom: Array, use: NDArray[np.bool_], each_s: Array) -> Ratio | None:
    """The same of a recording too short for more than a few stretches, and less sure; None where they differ much.

    each_s : how long each lasts.
    """
    good = use & np.isfinite(top) & np.isfinite(bottom) & (top * bottom > 0.0)
    if not 0 < good.sum() < _FEW or good.sum() < use.sum():
        return None
    logs = np.log(top[good] / bottom[good])
    if float(np.ptp(logs)) > _FEW_DIFFER:
        return None
    off = max(_FEW_OFF, _FEW_OFF_S / float(np.median(each_s[good])))
    return Ratio(float(np.exp(np.median(logs))), off, int(good.sum()))


def multiples(values: Array, of: float) -> float:
    """Share of the readings (not nought) that are whole multiples of a number, rounding allowed."""
    known = values[np.isfinite(values) & (values != 0.0)][:50_000]
    if known.size < 20 or np.unique(known[:5_000]).size < 4:
        return 0.0
    part = known / of
    return float(np.mean(np.abs(part - np.round(part)) < 0.012 / max(of, 0.012)))


def resolution(values: Array) -> float:
    """The smallest usual step of a column, in its own numbers; nought where it hardly changes."""
    known = values[np.isfinite(values)][:50_000]
    steps = np.abs(np.diff(known))
    steps = steps[steps > 0.0]
    return float(np.percentile(steps, 10.0)) if steps.size > 5 else 0.0
