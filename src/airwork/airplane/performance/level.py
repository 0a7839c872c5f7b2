"""Steady level flight: RPM or manifold pressure, percent power, attitude, and whether the engine can hold it. SI."""

from __future__ import annotations

from dataclasses import fields
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from airwork.airplane.performance import accuracy
from airwork.airplane.performance.answers import LevelFlight
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.engine import FixedPitchEngine, ManifoldEngine
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import Question, answerable, question, too_fast
from airwork.airplane.performance.state import Array, State
from airwork.errors import NotPossible
from airwork.units import write
from airwork.values import BAND


class _Setting(NamedTuple):
    rpm: Array
    rpm_sd: Array
    pressure_pa: Array
    pressure_sd_pa: Array
    power: Array
    power_sd: Array
    limit: np.ndarray
    marginal: np.ndarray


_CHUNK = 8192  # flights worked out at a time: their gradients then stay in the processor's cache


def level_flight(performance: Performance, cas_mps: ArrayLike, at: Condition, rpm: float | None = None) -> LevelFlight:
    """RPM (or manifold pressure at an RPM), percent power and attitude of steady level flight.

    Level flight that the engine can't hold is an answer (`possible` false), not an error; `require_level` makes it one.

    rpm : constant speed only, what the propeller is set to; `usual_rpm`, or more where that takes more manifold
        pressure than full throttle gives, if not given.
    """
    shape = at.shape(cas_mps)
    size = int(np.prod(shape))
    if size <= _CHUNK:
        return _answer(performance, question(performance, cas_mps, at), rpm)
    cas, *flat = (np.broadcast_to(np.asarray(x), shape).ravel() if np.ndim(x) else x for x in (cas_mps, *at.parts))
    parts = []
    for start in range(0, size, _CHUNK):
        some = Condition(*(x[start : start + _CHUNK] if isinstance(x, np.ndarray) else x for x in flat))  # type: ignore[arg-type]
        speeds = cas[start : start + _CHUNK] if isinstance(cas, np.ndarray) else cas
        parts.append(_answer(performance, question(performance, speeds, some), rpm))
    return LevelFlight(
        **{f.name: np.concatenate([getattr(p, f.name) for p in parts]).reshape(shape) for f in fields(LevelFlight)}
    )


def _answer(performance: Performance, q: Question, rpm: float | None) -> LevelFlight:
    valid = answerable(performance, q, "level flight")
    control, gradient = performance.law.control_gradient(performance.theta, q.at)
    sd = performance.learned.own.half_width(gradient)
    engine = performance.learned.engine
    if isinstance(engine, FixedPitchEngine):
        found = _fixed_pitch(performance, engine, q.at, control, sd)
    else:
        assert isinstance(engine, ManifoldEngine)
        found = _constant_speed(performance, engine, q.at, control, sd, rpm)
    limit = np.where(np.isfinite(found.rpm), found.limit, "power")
    limit = np.where(q.too_slow, "stall", limit)
    limit = np.where(too_fast(performance, q), "speed", limit)
    attitude = performance.attitude
    lift = performance.law.polar.lift_coefficient(q.at)
    angle = attitude.angle_of_attack_rad(lift, q.at.notch)
    pitch = angle * q.weight_n / q.at.lift_n  # the nose rises by α·cos φ in the bank

    def out(values: Array) -> Array:
        return np.where(valid, values, np.nan).reshape(q.shape)

    return LevelFlight(
        rpm=out(found.rpm),
        rpm_90=out(BAND * found.rpm_sd),
        manifold_pressure_pa=out(found.pressure_pa),
        manifold_pressure_90_pa=out(BAND * found.pressure_sd_pa),
        power_ratio=out(found.power),
        power_90=out(BAND * found.power_sd),
        possible=(valid & (limit == "")).reshape(q.shape),
        marginal=(valid & found.marginal & np.isin(limit, ("", "power"))).reshape(q.shape),
        limit=limit.astype(np.str_).reshape(q.shape),
        angle_of_attack_rad=out(angle),
        pitch_rad=out(pitch),
        pitch_90_rad=out(BAND * attitude.sd_rad(lift, q.at)),
        tas_mps=out(q.at.tas_mps),
    )


