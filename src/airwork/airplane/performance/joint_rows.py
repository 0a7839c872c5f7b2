"""One flight in the joint fit: its rows ready for the law, their rates and gradients, and how much each row tells. SI.

A row's scatter is the tachometer's, the hand's and the air's. What the law itself misses in a condition is shared by
all rows of it: together they tell no more than the law is good for there, however often it is flown.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.condition import stall_cas_mps
from airwork.airplane.performance.engine import Engine
from airwork.airplane.performance.flown import FULL_CLIMB, GLIDE, NOTED_SD_KG, POWERED, Flown, Rows
from airwork.airplane.performance.priors import Law
from airwork.airplane.performance.state import Array, State
from airwork.units import FPM_MPS, KT_MPS

# Flown against trimmed: share of the drag that all flights have on top at the stall; it grows from FLOWN_FAST of this
# with the square of the share of the greatest lift (what the rudder does not meet turns the airplane the further, the
# slower it flies)
FLOWN_SHARE, FLOWN_SHARE_SD, FLOWN_FAST = 0.05, 0.03, 0.2
# Parameters beyond θ: by how much all weights that nobody noted were guessed wrong alike, and all that were noted (the
# papers' empty weight, the same forgotten bag), that share of drag, and by how much full throttle gives more control
# than supposed
EXTRA = 4
WEIGHTS = slice(-EXTRA, -EXTRA + 2)
GUESSED_WEIGHT_SD, NOTED_WEIGHT_SD_KG, LESSON_ALIKE = 0.05, 25.0, 0.4
# What nobody noted is held to what was assumed: left free, it took up whatever the law misses, and the airplane seemed
# to be lighter than it was and to need more power. Its error widens the bands instead (`joint.with_guesses`).
HELD_SD = 0.001
GUESSED_WEIGHT = 0.5  # of a row whose flap setting was inferred
DIAL_SD_MPS = 0.5 * KT_MPS  # of the recorded airspeed, each flight, one standard deviation
# Of a row: tachometer and a hunting throttle, share of shaft power, share of the rate, the air's least unrest
RPM_SD, POWER_SHARE_SD, RATE_SHARE_SD, LEAST_NOISE_MPS = 12.0, 0.02, 0.10, 0.12
# The propeller's law is made for level flight and climbs; at little power it is only a likeness
DESCENT_SHARE_SD, GLIDE_SHARE_SD, LEVEL_MPS = 0.35, 0.08, 1.0
# What the law misses in one condition, however often it is flown: RPM, share of shaft power, glide
LAW_RPM_SD, LAW_POWER_SHARE_SD, LAW_GLIDE_MPS = 8.0, 0.02, 30.0 * FPM_MPS
# A flight's climbs known by position alone: how far they may lie from full throttle, its wind and its air together
BY_PATH_MPS, BY_PATH_SHARE = 60.0 * FPM_MPS, 0.15
_FIRST_NOISE_MPS, _FIRST_REPEAT = 0.4, 1.5


@dataclass
class Part:
    """One flight in the fit: its rows ready for the law, and its own two unknowns: weight, airspeed."""

    flown: Flown
    engine: Engine
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
    def alike(self) -> Array:
        """How much of the two errors that weights share is this flight's: guessed, noted."""
        shares = {"unknown": (1.0, 0.0), "typed": (0.0, 1.0), "lesson": (0.0, LESSON_ALIKE)}
        return np.array(shares[self.flown.weight_from])

    def with_shared(self, common: Array, own: Array) -> Array:
        """Its own unknowns with the weight error it shares with other flights."""
        return np.asarray(own + np.array([common[WEIGHTS] @ self.alike, 0.0]))

    @property
    def precision(self) -> Array:
        """Of the two unknowns before the flight is looked at; a weight nobody noted is held as if it had been."""
        flown = self.flown
        return np.asarray(np.array([min(flown.mass_sd, NOTED_SD_KG / flown.mass_kg), DIAL_SD_MPS]) ** -2.0)

    def state(self, own: Array) -> State:
        """Conditions with the flight's own weight and airspeed."""
        r, weight, factor = self.rows, np.exp(own[0]), 1.0 - own[1] / self.rows.tas_mps
        share = r.load_factor * weight * (self.stall_mps / (r.cas_mps * factor)) ** 2
        lift = self.mass_kg * weight * G0_MPS2 * r.load_factor
        return State(r.tas_mps * factor, r.density_kgpm3, lift, share, r.notch, r.altitude_m, r.temperature_k)


def part_of(airplane: Airplane, flown: Flown, engine: Engine) -> Part:
    rows = flown.rows
    mass = flown.mass_kg - rows.burned_kg
    control = np.where(
        rows.kind == FULL_CLIMB, engine.full_control(rows), engine.set_to(rows.rpm, rows.pressure_pa, rows)
    )
    control = np.maximum(control, engine.in_control(-np.inf, 0.02 * engine.rated_power_w))
    return Part(flown, engine, mass, control, stall_cas_mps(airplane, rows.notch, mass), np.zeros(2))


def full_sd(engine: Engine, parts: list[Part]) -> float:
    """How well the control at full throttle is known, as a share: of importance where no RPM was recorded."""
    found = [np.ravel(engine.full_share_sd(p.rows, engine.full_control(p.rows))) for p in parts]
    return float(np.nanmedian(np.concatenate(found)))


