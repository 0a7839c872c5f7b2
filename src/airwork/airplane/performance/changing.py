"""Time and distance to change speed at constant altitude. SI.

t = ∫ m·dV/(T − D): full throttle to accelerate; throttle closed (windmilling) or a set RPM to slow down.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.errors import NotPossible

if TYPE_CHECKING:
    from airwork.airplane.performance.model import Performance

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
    performance: Performance,
    from_cas_mps: float,
    to_cas_mps: float,
    *,
    mass_kg: float,
    pressure_altitude_m: float,
    temperature_k: float,
    flap_notch: int = 0,
    rpm: float | None = None,
    manifold_pressure_pa: float | None = None,
) -> SpeedChange:
    """Time to go from one speed to another, level.

    Faster: full throttle unless a setting is given. Slower: throttle closed unless a setting is given.

    Raises
    ------
    NotPossible : the power does not carry it there (the speed settles before).
    """
    ends = tas_from_cas_mps(np.array([from_cas_mps, to_cas_mps]), pressure_altitude_m, temperature_k)
    tas = np.linspace(float(ends[0]), float(ends[1]), _POINTS)
    slower = to_cas_mps < from_cas_mps
    idle = slower and rpm is None and manifold_pressure_pa is None
    force = performance.excess_thrust_n(
        tas, flap_notch, mass_kg, pressure_altitude_m, temperature_k,
        rpm=rpm, manifold_pressure_pa=manifold_pressure_pa, idle=idle,
    )  # fmt: skip
    toward = -force if slower else force
    if np.any(toward <= 0.0):
        raise NotPossible(
            "This power does not carry the airplane to that speed in level flight; it settles before. "
            f"{'Less' if slower else 'More'} power or another flap setting is needed."
        )
    per_speed = mass_kg / toward
    time = float(np.abs(np.trapezoid(per_speed, tas)))
    distance = float(np.abs(np.trapezoid(per_speed * tas, tas)))
    power = "throttle closed" if idle else ("as set" if rpm or manifold_pressure_pa else "full throttle")
    return SpeedChange(time, 1.6449 * _FORCE_SHARE_SD * time, distance, power)
