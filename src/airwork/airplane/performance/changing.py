"""Time and distance to change speed at constant altitude. SI.

t = ∫ m·dV/(T − D): full throttle to accelerate; throttle closed (windmilling) or a set RPM to slow down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airplane.performance.accuracy import Z90
from airwork.airplane.performance.climbing import excess_thrust_n
from airwork.airplane.performance.condition import FULL_THROTTLE, IDLE, Condition, Setting
from airwork.airplane.performance.model import Performance
from airwork.errors import NotPossible

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
    return SpeedChange(time, Z90 * _FORCE_SHARE_SD * time, distance, power)
