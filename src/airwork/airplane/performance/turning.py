"""Steepest level turn that power, stall and structure allow. SI.

Power sustains the load factor at which thrust equals the drag of that lift; with a parabola about zero lift this has
the closed form L = (ρV/W)·√((n² − p·n·V − g·V²)/h) of the notes; with the other terms it is found by halving.
The stall limit is (V/Vs)²; the structure's is the limit load factor, flaps up or down.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airplane.performance import accuracy, throttle
from airwork.airplane.performance.answers import SustainedBank
from airwork.airplane.performance.condition import FULL_THROTTLE, Condition, Setting
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.question import answerable, question
from airwork.airplane.performance.state import Array, State
from airwork.values import BAND

_STALL_SPEED_SD = 0.02  # of the stall speed: rounding of the table, center of gravity
_STEPS = 34  # halvings of the load factor from 0 to 8: 1e-9


def loads_by_power(performance: Performance, theta: Array, at: State, control: Array) -> Array:
    """Load factor that power sustains, by halving on thrust less drag; 0 where not even no lift does. [1]"""
    law = performance.law
    low, high = np.zeros(len(at)), np.full(len(at), 8.0)
    for _ in range(_STEPS):
        load = 0.5 * (low + high)
        enough = law.excess_n(theta, at.loaded(load), control) > 0.0
        low, high = np.where(enough, load, low), np.where(enough, high, load)
    return 0.5 * (low + high)


def sustained_bank(
    performance: Performance, cas_mps: ArrayLike, at: Condition, setting: Setting = FULL_THROTTLE
) -> SustainedBank:
    """Steepest level turn at a speed and power, and which limit acts; the bank of `at` plays no part."""
    q = question(performance, cas_mps, at.banked(0.0))
    valid = answerable(performance, q, "the turn")
    flown, shape = q.at, q.shape
    control = throttle.control(performance, flown, setting)
    power = loads_by_power(performance, performance.theta, flown, control)
    power_sd = _power_sd(performance, flown, control, power)
    stall = 1.0 / flown.stall_share
    limits = performance.airplane.limits
    structure = np.where(flown.notch > 0, limits.load_factor_flaps_down[1], limits.load_factor_flaps_up[1])
    loads = np.stack([power, stall, structure])
    which = np.argmin(loads, axis=0)
    least = loads[which, np.arange(which.size)]
    possible = valid & (power >= 1.0)
    names = np.array(["power", "stall", "load factor"])[which]
    names = np.where(power >= 1.0, names, "none: can't hold level")
    sds = np.stack([power_sd, 2.0 * _STALL_SPEED_SD * stall, np.zeros(which.size)])
    sd = sds[which, np.arange(which.size)]
    bank = _bank(least)
    half = BAND * sd
    # through the arc cosine by its ends: near level flight the band is wide and one-sided
    spread = np.maximum(_bank(least + half) - bank, bank - _bank(np.maximum(least - half, 1.0)))

    def out(values: Array) -> Array:
        return np.where(possible, values, np.nan).reshape(shape)

    return SustainedBank(
        out(bank),
        out(spread),
        np.where(valid, names, "").reshape(shape),
        np.where(valid, _bank(power), np.nan).reshape(shape),
        possible.reshape(shape),
    )


def _power_sd(performance: Performance, at: State, control: Array, load: Array) -> Array:
    """Standard deviation of the load factor, from the excess thrust's at that load."""
    law = performance.law
    banked = at.loaded(load)
    more = banked.loaded(1.001)
    _, gradient = law.excess_gradient(performance.theta, banked, control)
    per_load = (law.excess_n(performance.theta, more, control) - law.excess_n(performance.theta, banked, control)) / (
        0.001 * np.maximum(load, 0.1)
    )
    sd = performance.learned.own.half_width(gradient) / np.maximum(np.abs(per_load), 1e-6)
    return np.hypot(sd, accuracy.load_sd(load))


def _bank(load: Array) -> Array:
    """Bank of a load factor; 0 at or below 1."""
    return np.arccos(1.0 / np.maximum(load, 1.0))
