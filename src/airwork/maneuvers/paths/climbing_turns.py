"""Chandelle and lazy eight flown by the point mass: pitch, bank and speed change all the way. SI."""

from __future__ import annotations

import math
from copy import copy

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.errors import NotPossible
from airwork.maneuvers.paths.flown_ideal import ROLL_RADPS, STEP_S, FlownIdeal, Force
from airwork.maneuvers.setup import Order, Trace

Array = NDArray[np.float64]
END_SHARE = 1.05  # speed at the chandelle's end over the stall
STEEPEST_PATH_RAD = math.radians(22.0)
NEAR_RAD, NEAR_SHARE, HOPELESS = math.radians(0.002), 1e-4, 0.6


def chandelle(order: Order, altitude_m: float, ias_mps: float, bank_rad: float, sign: float) -> FlownIdeal:
    """A chandelle: bank held to 90°, then rolled out evenly; the pitch such that 180° finds it just above the stall.

    Full throttle. The steepest path is found by false position (Illinois): the speed left at 180° falls as it grows.
    """
    goal = 0.995 * END_SHARE * float(order.airplane.stall_cas_mps(order.conditions.mass_kg))
    begun = FlownIdeal(order, altitude_m, ias_mps)
    force = begun.thrust()
    begun.roll_to(sign * bank_rad)
    low, high = math.radians(2.0), STEEPEST_PATH_RAD
    best, left = _one_chandelle(begun, force, bank_rad, sign, low, goal)
    if left < 0.0:
        raise NotPossible("the chandelle ends before 180°: there is not enough speed or power for it today.")
    steepest, short = _one_chandelle(begun, force, bank_rad, sign, high, goal)
    if short >= 0.0:
        return steepest
    kept = left  # an end that stands still twice counts half: the other comes nearer
    while high - low > NEAR_RAD and not 0.0 <= kept < NEAR_SHARE:
        middle = low + (high - low) * left / (left - short)
        found, over = _one_chandelle(begun, force, bank_rad, sign, middle, goal)
        if over >= 0.0:
            low, best, left = middle, found, over
            short *= 0.5 if kept > 0.0 else 1.0
        else:
            high, short = middle, over
            left *= 0.5 if kept < 0.0 else 1.0
        kept = over
    return best


def _one_chandelle(
    begun: FlownIdeal, force: Force, bank_rad: float, sign: float, steepest_rad: float, goal: float
) -> tuple[FlownIdeal, float]:
    """One with a steepest path angle, and by what share of the goal its lowest calibrated speed is above it.

    begun : rolled to the bank; stays as it is.
    """
    flown, slowest = copy(begun), begun.cas
    flown.rows = list(begun.rows)
    while (turned := abs(flown.heading)) < math.pi - 1e-3:
        slowest = min(slowest, flown.cas)
        if slowest < HOPELESS * goal or flown.time > 120.0:
            return flown, -1.0
        if turned < 0.5 * math.pi:  # pitch rises with the turn, bank held
            rolled = abs(begun.heading)
            share = (turned - rolled) / (0.5 * math.pi - rolled)
            wanted, bank = steepest_rad * math.sin(0.5 * math.pi * min(max(share, 0.0), 1.0)), bank_rad
        else:  # bank taken out with the heading, pitch attitude held: the path flattens as the speed falls
            left = (math.pi - turned) / (0.5 * math.pi)
            wanted = steepest_rad * (0.35 + 0.65 * left)
            bank = bank_rad * max(left, 0.0) ** 0.6
            bank = max(bank, math.radians(1.0))
        path = flown.path + min(max(wanted - flown.path, -0.008), 0.008)
        roll = ROLL_RADPS * STEP_S
        flown.step(sign * (abs(flown.bank) + min(max(bank - abs(flown.bank), -roll), roll)), path, force)
    flown.step(0.0, flown.path, force)
    return flown, slowest / goal - 1.0


def lazy_eight(
    order: Order, altitude_m: float, ias_mps: float,
    slow_ias_mps: float, bank_rad: float, halves: int, first: float = 1.0,
) -> Trace:  # fmt: skip
    """Lazy eights by energy: the power holds level flight at the entry speed, height and speed trade for each other.

    Along each half, with x from 0 to 1: height H·sin² πx (up to the 90° point, down after it) and bank φ0·sin πx.
    H gives the lowest speed wanted at the top; the length of a half its 180° of turn, found by halving.
    """
    flown = FlownIdeal(order, altitude_m, ias_mps)
    entry, slow = flown.tas, flown.tas_of(flown.cas_of(slow_ias_mps))
    rise = (entry**2 - slow**2) / (2.0 * G0_MPS2)
    seconds = _half_time(entry, rise, bank_rad)
    sign = first
    for _ in range(halves):
        _lazy_half(flown, seconds, rise, bank_rad, sign, altitude_m, entry)
        sign = -sign
    return flown.trace()


def _half_turn(seconds: float, entry: float, rise: float, bank_rad: float) -> float:
    """Heading change of a half of this length, load factor by the height's curvature. [rad]"""
    count = max(20, round(seconds / STEP_S))
    x = (np.arange(count) + 0.5) / count
    speed, path = _profile(x, seconds, entry, rise)
    lift_up = rise * 2.0 * (math.pi / seconds) ** 2 * np.cos(2.0 * math.pi * x)  # vertical acceleration
    load_up = np.cos(path) + lift_up / (G0_MPS2 * np.maximum(np.cos(path), 0.5))
    turning = np.maximum(load_up, 0.2) * np.tan(bank_rad * np.sin(math.pi * x)) / (speed * np.cos(path))
    return float(seconds * G0_MPS2 * turning.mean())


def _profile(x: Array, seconds: float, entry: float, rise: float) -> tuple[Array, Array]:
    """(true airspeed, path angle) at parts of a half: height h = H·sin² πx."""
    speed = np.sqrt(np.maximum(entry**2 - 2.0 * G0_MPS2 * rise * np.sin(math.pi * x) ** 2, 25.0))
    climb = rise * math.pi / seconds * np.sin(2.0 * math.pi * x)
    return speed, np.arcsin(np.clip(climb / speed, -0.6, 0.6))


def _half_time(entry: float, rise: float, bank_rad: float) -> float:
    low, high = 8.0, 90.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if _half_turn(middle, entry, rise, bank_rad) < math.pi:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _lazy_half(
    flown: FlownIdeal, seconds: float, rise: float, bank_rad: float, sign: float, base_m: float, entry: float
) -> None:
    count = round(seconds / STEP_S)
    start = flown.heading
    x = np.arange(1, count + 1) / count
    shape = np.sin(math.pi * x)
    flown_at = zip(shape.tolist(), *(v.tolist() for v in _profile(x, count * STEP_S, entry, rise)), strict=True)
    for part, speed, path in flown_at:
        flown.step(sign * bank_rad * part, path, tas=speed)
        flown.altitude = base_m + rise * part**2
    gone = abs(flown.heading - start)
    scale = math.pi / gone  # the step's rounding, spread over the half: well under a degree
    for i in range(len(flown.rows) - count, len(flown.rows)):
        row = flown.rows[i]
        flown.rows[i] = (row[0], start + (row[1] - start) * scale, *row[2:])
    flown.heading, flown.path, flown.bank = start + sign * math.pi, 0.0, 0.0
