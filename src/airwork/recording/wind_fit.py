"""The wind that makes the airspeed most like one that is flown: one fit over the whole flight.

With a wind w the equivalent airspeed is e = |v − w|·√(ρ/ρ0). It is modeled as the habits of `speed_habits.py` plus two
wanderings, one slow (hours) and one quick (12 s: hand, altitude corrections, gusts), whose sizes are found from the
flight itself by their likelihood; a sudden change of the slow one is forgiven (Student's t). Steady legs of one flight
are flown at about one speed. Gauss–Newton over wind and habits, with the data whitened by a Kalman filter. Where an
airspeed was recorded, its error takes the habits' place.

How sure the wind is, is told by how far this flight's half minutes pull it apart (the covariance of an M-estimator,
H⁻¹·Σgg′·H⁻¹ with the pull g of each half minute), not by the fit's own curvature H⁻¹, which believes the model.
(Method derived here. Its constants were tried on simulated flights of two generators, and held to others.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.recording.speed_habits import CLEAR_M, HABITS, Path, Shapes, find_field, positions_m, shapes
from airwork.recording.wind_field import WindField, heights_of

Array = NDArray[np.float64]

BLOCK_S = 5.0  # residuals are averaged over this
SLOW_S = 1_000.0
QUICK_S = 12.0
NOISE_MPS = 0.15  # of a block, beside the wanderings
FREEDOM = 4.0  # Student's t of a change of speed
_HASTE = (0.3, 60.0)  # how much less or more the speed may change than usual
_ROUNDS = 10
_SCALES_AT = (1, 3)  # rounds in which the sizes of the wanderings are found
_LEAST = (40, 60.0)  # samples in flight, and seconds
_LEAST_CIRCLING, _CIRCLED_RAD = (20, 60.0), 3.0 * np.pi  # a circle and a half: of fewer samples bands hold too little
_LEAST_WITH_AIR = (40, 40.0)  # and one circle
_SLOWEST_MPS = 5.0


@dataclass(frozen=True, slots=True)
class Wander:
    """What the fit expects of the airspeed beside the habits.

    slow_mps, quick_mps : usual sizes of the two wanderings; each flight's own are sought about them.
    repeats : what is left counts as this many times larger: speed and direction change together more often than
        chance, so that what looks like much evidence isn't. What is sudden is told before that.
    leg_mps : spread of the speeds of steady legs; 0: they are not compared.
    pulls : how much farther the wind may be off than the pulls of its half minutes, taken one by one, say (of the
        variance): what pulls one way in one turn does so in the next; 0: the fit's own error is stated.
    """

    slow_mps: float
    quick_mps: float
    repeats: float
    leg_mps: float
    pulls: float


BY_HABIT = Wander(3.0, 1.0, 2.0, 2.0, 5.0)  # the last learned from 124 flights of five other generators
BY_DIAL = Wander(0.5, 0.5, 3.0, 0.0, 0.0)  # the error of a recorded airspeed wanders little
PULL_S = 30.0
_SPENT = 3.0  # of a few half minutes the fit spends as many on itself; what is left varies that much less
_AS_WIDE = 0.25  # of the variance expected before the flight, wide on purpose
_STATED = 0.8  # of the fit's own standard errors, with an airspeed
# error of a recorded airspeed, m/s: a constant, and a share (here at `TYPICAL_MPS`)
_DIAL = ((0.0, 1.5), (0.0, 1.5))


def fit_wind(path: Path, tas_mps: Array | None, start: tuple[float, float]) -> WindField | None:
    """The wind field of a flight; None when there is too little to fit.

    Parameters
    ----------
    tas_mps : recorded true airspeed on the same samples, if there is one.
    start : first guess (east, north). [m/s]
    """
    field = find_field(path)
    flying = path.flying & np.isfinite(path.east_mps) & np.isfinite(path.north_mps) & np.isfinite(path.altitude_m)
    if field is not None:
        flying &= path.altitude_m > field.height_m + CLEAR_M
    if tas_mps is not None:
        flying &= np.isfinite(tas_mps)
    air = path.only(flying)
    if not _long_enough(air, with_air=tas_mps is not None):
        return None
    east_m, north_m = positions_m(path)
    shape = shapes(path, air, east_m[flying], north_m[flying], field)
    heights = heights_of(air.time_s, air.altitude_m, math.nan if field is None else field.height_m)
    if tas_mps is None:
        habits = shape.columns
        usual, off = np.array([h[1] for h in HABITS]), np.array([h[2] for h in HABITS])
        fit = _Fit(air, shape, heights.share(air.time_s, air.altitude_m), habits, np.zeros(0), BY_HABIT)
    else:
        dial = tas_mps[flying] * shape.equivalent
        habits = np.stack([np.ones(dial.size), dial / 50.0], axis=1)
        usual, off = np.array([d[0] for d in _DIAL]), np.array([d[1] for d in _DIAL])
        fit = _Fit(air, shape, heights.share(air.time_s, air.altitude_m), habits, dial, BY_DIAL)
    m = fit.share.shape[1]
    precision = np.zeros((2 * m + usual.size, 2 * m + usual.size))
    precision[:m, :m] = precision[m : 2 * m, m : 2 * m] = heights.prior()
    precision[2 * m :, 2 * m :] = np.diag(1.0 / off**2)
    mean = np.concatenate((np.zeros(2 * m), usual))
    first = mean.copy()
    first[: m - 1], first[m : 2 * m - 1] = start
    found, covariance = fit.run(first, mean, precision)
    if not (np.isfinite(found).all() and np.isfinite(covariance).all()):
        return None
    return WindField(heights, found[:m], found[m : 2 * m], covariance[: 2 * m, : 2 * m])


def _long_enough(air: Path, *, with_air: bool) -> bool:
    """A short piece tells the wind where it circles alone."""
    if air.time_s.size < _LEAST_CIRCLING[0]:
        return False
    turned = float(np.ptp(np.unwrap(np.arctan2(air.east_mps, air.north_mps))))
    enough = [_LEAST]
    enough += [_LEAST_CIRCLING] if turned >= _CIRCLED_RAD else []
    enough += [_LEAST_WITH_AIR] if with_air and turned >= 2.0 * np.pi else []
    span_s = float(np.ptp(air.time_s))
    return any(air.time_s.size >= samples and span_s >= seconds for samples, seconds in enough)


class _Fit:
    """One flight being fitted: blocks of samples, and the two wanderings' sizes."""

    def __init__(self, air: Path, shape: Shapes, share: Array, habits: Array, dial: Array, wander: Wander) -> None:
        self.air, self.shape, self.share, self.habits, self.dial, self.wander = air, shape, share, habits, dial, wander
        t = air.time_s
        block = np.floor((t - t[0]) / BLOCK_S)
        self.edge = np.flatnonzero(np.concatenate(([True], np.diff(block) > 0)))
        self.count = np.diff(np.append(self.edge, t.size)).astype(np.float64)
        hurry = np.concatenate(([0.0], np.cumsum(np.diff(t) * (1.0 + shape.unrest[1:]))))
        self.rest_s, self.hurry_s = np.diff(self._blocks(t)), np.diff(self._blocks(hurry))
        usual = BLOCK_S / max(float(np.median(np.diff(t))), 1e-3)
        self.noise2 = NOISE_MPS**2 * np.maximum(usual / self.count, 1.0)
        self.habit_blocks = self._blocks(habits)
        self.legs = shape.legs if wander.leg_mps and len(shape.legs) > 2 else ()

    def _blocks(self, values: Array) -> Array:
        total = np.add.reduceat(values, self.edge, axis=0)
        return np.asarray(total / (self.count if values.ndim == 1 else self.count[:, None]))

    def run(self, first: Array, mean: Array, precision: Array) -> tuple[Array, Array]:
        """(unknowns, covariance)."""
        m = self.share.shape[1]
        x = first.copy()
        haste = np.ones(self.rest_s.size)
        slow, quick = self.wander.slow_mps, self.wander.quick_mps
        normal = precision
        for turn in range(_ROUNDS):
            speed, ux, uy = self._air(x)
            left = self._blocks(speed - self.dial if self.dial.size else speed) - self.habit_blocks @ x[2 * m :]
            rows = np.concatenate(
                (self._blocks(ux[:, None] * self.share), self._blocks(uy[:, None] * self.share), self.habit_blocks),
                axis=1,
            )
            if turn in _SCALES_AT:
                slow, quick = self._sizes(left)
            white, spread = self._whiten(np.concatenate((left[:, None], rows), axis=1), haste, slow, quick)
            white = white / (self.wander.repeats * np.sqrt(spread)[:, None])
            residual, jacobian = white[:, 0], white[:, 1:]
            pull, more = self._compare_legs(speed, ux, uy, mean.size)
            normal = jacobian.T @ jacobian + precision + more
            step = np.linalg.solve(normal, jacobian.T @ residual + pull - precision @ (x - mean))
            x = x + step
            if turn > max(_SCALES_AT) and float(np.abs(step[: 2 * m]).max()) < 0.02:
                break
            sudden = (self.wander.repeats * (residual - jacobian @ step))[1:] ** 2
            haste = np.clip(haste * (0.5 + 0.5 * (FREEDOM + sudden) / (FREEDOM + 1.0)), *_HASTE)
        inverse = np.asarray(np.linalg.inv(normal), dtype=np.float64)
        if not self.wander.pulls:
            return x, _STATED**2 * inverse
        each = jacobian * (residual - jacobian @ step)[:, None]
        half = np.floor(self._blocks(self.air.time_s) / PULL_S)
        pulls = np.add.reduceat(each, np.flatnonzero(np.diff(half, prepend=-1.0)), axis=0)
        few = len(pulls) / max(len(pulls) - _SPENT, 1.0)
        return x, inverse @ (few * self.wander.pulls * pulls.T @ pulls + _AS_WIDE * (precision + more)) @ inverse

    def _air(self, x: Array) -> tuple[Array, Array, Array]:
        """Equivalent airspeed at the wind so far, and its loss per unit of the east and the north wind."""
        m = self.share.shape[1]
        east = self.air.east_mps - self.share @ x[:m]
        north = self.air.north_mps - self.share @ x[m : 2 * m]
        speed = np.maximum(np.hypot(east, north), _SLOWEST_MPS)
        factor = self.shape.equivalent
        return speed * factor, east / speed * factor, north / speed * factor

    def _whiten(self, columns: Array, haste: Array, slow: float, quick: float) -> tuple[Array, Array]:
        """Innovations of each column under the two wanderings, and their variance (the same for all columns)."""
        slow2, quick2 = slow**2, quick**2
        keep_slow = np.exp(-self.hurry_s * haste / SLOW_S).tolist()
        keep_quick = np.exp(-self.rest_s / QUICK_S).tolist()
        count, width = columns.shape
        paa, pab, pbb = slow2, 0.0, quick2
        totals, steps = [], []
        # The variances know nothing of the data: first they alone, then what each block's wanderings and columns make
        # of the next block's wanderings, in one small product a block.
        for noise2, f, g in zip(self.noise2.tolist(), [*keep_slow, 1.0], [*keep_quick, 1.0], strict=True):
            to_a, to_b = paa + pab, pab + pbb
            total = to_a + to_b + noise2
            ka, kb = to_a / total, to_b / total
            steps.append((f * (1.0 - ka), -f * ka, f * ka, -g * kb, g * (1.0 - kb), g * kb))
            totals.append(total)
            paa, pab, pbb = paa - ka * to_a, pab - ka * to_b, pbb - kb * to_b
            paa, pab, pbb = f * f * paa + slow2 * (1.0 - f * f), f * g * pab, g * g * pbb + quick2 * (1.0 - g * g)
        states = np.zeros((count + 1, 3, width))  # the slow wandering, the quick one, the columns
        states[:count, 2] = columns
        for one, now, then in zip(np.reshape(steps, (count, 2, 3)), states, states[1:, :2], strict=False):
            np.dot(one, now, out=then)
        return columns - states[:count, 0] - states[:count, 1], np.array(totals)

    def _sizes(self, left: Array) -> tuple[float, float]:
        """Sizes of the two wanderings: the likeliest of a grid for these residuals."""
        ratio = 1.7 ** np.arange(-4.0, 5.0)
        slow, quick = (v.ravel() for v in np.meshgrid(self.wander.slow_mps * ratio, self.wander.quick_mps * ratio))
        lanes = self._lanes(left, slow, quick)
        lanes -= 0.5 * np.log(slow / self.wander.slow_mps) ** 2 + 0.5 * np.log(quick / self.wander.quick_mps) ** 2
        best = int(np.argmax(lanes))
        return float(slow[best]), float(quick[best])

    def _lanes(self, left: Array, slow: Array, quick: Array) -> Array:
        """Log likelihood of the residuals for each pair of sizes, all pairs at once."""
        slow2, quick2 = slow**2, quick**2
        keep_slow, keep_quick = np.exp(-self.hurry_s / SLOW_S).tolist(), np.exp(-self.rest_s / QUICK_S).tolist()
        noise2, values = self.noise2.tolist(), left.tolist()
        a, b, pab = np.zeros(slow.size), np.zeros(slow.size), np.zeros(slow.size)
        paa, pbb = slow2.copy(), quick2.copy()
        fit, spread = np.empty((left.size, slow.size)), np.empty((left.size, slow.size))
        for i, value in enumerate(values):
            if i:
                f, g = keep_slow[i - 1], keep_quick[i - 1]
                a, b = f * a, g * b
                paa, pab, pbb = f * f * paa + slow2 * (1.0 - f * f), f * g * pab, g * g * pbb + quick2 * (1.0 - g * g)
            to_a, to_b = paa + pab, pab + pbb
            total = to_a + to_b + noise2[i]
            new = value - a - b
            ka, kb = to_a / total, to_b / total
            a, b = a + ka * new, b + kb * new
            paa, pab, pbb = paa - ka * to_a, pab - ka * to_b, pbb - kb * to_b
            fit[i], spread[i] = new, total
        ranged = np.log1p(fit**2 / spread / FREEDOM)
        return np.asarray(-0.5 * np.log(spread).sum(axis=0) - 0.5 * (FREEDOM + 1.0) * ranged.sum(axis=0))

    def _compare_legs(self, speed: Array, ux: Array, uy: Array, n: int) -> tuple[Array, Array]:
        """(pull on the unknowns, precision) from steady legs being flown at one speed; legs far off it hardly count."""
        m = self.share.shape[1]
        if not self.legs:
            return np.zeros(n), np.zeros((n, n))
        means, rows, lengths = [], np.zeros((len(self.legs), n)), []
        for k, (a, b) in enumerate(self.legs):
            means.append(speed[a:b].mean())
            rows[k, :m] = ux[a:b] @ self.share[a:b] / (b - a)
            rows[k, m : 2 * m] = uy[a:b] @ self.share[a:b] / (b - a)
            lengths.append(float(self.air.time_s[b - 1] - self.air.time_s[a]))
        mean, length = np.array(means), np.array(lengths)
        variance = self.wander.leg_mps**2 + 4.0 * 60.0 / length  # a short leg shows less well what is held
        usual = float(np.median(np.repeat(mean, np.maximum(length / 30.0, 1.0).astype(int))))
        weight = 1.0 / variance
        for _ in range(3):
            weight = 1.0 / (1.0 + (mean - usual) ** 2 / variance / 2.0) ** 2 / variance
            usual = float(weight @ mean / weight.sum())
        rows = rows - weight @ rows / weight.sum()
        return rows.T @ (weight * (mean - usual)), rows.T @ (weight[:, None] * rows)
