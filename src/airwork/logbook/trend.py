"""The trend of one criterion over a student's attempts, with its uncertainty: a small Gaussian model, not an average.

What is watched is y = √(worst deviation ÷ limit): 0 is perfect, 1 is at the limit; under the root the scatter of good
and of poor attempts is of one size. An attempt is taken as

    y = level(flight) + wind effect · wind above usual + airplane's own + form of the day + scatter

- level: where the student starts, a steady part of learning per flight, and a random walk for everything else; time
  runs by flights, and by days too, since a skill drifts when it is not flown;
- wind effect and the airplane's own are only in it when the attempts differ enough in wind or airplane to tell;
- form of the day is shared by the attempts of one flight, so that six turns in one flight don't count as six flights;
- scatter has heavy tails (Student's t, by reweighting): one wild attempt moves the level little.

How much a student drifts and scatters is not known beforehand: a grid of both is tried, each weighed by how well it
explains the attempts (marginal likelihood times a weak prior), and the answers are mixed. The priors are airwork's own
and stand below; `bench/logbook_progress.py` measures how far the intervals can be trusted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Priors, in y. Airwork's own: broad enough for a beginner at twice the limit and an old hand at a third of it.
START_MEAN, START_SD = 1.1, 0.6
LEARNING_SD = 0.06  # per flight
LEARNING_FADES = 0.9  # of the steady part, per further flight: nobody learns for ever at one rate
WIND_SD = 0.06  # per m/s
AIRPLANE_SD = 0.15
FORM_SHARE, FORM_LEAST = 0.5, 0.08  # form of the day: a share of the scatter, and at least so much
DRIFT_SD = np.array([0.02, 0.06, 0.13, 0.25])  # per root of a flight
SCATTER_SD = np.array([0.08, 0.15, 0.25, 0.4, 0.65])
_DRIFT_WEIGHT = np.log(np.array([0.3, 0.35, 0.25, 0.1]))
_SCATTER_WEIGHT = np.log(np.array([0.1, 0.25, 0.3, 0.25, 0.1]))
DAYS_LIKE_A_FLIGHT = 30.0  # so many days without flying let a skill drift as much as one flight moves it
TAIL_FREEDOM = 4.0  # degrees of freedom of the scatter
WIND_SPREAD_MPS = 1.5  # standard deviation of the wind among the attempts from which its effect can be told
FEWEST_FOR_WIND = 6
MOST_ATTEMPTS = 30  # the newest; older ones say nothing more about today


@dataclass(frozen=True, slots=True)
class Attempts:
    """The attempts of one criterion in order of time. Arrays of shape (n,).

    y : √(worst ÷ limit). spread : how much more than usual an attempt scatters (1 as usual; 2 where y is only known
    from the verdict). flight : number of the flight, from 0. day : days since any start. wind_mps : NaN: not known.
    airplane : number of the airplane, −1 where not known.
    """

    y: Array
    spread: Array
    flight: NDArray[np.int64]
    day: Array
    wind_mps: Array
    airplane: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Trend:
    """What the attempts say. In y; sd are standard deviations.

    level_mean, level_sd : shape (flights,), at each flight, in the usual wind.
    chance : shape (flights,), probability that an attempt in that flight lies within the limit.
    chance_next : after the last flight. change_mean, change_sd : of the level over the last flights.
    wind_effect : mean and sd per m/s; None where it could not be told.
    """

    level_mean: Array
    level_sd: Array
    chance: Array
    chance_next: float
    change_mean: float
    change_sd: float
    worse_than_best: float  # probability that the level now is worse than at its best flight
    wind_effect: tuple[float, float] | None
    by_airplane: bool
    _mixture: _Mixture


@dataclass(frozen=True, slots=True)
class _Mixture:
    """Posterior of levels (the last one, or all) and learning per flight, for each of g pairs of drift and scatter."""

    weight: Array
    mean: Array
    cov: Array
    drift: Array
    scatter: Array


def trend(attempts: Attempts, change_flights: int = 5) -> Trend:
    """Fit the model. At least one attempt is needed; with few the intervals are as wide as the priors leave them."""
    a = _newest(attempts)
    first, index = np.unique(a.flight, return_index=True)
    flights = first.size
    number = np.searchsorted(first, a.flight)
    clock = _clock(a.day[index])
    # Unknowns: the level at each flight, learning, then the covariates; the attempts see them through `see`.
    wind = _wind_column(a)
    by_airplane = np.unique(a.airplane[a.airplane >= 0]).size > 1
    n = a.y.size
    drift, scatter = (x.ravel() for x in np.meshgrid(DRIFT_SD, SCATTER_SD, indexing="ij"))
    prior = (_DRIFT_WEIGHT[:, None] + _SCATTER_WEIGHT[None, :]).ravel()

    at = clock[number]
    walk = np.minimum(clock[:, None], clock[None, :])
    steady = START_SD**2 + LEARNING_SD**2 * np.outer(np.arange(flights), np.arange(flights))
    fixed = steady[np.ix_(number, number)]
    if wind is not None:
        fixed = fixed + WIND_SD**2 * np.outer(wind, wind)
    if by_airplane:
        fixed = fixed + AIRPLANE_SD**2 * (a.airplane[:, None] == a.airplane[None, :])
    same_flight = (a.flight[:, None] == a.flight[None, :]).astype(float)
    walk_at = np.minimum(at[:, None], at[None, :])
    base = (
        fixed[None] + drift[:, None, None] ** 2 * walk_at[None] + _form_var(scatter)[:, None, None] * same_flight[None]
    )
    residual0 = a.y - START_MEAN
    plain = (scatter[:, None] * a.spread[None, :]) ** 2
    # A first look finds the wild attempts; the second holds them back.
    solved = np.linalg.solve(base + _diagonal(plain), np.broadcast_to(residual0[:, None], (drift.size, n, 1)))
    left = plain * solved[:, :, 0]  # each attempt less everything the model explains of it
    heavy = np.minimum((TAIL_FREEDOM + 1.0) / (TAIL_FREEDOM + left**2 / plain), 1.0)
    k = base + _diagonal(plain / heavy)
    inverse = np.linalg.inv(k)
    fitted = inverse @ residual0
    log_det = 2.0 * np.log(np.diagonal(np.linalg.cholesky(k), axis1=1, axis2=2)).sum(axis=1)
    likelihood = -0.5 * (fitted @ residual0 + log_det)
    weight = np.exp(likelihood + prior - (likelihood + prior).max())
    weight /= weight.sum()

    # The levels at all flights and the learning, jointly: cross-covariance with the attempts.
    level_cov = steady[None] + drift[:, None, None] ** 2 * walk[None]
    cross = steady[:, number][None] + drift[:, None, None] ** 2 * walk[:, number][None]
    learn_cross = LEARNING_SD**2 * np.broadcast_to(number, (drift.size, 1, n))
    learn_level = LEARNING_SD**2 * np.broadcast_to(np.arange(flights), (drift.size, 1, flights))
    wanted = np.concatenate([cross, learn_cross], axis=1)
    cov0 = np.concatenate(
        [
            np.concatenate([level_cov, np.swapaxes(learn_level, 1, 2)], axis=2),
            np.concatenate([learn_level, np.full((drift.size, 1, 1), LEARNING_SD**2)], axis=2),
        ],
        axis=1,
    )
    start = np.concatenate([np.full(flights, START_MEAN), [0.0]])
    mean = start[None] + (wanted @ fitted[:, :, None])[:, :, 0]
    cov = cov0 - wanted @ inverse @ np.swapaxes(wanted, 1, 2)
    effect = None if wind is None else _wind_effect(wind, weight, inverse, fitted)
    mixture = _Mixture(weight, mean, cov, drift, scatter)
    return _answer(mixture, flights, change_flights, effect, by_airplane)


def _newest(a: Attempts) -> Attempts:
    if a.y.size <= MOST_ATTEMPTS:
        return a
    s = slice(-MOST_ATTEMPTS, None)
    return Attempts(a.y[s], a.spread[s], a.flight[s], a.day[s], a.wind_mps[s], a.airplane[s])


def _form_var(scatter: Array) -> Array:
    """Variance of the form of the day, for a scatter."""
    return (FORM_SHARE * scatter) ** 2 + FORM_LEAST**2


def _clock(day: Array) -> Array:
    """Time by which a skill drifts: one for each flight, and one for so many days between."""
    step = 1.0 + np.maximum(np.diff(day), 0.0) / DAYS_LIKE_A_FLIGHT
    return np.concatenate([[0.0], np.cumsum(step)])


def _wind_column(a: Attempts) -> Array | None:
    """Wind less the usual wind, where the attempts differ enough in it; zero where it is not known."""
    known = np.isfinite(a.wind_mps)
    if known.sum() < FEWEST_FOR_WIND or np.std(a.wind_mps[known]) < WIND_SPREAD_MPS:
        return None
    return np.where(known, a.wind_mps - np.median(a.wind_mps[known]), 0.0)


def _diagonal(values: Array) -> Array:
    """Rows as diagonal matrices. (g, n) → (g, n, n)"""
    return values[:, :, None] * np.eye(values.shape[1])[None]


def _wind_effect(wind: Array, weight: Array, inverse: Array, fitted: Array) -> tuple[float, float]:
    """Mean and standard deviation of the wind's effect, per m/s."""
    gain = WIND_SD**2 * wind
    means, explained = fitted @ gain, (inverse @ gain) @ gain
    mean = float(weight @ means)
    return mean, math.sqrt(max(float(weight @ (WIND_SD**2 - explained + means**2)) - mean * mean, 0.0))


