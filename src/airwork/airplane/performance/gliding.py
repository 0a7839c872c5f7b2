"""Power-off glides: best glide from the handbook where it prints one, else, and least sink, from the polar. SI."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airplane.performance import accuracy
from airwork.airplane.performance.answers import Glide
from airwork.airplane.performance.conditions import steady_states
from airwork.airplane.performance.speeds import answer_speeds, least
from airwork.airplane.performance.state import Array
from airwork.errors import AirworkError

if TYPE_CHECKING:
    from airwork.airplane.performance.model import Performance

_RATIO_SHARE_SD = 0.04  # of a printed glide ratio: another airplane, propeller stopped or not, pilot
_POLAR_SHARE_SD = 0.05  # what the polar leaves with the power off


def best_glide(
    performance: Performance, mass_kg: float, pressure_altitude_m: float, temperature_k: float, notch: int
) -> Glide:
    """See `Performance.best_glide`: the handbook's with flaps up where it prints one, else the polar's."""
    airplane = performance.airplane
    if notch == 0:
        try:
            cas, ratio = airplane.speed_cas_mps("best_glide", mass_kg), airplane.glide_ratio
        except AirworkError:
            cas = ratio = float("nan")
        if np.isfinite(cas) and np.isfinite(ratio):
            tas = float(tas_from_cas_mps(cas, pressure_altitude_m, temperature_k))
            half = accuracy.Z90 * _RATIO_SHARE_SD * ratio
            sink = tas / np.hypot(1.0, ratio)
            return Glide(cas, tas, ratio, half, sink, sink * half / ratio, "handbook, glide")
    cas_of, ratio_of = _polar(performance, mass_kg, pressure_altitude_m, temperature_k, notch, power=1.0)
    return _glide(performance, cas_of, ratio_of, pressure_altitude_m, temperature_k)


def min_sink(
    performance: Performance, mass_kg: float, pressure_altitude_m: float, temperature_k: float, notch: int
) -> Glide:
    """See `Performance.min_sink`: from the fitted polar, no handbook prints it."""
    cas_of, ratio_of = _polar(performance, mass_kg, pressure_altitude_m, temperature_k, notch, power=1.5)
    return _glide(performance, cas_of, ratio_of, pressure_altitude_m, temperature_k)


def _polar(
    performance: Performance, mass_kg: float, altitude_m: float, temp_k: float, notch: int, *, power: float
) -> tuple[float, Array]:
    """(calibrated speed of the extreme, [ratio, sd of it]): least of D·V^(power − 1)."""
    cas = answer_speeds(performance, mass_kg, notch)
    cas = cas[cas < 2.6 * cas[0]]
    at = steady_states(performance.airplane, cas, notch, mass_kg, altitude_m, temp_k)
    polar = performance.law.polar
    # least sink is least D·V, best glide least D
    weigh = at.tas_mps if power > 1.0 else np.ones(len(at))
    speed = least(cas, polar.drag_n(performance.theta, at, windmilling=True) * weigh)
    here = steady_states(performance.airplane, speed, notch, mass_kg, altitude_m, temp_k)

    def ratio(theta: Array) -> Array:
        return here.lift_n / polar.drag_n(theta, here, windmilling=True)

    value = float(ratio(performance.theta)[0])
    sd = float(np.hypot(performance.spread(ratio)[0], _POLAR_SHARE_SD * value))
    return speed, np.array([value, sd])


def _glide(performance: Performance, cas_mps: float, ratio: Array, altitude_m: float, temp_k: float) -> Glide:
    tas = float(tas_from_cas_mps(cas_mps, altitude_m, temp_k))
    value, half = float(ratio[0]), accuracy.Z90 * float(ratio[1])
    sink = tas / float(np.hypot(1.0, value))
    return Glide(cas_mps, tas, value, half, sink, sink * half / value, "fitted polar, propeller windmilling")
