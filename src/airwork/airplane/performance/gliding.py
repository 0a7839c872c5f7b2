"""Power-off glides: best glide from the handbook where it prints one, else, and least sink, from the polar. SI."""

from __future__ import annotations

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airplane.performance.answers import Glide
from airwork.airplane.performance.condition import Condition, steady_states
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.speeds import answer_speeds, least
from airwork.airplane.performance.state import Array
from airwork.errors import AirworkError
from airwork.values import BAND

_RATIO_SHARE_SD = 0.04  # of a printed glide ratio: another airplane, propeller stopped or not, pilot
_POLAR_SHARE_SD = 0.05  # what the polar leaves with the power off


def best_glide(performance: Performance, at: Condition) -> Glide:
    """Glide that goes farthest in still air: the handbook's with flaps up where it prints one, else the polar's."""
    airplane = performance.airplane
    if at.flap_notch == 0:
        try:
            cas, ratio = airplane.speed_cas_mps("best_glide", float(at.mass_kg)), airplane.glide_ratio
        except AirworkError:
            cas = ratio = float("nan")
        if np.isfinite(cas) and np.isfinite(ratio):
            return _glide(cas, ratio, _RATIO_SHARE_SD * ratio, at, "handbook, glide")
    return _polar(performance, at, least_sink=False)


def min_sink(performance: Performance, at: Condition) -> Glide:
    """Glide that lasts longest: from the fitted polar, no handbook prints it."""
    return _polar(performance, at, least_sink=True)


def _polar(performance: Performance, at: Condition, *, least_sink: bool) -> Glide:
    """Glide at the calibrated speed of the extreme: least sink is least D·V, best glide least D."""
    cas = answer_speeds(performance, at)
    cas = cas[cas < 2.6 * cas[0]]
    flown = steady_states(performance.airplane, cas, at)
    polar, own = performance.law.polar, performance.learned.own
    drag = polar.drag_n(own.theta, flown, windmilling=True)
    speed = least(cas, drag * flown.tas_mps if least_sink else drag)
    here = steady_states(performance.airplane, speed, at)

    def ratio(theta: Array) -> Array:
        return here.lift_n / polar.drag_n(theta, here, windmilling=True)

    value = float(ratio(own.theta)[0])
    sd = float(np.hypot(own.spread(ratio)[0], _POLAR_SHARE_SD * value))
    return _glide(speed, value, sd, at, "fitted polar, propeller windmilling")


def _glide(cas_mps: float, ratio: float, ratio_sd: float, at: Condition, source: str) -> Glide:
    tas = float(tas_from_cas_mps(cas_mps, at.pressure_altitude_m, at.temperature_k))
    half = BAND * ratio_sd
    sink = tas / float(np.hypot(1.0, ratio))
    return Glide(cas_mps, tas, ratio, half, sink, sink * half / ratio, source)