def _answer(
    m: _Mixture, flights: int, change_flights: int, effect: tuple[float, float] | None, by_airplane: bool
) -> Trend:
    levels, spread = m.mean[:, :flights], np.diagonal(m.cov, axis1=1, axis2=2)[:, :flights]
    level_mean = m.weight @ levels
    level_var = m.weight @ (spread + levels**2) - level_mean**2
    one_attempt = (m.scatter**2 + _form_var(m.scatter))[:, None]
    chance = m.weight @ _within(levels, spread + one_attempt)
    last = flights - 1
    back = max(0, last - change_flights)
    best = int(np.argmin(level_mean))
    change, change_sd = _difference(m, last, back)
    worse, worse_sd = _difference(m, last, best)
    keep = [last, flights]
    return Trend(
        level_mean=level_mean,
        level_sd=np.sqrt(np.maximum(level_var, 0.0)),
        chance=chance,
        chance_next=float(chance[last]),
        change_mean=change,
        change_sd=change_sd,
        worse_than_best=float(_within(np.array(-worse), np.array(worse_sd**2), 0.0)) if best != last else 0.0,
        wind_effect=effect,
        by_airplane=by_airplane,
        _mixture=_Mixture(m.weight, m.mean[:, keep], m.cov[:, keep][:, :, keep], m.drift, m.scatter),
    )


