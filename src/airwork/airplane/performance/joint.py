"""All flights of one airplane fitted together: its own parameters, and for each flight its weight, dial and noise. SI.

The energy balance of a window is Ė = (T − D)·V/W. Besides the airplane's θ each flight has a share by which its weight
was noted wrong, an error of its airspeed, and a drag it was flown with beyond other flights; all have narrow priors
about nothing and are estimated with θ. Sideslip, an unquiet hand and rough air only ever add drag: what all flights
share of it has a small positive prior and is taken off, so that θ is the airplane in straight, trimmed flight. How much
the air of a flight moved is read off its own residuals. Robust: a window that fits no airplane counts less.

The normal matrix is an arrow (θ with every flight, flights not with each other) and is solved flight by flight: the
work grows with the number of flights, not its cube.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.condition import stall_cas_mps
from airwork.airplane.performance.engine import FixedPitchEngine, ManifoldEngine
from airwork.airplane.performance.fit import Posterior
from airwork.airplane.performance.fixed_pitch import FixedPitch
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, POWERED, Flown, Rows
from airwork.airplane.performance.priors import Law, Prior
from airwork.airplane.performance.state import Array, State
from airwork.units import FPM_MPS, KT_MPS

# Flown against trimmed: share of the drag that all flights have on top, in still flight and for each 0.1 g by which
# the load factor wanders in a window
FLOWN_SHARE, FLOWN_SHARE_SD = 0.010, 0.010
UNREST_SHARE, UNREST_SHARE_SD = 0.01, 0.03
_STILL_G, _ROUGH_G = 0.02, 0.25  # an accelerometer's own noise; more tells no more
EXTRA = 3  # parameters beyond θ: those two shares, and by how much full throttle gives more control than supposed
# Of each flight, one standard deviation: the recorded airspeed's error, its own share of drag, and what all its glides
# have in common (a throttle nearly closed still pulls a little)
DIAL_SD_MPS, FLOWN_OWN_SD, GLIDE_RATE_SD_MPS = 0.5 * KT_MPS, 0.01, 60.0 * FPM_MPS
# Of a row: tachometer and a hunting throttle, share of shaft power, share of the rate, the air's least unrest
RPM_SD, POWER_SHARE_SD, RATE_SHARE_SD, LEAST_NOISE_MPS = 12.0, 0.02, 0.10, 0.12
# The propeller's law is made for level flight and climbs; at little power it is only a likeness
DESCENT_SHARE_SD, GLIDE_SHARE_SD = 0.35, 0.08
GUESSED_WEIGHT = 0.5  # of a row whose flap setting was inferred
# What the law misses in one condition, however often it is flown: RPM, share of shaft power, glide
LAW_RPM_SD, LAW_POWER_SHARE_SD, LAW_GLIDE_MPS = 8.0, 0.02, 30.0 * FPM_MPS
# A flight's climbs known by position alone: how far they may lie from full throttle, its wind and its air together
BY_PATH_MPS, BY_PATH_SHARE = 60.0 * FPM_MPS, 0.15
# Each of these spreads is kept wide; together they would hold more than the 90 % they claim. One factor for all
# airplanes, from the flights of three of them (`bench/learning_flights.py --tuning`)
BAND = 0.87
KNEE = 1.5  # residual, in standard deviations, from which a row counts less than by its square
PER_FLIGHT = 4  # weight, airspeed, drag, glides
_PASSES, _STEPS = 4, 40
_FIRST_NOISE_MPS, _FIRST_REPEAT = 0.4, 1.5


@dataclass(frozen=True)
class FlightFit:
    """What the fit found of one flight.

    weight_share : true weight over the noted one, less one. dial_mps : error of the airspeed.
    drag : share of drag beyond other flights. noise_mps : unrest of the air in the energy's rate.
    off_mps : residuals of its rows, model less flown.
    """

    key: str
    weight_share: float
    weight_share_sd: float
    dial_mps: float
    drag: float
    noise_mps: float
    off_mps: Array


@dataclass(frozen=True)
class Joint:
    """The airplane's posterior and what was found of each flight. flown_share, unrest_share : drag beyond
    trimmed flight. full_share : ln of full throttle's control over the supposed one, as climbs without RPM show it."""

    own: Posterior
    flown_share: float
    unrest_share: float
    flights: tuple[FlightFit, ...]
    full_share: float = 0.0


