"""What the engine gives: power a fixed-pitch propeller takes, full-throttle RPM, power at a manifold pressure. SI.

Full throttle of a naturally aspirated engine: torque falls with the density ratio σ of the actual air,
Φ(σ) = (σ − C)/(1 − C), C = 0.12 (Gagg and Farrar's law in Lowry's form: performance notes, section 2; the same as
1.132·σ − 0.132 but for the last digit), and does not depend on RPM: P = P_rated·Φ·N/N_rated.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.atmosphere import RHO0_KGPM3, standard_air
from airwork.airplane.performance.state import Array

DROP_OFF = 0.12  # C, share of sea-level power lost in friction (from memory; a prior of ±0.03)
# Of the RPM at full throttle: what Φ leaves at other heights, speeds and temperatures; with and without a power table
_FULL_THROTTLE_LAW_SD, _WITHOUT_TABLE_SD = 0.012, 0.025
# Of the power at a manifold pressure: from a printed table, and from the rating alone (from memory)
_TABLE_SD, _NO_TABLE_SD = 0.015, 0.07
# Prior of CP = c0 + c1·J + c2·J² for a fixed-pitch propeller of a light single
_CP_MEAN, _CP_SD = np.array([0.06, 0.0, -0.03]), np.array([0.03, 0.03, 0.04])
# What no propeller does, however a table of few speeds reads: take less the slower it flies (CP(0.2) above CP(0): full
# throttle would turn slower in flight than standing), or fall off ever less with J (c2 above 0). Common practice, no
# source. Each is below nought, or it is nought to within the last.
_NEVER, _NEVER_SD = np.array([[0.0, 1.0, 0.2], [0.0, 0.0, 1.0]]), 0.003


class Air(Protocol):
    """Flights as an engine and a propeller meet them: a `State`, or rows of a recording."""

    @property
    def tas_mps(self) -> Array: ...
    @property
    def density_kgpm3(self) -> Array: ...
    @property
    def altitude_m(self) -> Array: ...
    @property
    def temperature_k(self) -> Array: ...


def full_throttle_share(density_kgpm3: ArrayLike) -> Array:
    """Φ(σ), torque at full throttle over that at sea level. [1]  Zero where the law has run out."""
    sigma = np.asarray(density_kgpm3, dtype=float) / RHO0_KGPM3
    return np.maximum((sigma - DROP_OFF) / (1.0 - DROP_OFF), 0.0)


@dataclass(frozen=True)
class PowerPoints:
    """Powers known at an RPM and airspeed: shares of rated power with relative standard deviations."""

    n_rps: Array
    tas_mps: Array
    density_kgpm3: Array
    power_w: Array
    relative_sd: Array
    weight: Array


@dataclass(frozen=True)
class FixedPitchEngine:
    """CP(J) of the propeller and the engine's strength.

    cp : c0, c1, c2 of CP = c0 + c1·J + c2·J². cov : their covariance.
    strength : this engine's full-throttle torque over the rated one.
    gear : turns of the engine, whose n all speeds of rotation here are, for one of the propeller.
    known : does a table or a reading fix the power, or is it the rating alone?
    """

    rated_power_w: float
    rated_rpm: float
    diameter_m: float
    cp: Array
    cov: Array
    strength: float = 1.0
    known: bool = True
    gear: float = 1.0

    @property
    def _per_turn_m(self) -> float:
        """Diameter over gear: V over n and this is the propeller's advance ratio."""
        return self.diameter_m / self.gear

    @property
    def _fifth_m5(self) -> float:
        """The fifth power of the diameter, for power by the engine's n³."""
        return self.diameter_m**5 / self.gear**3

    def _terms(self, tas_mps: Array, n_rps: Array) -> Array:
        """∂CP/∂cp, shape (n, 3)."""
        j = tas_mps / (n_rps * self._per_turn_m)
        return np.stack([np.ones_like(j), j, j * j], axis=-1)

    def with_powers(self, points: PowerPoints) -> FixedPitchEngine:
        """CP(J) moved by powers known, as far as they are surer than it was."""
        if points.n_rps.size == 0:
            return self
        terms = self._terms(points.tas_mps, points.n_rps)
        cp = points.power_w / (points.density_kgpm3 * points.n_rps**3 * self._fifth_m5)
        weighed = terms * (points.weight / (points.relative_sd * cp) ** 2)[:, None]
        precision = np.linalg.inv(self.cov)
        cov = np.asarray(np.linalg.inv(weighed.T @ terms + precision), dtype=float)
        found = cov @ (weighed.T @ cp + precision @ self.cp)
        for never in _NEVER:
            if (over := float(never @ found)) > 0.0:
                gain = cov @ never / (never @ cov @ never + _NEVER_SD**2)
                found, cov = found - gain * over, cov - np.outer(gain, never @ cov)
        return replace(self, cp=found, cov=cov)

    def power_w(self, tas_mps: Array, n_rps: Array, density_kgpm3: Array) -> Array:
        """Shaft power the propeller takes: CP·ρ·n³·d⁵. [W]"""
        j = tas_mps / (n_rps * self._per_turn_m)
        cp = self.cp[0] + j * (self.cp[1] + j * self.cp[2])
        return cp * density_kgpm3 * n_rps * n_rps * n_rps * self._fifth_m5

    def power_sd_w(self, tas_mps: Array, n_rps: Array, density_kgpm3: Array, n_sd_rps: Array) -> Array:
        """Standard deviation of the power, from CP and from the RPM. [W]"""
        j = tas_mps / (n_rps * self._per_turn_m)
        c = self.cov
        of_cp = c[0, 0] + j * (2 * c[0, 1] + j * (c[1, 1] + 2 * c[0, 2] + j * (2 * c[1, 2] + j * c[2, 2])))
        per_n = 3.0 * self.cp[0] + j * (2.0 * self.cp[1] + j * self.cp[2])  # ∂P/∂n over ρ·n²·d⁵
        scale = density_kgpm3 * n_rps * n_rps * self._fifth_m5
        return scale * np.sqrt(np.maximum(of_cp, 0.0) * n_rps * n_rps + (per_n * n_sd_rps) ** 2)

    def full_power_w(self, n_rps: Array | float, density_kgpm3: Array) -> Array:
        """Shaft power given at full throttle and an n. [W]"""
        torque = self.strength * self.rated_power_w / (self.rated_rpm / 60.0)
        return np.asarray(torque * full_throttle_share(density_kgpm3) * n_rps)

    def full_throttle_share_sd(self, tas_mps: Array, n_rps: Array) -> Array:
        """Standard deviation of the RPM at full throttle, as a share: torque goes about with its square. [1]"""
        terms = self._terms(tas_mps, n_rps)
        cp = terms @ self.cp
        of_cp = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", terms, self.cov, terms), 0.0)) / cp
        return np.asarray(np.hypot(0.5 * of_cp, _FULL_THROTTLE_LAW_SD if self.known else _WITHOUT_TABLE_SD))

    # --- as both kinds of engine are asked (`Engine`): the control is n ---

    governed = False
    shown = (60.0, "rpm")

    def in_control(self, n_rps: ArrayLike, power_w: ArrayLike) -> Array:
        """Of a speed of rotation and a power the one that is of the control's kind. [rev/s or W]"""
        return np.asarray(n_rps, dtype=float)

    def set_to(self, rpm: ArrayLike, pressure_pa: ArrayLike, at: Air) -> Array:
        """Control by the gauges; full throttle where the manifold pressure is NaN. [rev/s or W]"""
        return np.broadcast_to(np.asarray(rpm, dtype=float) / 60.0, at.tas_mps.shape)

    def set_sd(
        self, rpm: ArrayLike, pressure_pa: ArrayLike, at: Air, rpm_sd: float, pressure_sd_pa: float, power_sd_w: float
    ) -> Array:
        """Standard deviation of `set_to` by those of the gauges and of the power at what they show. [rev/s or W]"""
        return np.full(at.tas_mps.shape, rpm_sd / 60.0)

    def full_control(self, at: Air, rpm: float | None = None) -> Array:
        """Control at full throttle, within an RPM if given; governed without one, at the rated RPM. [rev/s or W]"""
        n = self.full_throttle_n(at.tas_mps, at.density_kgpm3)
        return n if rpm is None else np.minimum(n, rpm / 60.0)

    def power_of(self, control: Array, at: Air) -> Array:
        """Shaft power of a control. [W]"""
        return self.power_w(at.tas_mps, control, at.density_kgpm3)

    def control_of(self, power_w: Array, at: Air) -> Array:
        """Control of a shaft power; inverse of `power_of`. [rev/s or W]"""
        n = np.full(at.tas_mps.shape, self.rated_rpm / 60.0)
        for _ in range(20):  # Newton on CP(J)·ρ·n³·d⁵ = P, which rises with n everywhere that matters
            here = self.power_of(n, at)
            slope = (self.power_of(n * 1.0001, at) - here) / (0.0001 * n)
            n = np.maximum(n - (here - power_w) / slope, 1.0)
        return n

    def full_share_sd(self, at: Air, control: Array) -> Array:
        """Standard deviation of the control at full throttle, as a share of it. [1]"""
        return self.full_throttle_share_sd(at.tas_mps, control)

    def turning(self, more: float) -> FixedPitchEngine:
        """The engine that turns exp(more) times as fast at full throttle: torque goes with the square of the RPM."""
        factor = float(np.exp(2.0 * more))
        if self.known:
            return replace(self, strength=self.strength * factor)
        return replace(self, cp=self.cp / factor, cov=self.cov / factor**2)  # the rated power is taken for given

    def full_throttle_n(self, tas_mps: Array, density_kgpm3: Array) -> Array:
        """n at full throttle: where the propeller takes what the engine gives. [rev/s]

        c0·n² + c1·n·u + c2·u² = P_rated·Φ/(n_rated·ρ·d⁵), u = V/d; NaN without a solution.
        """
        u = tas_mps / self._per_turn_m
        rest = self.cp[2] * u * u - self.full_power_w(1.0, density_kgpm3) / (density_kgpm3 * self._fifth_m5)
        line = self.cp[1] * u
        with np.errstate(invalid="ignore"):
            return (np.sqrt(line * line - 4.0 * self.cp[0] * rest) - line) / (2.0 * self.cp[0])


