"""Angle of attack and pitch attitude of steady flight. SI.

α from zero lift = CL/a, a = 2π·A/(2 + √(4 + A²)) per radian (Helmbold, from memory). The fuselage's own zero is not in
any handbook: pitch is given so that the nose is level in cruise (flaps up, handbook weight, 65 % of the way from the
stall to the maximum structural cruise speed) unless readings of pitch say otherwise. Flaps shift the lift curve by
about the lift they add at the stall (common practice, no source): the same speed is flown nose lower.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.learn import Learned
from airwork.airplane.performance.readings import states_of
from airwork.airplane.performance.state import Array, Ints, State
from airwork.errors import NotPossible

# Standard deviations: of any angle read or told; of the lift slope and the shift by flaps, as shares; of the fuselage's
# zero where no pitch was read
ANGLE_SD_RAD, SLOPE_SHARE_SD, FLAP_SHARE_SD, UNKNOWN_ZERO_SD_RAD = np.radians(0.8), 0.12, 0.4, np.radians(1.5)
# The nose is taken as level this share of the way from the stall to maximum structural cruise (2.3 Vs without one)
_LEVEL_NOSE, _FAST_OVER_STALL = 0.65, 2.3


@dataclass(frozen=True)
class Attitude:
    """The lift curve of one airplane.

    cruise_angle_rad : α from zero lift at which the fuselage is level. flap_shift_rad : by notch, from flaps up.
    known_zero : was the zero set by readings of pitch?
    """

    slope_per_rad: float
    cruise_angle_rad: float
    flap_shift_rad: Array
    known_zero: bool = False
    slope_share_sd: float = SLOPE_SHARE_SD

    def angle_of_attack_rad(self, lift_coefficient: Array, notch: Ints) -> Array:
        """Angle of attack from the fuselage's reference, as `pitch` in level flight, by flap notch. [rad]"""
        return lift_coefficient / self.slope_per_rad - self.cruise_angle_rad - self.flap_shift_rad[notch]

    def sd_rad(self, lift_coefficient: Array, at: State) -> Array:
        """Standard deviation of the angle: grows with the way from the cruise attitude. [rad]"""
        zero = 0.0 if self.known_zero else UNKNOWN_ZERO_SD_RAD
        away = (lift_coefficient / self.slope_per_rad - self.cruise_angle_rad) * self.slope_share_sd
        flaps = FLAP_SHARE_SD * self.flap_shift_rad[at.notch]
        return np.sqrt(ANGLE_SD_RAD**2 + zero**2 + away**2 + flaps**2)


def lift_slope_per_rad(aspect_ratio: float) -> float:
    """Lift-curve slope of a straight wing. [1/rad]"""
    return float(2.0 * np.pi * aspect_ratio / (2.0 + np.sqrt(4.0 + aspect_ratio**2)))


def attitude_of(airplane: Airplane, learned: Learned) -> Attitude:
    """The lift curve of an airplane; its zero from pitch readings in level flight where there are any."""
    sizes, polar, mass = learned.geometry, learned.law.polar, airplane.handbook_mass_kg
    slope = lift_slope_per_rad(sizes.aspect_ratio)
    stall = float(airplane.stall_cas_mps(mass))
    cruise = airplane.limits.max_structural_cruise_ias_mps
    fast = float(airplane.calibration[0].cas(cruise)) if cruise else np.nan
    fast = fast if np.isfinite(fast) else _FAST_OVER_STALL * stall
    level = stall + _LEVEL_NOSE * (fast - stall)
    pressure_area = 0.5 * RHO0_KGPM3 * sizes.wing_area_m2
    zero = mass * G0_MPS2 / (pressure_area * level**2) / slope
    shift = [0.0]
    for notch in range(1, airplane.flaps_full + 1):
        try:
            slow = float(airplane.stall_cas_mps(mass, notch))
        except NotPossible:
            slow = stall
        shift.append(mass * G0_MPS2 / (pressure_area * slope) * (1.0 / slow**2 - 1.0 / stall**2))
    plain = Attitude(slope, zero, np.array(shift))
    noted = [r for r in learned.readings_used if r.pitch_rad is not None and r.kind == "level"]
    if not noted:
        return plain
    at = states_of(airplane, noted)
    return _from_readings(plain, polar.lift_coefficient(at), at, np.array([r.pitch_rad or 0.0 for r in noted]))


def _from_readings(plain: Attitude, lift_coefficient: Array, at: State, pitch_rad: Array) -> Attitude:
    """Zero and slope by weighted least squares on pitch read in level flight, with the general ones as prior."""
    inverse_slope = 1.0 / plain.slope_per_rad
    terms = np.stack([lift_coefficient, -np.ones_like(lift_coefficient)], axis=-1)
    sd = np.hypot(ANGLE_SD_RAD, FLAP_SHARE_SD * plain.flap_shift_rad[at.notch])
    prior = np.diag([(SLOPE_SHARE_SD * inverse_slope) ** -2, UNKNOWN_ZERO_SD_RAD**-2])
    normal = (terms / sd[:, None] ** 2).T @ terms + prior
    start = np.array([inverse_slope, plain.cruise_angle_rad])
    right = (terms / sd[:, None] ** 2).T @ (pitch_rad + plain.flap_shift_rad[at.notch]) + prior @ start
    answer = np.linalg.solve(normal, right)
    share = float(np.sqrt(np.linalg.inv(normal)[0, 0]) / answer[0])
    return Attitude(1.0 / float(answer[0]), float(answer[1]), plain.flap_shift_rad, True, share)