@dataclass
class _Part:
    """One flight in the fit: its rows ready for the law, and its own four unknowns."""

    flown: Flown
    mass_kg: Array
    control: Array
    stall_mps: Array
    own: Array
    noise: float = _FIRST_NOISE_MPS
    repeat: float = _FIRST_REPEAT
    told: Array = field(default_factory=lambda: np.empty(0))

    @property
    def rows(self) -> Rows:
        return self.flown.rows

    @property
    def unrest(self) -> Array:
        """How much the load factor wandered, in 0.1 g."""
        return np.clip(np.nan_to_num(self.rows.unrest) - _STILL_G, 0.0, _ROUGH_G) / 0.1

    @property
    def precision(self) -> Array:
        """Of the four unknowns before the flight is looked at."""
        sds = np.array([self.flown.mass_sd, DIAL_SD_MPS, FLOWN_OWN_SD, GLIDE_RATE_SD_MPS])
        return np.asarray(1.0 / sds**2)

    def state(self, own: Array) -> State:
        """Conditions with the flight's own weight and airspeed."""
        r, weight, factor = self.rows, np.exp(own[0]), 1.0 - own[1] / self.rows.tas_mps
        share = r.load_factor * weight * (self.stall_mps / (r.cas_mps * factor)) ** 2
        lift = self.mass_kg * weight * G0_MPS2 * r.load_factor
        return State(r.tas_mps * factor, r.density_kgpm3, lift, share, r.notch)


def joint_fit(
    law: Law, prior: Prior, airplane: Airplane, flights: Sequence[Flown], engine: FixedPitchEngine | ManifoldEngine
) -> Joint:
    """Fit all flights. Deterministic; the order of the flights does not matter."""
    parts = [_part(airplane, f, engine) for f in sorted(flights, key=lambda f: f.key) if len(f.rows)]
    common = np.concatenate([prior.mean, [FLOWN_SHARE, UNREST_SHARE, 0.0]])
    if not parts:
        return Joint(Posterior(prior.mean.copy(), prior.cov.copy(), np.empty(0)), FLOWN_SHARE, UNREST_SHARE, ())
    precision = np.zeros((common.size, common.size))
    precision[:-EXTRA, :-EXTRA] = np.linalg.inv(prior.cov)
    sds = np.array([FLOWN_SHARE_SD, UNREST_SHARE_SD, _full_sd(engine, parts)])
    precision[-EXTRA:, -EXTRA:] = np.diag(sds**-2.0)
    low, high = np.append(prior.low, [0.0, 0.0, -0.5]), np.append(prior.high, [0.2, 0.5, 0.5])
    fit = _Fit(law, parts, common.copy(), precision, low, high)
    for _ in range(_PASSES):
        row_sds = [_row_sd(law, common, part) for part in parts]
        _share_law_error(law, common, parts, row_sds)
        common, normal, offs = fit.minimise(common, row_sds)
        for part, off, sd in zip(parts, offs, row_sds, strict=True):
            part.noise, part.repeat = _unrest(off, part.rows.time_s, sd, part.noise)
    cov = np.asarray(np.linalg.inv(normal)) * BAND**2
    found = tuple(
        FlightFit(
            part.flown.key, float(part.own[0]), fit.weight_sd(i, cov), float(part.own[1]), float(part.own[2]),
            part.noise, off,
        )
        for i, (part, off) in enumerate(zip(parts, offs, strict=True))
    )  # fmt: skip
    own = Posterior(common[:-EXTRA], cov[:-EXTRA, :-EXTRA], np.empty(0))
    return Joint(own, float(common[-3]), float(common[-2]), found, float(common[-1]))


