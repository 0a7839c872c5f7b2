"""Where the throttle stands: control of a power setting, RPM at a throttle, RPM of a power. SI; rpm in rev/min."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import density_kgpm3, standard_air
from airwork.airplane.performance.condition import Condition, Setting
from airwork.airplane.performance.engine import FixedPitchEngine
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.state import Array, State
from airwork.errors import NotPossible

_GOVERNOR = "With a constant-speed propeller the governor holds the RPM; ask by manifold pressure."


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
    tas, density, _ = air(cas_mps, at)
    engine, top = performance.fixed, performance.redline_rpm
    if engine is None:
        assert performance.manifold is not None
        watts = performance.manifold.full_power_w(top, at.pressure_altitude_m, at.temperature_k)
    else:
        watts = engine.power_w(tas, np.minimum(engine.full_throttle_n(tas, density), top / 60.0), density)
    return float(np.ravel(watts)[0]) / performance.airplane.rated_power_w


def control(performance: Performance, at: State, altitude_m: Array, temp_k: Array, setting: Setting) -> Array:
    """Control of a setting: n in rev/s (fixed pitch), or power in W (constant speed).

    Raises
    ------
    NotPossible : a closed throttle has no control; the polar's windmilling drag answers for it.
    """
    shape = at.tas_mps.shape
    fixed, manifold, top = performance.fixed, performance.manifold, performance.redline_rpm
    if setting.idle:
        raise NotPossible("With the throttle closed the airplane glides: ask for a glide.")
    if setting.power_ratio is not None:
        return _of_power(performance, at, np.asarray(setting.power_ratio, dtype=float))
    if fixed is not None:
        if setting.rpm is not None:
            return np.broadcast_to(np.asarray(setting.rpm, dtype=float) / 60.0, shape)
        if setting.throttle_share is not None:
            return _throttled(fixed, setting.throttle_share).full_throttle_n(at.tas_mps, at.density_kgpm3)
        return np.minimum(fixed.full_throttle_n(at.tas_mps, at.density_kgpm3), top / 60.0)
    if setting.throttle_share is not None:
        raise NotPossible(_GOVERNOR)
    assert manifold is not None
    pressure = setting.manifold_pressure_pa
    if setting.rpm is None and pressure is None:
        return np.broadcast_to(manifold.full_power_w(top, altitude_m, temp_k), shape)
    pressure = manifold.full_throttle_mp_pa(altitude_m) if pressure is None else pressure
    revs = performance.usual_rpm if setting.rpm is None else setting.rpm
    return np.broadcast_to(manifold.power_w(revs, pressure, altitude_m, temp_k), shape)


def unsure_n(performance: Performance, at: State, control: Array, setting: Setting) -> Array:
    """How much excess thrust is unsure because the control of a setting is: not at an RPM that is read. [N]"""
    if performance.manifold is not None:
        share: Array | float = performance.manifold.share_sd
    elif performance.fixed is None or setting.rpm is not None:
        return np.zeros(control.shape)
    else:
        share = performance.fixed.full_throttle_share_sd(at.tas_mps, control)
    law, theta = performance.law, performance.theta
    return np.asarray(law.excess_n(theta, at, control * (1.0 + share)) - law.excess_n(theta, at, control))


def _throttled(engine: FixedPitchEngine, share: float) -> FixedPitchEngine:
    return replace(engine, strength=engine.strength * share)


def throttle_share(performance: Performance, rpm: ArrayLike, cas_mps: ArrayLike, at: Condition) -> Array:
    """Torque at an RPM and speed over the torque of full throttle there: where the throttle stands. [1]

    Fixed pitch. With `rpm_at_throttle`: what the tachometer does when the speed changes and the throttle does not.
    """
    if performance.fixed is None:
        raise NotPossible(_GOVERNOR)
    engine = performance.fixed
    tas, density, shape = air(np.broadcast_to(cas_mps, np.broadcast_shapes(np.shape(rpm), np.shape(cas_mps))), at)
    n = np.broadcast_to(np.asarray(rpm, dtype=float), shape).ravel() / 60.0
    return (engine.power_w(tas, n, density) / engine.full_power_w(n, density)).reshape(shape)


def rpm_at_throttle(performance: Performance, share: ArrayLike, cas_mps: ArrayLike, at: Condition) -> Array:
    """RPM with the throttle where `throttle_share` found it, at another speed. [rev/min]"""
    if performance.fixed is None:
        raise NotPossible(_GOVERNOR)
    tas, density, shape = air(np.broadcast_to(cas_mps, np.broadcast_shapes(np.shape(share), np.shape(cas_mps))), at)
    flat, out = np.broadcast_to(np.asarray(share, dtype=float), shape).ravel(), np.empty(tas.size)
    for value in np.unique(flat):
        here = flat == value
        out[here] = 60.0 * _throttled(performance.fixed, float(value)).full_throttle_n(tas[here], density[here])
    return out.reshape(shape)


def _of_power(performance: Performance, at: State, ratio: Array) -> Array:
    """Control that makes a share of rated power."""
    watts = np.broadcast_to(ratio * performance.airplane.rated_power_w, at.tas_mps.shape)
    if performance.fixed is None:
        return watts
    engine = performance.fixed
    n = np.full(at.tas_mps.shape, engine.rated_rpm / 60.0)
    for _ in range(20):  # Newton on CP(J)·ρ·n³·d⁵ = P, which rises with n everywhere that matters
        here = engine.power_w(at.tas_mps, n, at.density_kgpm3)
        slope = (engine.power_w(at.tas_mps, n * 1.0001, at.density_kgpm3) - here) / (0.0001 * n)
        n = np.maximum(n - (here - watts) / slope, 1.0)
    return n
