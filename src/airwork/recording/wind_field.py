"""The wind over height and time: straight between heights, growing from the ground, changing slowly with time.

What is known of any wind before a flight is looked at stands here: its usual size, shear and change, and the growth
with height over flat country by the 1/7 power law (common practice, no source; a flight's fit may depart from it).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NODE_M = 200.0
MOST_NODES = 9
USUAL_MPS = 12.0  # usual size of a wind
SHEAR_MPS_PER_M = 1.0 / 300.0  # usual change with height, the growth near the ground apart
TREND_MPS = 0.7  # usual change in `TREND_S`
TREND_S = 1_800.0
FRICTION_M = 600.0  # the ground slows the wind up to about here
FRICTION_POWER = 1.0 / 7.0
FRICTION_OFF = 0.06  # the power is usually within this of it: 0.1 over open water, 0.2 over woods
_LOWEST_M = 3.0


@dataclass(frozen=True, slots=True)
class Heights:
    """How heights and moments share the unknowns of one wind component: a node each, and the trend.

    nodes_m : (k,) heights of the nodes.
    field_m : height of the ground where the flight stood; NaN where it isn't known, then nothing slows the wind.
    middle_s : the moment without trend.
    """

    nodes_m: Array
    field_m: float
    middle_s: float

    def share(self, time_s: Array, altitude_m: Array) -> Array:
        """Weight of each unknown in the wind at moments and heights. (n, k + 1)"""
        k, n = self.nodes_m.size, altitude_m.size
        out = np.zeros((n, k + 1))
        if k == 1:
            out[:, 0] = 1.0
        else:
            place = np.interp(altitude_m, self.nodes_m, np.arange(k, dtype=float))
            low = np.minimum(place.astype(int), k - 2)
            rows = np.arange(n)
            out[rows, low], out[rows, low + 1] = 1.0 - (place - low), place - low
        if np.isfinite(self.field_m):
            above = np.clip(altitude_m - self.field_m, _LOWEST_M, FRICTION_M)
            out[:, :k] *= ((above / FRICTION_M) ** FRICTION_POWER)[:, None]
        out[:, k] = (time_s - self.middle_s) / TREND_S
        return out

    def slowing(self, altitude_m: Array) -> Array:
        """Natural logarithm of how much higher than here the ground's friction ends; nought where it has ended."""
        if not np.isfinite(self.field_m):
            return np.zeros(altitude_m.size)
        return np.asarray(np.log(FRICTION_M / np.clip(altitude_m - self.field_m, _LOWEST_M, FRICTION_M)))

    def prior(self) -> Array:
        """Precision of the unknowns of one component before the data. (k + 1, k + 1)"""
        k = self.nodes_m.size
        out = np.zeros((k + 1, k + 1))
        out[np.arange(k), np.arange(k)] = 1.0 / (k * USUAL_MPS**2)
        for i in range(k - 1):
            stiff = 1.0 / (SHEAR_MPS_PER_M * max(float(self.nodes_m[i + 1] - self.nodes_m[i]), 1.0)) ** 2
            out[i : i + 2, i : i + 2] += stiff * np.array([[1.0, -1.0], [-1.0, 1.0]])
        out[k, k] = 1.0 / TREND_MPS**2
        return out


def heights_of(time_s: Array, altitude_m: Array, field_m: float) -> Heights:
    """Nodes for the heights flown."""
    low, high = np.percentile(altitude_m, [2.0, 98.0])
    nodes = np.linspace(low, high, int(np.clip(np.ceil((high - low) / NODE_M), 0, MOST_NODES - 1)) + 1)
    if nodes.size == 1:
        nodes = np.array([0.5 * (low + high)])
    return Heights(nodes, field_m, float(time_s.mean()))


@dataclass(frozen=True, slots=True)
class WindAt:
    """Wind at moments and heights with its standard errors. Arrays of one length, [m/s]; `cross` in (m/s)²."""

    east_mps: Array
    north_mps: Array
    east_error_mps: Array
    north_error_mps: Array
    cross: Array

    def error_along(self, east: Array, north: Array) -> Array:
        """Standard error of the component along a direction (of any length; either where it has none). [m/s]"""
        size = np.hypot(east, north)
        known = size > 1e-6
        u = np.where(known, east / np.where(known, size, 1.0), np.sqrt(0.5))
        v = np.where(known, north / np.where(known, size, 1.0), np.sqrt(0.5))
        variance = (u * self.east_error_mps) ** 2 + (v * self.north_error_mps) ** 2 + 2.0 * u * v * self.cross
        return np.sqrt(np.maximum(variance, 0.0))

    def worst_mps(self) -> Array:
        """Standard error along the direction in which the wind is known worst. [m/s]"""
        a, b = self.east_error_mps**2, self.north_error_mps**2
        return np.sqrt(0.5 * (a + b) + np.sqrt(0.25 * (a - b) ** 2 + self.cross**2))


@dataclass(frozen=True, slots=True)
class WindField:
    """A fitted wind: the unknowns of both components and their covariance (east first). SI."""

    heights: Heights
    east: Array  # (k + 1,)
    north: Array
    covariance: Array  # (2k + 2, 2k + 2)

    def at(self, time_s: Array, altitude_m: Array) -> WindAt:
        """The wind at moments and heights; held constant beyond the nodes, less surely."""
        share = self.heights.share(time_s, altitude_m)
        m = self.east.size

        def spread(part: Array) -> Array:
            return np.asarray(np.einsum("ni,ij,nj->n", share, part, share))

        nodes = self.heights.nodes_m
        outside = np.maximum(np.maximum(nodes[0] - altitude_m, altitude_m - nodes[-1]), 0.0)
        more = (SHEAR_MPS_PER_M * outside) ** 2
        east, north = share @ self.east, share @ self.north
        off = FRICTION_OFF * self.heights.slowing(altitude_m)  # share of the wind that the unknown power leaves open
        return WindAt(
            east, north,
            np.sqrt(np.maximum(spread(self.covariance[:m, :m]), 0.0) + more + (off * east) ** 2),
            np.sqrt(np.maximum(spread(self.covariance[m:, m:]), 0.0) + more + (off * north) ** 2),
            spread(self.covariance[:m, m:]) + off**2 * east * north,
        )  # fmt: skip