def _part(airplane: Airplane, flown: Flown, engine: FixedPitchEngine | ManifoldEngine) -> _Part:
    rows = flown.rows
    mass = flown.mass_kg - rows.burned_kg
    open_throttle = rows.kind == FULL_CLIMB
    if isinstance(engine, ManifoldEngine):
        power = engine.power_w(rows.rpm, rows.pressure_pa, rows.altitude_m, rows.temperature_k)
        full = engine.full_power_w(airplane.rated_rpm, rows.altitude_m, rows.temperature_k)
        control = np.maximum(np.where(open_throttle, full, power), 0.02 * engine.rated_power_w)
    else:
        control = np.where(open_throttle, engine.full_throttle_n(rows.tas_mps, rows.density_kgpm3), rows.rpm / 60.0)
    return _Part(flown, mass, control, stall_cas_mps(airplane, rows.notch, mass), np.zeros(PER_FLIGHT))


def _full_sd(engine: FixedPitchEngine | ManifoldEngine, parts: list[_Part]) -> float:
    """How well the control at full throttle is known, as a share: of importance where no RPM was recorded."""
    if isinstance(engine, ManifoldEngine):
        return engine.share_sd
    tas = np.concatenate([p.rows.tas_mps for p in parts])
    n = engine.full_throttle_n(tas, np.concatenate([p.rows.density_kgpm3 for p in parts]))
    return float(np.nanmedian(engine.full_throttle_share_sd(tas, n)))


def _rates(law: Law, common: Array, part: _Part, own: Array) -> tuple[Array, Array]:
    """(Ė of each row, its gradient over θ and the share all flights have)."""
    theta, at = common[:-EXTRA], part.state(own)
    scale = at.tas_mps / (part.mass_kg * np.exp(own[0]) * G0_MPS2)
    open_throttle = part.rows.kind == FULL_CLIMB
    control = np.where(open_throttle, np.exp(common[-1]), 1.0) * part.control
    excess, slope = law.excess_gradient(theta, at, control)
    of_full = np.zeros(excess.size)
    if open_throttle.any():
        of_full = np.where(open_throttle, (law.excess_n(theta, at, 1.001 * control) - excess) / 0.001, 0.0)
    area = law.polar.pressure_area(at)[:, None]
    drag, more = law.polar.drag_n(theta, at), common[-3] + common[-2] * part.unrest + own[2]
    excess = excess - more * drag
    slope = slope - more[:, None] * area * law.polar.gradient(theta, at)
    of_share = -drag
    glide = part.rows.kind == GLIDE
    if glide.any():
        falling = law.polar.drag_n(theta, at, windmilling=True)
        of_fall = area * law.polar.gradient(theta, at, windmilling=True)
        excess = np.where(glide, -(1.0 + more) * falling, excess)
        slope = np.where(glide[:, None], -(1.0 + more[:, None]) * of_fall, slope)
        of_share = np.where(glide, -falling, of_share)
    rate = excess * scale + np.where(glide, own[3], 0.0)
    return rate, np.column_stack([slope, of_share, of_share * part.unrest, of_full]) * scale[:, None]


def _linear(law: Law, common: Array, part: _Part, own: Array) -> tuple[Array, Array, Array]:
    """(residuals, Jacobian over what is common, Jacobian over the flight's own)."""
    rate, of_common = _rates(law, common, part, own)
    of_own = np.empty((rate.size, PER_FLIGHT))
    for which, step in ((0, 1e-4), (1, 1e-2)):
        moved = own.copy()
        moved[which] += step
        of_own[:, which] = (_rates(law, common, part, moved)[0] - rate) / step
    of_own[:, 2] = of_common[:, -EXTRA]
    of_own[:, 3] = part.rows.kind == GLIDE
    return rate - part.rows.rate_mps, of_common, of_own


def _row_sd(law: Law, common: Array, part: _Part) -> Array:
    """Standard deviation of each row's rate."""
    control, rate = part.control, part.rows.rate_mps
    sd = RPM_SD / 60.0 if isinstance(law, FixedPitch) else POWER_SHARE_SD * control + 0.005 * float(control.max())
    of_control = np.where(part.rows.kind == POWERED, _per_control(law, common, part) * sd, 0.0)
    share = np.where(rate < 0, DESCENT_SHARE_SD, RATE_SHARE_SD)
    share = np.where(part.rows.kind == GLIDE, GLIDE_SHARE_SD, share)
    return np.sqrt(of_control**2 + (share * rate) ** 2 + part.noise**2)


