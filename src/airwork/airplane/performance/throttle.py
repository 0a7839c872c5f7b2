"""Where the throttle stands: control of a power setting, RPM at a throttle, RPM of a power. SI; rpm in rev/min."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import density_kgpm3, standard_air
from airwork.airplane.performance.engine import full_throttle_share
from airwork.airplane.performance.state import Array, State
from airwork.errors import NotPossible

if TYPE_CHECKING:
    from airwork.airplane.performance.model import Performance

_GOVERNOR = "With a constant-speed propeller the governor holds the RPM; ask by manifold pressure."


def air(cas_mps: ArrayLike, altitude_m: ArrayLike, temp_k: ArrayLike) -> tuple[Array, Array, tuple[int, ...]]:
    """(true airspeed, density) flattened, and the shape."""
    tas = tas_from_cas_mps(cas_mps, altitude_m, temp_k)
    density = density_kgpm3(standard_air(altitude_m).pressure_pa, temp_k)
    tas, density = np.broadcast_arrays(tas, density)
    return tas.ravel(), density.ravel(), tas.shape


def full_throttle_rpm(performance: Performance, cas_mps: ArrayLike, altitude_m: ArrayLike, temp_k: ArrayLike) -> Array:
    """See `Performance.full_throttle_rpm`."""
    tas, density, shape = air(cas_mps, altitude_m, temp_k)
    if performance.fixed is None:
        return np.full(shape, performance.redline_rpm)
    return 60.0 * performance.fixed.full_throttle_n(tas, density).reshape(shape)


def full_throttle_ratio(performance: Performance, cas_mps: float, altitude_m: float, temp_k: float) -> float:
    """See `Performance.full_throttle_ratio`."""
    tas, density, _ = air(cas_mps, altitude_m, temp_k)
    engine, top = performance.fixed, performance.redline_rpm
    if engine is None:
        assert performance.manifold is not None
        watts = performance.manifold.full_power_w(top, altitude_m, temp_k)
    else:
        watts = engine.power_w(tas, np.minimum(engine.full_throttle_n(tas, density), top / 60.0), density)
    return float(np.ravel(watts)[0]) / performance.airplane.rated_power_w


def control(
    performance: Performance,
    at: State,
    altitude_m: Array,
    temp_k: Array,
    rpm: ArrayLike | None,
    manifold_pressure_pa: ArrayLike | None,
) -> Array:
    """Control of a setting (n in rev/s, or power in W); full throttle within the maximum RPM where none is given."""
    shape = at.tas_mps.shape
    fixed, manifold, top = performance.fixed, performance.manifold, performance.redline_rpm
    if fixed is not None:
        if rpm is not None:
            return np.broadcast_to(np.asarray(rpm, dtype=float) / 60.0, shape)
        return np.minimum(fixed.full_throttle_n(at.tas_mps, at.density_kgpm3), top / 60.0)
    assert manifold is not None
    if rpm is None and manifold_pressure_pa is None:
        return np.broadcast_to(manifold.full_power_w(top, altitude_m, temp_k), shape)
    pressure = manifold.full_throttle_mp_pa(altitude_m) if manifold_pressure_pa is None else manifold_pressure_pa
    revs = performance.usual_rpm if rpm is None else rpm
    return np.broadcast_to(manifold.power_w(revs, pressure, altitude_m, temp_k), shape)


def throttle_share(
    performance: Performance, rpm: ArrayLike, cas_mps: ArrayLike, altitude_m: ArrayLike, temp_k: ArrayLike
) -> Array:
    """See `Performance.throttle_share`."""
    if performance.fixed is None:
        raise NotPossible(_GOVERNOR)
    engine = performance.fixed
    revs, cas, height, temp = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (rpm, cas_mps, altitude_m, temp_k))
    )
    tas, density, shape = air(cas, height, temp)
    n = revs.ravel() / 60.0
    torque = engine.power_w(tas, n, density) / n * (engine.rated_rpm / 60.0)
    return (torque / (engine.strength * engine.rated_power_w * full_throttle_share(density))).reshape(shape)


def rpm_at_throttle(
    performance: Performance, share: ArrayLike, cas_mps: ArrayLike, altitude_m: ArrayLike, temp_k: ArrayLike
) -> Array:
    """See `Performance.rpm_at_throttle`."""
    if performance.fixed is None:
        raise NotPossible(_GOVERNOR)
    parts, cas, height, temp = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (share, cas_mps, altitude_m, temp_k))
    )
    tas, density, shape = air(cas, height, temp)
    flat, out = parts.ravel(), np.empty(tas.size)
    for value in np.unique(flat):
        here = flat == value
        engine = replace(performance.fixed, strength=performance.fixed.strength * float(value))
        out[here] = 60.0 * engine.full_throttle_n(tas[here], density[here])
    return out.reshape(shape)


def control_of_power(performance: Performance, at: State, ratio: Array) -> Array:
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
