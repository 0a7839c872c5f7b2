"""Performance: one airplane as fitted physics, asked in what a pilot knows. SI; rpm in rev/min.

Arguments named alike everywhere: cas_mps calibrated airspeed, flap_notch, mass_kg, pressure_altitude_m, temperature_k
the outside air temperature, bank_rad. They broadcast against each other; answers have the shape of the question.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance import accuracy, attitude, climbing, level, throttle
from airwork.airplane.performance.answers import BackSide, Climb, Glide, LevelFlight, MaxSpeed, SustainedBank
from airwork.airplane.performance.conditions import steady_states
from airwork.airplane.performance.engine import FixedPitchEngine, ManifoldEngine
from airwork.airplane.performance.learn import Learned
from airwork.airplane.performance.priors import Law
from airwork.airplane.performance.state import Array, State
from airwork.errors import OutOfRange
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.airplane.engine import Mixture
    from airwork.airplane.performance.fuel import FuelFlow


@dataclass(frozen=True, slots=True)
class Question:
    """Flights asked about, flattened: conditions and what else the answers need; `shape` is the question's."""

    at: State
    cas_mps: Array
    altitude_m: Array
    temp_k: Array
    weight_n: Array
    shape: tuple[int, ...]

    @property
    def too_slow(self) -> NDArray[np.bool_]:
        """Below 1.05 times the stall speed."""
        return self.at.stall_share * accuracy.LOWEST_SPEED**2 > 1.0 + 1e-9