def _per_control(law: Law, common: Array, part: _Part) -> Array:
    """Rate of the energy by one more unit of the control. [m/s]"""
    theta, at, control = common[:-EXTRA], part.state(part.own), part.control
    more = law.excess_n(theta, at, 1.001 * control) - law.excess_n(theta, at, control)
    return np.asarray(more / (0.001 * control) * at.tas_mps / (part.mass_kg * G0_MPS2))


def _share_law_error(law: Law, common: Array, parts: list[_Part], sds: list[Array]) -> None:
    """Weigh rows of like conditions so that together they tell no more than the law itself is good for there."""
    told = [1.0 / (sd**2 * part.repeat) for part, sd in zip(parts, sds, strict=True)]
    errors = [_law_sd(law, common, part) for part in parts]
    cells = [_cell(part, i) for i, part in enumerate(parts)]
    weight = np.concatenate([t * e**2 for t, e in zip(told, errors, strict=True)])
    total = np.asarray(np.bincount(np.concatenate(cells), weight), dtype=float)
    for part, where in zip(parts, cells, strict=True):
        part.told = 1.0 / (1.0 + total[where])


def _law_sd(law: Law, common: Array, part: _Part) -> Array:
    """What the law misses in one condition, as a rate. [m/s]"""
    sd = LAW_RPM_SD / 60.0 if isinstance(law, FixedPitch) else LAW_POWER_SHARE_SD * part.control
    out = np.where(part.rows.kind == POWERED, _per_control(law, common, part) * sd, LAW_GLIDE_MPS)
    return np.where(part.rows.kind == FULL_CLIMB, np.hypot(BY_PATH_MPS, BY_PATH_SHARE * part.rows.rate_mps), out)


def _cell(part: _Part, number: int) -> NDArray[np.int64]:
    """Number of a row's condition: flap setting, speed over the stall in eighths, climbing, level, descending, glide;
    climbs without RPM: the flight."""
    rows = part.rows
    speed = np.clip(np.sqrt(rows.load_factor * (part.stall_mps / rows.cas_mps) ** 2 + 1e-9) ** -1, 1.0, 3.9)
    going = np.where(rows.kind == GLIDE, 3, np.where(rows.rate_mps > 1.0, 2, np.where(rows.rate_mps < -1.0, 1, 0)))
    cell = (rows.notch * 4 + going) * 32 + (8 * speed).astype(np.int64)
    return np.where(rows.kind == FULL_CLIMB, 4096 + number, cell)