def fit_fixed_pitch_engine(
    points: PowerPoints, rated_power_w: float, rated_rpm: float, diameter_m: float, *, known: bool, gear: float = 1.0
) -> FixedPitchEngine:
    """CP(J) by weighted least squares with weak priors; linear, hence in one step."""
    start = FixedPitchEngine(rated_power_w, rated_rpm, diameter_m, _CP_MEAN, np.diag(_CP_SD**2), known=known, gear=gear)
    return start.with_powers(points)


@dataclass(frozen=True)
class ManifoldEngine:
    """Power of an engine with a constant-speed propeller, from its manifold-pressure table smoothed. SI.

    P/P_rated·N_rated/N = (slope·MP + offset + per_meter·h)·√(T_std/T): straight in manifold pressure (friction is the
    offset), in RPM, and in altitude (the exhaust breathes into thinner air). √(T_std/T) from memory.
    rms : of the table's rows against this, share of rated power.
    """

    rated_power_w: float
    rated_rpm: float
    slope_per_pa: float
    offset: float
    per_meter: float
    top_share: float  # highest manifold pressure over the ambient pressure
    rms: float
    known: bool = True

    @property
    def share_sd(self) -> float:
        """Standard deviation of the power at a manifold pressure and RPM, as a share of it. [1]"""
        return _TABLE_SD if self.known else _NO_TABLE_SD

    def power_w(self, rpm: ArrayLike, pressure_pa: ArrayLike, altitude_m: ArrayLike, temp_k: ArrayLike) -> Array:
        """Shaft power at an RPM and manifold pressure. [W]"""
        h, t = np.asarray(altitude_m, dtype=float), np.asarray(temp_k, dtype=float)
        torque = self.slope_per_pa * np.asarray(pressure_pa, dtype=float) + self.offset + self.per_meter * h
        share = torque * np.asarray(rpm, dtype=float) / self.rated_rpm
        return self.rated_power_w * share * np.sqrt(standard_air(h).temperature_k / t)

    def manifold_pressure_pa(self, watts: ArrayLike, rpm: ArrayLike, altitude_m: ArrayLike, temp_k: ArrayLike) -> Array:
        """Manifold pressure for a power at an RPM. [Pa]"""
        h, t = np.asarray(altitude_m, dtype=float), np.asarray(temp_k, dtype=float)
        share = np.asarray(watts, dtype=float) / self.rated_power_w / np.sqrt(standard_air(h).temperature_k / t)
        torque = share * self.rated_rpm / np.asarray(rpm, dtype=float)
        return (torque - self.offset - self.per_meter * h) / self.slope_per_pa

    def full_throttle_mp_pa(self, altitude_m: ArrayLike) -> Array:
        """Manifold pressure at full throttle. [Pa]"""
        return self.top_share * standard_air(altitude_m).pressure_pa

    def full_power_w(self, rpm: ArrayLike, altitude_m: ArrayLike, temp_k: ArrayLike) -> Array:
        """Power at full throttle and an RPM. [W]"""
        return self.power_w(rpm, self.full_throttle_mp_pa(altitude_m), altitude_m, temp_k)

    # --- as both kinds of engine are asked (`Engine`): the control is shaft power ---

    governed = True

    @property
    def shown(self) -> tuple[float, str]:
        return 100.0 / self.rated_power_w, "%"

    def in_control(self, n_rps: ArrayLike, power_w: ArrayLike) -> Array:
        return np.asarray(power_w, dtype=float)

    def set_to(self, rpm: ArrayLike, pressure_pa: ArrayLike, at: Air) -> Array:
        pressure = self._pressure_pa(pressure_pa, at)
        return np.broadcast_to(self.power_w(rpm, pressure, at.altitude_m, at.temperature_k), at.tas_mps.shape)

    def _pressure_pa(self, given_pa: ArrayLike, at: Air) -> Array:
        """Of full throttle where none is given."""
        return np.where(np.isnan(given_pa), self.full_throttle_mp_pa(at.altitude_m), given_pa)

    def set_sd(
        self, rpm: ArrayLike, pressure_pa: ArrayLike, at: Air, rpm_sd: float, pressure_sd_pa: float, power_sd_w: float
    ) -> Array:
        power, off = self.set_to(rpm, pressure_pa, at), self._pressure_pa(pressure_pa, at) + pressure_sd_pa
        of_pressure, of_rpm = self.set_to(rpm, off, at) - power, power * rpm_sd / np.asarray(rpm, dtype=float)
        return np.sqrt(of_pressure**2 + of_rpm**2 + power_sd_w**2)

    def full_control(self, at: Air, rpm: float | None = None) -> Array:
        full = self.full_power_w(self.rated_rpm if rpm is None else rpm, at.altitude_m, at.temperature_k)
        return np.broadcast_to(full, at.tas_mps.shape)

    def power_of(self, control: Array, at: Air) -> Array:
        return control

    def control_of(self, power_w: Array, at: Air) -> Array:
        return power_w

    def full_share_sd(self, at: Air, control: Array) -> Array:
        return np.asarray(self.share_sd)