def rates(law: Law, common: Array, part: Part, own: Array) -> tuple[Array, Array]:
    """(Ė of each row, its gradient over θ and the share all flights have)."""
    own = part.with_shared(common, own)
    theta, at = common[:-EXTRA], part.state(own)
    scale = at.tas_mps / (part.mass_kg * np.exp(own[0]) * G0_MPS2)
    open_throttle = part.rows.kind == FULL_CLIMB
    control = np.where(open_throttle, np.exp(common[-1]), 1.0) * part.control
    excess, slope = law.excess_gradient(theta, at, control)
    of_full = np.zeros(excess.size)
    if open_throttle.any():
        of_full = np.where(open_throttle, (law.excess_n(theta, at, 1.001 * control) - excess) / 0.001, 0.0)
    area = law.polar.pressure_area(at)[:, None]
    slow = FLOWN_FAST + at.stall_share**2
    drag, more = law.polar.drag_n(theta, at), common[-2] * slow
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
    of_extra = np.column_stack([np.zeros((excess.size, 2)), of_share * slow, of_full])
    return excess * scale, np.column_stack([slope, of_extra]) * scale[:, None]


def linear(law: Law, common: Array, part: Part, own: Array) -> tuple[Array, Array, Array]:
    """(residuals, Jacobian over what is common, Jacobian over the flight's own)."""
    rate, of_common = rates(law, common, part, own)
    of_own = np.empty((rate.size, own.size))
    for which, step in ((0, 1e-4), (1, 1e-2)):
        moved = own.copy()
        moved[which] += step
        of_own[:, which] = (rates(law, common, part, moved)[0] - rate) / step
    of_common[:, WEIGHTS] = of_own[:, :1] * part.alike
    return rate - part.rows.rate_mps, of_common, of_own


def row_sd(law: Law, common: Array, part: Part) -> Array:
    """Standard deviation of each row's rate. By the law's rate, not by the one flown: air that sinks would make a row
    count less than air that rises, and the airplane seem better than it is."""
    control, rate = part.control, rates(law, common, part, part.own)[0]
    sd = part.engine.in_control(RPM_SD / 60.0, POWER_SHARE_SD * control + 0.005 * float(control.max()))
    of_control = np.where(part.rows.kind == POWERED, _per_control(law, common, part) * sd, 0.0)
    share = np.where(rate < 0, DESCENT_SHARE_SD, RATE_SHARE_SD)
    share = np.where(part.rows.kind == GLIDE, GLIDE_SHARE_SD, share)
    return np.sqrt(of_control**2 + (share * rate) ** 2 + part.noise**2)


def _per_control(law: Law, common: Array, part: Part) -> Array:
    """Rate of the energy by one more unit of the control. [m/s]"""
    theta, at, control = common[:-EXTRA], part.state(part.with_shared(common, part.own)), part.control
    more = law.excess_n(theta, at, 1.001 * control) - law.excess_n(theta, at, control)
    return np.asarray(more / (0.001 * control) * at.tas_mps / (part.mass_kg * G0_MPS2))


def share_law_error(law: Law, common: Array, parts: list[Part], sds: list[Array]) -> None:
    """Weigh rows of like conditions so that together they tell no more than the law itself is good for there."""
    told = [1.0 / (sd**2 * part.repeat) for part, sd in zip(parts, sds, strict=True)]
    errors = [law_error(law, common, part) for part in parts]
    cells = [_cell(part, i) for i, part in enumerate(parts)]
    weight = np.concatenate([t * e**2 for t, e in zip(told, errors, strict=True)])
    total = np.asarray(np.bincount(np.concatenate(cells), weight), dtype=float)
    for part, where in zip(parts, cells, strict=True):
        part.told = 1.0 / (1.0 + total[where])


def law_error(law: Law, common: Array, part: Part) -> Array:
    """What the law misses in one condition, as a rate. [m/s]"""
    sd = part.engine.in_control(LAW_RPM_SD / 60.0, LAW_POWER_SHARE_SD * part.control)
    rate = rates(law, common, part, part.own)[0]
    sinking = np.where(rate < -0.5 * LEVEL_MPS, rate, 0.0)  # level flight keeps its error, up or down alike
    out = np.hypot(_per_control(law, common, part) * sd, DESCENT_SHARE_SD * sinking)
    out = np.where(part.rows.kind == POWERED, out, LAW_GLIDE_MPS)
    return np.where(part.rows.kind == FULL_CLIMB, np.hypot(BY_PATH_MPS, BY_PATH_SHARE * part.rows.rate_mps), out)


def regions(part: Part) -> tuple[NDArray[np.bool_], ...]:
    """Rows of slow flight (below 1.5 times the stall speed), of faster level flight, of climbs."""
    powered, rate = part.rows.kind == POWERED, part.rows.rate_mps
    level, slow = powered & (np.abs(rate) < LEVEL_MPS), part.state(part.own).stall_share > 1.5**-2
    return level & slow, level & ~slow, powered & (rate > LEVEL_MPS)


def _cell(part: Part, number: int) -> NDArray[np.int64]:
    """Number of a row's condition: flap setting, speed over the stall in eighths, climbing, level, descending, glide;
    climbs without RPM: the flight."""
    rows = part.rows
    speed = np.clip(np.sqrt(rows.load_factor * (part.stall_mps / rows.cas_mps) ** 2 + 1e-9) ** -1, 1.0, 3.9)
    going = np.where(
        rows.kind == GLIDE, 3, np.where(rows.rate_mps > LEVEL_MPS, 2, np.where(rows.rate_mps < -LEVEL_MPS, 1, 0))
    )
    cell = (rows.notch * 4 + going) * 32 + (8 * speed).astype(np.int64)
    return np.where(rows.kind == FULL_CLIMB, 4096 + number, cell)


def unrest_of(off: Array, time_s: Array, sd: Array, before: float) -> tuple[float, float]:
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