@dataclass
class _Fit:
    """Gauss-Newton on θ and all flights' own unknowns, with Levenberg's damping."""

    law: Law
    parts: list[_Part]
    mean: Array
    precision: Array
    low: Array
    high: Array

    def minimise(self, common: Array, sds: list[Array]) -> tuple[Array, Array, list[Array]]:
        """(what is common, its normal matrix with the flights' unknowns eliminated, residuals of each flight)."""
        owns = [part.own for part in self.parts]
        lines = [_linear(self.law, common, p, o) for p, o in zip(self.parts, owns, strict=True)]
        now, damping = self._cost(common, owns, [line[0] for line in lines], sds), 1e-4
        for _ in range(_STEPS):
            blocks = [self._blocks(p, o, line, sd) for p, o, line, sd in zip(self.parts, owns, lines, sds, strict=True)]
            better = False
            while damping < 1e8 and not better:
                step, own_steps = self._step(common, blocks, damping)
                new = np.clip(common + step, self.low, self.high)
                new_owns = [o + s for o, s in zip(owns, own_steps, strict=True)]
                new_lines = [_linear(self.law, new, p, o) for p, o in zip(self.parts, new_owns, strict=True)]
                then = self._cost(new, new_owns, [line[0] for line in new_lines], sds)
                better = bool(np.isfinite(then)) and then <= now
                damping = max(damping / 5.0, 1e-9) if better else damping * 8.0
            if not better:
                break
            gain, common, owns, lines, now = now - then, new, new_owns, new_lines, then
            if gain <= 1e-6 * (1.0 + now):
                break
        for part, own in zip(self.parts, owns, strict=True):
            part.own = own
        blocks = [self._blocks(p, o, line, sd) for p, o, line, sd in zip(self.parts, owns, lines, sds, strict=True)]
        self.last = blocks
        return common, self._schur(blocks, 0.0)[0], [line[0] for line in lines]

    def weight_sd(self, index: int, cov: Array) -> float:
        """Standard deviation of a flight's weight share, what is common being as unsure as `cov` says."""
        _, across, inner, _, _ = self.last[index]
        inverse = np.linalg.inv(inner)
        through = inverse @ across.T
        return float(np.sqrt((inverse + through @ cov @ through.T)[0, 0]))

    def _weights(self, part: _Part, sd: Array) -> Array:
        guessed = np.where(part.rows.guessed > 0, GUESSED_WEIGHT, 1.0)
        return part.told * guessed / (sd**2 * part.repeat)

    def _cost(self, common: Array, owns: list[Array], offs: list[Array], sds: list[Array]) -> float:
        away = common - self.mean
        total = float(away @ self.precision @ away)
        for part, own, off, sd in zip(self.parts, owns, offs, sds, strict=True):
            loss = 2.0 * KNEE**2 * (np.sqrt(1.0 + (off / sd / KNEE) ** 2) - 1.0)
            total += float(self._weights(part, sd) @ (loss * sd**2)) + float(part.precision @ own**2)
        return total

    def _blocks(
        self, part: _Part, own: Array, line: tuple[Array, Array, Array], sd: Array
    ) -> tuple[Array, Array, Array, Array, Array]:
        """(θθ, θ·own, own·own, downhill θ, downhill own) of one flight."""
        off, of_common, of_own = line
        weight = self._weights(part, sd) / np.sqrt(1.0 + (off / sd / KNEE) ** 2)
        left, right = of_common * weight[:, None], of_own * weight[:, None]
        inner = right.T @ of_own + np.diag(part.precision)
        return left.T @ of_common, left.T @ of_own, inner, -(left.T @ off), -(right.T @ off) - part.precision * own

    def _schur(self, blocks: list[tuple[Array, Array, Array, Array, Array]], damping: float) -> tuple[Array, Array]:
        normal, downhill = self.precision.copy(), np.zeros(self.mean.size)
        for outer, across, inner, down, own_down in blocks:
            damped = inner + damping * np.diag(np.diag(inner))
            normal += outer - across @ np.linalg.solve(damped, across.T)
            downhill += down - across @ np.linalg.solve(damped, own_down)
        return normal, downhill

    def _step(
        self, common: Array, blocks: list[tuple[Array, Array, Array, Array, Array]], damping: float
    ) -> tuple[Array, list[Array]]:
        normal, downhill = self._schur(blocks, damping)
        downhill = downhill - self.precision @ (common - self.mean)
        step: Array = np.asarray(np.linalg.solve(normal + damping * np.diag(np.diag(normal)), downhill))
        owns: list[Array] = [
            np.asarray(np.linalg.solve(inner + damping * np.diag(np.diag(inner)), own_down - across.T @ step))
            for _, across, inner, _, own_down in blocks
        ]
        return step, owns


def _unrest(off: Array, time_s: Array, sd: Array, before: float) -> tuple[float, float]:
    """(unrest of the air, by how much a flight's rows repeat each other) from its residuals."""
    if off.size < 8:
        return max(before, _FIRST_NOISE_MPS), _FIRST_REPEAT
    known = np.sqrt(np.maximum(sd**2 - before**2, 0.0))
    spread = 1.4826 * float(np.median(np.abs(off)))
    noise = np.sqrt(max(spread**2 - float(np.median(known)) ** 2, LEAST_NOISE_MPS**2))
    bounded = np.clip(off / max(spread, 1e-6), -3.0, 3.0)
    pairs = (bounded[1:] * bounded[:-1])[np.diff(time_s) < 20.0]
    lag = float(np.clip(np.mean(pairs) / np.mean(bounded**2), 0.0, 0.8)) if pairs.size > 5 else 0.2
    return float(noise), (1.0 + lag) / (1.0 - lag)