def _fixed_pitch(performance: Performance, engine: FixedPitchEngine, at: State, n: Array, sd: Array) -> _Setting:
    rpm_sd = np.hypot(60.0 * sd, accuracy.rpm_sd(at))
    power = engine.power_w(at.tas_mps, n, at.density_kgpm3) / engine.rated_power_w
    power_sd = engine.power_sd_w(at.tas_mps, n, at.density_kgpm3, rpm_sd / 60.0) / engine.rated_power_w
    power_sd = np.hypot(power_sd, accuracy.power_share_sd(power))
    full = engine.full_throttle_n(at.tas_mps, at.density_kgpm3)
    limit = np.where(n > full, "power", np.where(60.0 * n > performance.redline_rpm, "redline", ""))
    nothing = np.full(n.shape, np.nan)
    share = engine.full_throttle_share_sd(at.tas_mps, full)
    marginal = np.abs(n - full) < BAND * np.hypot(rpm_sd / 60.0, share * full)
    marginal &= 60.0 * n - BAND * rpm_sd <= performance.redline_rpm
    return _Setting(60.0 * n, rpm_sd, nothing, nothing, power, power_sd, limit, marginal)


def _constant_speed(
    performance: Performance, engine: ManifoldEngine, at: State, watts: Array, sd: Array, rpm: float | None
) -> _Setting:
    altitude_m, temp_k = at.altitude_m, at.temperature_k
    revs = np.full(watts.shape, performance.usual_rpm if rpm is None else float(rpm))
    at_revs = engine.full_power_w(revs, altitude_m, temp_k)
    if rpm is None:  # the usual RPM, or as many more as full throttle needs
        revs = np.minimum(revs * np.maximum(watts / at_revs, 1.0), max(performance.redline_rpm, performance.usual_rpm))
        at_revs = engine.full_power_w(revs, altitude_m, temp_k)
    power = watts / engine.rated_power_w
    pressure_share = np.hypot(sd / engine.rated_power_w, accuracy.power_share_sd(power))
    power_sd = np.hypot(pressure_share, engine.share_sd * power)
    pressure = engine.manifold_pressure_pa(watts, revs, altitude_m, temp_k)
    pressure_sd = engine.rated_rpm / revs / engine.slope_per_pa * np.hypot(pressure_share, engine.rms)
    limit = np.where(watts > at_revs * (1.0 + 1e-9), "power", "")
    marginal = np.abs(watts - at_revs) < BAND * power_sd * engine.rated_power_w
    return _Setting(revs, np.zeros_like(revs), pressure, pressure_sd, power, power_sd, limit, marginal)


def require_level(performance: Performance, cas_mps: float, at: Condition) -> LevelFlight:
    """As `level_flight` for one flight; `NotPossible`, in words, if the airplane surely can't hold it today.

    What the bands leave open is an answer that is `marginal`.
    """
    answer = level_flight(performance, cas_mps, at)
    if bool(answer.possible) or bool(answer.marginal):
        return answer
    airplane, notch, bank, mass = performance.airplane, int(at.flap_notch), float(at.bank_rad), float(at.mass_kg)
    flaps = "flaps up" if notch == 0 else f"flap notch {notch}"
    height = airplane.density_altitude_m(float(at.pressure_altitude_m), float(at.temperature_k))
    speed = airplane.dial(float(airplane.ias_from_cas_mps(cas_mps, notch)))
    book, turn = airplane.book, f" in a {np.degrees(bank):.0f}° bank" if bank else ""
    lead = (
        f"Level flight at {speed}, {flaps}, {write(mass, book.mass)}{turn}, density altitude {write(height, 'ft')} "
        "is not possible"
    )
    if str(answer.limit) == "redline":
        raise NotPossible(f"{lead} within the maximum RPM ({performance.redline_rpm:,.0f}).")
    rate = climb(performance, cas_mps, at).climb_rate_mps
    raise NotPossible(f"{lead}: at full throttle it sinks about {book.rate(-float(rate)).replace('fpm', 'ft/min')}.")