def _difference(m: _Mixture, i: int, j: int) -> tuple[float, float]:
    """Level at one flight less the level at another: mean and standard deviation."""
    d = m.mean[:, i] - m.mean[:, j]
    var = m.cov[:, i, i] + m.cov[:, j, j] - 2.0 * m.cov[:, i, j]
    mean = float(m.weight @ d)
    return mean, math.sqrt(max(float(m.weight @ (var + d**2)) - mean * mean, 0.0))


def _within(mean: Array, var: Array, limit: float = 1.0) -> Array:
    """Probability that a normal value lies below a limit."""
    from scipy.special import ndtr

    return np.asarray(ndtr((limit - mean) / np.sqrt(np.maximum(var, 1e-12))))


def flights_to_standard(trends: list[Trend], chance_wanted: float, *, longest: int = 40, draws: int = 2000) -> Array:
    """Draws of the number of further flights until every criterion holds with the chance wanted; inf: not by then.

    Each draw is one possible student: a level and a rate of learning from the posterior, then flight after flight with
    fading learning and the random walk. Always the same draws. Shape (draws,).
    """
    from scipy.special import ndtri

    rng = np.random.default_rng(20)
    all_held = np.ones((draws, longest + 1), dtype=bool)
    for one in trends:
        m = one._mixture
        g = rng.choice(m.weight.size, size=draws, p=m.weight)
        z = rng.standard_normal((draws, 2))
        root = np.linalg.cholesky(m.cov + 1e-9 * np.eye(2))
        level, learning = (m.mean[g] + (root[g] @ z[:, :, None])[:, :, 0]).T
        fade = LEARNING_FADES ** np.arange(1, longest + 1)
        steps = learning[:, None] * fade[None] + m.drift[g][:, None] * rng.standard_normal((draws, longest))
        path = level[:, None] + np.concatenate([np.zeros((draws, 1)), np.cumsum(steps, axis=1)], axis=1)
        margin = ndtri(chance_wanted) * np.sqrt(m.scatter[g] ** 2 + _form_var(m.scatter[g]))
        all_held &= path <= 1.0 - margin[:, None]
    reached = all_held.any(axis=1)
    return np.where(reached, np.argmax(all_held, axis=1), np.inf)
