"""Most probable parameters and their covariance from readings and a prior: Gauss-Newton, robust, in plain NumPy.

Minimises Σ w·ρ(r²) + (θ − m)ᵀ·C⁻¹·(θ − m) with ρ(r²) = 2c²·(√(1 + r²/c²) − 1), c = 2: squared for small residuals r
(in standard deviations), straight for large ones. SciPy's `least_squares` gives the same answer (a test holds them
together), but importing it costs more than the whole briefing may (see `docs/performance.md`, section 5).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from airwork.airplane.performance.priors import Law, Prior
from airwork.airplane.performance.state import Array, State, state

KNEE = 2.0  # residual, in standard deviations, from which a reading counts less than by its square
_STEPS = 60
Residuals = Callable[[Array], tuple[Array, Array]]
Point = TypeVar("Point")
_Point = tuple[Array, Array, Array, Array]  # θ, residuals, weighted Jacobian, normal matrix


def _nothing() -> State:
    return state(np.empty(0), np.empty(0), np.empty(0), np.empty(0))


@dataclass(frozen=True)
class Block:
    """Readings of one kind: conditions, the control that was set, what was read, standard deviations and weights.

    control : n in rev/s or shaft power in W; empty for glides.
    value : control (level), rate of climb or rate of sink, m/s.
    sd : of the value. speed_sd_mps : of the true airspeed. control_sd : of the control of a climb.
    weight : 1 for a reading, less for rows that repeat each other.
    """

    at: State = field(default_factory=_nothing)
    control: Array = field(default_factory=lambda: np.empty(0))
    value: Array = field(default_factory=lambda: np.empty(0))
    sd: Array = field(default_factory=lambda: np.empty(0))
    speed_sd_mps: Array = field(default_factory=lambda: np.empty(0))
    control_sd: Array = field(default_factory=lambda: np.empty(0))
    weight: Array = field(default_factory=lambda: np.empty(0))

    def __len__(self) -> int:
        return int(self.value.size)

    def take(self, keep: NDArray[np.bool_] | NDArray[np.int64]) -> Block:
        """The readings at these indices or where the mask holds."""
        return Block(
            self.at.take(keep), self.control[keep] if self.control.size else self.control, self.value[keep],
            self.sd[keep], self.speed_sd_mps[keep], self.control_sd[keep] if self.control_sd.size else self.control_sd,
            self.weight[keep],
        )  # fmt: skip


@dataclass(frozen=True)
class Evidence:
    """All readings: steady level flights, climbs with their control, power-off glides."""

    level: Block = field(default_factory=Block)
    climb: Block = field(default_factory=Block)
    glide: Block = field(default_factory=Block)

    def __len__(self) -> int:
        return len(self.level) + len(self.climb) + len(self.glide)

    def resampled(self, rng: np.random.Generator) -> Evidence:
        """As many readings, drawn with replacement within each kind and flap setting."""

        def draw(block: Block) -> Block:
            index = np.arange(len(block))
            for notch in np.unique(block.at.notch):
                here = np.flatnonzero(block.at.notch == notch)
                index[here] = rng.choice(here, here.size)
            return block.take(index)

        return Evidence(draw(self.level), draw(self.climb), draw(self.glide))


@dataclass(frozen=True)
class Posterior:
    """θ and its covariance; residuals in standard deviations, in the order level, climb, glide."""

    theta: Array
    cov: Array
    residuals: Array

    def half_width(self, gradient: Array) -> Array:
        """Standard deviation of answers whose gradients over θ are the rows of `gradient`."""
        # einsum, not @: a threaded BLAS product of so thin a matrix waits longer for its threads than it works
        used = np.flatnonzero(gradient.any(axis=0))
        part = gradient[:, used]
        spread = np.einsum("ij,jk->ik", part, self.cov[np.ix_(used, used)])
        return np.sqrt(np.maximum(np.einsum("ij,ij->i", spread, part), 0.0))

    def spread(self, answer: Callable[[Array], Array]) -> Array:
        """Standard deviation of an answer that is a function of θ, through the principal axes of its covariance."""
        values, axes = np.linalg.eigh(self.cov)
        total = np.zeros_like(np.asarray(answer(self.theta), dtype=float))
        for value, axis in zip(values, axes.T, strict=True):
            if value > 0:
                step = axis * np.sqrt(value)
                total = total + (0.5 * (answer(self.theta + step) - answer(self.theta - step))) ** 2
        return np.sqrt(total)


def fit(law: Law, prior: Prior, evidence: Evidence, *, start: Array | None = None, passes: int = 3) -> Posterior:
    """The most probable θ. Deterministic; with no readings the prior itself.

    passes : times the readings' standard deviations are worked out anew; they depend a little on θ.
    """
    theta = (prior.mean if start is None else start).copy()
    precision = np.asarray(np.linalg.inv(prior.cov), dtype=float)
    if len(evidence) == 0:
        return Posterior(theta, prior.cov.copy(), np.empty(0))
    weight = np.concatenate([evidence.level.weight, evidence.climb.weight, evidence.glide.weight])
    for _ in range(passes):
        residuals = _residuals(law, evidence, theta)
        theta, normal = _minimise(residuals, theta, prior, precision, weight)
    cov = np.asarray(np.linalg.inv(normal), dtype=float)
    return Posterior(theta, cov, _residuals(law, evidence, theta)(theta)[0])


def _minimise(residuals: Residuals, theta: Array, prior: Prior, precision: Array, weight: Array) -> tuple[Array, Array]:
    """(θ, JᵀWJ + C⁻¹), θ kept inside the bounds."""

    def at(theta: Array) -> _Point:
        r, jacobian = residuals(theta)
        weighted = jacobian * (weight / np.sqrt(1.0 + (r / KNEE) ** 2))[:, None]
        return theta, r, weighted, weighted.T @ jacobian + precision

    def cost(here: _Point) -> float:
        away, r = here[0] - prior.mean, here[1]
        squares = 2.0 * KNEE**2 * (np.sqrt(1.0 + (r / KNEE) ** 2) - 1.0)
        return float(weight @ squares + away @ precision @ away)

    def step(here: _Point) -> Callable[[float], _Point]:
        theta, r, weighted, normal = here
        downhill = -(weighted.T @ r) - precision @ (theta - prior.mean)

        def damped(damping: float) -> _Point:
            moved = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), downhill)
            return at(np.clip(theta + moved, prior.low, prior.high))

        return damped

    theta, _, _, normal = descend(at(theta), cost, step, steps=_STEPS, enough=1e-8)
    return theta, normal


def descend(
    here: Point, cost: Callable[[Point], float], step: Callable[[Point], Callable[[float], Point]], *, steps: int,
    enough: float,
) -> Point:  # fmt: skip
    """Gauss-Newton with Levenberg's damping: from a point to where no step betters it, or gains no more than `enough`.

    step : from a point where a damping leads.
    """
    now, damping = cost(here), 1e-4
    for _ in range(steps):
        damped, better = step(here), False
        while damping < 1e8 and not better:
            new = damped(damping)
            then = cost(new)
            better = then <= now  # NaN is none
            damping = max(damping / 5.0, 1e-9) if better else damping * 8.0
        if not better:
            break
        gain, here, now = now - then, new, then
        if gain <= enough * (1.0 + now):
            break
    return here


def _sds(law: Law, evidence: Evidence, theta: Array) -> tuple[Array, Array, Array]:
    """Standard deviations of level readings, climbs and glides, worked out at θ."""
    level, climb, glide = evidence.level, evidence.climb, evidence.glide
    level_sd = np.hypot(level.sd, _per_speed(law, theta, level.at) * level.speed_sd_mps)
    climb_sd = climb.sd
    if len(climb):
        per_control = law.excess_n(theta, climb.at, climb.control * 1.001)
        per_control = (per_control - law.excess_n(theta, climb.at, climb.control)) / (0.001 * climb.control)
        climb_sd = np.hypot(climb_sd, per_control * climb.control_sd * climb.at.tas_mps / climb.at.lift_n)
    return level_sd, climb_sd, glide.sd


def outlooks(law: Law, by: Posterior, evidence: Evidence) -> tuple[Array, Array, Array]:
    """(model less read, its standard deviation, ∂model/∂θ) of readings, in the units they are read in."""
    sds = _sds(law, evidence, by.theta)
    sd = np.concatenate(sds)
    off, jacobian = _residuals(law, evidence, by.theta)(by.theta)
    return off * sd, sd, jacobian * sd[:, None]


def _residuals(law: Law, evidence: Evidence, at_theta: Array) -> Residuals:
    """Residuals (model − read)/sd and their Jacobian, with standard deviations worked out at `at_theta`."""
    level, climb, glide = evidence.level, evidence.climb, evidence.glide
    level_sd, climb_sd, _ = _sds(law, evidence, at_theta)

    def residuals(theta: Array) -> tuple[Array, Array]:
        rows, jacobians = [], []
        if len(level):
            control, gradient = law.control_gradient(theta, level.at)
            rows.append((control - level.value) / level_sd)
            jacobians.append(gradient / level_sd[:, None])
        if len(climb):
            excess, gradient = law.excess_gradient(theta, climb.at, climb.control)
            scale = climb.at.tas_mps / climb.at.lift_n
            rows.append((excess * scale - climb.value) / climb_sd)
            jacobians.append(gradient * (scale / climb_sd)[:, None])
        if len(glide):
            scale = glide.at.tas_mps / glide.at.lift_n
            drag = law.polar.drag_n(theta, glide.at, windmilling=True)
            gradient = law.polar.pressure_area(glide.at)[:, None] * law.polar.gradient(
                theta, glide.at, windmilling=True
            )
            rows.append((drag * scale - glide.value) / glide.sd)
            jacobians.append(gradient * (scale / glide.sd)[:, None])
        return np.concatenate(rows), np.vstack(jacobians)

    return residuals


def _per_speed(law: Law, theta: Array, at: State) -> Array:
    """∂control/∂V. [per m/s]"""
    step = 1e-3
    up, down = law.control(theta, at.faster(1 + step)), law.control(theta, at.faster(1 - step))
    return (up - down) / (2 * step * at.tas_mps)


def resample(law: Law, prior: Prior, evidence: Evidence, start: Array, *, times: int = 200) -> Array:
    """θ refitted to readings drawn with replacement, shape (times, len θ).

    The prior's mean is drawn anew too, so that what the readings don't tell keeps its spread. With twelve or more
    readings this shows the spread without believing the standard deviations; with fewer it is too optimistic, use the
    covariance.
    """
    rng = np.random.default_rng(1)
    means = rng.multivariate_normal(prior.mean, prior.cov, size=times, method="eigh")
    drawn = [replace(prior, mean=np.clip(mean, prior.low, prior.high)) for mean in means]
    return np.array([fit(law, one, evidence.resampled(rng), start=start, passes=1).theta for one in drawn])
