"""The records the performance model answers with. SI; rpm in rev/min; `_90` is the half-width of the 90 % band."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.turn import gliding_turn_height_loss_m

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LevelFlight:
    """Steady level flight; every field has the shape of the question. Not compared (arrays).

    rpm : what it takes, also where the engine can't give it; NaN where the law gives no answer.
    possible : the engine can hold it. marginal : the 90 % bands of what it takes and what full throttle gives leave it
        open either way. limit : "" or what stands in the way: "power", "redline", "stall", "speed".
    manifold_pressure_pa : constant speed, at `rpm`; NaN for fixed pitch.
    pitch_rad : attitude in level flight; see `attitude.py` for what zero means.
    """

    rpm: Array
    rpm_90: Array
    manifold_pressure_pa: Array
    manifold_pressure_90_pa: Array
    power_ratio: Array
    power_90: Array
    possible: NDArray[np.bool_]
    marginal: NDArray[np.bool_]
    limit: NDArray[np.str_]
    angle_of_attack_rad: Array
    pitch_rad: Array
    pitch_90_rad: Array
    tas_mps: Array

    @property
    def fast_side(self) -> NDArray[np.intp]:
        """Which of rising speeds the engine can hold from the least power on: there a power has one speed."""
        power = np.where(self.possible, self.power_ratio, np.inf)
        return np.flatnonzero(np.isfinite(power) & (np.arange(power.size) >= int(np.argmin(power))))


@dataclass(frozen=True, slots=True)
class Climb:
    """Steady climb (or descent) at a power; shape of the question. Gradient: height per air distance."""

    climb_rate_mps: Array
    climb_rate_90_mps: Array
    gradient: Array
    rpm: Array
    power_ratio: Array
    tas_mps: Array


@dataclass(frozen=True, slots=True)
class SustainedBank:
    """Steepest level, coordinated turn at a speed; shape of the question.

    bank_rad : the least of the three limits; NaN where not even wings level is possible.
    limit : "power", "stall", "load factor", or "none: can't hold level".
    bank_90_rad : half-width of the band of the power limit where it acts, else of the stall limit.
    """

    bank_rad: Array
    bank_90_rad: Array
    limit: NDArray[np.str_]
    by_power_rad: Array
    possible: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class MaxSpeed:
    """Fastest level flight, calibrated and true, and what limits it."""

    cas_mps: float
    cas_90_mps: float
    tas_mps: float
    rpm: float
    limit: str


@dataclass(frozen=True, slots=True)
class Glide:
    """A power-off glide: speed, ratio, sink; `source` says whether the handbook or the fitted polar."""

    cas_mps: float
    tas_mps: float
    glide_ratio: float
    glide_ratio_90: float
    sink_mps: float
    sink_90_mps: float
    source: str

    def height_per_turn_m(self, bank_rad: float, turn_rad: float = 2.0 * np.pi) -> float:
        """Height lost in a gliding turn at constant lift coefficient. [m]"""
        return float(gliding_turn_height_loss_m(self.tas_mps, self.glide_ratio, bank_rad, turn_rad))


@dataclass(frozen=True, slots=True)
class BackSide:
    """The back side of the power curve for one weight, air and flap.

    The climb lost is by one knot slower at `at_cas_mps`.
    """

    min_power_cas_mps: float
    min_power_cas_90_mps: float
    at_cas_mps: float
    on_back_side: bool
    climb_rate_per_kt_mps: float


@dataclass(frozen=True, slots=True)
class Bracket:
    """A height given as a bracket [m], with what each end assumes and the caution that goes with it."""

    low: float
    high: float
    low_means: str
    high_means: str
    caution: str
