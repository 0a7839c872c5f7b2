"""A file's rows on even steps, and how its positions move: what a column without a name is held against."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import turn_from_to_rad
from airwork.airdata.geodesy import radii_m
from airwork.recording.recorded import Array
from airwork.recording.unit_choice import HEIGHTS

_MOST = 7_200  # samples looked at


@dataclass
class Motion:
    """A file's rows on even steps, and how the positions move: what an unknown column is held against. SI.

    columns : settled columns by quantity, as the rows have them.
    """

    time_s: Array
    columns: Mapping[str, Array]
    _order: NDArray[np.intp] = field(init=False)

    def __post_init__(self) -> None:
        good = np.flatnonzero(np.isfinite(self.time_s))
        self._order = good[np.argsort(self.time_s[good], kind="stable")]
        t = self.time_s[self._order]
        steps = np.diff(t)
        steps = steps[steps > 0.0]
        self.fix_s = float(np.median(steps)) if steps.size else 1.0
        step = max(self.fix_s, 1.0, float(np.ptp(t)) / _MOST if t.size else 1.0)
        self.step_s = step
        self.grid_s = np.arange(t[0], t[-1], step)[: 2 * _MOST] if t.size > 2 and np.ptp(t) < 1e6 else np.zeros(0)

    def even(self, values: Array) -> Array:
        """A column's readings on the even steps; NaN in its gaps."""
        x, t = values[self._order], self.time_s[self._order]
        good = np.isfinite(x)
        if good.sum() < 3 or not self.grid_s.size:
            return np.full(self.grid_s.shape, np.nan)
        t, x = t[good], x[good]
        place = np.clip(np.searchsorted(t, self.grid_s), 1, t.size - 1)
        apart = t[place] - t[place - 1]
        usual = max(float(np.median(np.diff(t))), self.step_s)
        inside = (self.grid_s >= t[0]) & (self.grid_s <= t[-1]) & (apart <= 4.0 * usual)
        return np.where(inside, np.interp(self.grid_s, t, x), np.nan)

    def rate(self, values: Array, span_s: float) -> Array:
        """Change per second over about this span, on the even steps."""
        k = max(round(0.5 * span_s / self.step_s), 1)
        out = np.full(values.shape, np.nan)
        if values.size > 2 * k:
            out[k:-k] = (values[2 * k :] - values[: -2 * k]) / (2 * k * self.step_s)
        return out

    def mean(self, values: Array, span_s: float) -> Array:
        """Running mean over about this span."""
        k = max(round(0.5 * span_s / self.step_s), 1)
        if values.size <= 2 * k:
            return np.full(values.shape, np.nan)
        known = np.isfinite(values)
        window = np.ones(2 * k + 1)
        count = np.convolve(known, window, "same")
        total = np.convolve(np.where(known, values, 0.0), window, "same")
        return np.where(count > k, total / np.maximum(count, 1.0), np.nan)

    @cached_property
    def velocity(self) -> tuple[Array, Array]:
        """(east, north) over the ground by the positions. [m/s]"""
        none = np.full(self.grid_s.shape, np.nan)
        if not {"latitude", "longitude"} <= self.columns.keys():
            return none, none
        latitude = self.even(self.columns["latitude"])
        longitude = self.columns["longitude"]
        known = np.isfinite(longitude)
        unwrapped = np.full(longitude.shape, np.nan)
        unwrapped[known] = np.unwrap(longitude[known])
        meridian, parallel = radii_m(latitude)
        east = self.rate(self.even(unwrapped), 4.0) * parallel
        return east, self.rate(latitude, 4.0) * meridian

    @cached_property
    def speed(self) -> Array:
        """Over the ground, by positions, else a recorded speed. [m/s]"""
        by_places = np.hypot(*self.velocity)
        if np.isfinite(by_places).any():
            return np.asarray(by_places)
        names = ("ground_speed", "speed", "true_airspeed", "indicated_airspeed", "calibrated_airspeed")
        return next((self.even(self.columns[n]) for n in names if n in self.columns), by_places)

    @cached_property
    def flying(self) -> NDArray[np.bool_]:
        """Where it moves as it does in flight."""
        known = self.speed[np.isfinite(self.speed)]
        least = max(5.0, 0.5 * float(np.percentile(known, 90.0))) if known.size else math.inf
        return np.asarray(np.nan_to_num(self.speed) > least)

    @cached_property
    def course(self) -> Array:
        """Direction of the way over the ground. [rad]"""
        return np.asarray(np.arctan2(*self.velocity))

    @cached_property
    def turning(self) -> Array:
        """Turn rate of the way over the ground. [rad/s]"""
        k = max(round(3.0 / self.step_s), 1)
        out = np.full(self.grid_s.shape, np.nan)
        if self.grid_s.size > 2 * k:
            out[k:-k] = turn_from_to_rad(self.course[: -2 * k], self.course[2 * k :]) / (2 * k * self.step_s)
        return out

    @cached_property
    def height(self) -> Array | None:
        """A settled height. [m]"""
        name = next((n for n in HEIGHTS if n in self.columns), None)
        return None if name is None else self.even(self.columns[name])

    @cached_property
    def climbing(self) -> Array:
        """Change of the settled height over 10 s. [m/s]"""
        return np.full(self.grid_s.shape, np.nan) if self.height is None else self.rate(self.height, 10.0)
