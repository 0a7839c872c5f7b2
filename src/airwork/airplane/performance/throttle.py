"""Where the throttle stands: control of a power setting, RPM at full throttle. SI; rpm in rev/min."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import density_kgpm3, standard_air
from airwork.airplane.performance.condition import Condition, Setting, steady_states
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.state import Array, State
from airwork.errors import NotPossible


def air(cas_mps: ArrayLike, at: Condition) -> tuple[Array, Array, tuple[int, ...]]:
    """(true airspeed, density) flattened, and the shape."""
    tas = tas_from_cas_mps(cas_mps, at.pressure_altitude_m, at.temperature_k)
    density = density_kgpm3(standard_air(at.pressure_altitude_m).pressure_pa, at.temperature_k)
    tas, density = np.broadcast_arrays(tas, density)
    return tas.ravel(), density.ravel(), tas.shape


def full_throttle_rpm(performance: Performance, cas_mps: ArrayLike, at: Condition) -> Array:
    """RPM at full throttle and a speed, even beyond the maximum (fixed pitch); the maximum (constant speed)."""
    tas, density, shape = air(cas_mps, at)
    if performance.fixed is None:
        return np.full(shape, performance.redline_rpm)
    return 60.0 * performance.fixed.full_throttle_n(tas, density).reshape(shape)


def full_throttle_ratio(performance: Performance, cas_mps: float, at: Condition) -> float:
    """Share of rated power at full throttle and a speed, within the maximum RPM. [1]"""
    engine, here = performance.engine, steady_states(performance.airplane, cas_mps, at)
    watts = engine.power_of(engine.full_control(here, performance.redline_rpm), here)
    return float(watts[0]) / performance.airplane.rated_power_w


def control(performance: Performance, at: State, setting: Setting) -> Array:
    """Control of a setting: n in rev/s (fixed pitch), or power in W (constant speed).

    Raises
    ------
    NotPossible : a closed throttle has no control; the polar's windmilling drag answers for it.
    """
    engine, pressure = performance.engine, setting.manifold_pressure_pa
    if setting.idle:
        raise NotPossible("With the throttle closed the airplane glides: ask for a glide.")
    if setting.power_ratio is not None:
        watts = np.asarray(setting.power_ratio, dtype=float) * performance.airplane.rated_power_w
        return engine.control_of(np.broadcast_to(watts, at.tas_mps.shape), at)
    if setting.rpm is None and (pressure is None or not engine.governed):
        return engine.full_control(at, performance.redline_rpm)
    revs = performance.usual_rpm if setting.rpm is None else setting.rpm
    return engine.set_to(revs, np.nan if pressure is None else pressure, at)


def unsure_n(performance: Performance, at: State, control: Array, setting: Setting) -> Array:
    """How much excess thrust is unsure because the control of a setting is: not at an RPM that is read. [N]"""
    if not performance.engine.governed and setting.rpm is not None:
        return np.zeros(control.shape)
    share = performance.engine.full_share_sd(at, control)
    law, theta = performance.law, performance.theta
    return np.asarray(law.excess_n(theta, at, control * (1.0 + share)) - law.excess_n(theta, at, control))