@dataclass(frozen=True, repr=False)
class Performance:
    """What one airplane does, and how sure that is.

    Arrays of questions give NaN outside the model's validity (below 1.05 times the stall speed, above the never-exceed
    speed); a single question outside raises `OutOfRange`. Level flight that the engine can't hold is an answer
    (`possible` false), not an error; `require_level` makes it one, in words.
    """

    airplane: Airplane
    learned: Learned

    def __repr__(self) -> str:
        return f"Performance({self.airplane.id!r}, {len(self.learned.readings_used)} readings)"

    # --- what the answers are made of ---

    @property
    def law(self) -> Law:
        """The law of this propeller."""
        return self.learned.law

    @property
    def theta(self) -> Array:
        """Fitted parameters."""
        return self.learned.own.theta

    @property
    def fixed(self) -> FixedPitchEngine | None:
        """The engine of a fixed-pitch airplane."""
        engine = self.learned.engine
        return engine if isinstance(engine, FixedPitchEngine) else None

    @property
    def manifold(self) -> ManifoldEngine | None:
        """The engine of a constant-speed airplane."""
        engine = self.learned.engine
        return engine if isinstance(engine, ManifoldEngine) else None

    @cached_property
    def usual_rpm(self) -> float:
        """RPM a constant-speed propeller is set to where the question names none: the readings', else the tables'."""
        readings = [r.rpm for r in self.learned.readings_used if r.kind == "level" and r.rpm is not None]
        if readings:
            return float(np.median(readings))
        cruise = self.airplane.file.performance.cruise
        if cruise is not None:
            return float(np.median([row.rpm for row in cruise.rows]))
        return 0.85 * self.airplane.rated_rpm

    @cached_property
    def never_exceed_cas_mps(self) -> float:
        """Upper end of the answers: the never-exceed speed, or four times the stall speed without one. [m/s]"""
        limit = self.airplane.limits.never_exceed_ias_mps
        if limit is None:
            return 4.0 * float(self.airplane.stall_cas_mps(self.airplane.max_takeoff_mass_kg))
        cas = float(self.airplane.calibration[0].cas(limit))
        return cas if np.isfinite(cas) else limit

    @cached_property
    def redline_rpm(self) -> float:
        """Maximum RPM. [rev/min]"""
        return self.airplane.limits.max_rpm or self.airplane.rated_rpm

    @cached_property
    def attitude(self) -> attitude.Attitude:
        """The lift curve, its zero set by pitch readings where there are any."""
        return attitude.attitude_of(self.airplane, self.learned)

    def question(
        self,
        cas_mps: ArrayLike,
        flap_notch: ArrayLike,
        mass_kg: ArrayLike,
        pressure_altitude_m: ArrayLike,
        temperature_k: ArrayLike,
        bank_rad: ArrayLike = 0.0,
    ) -> Question:
        """Flights as the law takes them."""
        asked = (cas_mps, flap_notch, mass_kg, pressure_altitude_m, temperature_k, bank_rad)
        shape = np.broadcast_shapes(*(np.shape(x) for x in asked))

        def flat(x: ArrayLike) -> Array:
            return np.broadcast_to(np.asarray(x, dtype=float), shape).ravel()

        at = steady_states(self.airplane, *asked)
        weight = flat(mass_kg) * G0_MPS2
        return Question(at, flat(cas_mps), flat(pressure_altitude_m), flat(temperature_k), weight, shape)

    def answerable(self, question: Question, what: str) -> NDArray[np.bool_]:
        """Mask of flights with an answer; a single one without raises `OutOfRange`."""
        at, cas = question.at, question.cas_mps
        bad = question.too_slow | (cas > self.never_exceed_cas_mps * (1.0 + 1e-9)) | ~np.isfinite(at.tas_mps)
        if question.shape == () and bad[0]:
            unit = self.airplane.dial_unit
            low = float(cas[0]) * accuracy.LOWEST_SPEED * float(np.sqrt(at.stall_share[0]))
            raise OutOfRange(
                f"calibrated airspeed [{unit}]",
                round(to_unit(float(cas[0]), unit), 1),
                round(to_unit(low, unit), 1),
                round(to_unit(self.never_exceed_cas_mps, unit), 1),
                where=f"what {what} is known for, 1.05 times the stall speed to the never-exceed speed",
            )
        return ~bad

    def spread(self, answer: Callable[[Array], Array]) -> Array:
        """Standard deviation of an answer that is a function of θ, through the principal axes of its covariance."""
        values, axes = np.linalg.eigh(self.learned.own.cov)
        total = np.zeros_like(np.asarray(answer(self.theta), dtype=float))
        for value, axis in zip(values, axes.T, strict=True):
            if value > 0:
                step = axis * np.sqrt(value)
                total = total + (0.5 * (answer(self.theta + step) - answer(self.theta - step))) ** 2
        return np.sqrt(total)

    # --- level flight ---

    def level(
        self,
        cas_mps: ArrayLike,
        flap_notch: ArrayLike = 0,
        *,
        mass_kg: ArrayLike,
        pressure_altitude_m: ArrayLike,
        temperature_k: ArrayLike,
        bank_rad: ArrayLike = 0.0,
        rpm: float | None = None,
    ) -> LevelFlight:
        """RPM (or manifold pressure at an RPM), percent power and attitude of steady level flight.

        rpm : constant speed only, what the propeller is set to; `usual_rpm`, or more where that takes more manifold
            pressure than full throttle gives, if not given.
        """
        return level.level(self, cas_mps, flap_notch, mass_kg, pressure_altitude_m, temperature_k, bank_rad, rpm)

    def require_level(
        self,
        cas_mps: float,
        flap_notch: int = 0,
        *,
        mass_kg: float,
        pressure_altitude_m: float,
        temperature_k: float,
        bank_rad: float = 0.0,
        rpm: float | None = None,
    ) -> LevelFlight:
        """As `level` for one flight; `NotPossible`, in words, if the airplane can't hold it today."""
        at = (mass_kg, pressure_altitude_m, temperature_k)
        return level.require_level(self, cas_mps, flap_notch, *at, bank_rad, rpm)

    def fuel_flow(self, power_ratio: float, mixture: Mixture = "full_rich") -> FuelFlow:
        """Fuel flow at a power: the handbook's, moved by this airplane's readings."""
        from airwork.airplane.performance import fuel

        return fuel.fuel_flow(self, power_ratio, mixture)

    # --- throttle ---

    def full_throttle_rpm(self, cas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike) -> Array:
        """RPM at full throttle and a speed, even beyond the maximum (fixed pitch); the maximum (constant speed)."""
        return throttle.full_throttle_rpm(self, cas_mps, pressure_altitude_m, temperature_k)

    def full_throttle_ratio(self, cas_mps: float, pressure_altitude_m: float, temperature_k: float) -> float:
        """Share of rated power at full throttle and a speed, within the maximum RPM. [1]"""
        return throttle.full_throttle_ratio(self, cas_mps, pressure_altitude_m, temperature_k)

    def throttle_share(
        self, rpm: ArrayLike, cas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike
    ) -> Array:
        """Torque at an RPM and speed over the torque of full throttle there: where the throttle stands. [1]

        Fixed pitch. With `rpm_at_throttle`: what the tachometer does when the speed changes and the throttle does not.
        """
        return throttle.throttle_share(self, rpm, cas_mps, pressure_altitude_m, temperature_k)

    def rpm_at_throttle(
        self, share: ArrayLike, cas_mps: ArrayLike, pressure_altitude_m: ArrayLike, temperature_k: ArrayLike
    ) -> Array:
        """RPM with the throttle where `throttle_share` found it, at another speed. [rev/min]"""
        return throttle.rpm_at_throttle(self, share, cas_mps, pressure_altitude_m, temperature_k)

    # --- climb, excess thrust ---

    def climb(
        self,
        cas_mps: ArrayLike,
        flap_notch: ArrayLike = 0,
        *,
        mass_kg: ArrayLike,
        pressure_altitude_m: ArrayLike,
        temperature_k: ArrayLike,
        rpm: ArrayLike | None = None,
        manifold_pressure_pa: ArrayLike | None = None,
        bank_rad: ArrayLike = 0.0,
    ) -> Climb:
        """Rate and gradient of climb at a power; full throttle (within the maximum RPM) if none is given.

        V·(T − D)/W: a steady climb at constant true airspeed.
        """
        at = (mass_kg, pressure_altitude_m, temperature_k)
        return climbing.climb(self, cas_mps, flap_notch, *at, rpm, manifold_pressure_pa, bank_rad)

    def climb_rate_mps(
        self,
        cas_mps: ArrayLike,
        flap_notch: ArrayLike,
        mass_kg: ArrayLike,
        pressure_altitude_m: ArrayLike,
        temperature_k: ArrayLike,
        rpm: ArrayLike | None = None,
        bank_rad: ArrayLike = 0.0,
        manifold_pressure_pa: ArrayLike | None = None,
    ) -> Array:
        """Rate of climb at a power, full throttle if none is given. [m/s]"""
        at = (mass_kg, pressure_altitude_m, temperature_k)
        return climbing.climb(self, cas_mps, flap_notch, *at, rpm, manifold_pressure_pa, bank_rad).climb_rate_mps

    def excess_thrust_n(
        self,
        tas_mps: ArrayLike,
        flap_notch: int,
        mass_kg: ArrayLike,
        pressure_altitude_m: ArrayLike,
        temperature_k: ArrayLike,
        *,
        rpm: ArrayLike | None = None,
        manifold_pressure_pa: ArrayLike | None = None,
        power_ratio: ArrayLike | None = None,
        throttle_share: float | None = None,
        idle: bool = False,
        load_factor: ArrayLike = 1.0,
    ) -> Array:
        """Thrust less drag, for a point-mass simulation. [N]

        The setting is one of: `rpm` (and `manifold_pressure_pa`), `power_ratio`, `throttle_share` (fixed pitch, see
        there), `idle` (windmilling); full throttle without any. No speed is refused: a maneuver may pass through the
        stall, and the drag there is held at that of 1.3 times the greatest lift.
        """
        return climbing.excess_thrust_n(
            self, tas_mps, flap_notch, mass_kg, pressure_altitude_m, temperature_k, load_factor, rpm,
            manifold_pressure_pa, power_ratio, throttle_share, idle,
        )  # fmt: skip

    # --- turns, speeds, glides ---

    def sustained_bank(
        self,
        cas_mps: ArrayLike,
        flap_notch: ArrayLike = 0,
        *,
        mass_kg: ArrayLike,
        pressure_altitude_m: ArrayLike,
        temperature_k: ArrayLike,
        rpm: ArrayLike | None = None,
        manifold_pressure_pa: ArrayLike | None = None,
    ) -> SustainedBank:
        """Steepest level turn at a speed and power (full throttle if none is given), and which limit acts."""
        from airwork.airplane.performance import turning

        at = (mass_kg, pressure_altitude_m, temperature_k)
        return turning.sustained_bank(self, cas_mps, flap_notch, *at, rpm, manifold_pressure_pa)

    def max_level_speed(
        self,
        mass_kg: float,
        pressure_altitude_m: float,
        temperature_k: float,
        flap_notch: int = 0,
        *,
        rpm: float | None = None,
        manifold_pressure_pa: float | None = None,
    ) -> MaxSpeed:
        """Fastest level flight at a power; full throttle within the maximum RPM if none is given."""
        from airwork.airplane.performance import speeds

        at = (mass_kg, pressure_altitude_m, temperature_k)
        return speeds.max_level_speed(self, *at, flap_notch, rpm, manifold_pressure_pa)

    def back_side(
        self,
        mass_kg: float,
        pressure_altitude_m: float,
        temperature_k: float,
        flap_notch: int = 0,
        *,
        at_cas_mps: float | None = None,
    ) -> BackSide:
        """Speed of least power, and what a knot slower costs at a speed (1.15 times the stall if none is given)."""
        from airwork.airplane.performance import speeds

        return speeds.back_side(self, mass_kg, pressure_altitude_m, temperature_k, flap_notch, at_cas_mps)

    def best_glide(
        self, mass_kg: float, pressure_altitude_m: float, temperature_k: float, flap_notch: int = 0
    ) -> Glide:
        """Glide that goes farthest in still air."""
        from airwork.airplane.performance import gliding

        return gliding.best_glide(self, mass_kg, pressure_altitude_m, temperature_k, flap_notch)

    def min_sink(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float, flap_notch: int = 0) -> Glide:
        """Glide that lasts longest."""
        from airwork.airplane.performance import gliding

        return gliding.min_sink(self, mass_kg, pressure_altitude_m, temperature_k, flap_notch)
