"""Rate and gradient of climb at a power, excess thrust for a simulation, time to change speed. SI; rpm in rev/min."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import cas_from_tas_mps, tas_from_cas_mps
from airwork.airdata.atmosphere import G0_MPS2, density_kgpm3, standard_air
from airwork.airplane.performance import accuracy, throttle
from airwork.airplane.performance.answers import Climb
from airwork.airplane.performance.condition import FULL_THROTTLE, IDLE, Condition, Setting, stall_cas_mps
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import answerable, question
from airwork.airplane.performance.state import Array, state
from airwork.errors import NotPossible
from airwork.values import BAND

_DEEPEST_STALL_SHARE = 1.3  # a simulation may pass the stall for a moment; the drag there is held at this


def climb(performance: Performance, cas_mps: ArrayLike, at: Condition, setting: Setting = FULL_THROTTLE) -> Climb:
    """Rate and gradient of climb at a power; V·(T − D)/W: a steady climb at constant true airspeed."""
    q = question(performance, cas_mps, at)
    valid = answerable(performance, q, "the climb")
    law, theta = performance.law, performance.theta
    control = throttle.control(performance, q.at, setting)
    excess, gradient = law.excess_gradient(theta, q.at, control)
    per_force = q.at.tas_mps / q.weight_n
    rate = excess * per_force
    sd = performance.learned.own.half_width(gradient) * per_force
    sd = np.hypot(sd, throttle.unsure_n(performance, q.at, control, setting) * per_force)
    sd = np.hypot(sd, accuracy.climb_rate_sd_mps(rate))
    governed = performance.redline_rpm if setting.rpm is None else setting.rpm
    revs = np.broadcast_to(governed, rate.shape) if performance.engine.governed else 60.0 * control
    power = performance.engine.power_of(control, q.at) / performance.airplane.rated_power_w

    def out(values: Array) -> Array:
        return np.where(valid, values, np.nan).reshape(q.shape)

    return Climb(
        climb_rate_mps=out(rate),
        climb_rate_90_mps=out(BAND * sd),
        gradient=out(rate / q.at.tas_mps),
        rpm=out(revs),
        power_ratio=out(power),
        tas_mps=out(q.at.tas_mps),
    )


def excess_thrust_n(
    performance: Performance,
    tas_mps: ArrayLike,
    at: Condition,
    setting: Setting = FULL_THROTTLE,
    *,
    load_factor: ArrayLike = 1.0,
) -> Array:
    """Thrust less drag, for a point-mass simulation; one flap notch, and the load factor instead of a bank. [N]

    No speed is refused: a maneuver may pass through the stall, and the drag there is held at that of 1.3 times the
    greatest lift.
    """
    arrays = np.broadcast_arrays(
        *(
            np.asarray(x, dtype=float)
            for x in (tas_mps, at.mass_kg, at.pressure_altitude_m, at.temperature_k, load_factor)
        )
    )
    shape, notch = arrays[0].shape, int(at.flap_notch)
    tas, mass, altitude, temp, load = (a.ravel() for a in arrays)
    density = density_kgpm3(standard_air(altitude).pressure_pa, temp)
    cas = cas_from_tas_mps(tas, altitude, temp)
    stall = stall_cas_mps(performance.airplane, notch, mass)
    share = np.minimum(np.abs(load) * (stall / cas) ** 2, _DEEPEST_STALL_SHARE)
    flown = state(tas, density, mass * G0_MPS2 * load, share, notch, altitude, temp)
    law, theta = performance.law, performance.theta
    if setting.idle:
        return -law.polar.drag_n(theta, flown, windmilling=True).reshape(shape)
    return law.excess_n(theta, flown, throttle.control(performance, flown, setting)).reshape(shape)


_POINTS = 160
_FORCE_SHARE_SD = 0.12  # of the net force: windmilling drag, the hand on the throttle


@dataclass(frozen=True, slots=True)
class SpeedChange:
    """Time and air distance for a change of speed in level flight, with the 90 % half-width of the time."""

    time_s: float
    time_90_s: float
    distance_m: float
    power: str


def change_speed(
    performance: Performance, from_cas_mps: float, to_cas_mps: float, at: Condition, setting: Setting | None = None
) -> SpeedChange:
    """Time to go from one speed to another, level.

    Faster: full throttle unless a setting is given. Slower: throttle closed unless a setting is given.

    Raises
    ------
    NotPossible : the power does not carry it there (the speed settles before).
    """
    ends = tas_from_cas_mps(np.array([from_cas_mps, to_cas_mps]), at.pressure_altitude_m, at.temperature_k)
    tas = np.linspace(float(ends[0]), float(ends[1]), _POINTS)
    slower = to_cas_mps < from_cas_mps
    how = setting or (IDLE if slower else FULL_THROTTLE)
    force = excess_thrust_n(performance, tas, at, how)
    toward = -force if slower else force
    if np.any(toward <= 0.0):
        raise NotPossible(
            "This power does not carry the airplane to that speed in level flight; it settles before. "
            f"{'Less' if slower else 'More'} power or another flap setting is needed."
        )
    per_speed = float(at.mass_kg) / toward
    time = float(np.abs(np.trapezoid(per_speed, tas)))
    distance = float(np.abs(np.trapezoid(per_speed * tas, tas)))
    power = "as set" if setting else "throttle closed" if slower else "full throttle"
    return SpeedChange(time, BAND * _FORCE_SHARE_SD * time, distance, power)