Engine = FixedPitchEngine | ManifoldEngine  # the law's control is n (fixed pitch) or power (governed)

# An engine without a table: rated at 28.9 inHg, no power at 4 inHg, 0.6 % per 1,000 ft, full throttle 0.97 of ambient
# (from memory).
_MP_RATED_PA, _MP_ZERO_PA, _PER_METRE, _TOP = 97_867.0, 13_546.0, 0.006 / 304.8, 0.97


def fit_manifold_engine(
    rated_power_w: float, rated_rpm: float, rows: Array, top_share: float | None = None
) -> ManifoldEngine:
    """Engine from its table.

    Parameters
    ----------
    rows : shape (n, 4): pressure altitude [m], rpm, manifold pressure [Pa], share of rated power at standard
        temperature; empty without a table.
    top_share : highest manifold pressure printed over ambient pressure.
    """
    span = _MP_RATED_PA - _MP_ZERO_PA
    slope, offset = 1.0 / span, -_MP_ZERO_PA / span
    top = _TOP if top_share is None else top_share
    if rows.shape[0] < 4:
        return ManifoldEngine(rated_power_w, rated_rpm, slope, offset, _PER_METRE, top, 0.05, known=False)
    torque = rows[:, 3] * rated_rpm / rows[:, 1]
    terms = np.stack([rows[:, 2] / _MP_RATED_PA, np.ones(rows.shape[0]), rows[:, 0] / 1000.0], axis=-1)
    answer, _, rank, _ = np.linalg.lstsq(terms, torque, rcond=None)
    if rank < 3:  # rows of one height, or one pressure, are no law
        return ManifoldEngine(rated_power_w, rated_rpm, slope, offset, _PER_METRE, top, 0.05, known=False)
    rms = float(np.sqrt(np.mean(((terms @ answer - torque) * rows[:, 1] / rated_rpm) ** 2)))
    return ManifoldEngine(
        rated_power_w, rated_rpm, float(answer[0]) / _MP_RATED_PA, float(answer[1]), float(answer[2]) / 1000.0, top, rms
    )
