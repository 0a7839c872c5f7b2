"""All flights of one airplane fitted together: its own parameters, and for each flight its weight, dial and noise. SI.

The energy balance of a window is Ė = (T − D)·V/W. Besides the airplane's θ each flight has a share by which its weight
was noted wrong and an error of its airspeed; both have narrow priors about nothing and are estimated with θ. Sideslip,
an unquiet hand and rough air only ever add drag: what all flights share of it has a small positive prior and is taken
off, so that θ is the airplane in straight, trimmed flight. How much the air of a flight moved is read off its own
residuals. Robust: a window that fits no airplane counts less.

The normal matrix is an arrow (θ with every flight, flights not with each other) and is solved flight by flight: the
work grows with the number of flights, not its cube.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.engine import Engine
from airwork.airplane.performance.fit import Posterior, descend
from airwork.airplane.performance.flown import FULL_CLIMB, NOTED_SD_KG, Flown
from airwork.airplane.performance.joint_rows import (
    DIAL_SD_MPS,
    EXTRA,
    FLOWN_SHARE,
    FLOWN_SHARE_SD,
    GUESSED_WEIGHT,
    GUESSED_WEIGHT_SD,
    HELD_SD,
    NOTED_WEIGHT_SD_KG,
    WEIGHTS,
    Part,
    full_sd,
    law_error,
    linear,
    part_of,
    regions,
    row_sd,
    share_law_error,
    unrest_of,
)
from airwork.airplane.performance.priors import Law, Prior
from airwork.airplane.performance.state import Array

# Each of these spreads is kept wide; together they would hold more than the 90 % they claim. One factor for all
# airplanes, from the flights of three of them (`bench/learning_flights.py --tuning`)
NARROWER = 0.87
# What a flight's slow flight, level flight and climbs usually lie off what the others foretell, over what they may;
# flights that are few are pooled with so many usual ones. From two seeds of five airplanes (`--seed 29`, `43`)
USUAL_SURPRISE, _USUAL_COUNTS, _MOST_SURPRISE, _LEAST_ROWS, _WIDEST = 0.5, 6, 2.0, 5, 1.4
_HELD, BLIND_FULL_SD = 1e6, 0.10
KNEE = 1.5  # residual, in standard deviations, from which a row counts less than by its square
_PASSES, _STEPS = 4, 40


@dataclass(frozen=True)
class FlightFit:
    """What the fit found of one flight. weight_share : true weight over the noted one, less one."""

    key: str
    weight_share: float
    weight_share_sd: float


@dataclass(frozen=True)
class Joint:
    """The airplane's posterior and what was found of each flight. full_share : ln of full throttle's control over the
    supposed one, as climbs without RPM show it."""

    own: Posterior
    flights: tuple[FlightFit, ...]
    full_share: float = 0.0


def joint_fit(law: Law, prior: Prior, airplane: Airplane, flights: Sequence[Flown], engine: Engine) -> Joint:
    """Fit all flights. Deterministic; the order of the flights does not matter."""
    parts = [part_of(airplane, f, engine) for f in sorted(flights, key=lambda f: f.key) if len(f.rows)]
    common = np.concatenate([prior.mean, [0.0, 0.0, FLOWN_SHARE, 0.0]])
    if not parts:
        return Joint(Posterior(prior.mean.copy(), prior.cov.copy(), np.empty(0)), ())
    precision = np.zeros((common.size, common.size))
    precision[:-EXTRA, :-EXTRA] = np.linalg.inv(prior.cov)
    blind = all((part.rows.kind == FULL_CLIMB).all() for part in parts)
    if blind:  # no RPM anywhere: climbs tell what full throttle gives, not how propeller and drag share it
        precision[:-EXTRA, :-EXTRA] *= _HELD
    noted_sd = NOTED_WEIGHT_SD_KG / float(np.mean([part.flown.mass_kg for part in parts]))
    full = BLIND_FULL_SD if blind else full_sd(engine, parts)
    sds = np.array([HELD_SD, noted_sd, FLOWN_SHARE_SD, full])
    precision[-EXTRA:, -EXTRA:] = np.diag(sds**-2.0)
    low, high = np.append(prior.low, [-0.2, -0.2, 0.0, -0.5]), np.append(prior.high, [0.2, 0.2, 0.3, 0.5])
    fit = _Fit(law, parts, common.copy(), precision, low, high)
    for _ in range(_PASSES):
        row_sds = [row_sd(law, common, part) for part in parts]
        share_law_error(law, common, parts, row_sds)
        common, normal, offs = fit.minimise(common, row_sds)
        for part, off, sd in zip(parts, offs, row_sds, strict=True):
            part.noise, part.repeat = unrest_of(off, part.rows.time_s, sd, part.noise)
    cov = np.asarray(np.linalg.inv(normal)) * (NARROWER * fit.surprise(common, normal, offs, row_sds)) ** 2
    cov = with_guesses(cov, normal, [part.flown for part in parts])
    found = tuple(
        FlightFit(part.flown.key, float(part.with_shared(common, part.own)[0]), fit.weight_sd(i, cov))
        for i, part in enumerate(parts)
    )
    own = Posterior(common[:-EXTRA], cov[:-EXTRA, :-EXTRA], np.empty(0))
    if blind:
        own = Posterior(prior.mean.copy(), prior.cov.copy(), np.empty(0))
    return Joint(own, found, float(common[-1]))


def with_guesses(cov: Array, normal: Array, flights: Sequence[Flown]) -> Array:
    """The covariance of what is common, with what weights that nobody noted add: each moves the fit as far as a weight
    held wrong by one standard deviation does (a parameter considered, not estimated: Schmidt 1966, from memory).
    """
    unknown = [flown for flown in flights if flown.weight_from == "unknown"]
    if not unknown:
        return cov
    at = normal.shape[0] - EXTRA  # WEIGHTS' first: those that were guessed
    others = np.arange(normal.shape[0]) != at
    moves = np.ones(normal.shape[0])
    moves[others] = -np.linalg.solve(normal[np.ix_(others, others)], normal[others, at])
    variance = GUESSED_WEIGHT_SD**2 + unknown[0].mass_sd ** 2 / len(unknown)
    return np.asarray(cov + variance * np.outer(moves, moves))


_Line = tuple[Array, Array, Array]  # residuals of a flight, their slopes over what is common and over its own
_Blocks = tuple[Array, Array, Array, Array, Array]
_Point = tuple[Array, list[Array], list[_Line]]  # what is common, each flight's own, their lines


@dataclass
class _Fit:
    """θ and all flights' own unknowns."""

    law: Law
    parts: list[Part]
    mean: Array
    precision: Array
    low: Array
    high: Array

    def minimise(self, common: Array, sds: list[Array]) -> tuple[Array, Array, list[Array]]:
        """(what is common, its normal matrix with the flights' unknowns eliminated, residuals of each flight)."""

        def at(common: Array, owns: list[Array]) -> _Point:
            return common, owns, [linear(self.law, common, p, o) for p, o in zip(self.parts, owns, strict=True)]

        def blocks_at(here: _Point) -> list[_Blocks]:
            return [self._blocks(p, o, line, sd) for p, o, line, sd in zip(self.parts, *here[1:], sds, strict=True)]

        def step(here: _Point) -> Callable[[float], _Point]:
            blocks = blocks_at(here)

            def damped(damping: float) -> _Point:
                moved, own_moved = self._step(here[0], blocks, damping)
                owns = [o + s for o, s in zip(here[1], own_moved, strict=True)]
                return at(np.clip(here[0] + moved, self.low, self.high), owns)

            return damped

        start = at(common, [part.own for part in self.parts])
        best = descend(start, lambda here: self._cost(*here, sds), step, steps=_STEPS, enough=1e-6)
        common, owns, lines = best
        for part, own in zip(self.parts, owns, strict=True):
            part.own = own
        self.last = blocks_at(best)
        return common, self._schur(self.last, 0.0)[0], [line[0] for line in lines]

    def weight_sd(self, index: int, cov: Array) -> float:
        """Standard deviation of a flight's weight share, what is common being as unsure as `cov` says."""
        _, across, inner, _, _ = self.last[index]
        inverse = np.linalg.inv(inner)
        moves = -(inverse @ across.T)[0]  # the flight's own share by what is common
        moves[WEIGHTS] += self.parts[index].alike
        return float(np.sqrt(inverse[0, 0] + moves @ cov @ moves))

    def surprise(self, common: Array, normal: Array, offs: list[Array], sds: list[Array]) -> float:
        """How much less the flights are foretold by the fit without each than is usual; 1 where they are as usual.

        In slow flight, faster level flight and climbs: the middle residual over what it may be, one step of the fit
        away. It needs no model of why: an airplane unlike the law shows it, weights noted wrong alike do not.
        """
        squares, count = USUAL_SURPRISE**2 * _USUAL_COUNTS, _USUAL_COUNTS
        for part, block, off, sd in zip(self.parts, self.last, offs, sds, strict=True):
            outer, across, inner, down, own_down = block
            solved = np.linalg.solve(inner, np.column_stack([across.T, own_down]))
            left = normal - outer + across @ solved[:, :-1]
            step = -np.linalg.solve(left, down - across @ solved[:, -1])
            # what weights share, no flight shows, and a weight known well makes nothing more surprising
            cov = np.linalg.inv(left[:-EXTRA, :-EXTRA]) * NARROWER**2
            own_sd = np.array([max(part.flown.mass_sd, NOTED_SD_KG / part.flown.mass_kg), DIAL_SD_MPS])
            _, of_common, of_own = linear(self.law, common, part, part.own)
            foretold = off + of_common @ step - of_own @ part.own
            law_sd = law_error(self.law, common, part)
            for here in regions(part):
                if here.sum() < _LEAST_ROWS:
                    continue
                slope, own = of_common[here, :-EXTRA].mean(axis=0), of_own[here].mean(axis=0)
                known = slope @ cov @ slope + np.sum((own * own_sd) ** 2)
                noise = np.mean(sd[here] ** 2) * 2.0 / here.sum() + law_sd[here].mean() ** 2
                squares += min(float(np.median(foretold[here]) ** 2 / (known + noise)), _MOST_SURPRISE**2)
                count += 1
        return float(np.clip(np.sqrt(squares / count) / USUAL_SURPRISE, 1.0, _WIDEST))

    def _weights(self, part: Part, sd: Array) -> Array:
        guessed = np.where(part.rows.guessed > 0, GUESSED_WEIGHT, 1.0)
        return part.told * guessed / (sd**2 * part.repeat)

    def _cost(self, common: Array, owns: list[Array], lines: list[_Line], sds: list[Array]) -> float:
        away = common - self.mean
        total = float(away @ self.precision @ away)
        for part, own, (off, _, _), sd in zip(self.parts, owns, lines, sds, strict=True):
            loss = 2.0 * KNEE**2 * (np.sqrt(1.0 + (off / sd / KNEE) ** 2) - 1.0)
            total += float(self._weights(part, sd) @ (loss * sd**2)) + float(part.precision @ own**2)
        return total

    def _blocks(self, part: Part, own: Array, line: _Line, sd: Array) -> _Blocks:
        """(θθ, θ·own, own·own, downhill θ, downhill own) of one flight."""
        off, of_common, of_own = line
        weight = self._weights(part, sd) / np.sqrt(1.0 + (off / sd / KNEE) ** 2)
        left, right = of_common * weight[:, None], of_own * weight[:, None]
        inner = right.T @ of_own + np.diag(part.precision)
        return left.T @ of_common, left.T @ of_own, inner, -(left.T @ off), -(right.T @ off) - part.precision * own

    def _schur(self, blocks: list[_Blocks], damping: float) -> tuple[Array, Array]:
        normal, downhill = self.precision.copy(), np.zeros(self.mean.size)
        for outer, across, inner, down, own_down in blocks:
            damped = inner + damping * np.diag(np.diag(inner))
            normal += outer - across @ np.linalg.solve(damped, across.T)
            downhill += down - across @ np.linalg.solve(damped, own_down)
        return normal, downhill

    def _step(self, common: Array, blocks: list[_Blocks], damping: float) -> tuple[Array, list[Array]]:
        normal, downhill = self._schur(blocks, damping)
        downhill = downhill - self.precision @ (common - self.mean)
        step: Array = np.asarray(np.linalg.solve(normal + damping * np.diag(np.diag(normal)), downhill))
        owns: list[Array] = [
            np.asarray(np.linalg.solve(inner + damping * np.diag(np.diag(inner)), own_down - across.T @ step))
            for _, across, inner, _, own_down in blocks
        ]
        return step, owns
