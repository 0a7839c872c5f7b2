"""Rate and gradient of climb at a power, and excess thrust for a point-mass simulation. SI; rpm in rev/min."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import cas_from_tas_mps
from airwork.airdata.atmosphere import G0_MPS2, density_kgpm3, standard_air
from airwork.airplane.performance import accuracy, throttle
from airwork.airplane.performance.answers import Climb
from airwork.airplane.performance.conditions import stall_cas_mps
from airwork.airplane.performance.state import Array, state

if TYPE_CHECKING:
    from airwork.airplane.performance.model import Performance

_FULL_THROTTLE_SHARE_SD = 0.005  # of the RPM at full throttle, where no RPM is given
_DEEPEST_STALL_SHARE = 1.3  # a simulation may pass the stall for a moment; the drag there is held at this


def climb(
    performance: Performance,
    cas_mps: ArrayLike,
    flap_notch: ArrayLike,
    mass_kg: ArrayLike,
    pressure_altitude_m: ArrayLike,
    temperature_k: ArrayLike,
    rpm: ArrayLike | None,
    manifold_pressure_pa: ArrayLike | None,
    bank_rad: ArrayLike,
) -> Climb:
    """See `Performance.climb`."""
    q = performance.question(cas_mps, flap_notch, mass_kg, pressure_altitude_m, temperature_k, bank_rad)
    valid = performance.answerable(q, "the climb")
    law, theta = performance.law, performance.theta
    control = throttle.control(performance, q.at, q.altitude_m, q.temp_k, rpm, manifold_pressure_pa)
    excess, gradient = law.excess_gradient(theta, q.at, control)
    per_force = q.at.tas_mps / q.weight_n
    rate = excess * per_force
    sd = performance.learned.own.half_width(gradient) * per_force
    fixed = performance.fixed
    if rpm is None and fixed is not None:
        more = law.excess_n(theta, q.at, control * (1.0 + _FULL_THROTTLE_SHARE_SD)) - excess
        sd = np.hypot(sd, more * per_force)
    sd = np.hypot(sd, accuracy.climb_rate_sd_mps(rate))
    if fixed is not None:
        revs = 60.0 * control
        power = fixed.power_w(q.at.tas_mps, control, q.at.density_kgpm3) / fixed.rated_power_w
    else:
        revs = np.broadcast_to(np.asarray(performance.redline_rpm if rpm is None else rpm, dtype=float), rate.shape)
        power = control / performance.airplane.rated_power_w

    def out(values: Array) -> Array:
        return np.where(valid, values, np.nan).reshape(q.shape)

    return Climb(
        climb_rate_mps=out(rate),
        climb_rate_90_mps=out(accuracy.Z90 * sd),
        gradient=out(rate / q.at.tas_mps),
        rpm=out(revs),
        power_ratio=out(power),
        tas_mps=out(q.at.tas_mps),
    )


def excess_thrust_n(
    performance: Performance,
    tas_mps: ArrayLike,
    flap_notch: int,
    mass_kg: ArrayLike,
    pressure_altitude_m: ArrayLike,
    temperature_k: ArrayLike,
    load_factor: ArrayLike,
    rpm: ArrayLike | None,
    manifold_pressure_pa: ArrayLike | None,
    power_ratio: ArrayLike | None,
    throttle_share: float | None,
    idle: bool,
) -> Array:
    """See `Performance.excess_thrust_n`."""
    arrays = np.broadcast_arrays(
        *(np.asarray(x, dtype=float) for x in (tas_mps, mass_kg, pressure_altitude_m, temperature_k, load_factor))
    )
    shape = arrays[0].shape
    tas, mass, altitude, temp, load = (a.ravel() for a in arrays)
    density = density_kgpm3(standard_air(altitude).pressure_pa, temp)
    cas = cas_from_tas_mps(tas, altitude, temp)
    stall = stall_cas_mps(performance.airplane, flap_notch, mass)
    share = np.minimum(np.abs(load) * (stall / cas) ** 2, _DEEPEST_STALL_SHARE)
    at = state(tas, density, mass * G0_MPS2 * load, share, flap_notch)
    law, theta = performance.law, performance.theta
    if idle:
        return -law.polar.drag_n(theta, at, windmilling=True).reshape(shape)
    if power_ratio is not None:
        control = throttle.control_of_power(performance, at, np.asarray(power_ratio, dtype=float))
    elif throttle_share is not None:
        control = throttle.rpm_at_throttle(performance, throttle_share, cas, altitude, temp) / 60.0
    else:
        control = throttle.control(performance, at, altitude, temp, rpm, manifold_pressure_pa)
    return law.excess_n(theta, at, control).reshape(shape)
