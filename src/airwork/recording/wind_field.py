"""The wind over height and time from ground velocities alone (or with airspeed): one fit over the whole flight.

At the right wind w the airspeed |v − w| of neighbouring moments hardly differs, whichever way the airplane points: a
hand holds speed far better over half a minute than a wrong wind would let it seem. So w is chosen to make
    |v(t + τ) − w| − |v(t) − w|  −  (recorded change of airspeed, if any)
small over several lags τ, by Gauss-Newton with weights that forgive real changes of speed (Huber). The wind is drawn
straight between heights, changes slowly with height and time, and its covariance tells where it isn't known.
(Method derived here; the first guess comes from the circle fits of `wind.py`.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LAGS_S = (8.0, 12.0, 18.0, 26.0, 36.0)
FORGIVEN_MPS = 0.5  # larger differences are taken for real changes of speed and weigh less
SAME_REGIME_MPS = 0.6  # vertical speeds further apart than this belong to different regimes
NODE_M = 200.0
MOST_NODES = 9
SHEAR_MPS_PER_M = 1.0 / 150.0  # usual change of wind with height (our prior)
TREND_MPS = 1.0  # usual change in `TREND_S`
TREND_S = 1_800.0
LEVEL_MPS = 12.0  # usual size of a wind, for want of any turn
REPEATS = 2.5  # overlapping lags see the same thing again: variances grow by this
LEAST_SCATTER_MPS = 0.5
_ROUNDS = 12


@dataclass(frozen=True, slots=True)
class WindField:
    """Wind at nodes of height with a linear change in time, and its covariance. SI."""

    heights_m: Array  # (k,)
    east_mps: Array
    north_mps: Array
    trend_mps: Array  # (2,) change per TREND_S
    middle_s: float
    covariance: Array  # (2k + 2, 2k + 2): east nodes, north nodes, east trend, north trend

    def at(self, time_s: Array, altitude_m: Array) -> tuple[Array, Array, Array]:
        """(east, north, standard error of each component) at moments and heights; held constant beyond the nodes."""
        share = _shares(altitude_m, self.heights_m)
        later = (time_s - self.middle_s) / TREND_S
        k = self.heights_m.size
        pick = np.concatenate((share, later[:, None]), axis=1)
        index_e = np.append(np.arange(k), 2 * k)
        index_n = np.append(np.arange(k, 2 * k), 2 * k + 1)
        variance = np.maximum(
            np.einsum("ni,ij,nj->n", pick, self.covariance[np.ix_(index_e, index_e)], pick),
            np.einsum("ni,ij,nj->n", pick, self.covariance[np.ix_(index_n, index_n)], pick),
        )
        below, above = self.heights_m[0] - altitude_m, altitude_m - self.heights_m[-1]
        outside = np.maximum(np.maximum(below, above), 0.0)
        error = np.sqrt(np.maximum(variance, 0.0) + (SHEAR_MPS_PER_M * outside) ** 2)
        east = share @ self.east_mps + later * self.trend_mps[0]
        north = share @ self.north_mps + later * self.trend_mps[1]
        return east, north, error


def _shares(altitude_m: Array, heights: Array) -> Array:
    """Weight of each node for each height, straight between nodes. (n, k)"""
    k = heights.size
    out = np.zeros((altitude_m.size, k))
    if k == 1:
        out[:, 0] = 1.0
        return out
    place = np.interp(altitude_m, heights, np.arange(k, dtype=float))
    low = np.minimum(place.astype(int), k - 2)
    part = place - low
    rows = np.arange(altitude_m.size)
    out[rows, low], out[rows, low + 1] = 1.0 - part, part
    return out


def fit_field(
    time_s: Array,
    east_mps: Array,
    north_mps: Array,
    altitude_m: Array,
    tas_mps: Array | None,
    start: tuple[float, float],
) -> WindField | None:
    """Wind field from about one sample per second; None when nothing can be fitted.

    Parameters
    ----------
    east_mps, north_mps : ground velocity, NaN where not flying.
    tas_mps : recorded airspeed, if there is one.
    start : first guess of the wind (east, north). [m/s]
    """
    good = np.isfinite(east_mps) & np.isfinite(north_mps) & np.isfinite(altitude_m)
    if tas_mps is not None:
        good &= np.isfinite(tas_mps)
    if good.sum() < 60:
        return None
    t, x, y, h = time_s[good], east_mps[good], north_mps[good], altitude_m[good]
    air = None if tas_mps is None else tas_mps[good]
    first, second, weight = _pairs(t)
    rate = np.gradient(np.convolve(np.pad(h, 4, mode="edge"), np.full(9, 1 / 9.0), "valid"), t)
    apart = (rate[second] - rate[first]) / SAME_REGIME_MPS
    weight = weight / (1.0 + apart**2)  # climb, level, descent are flown at speeds of their own
    if first.size < 30:
        return None
    low, high = np.percentile(h, [2.0, 98.0])
    nodes = np.linspace(low, high, int(np.clip(np.ceil((high - low) / NODE_M), 0, MOST_NODES - 1)) + 1)
    if nodes.size == 1:
        nodes = np.array([0.5 * (low + high)])
    k = nodes.size
    middle = float(t.mean())
    share = np.concatenate((_shares(h, nodes), ((t - middle) / TREND_S)[:, None]), axis=1)
    pair_share = 0.5 * (share[first] + share[second])
    prior, target = _prior(nodes, start)
    w = target.copy()
    picks = np.concatenate((np.arange(k), [2 * k])), np.concatenate((np.arange(k, 2 * k), [2 * k + 1]))
    normal = prior
    scatter = 1.0
    for _ in range(_ROUNDS):
        ax, ay = x - share @ w[picks[0]], y - share @ w[picks[1]]
        speed = np.maximum(np.hypot(ax, ay), 5.0)
        ux, uy = ax / speed, ay / speed
        change = speed[second] - speed[first]
        if air is not None:
            change = change - (air[second] - air[first])
        rows = np.empty((first.size, 2 * k + 2))
        rows[:, picks[0]] = (ux[second] - ux[first])[:, None] * pair_share
        rows[:, picks[1]] = (uy[second] - uy[first])[:, None] * pair_share
        use = weight / np.maximum(1.0, np.abs(change) / FORGIVEN_MPS)
        weighted = rows * use[:, None]
        scatter = max(float(np.sum(use * change**2) / np.sum(use)), LEAST_SCATTER_MPS**2)
        data = weighted.T @ rows / (scatter * REPEATS)
        normal = data + prior
        step = np.linalg.solve(normal, weighted.T @ change / (scatter * REPEATS) - prior @ (w - target))
        w = w + step
        if float(np.abs(step).max()) < 0.01:
            break
    covariance: Array = np.linalg.inv(normal).astype(np.float64)
    return WindField(nodes, w[:k], w[k : 2 * k], w[2 * k :], middle, covariance)


def _pairs(t: Array) -> tuple[NDArray[np.intp], NDArray[np.intp], Array]:
    """Indices of moments a lag apart, and the weight of each pair (a lag's pairs together count its flight time)."""
    firsts, seconds, weights = [], [], []
    for lag in LAGS_S:
        stride = max(int(lag / 6.0 / max(float(np.median(np.diff(t))), 1e-3)), 1)
        a = np.arange(0, t.size, stride)
        b = np.searchsorted(t, t[a] + lag)
        ok = b < t.size
        a, b = a[ok], b[ok]
        ok = t[b] - t[a] < 1.25 * lag + 1.0
        firsts.append(a[ok])
        seconds.append(b[ok])
        weights.append(np.full(int(ok.sum()), 1.0 / 6.0 / len(LAGS_S) * 2.0))
    return np.concatenate(firsts), np.concatenate(seconds), np.concatenate(weights)


def _prior(nodes: Array, start: tuple[float, float]) -> tuple[Array, Array]:
    """(precision, mean) of the wind before the data: a usual wind, little shear, little trend."""
    k = nodes.size
    block = np.zeros((k, k))
    block[np.arange(k), np.arange(k)] += 1.0 / (k * LEVEL_MPS**2)
    for i in range(k - 1):
        stiff = 1.0 / (SHEAR_MPS_PER_M * max(float(nodes[i + 1] - nodes[i]), 1.0)) ** 2
        block[i, i] += stiff
        block[i + 1, i + 1] += stiff
        block[i, i + 1] -= stiff
        block[i + 1, i] -= stiff
    out = np.zeros((2 * k + 2, 2 * k + 2))
    out[:k, :k], out[k : 2 * k, k : 2 * k] = block, block
    out[2 * k, 2 * k] = out[2 * k + 1, 2 * k + 1] = 1.0 / TREND_MPS**2
    mean = np.concatenate((np.full(k, start[0]), np.full(k, start[1]), [0.0, 0.0]))
    return out, mean
