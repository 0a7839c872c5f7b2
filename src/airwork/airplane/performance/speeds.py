"""Speeds found on the power curve: fastest level flight, least power, the cost of a knot slower. SI."""

from __future__ import annotations

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airplane.performance import accuracy, throttle
from airwork.airplane.performance.answers import BackSide, MaxSpeed
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import FULL_THROTTLE, Condition, Setting
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import question
from airwork.airplane.performance.state import Array
from airwork.errors import NotPossible
from airwork.units import KT_MPS, write
from airwork.values import BAND

_POINTS = 240


def answer_speeds(performance: Performance, at: Condition) -> Array:
    """Calibrated speeds of the answerable range for one weight and flap. [m/s]"""
    stall = float(performance.airplane.stall_cas_mps(float(at.mass_kg), int(at.flap_notch)))
    slowest, fastest = accuracy.LOWEST_SPEED * stall, performance.never_exceed_cas_mps
    return np.linspace(slowest * 1.0000001, fastest * 0.9999999, _POINTS)


def max_level_speed(performance: Performance, at: Condition, setting: Setting = FULL_THROTTLE) -> MaxSpeed:
    """Fastest level flight at a power."""
    cas = answer_speeds(performance, at)
    q = question(performance, cas, at)
    flown = q.at
    control = throttle.control(performance, flown, setting)
    law = performance.law

    def fastest(theta: Array) -> Array:
        excess = law.excess_n(theta, flown, control)
        crossing = np.flatnonzero((excess[:-1] >= 0) & (excess[1:] < 0))
        if excess[-1] >= 0:
            return np.array([cas[-1]])
        if not crossing.size:
            return np.array([np.nan])
        i = int(crossing[-1])
        return np.array([cas[i] + (cas[i + 1] - cas[i]) * excess[i] / (excess[i] - excess[i + 1])])

    speed = float(fastest(performance.theta)[0])
    if not np.isfinite(speed):
        mass = write(float(at.mass_kg), performance.airplane.book.mass)
        raise NotPossible(f"No level flight at this power with {mass} at this altitude and temperature, at any speed.")
    with np.errstate(invalid="ignore"):
        sd = float(np.nan_to_num(performance.learned.own.spread(fastest)[0], nan=0.0))
    limit = "power"
    if speed >= cas[-1] * 0.999:
        limit = "never-exceed speed"
    elif performance.fixed is not None and setting.rpm is None:
        full = float(throttle.full_throttle_rpm(performance, speed, at))
        limit = "redline" if full > performance.redline_rpm else "power"
    revs = float(np.interp(speed, cas, 60.0 * control)) if performance.fixed is not None else performance.redline_rpm
    half = BAND * float(np.hypot(sd, 0.5 * KT_MPS))
    return MaxSpeed(speed, half, float(tas_from_cas_mps(speed, at.pressure_altitude_m, at.temperature_k)), revs, limit)


def back_side(performance: Performance, at: Condition, at_cas_mps: float | None = None) -> BackSide:
    """Speed of least power, and what a knot slower costs at a speed (1.15 times the stall if none is given)."""
    cas = answer_speeds(performance, at)
    slowest = float(cas[0])
    cas = cas[cas < 3.0 * slowest]
    here = 1.15 / accuracy.LOWEST_SPEED * slowest if at_cas_mps is None else at_cas_mps
    curve = level_flight(performance, cas, at)
    low, high = max(here - 0.5 * KT_MPS, slowest), here + 0.5 * KT_MPS
    rates = climb(performance, np.array([low, high]), at).climb_rate_mps
    per_kt = (high - low) / KT_MPS
    power = float(least(cas, curve.power_ratio))
    flown = question(performance, cas, at).at
    drag_power = performance.law.polar.drag_n

    def least_drag_power(theta: Array) -> Array:
        return np.array([least(cas, drag_power(theta, flown) * flown.tas_mps)])

    sd = float(performance.learned.own.spread(least_drag_power)[0])
    return BackSide(
        min_power_cas_mps=power,
        min_power_cas_90_mps=BAND * float(np.hypot(sd, 1.0 * KT_MPS)),
        at_cas_mps=here,
        on_back_side=here < power,
        climb_rate_per_kt_mps=float(rates[0] - rates[1]) / per_kt,
    )


def least(x: Array, y: Array) -> float:
    """Abscissa of the least value, by the parabola through it and its neighbors."""
    i = int(np.nanargmin(y))
    if i in (0, y.size - 1):
        return float(x[i])
    a, b, c = y[i - 1], y[i], y[i + 1]
    bend = a - 2.0 * b + c
    return float(x[i] + 0.5 * (a - c) / bend * (x[i + 1] - x[i])) if bend > 0 else float(x[i])
