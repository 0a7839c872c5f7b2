"""The law of a constant-speed propeller: shaft power of steady flight, thrust of a shaft power. SI.

P = T·(V + v)/η,   v = ½·(√(V² + 2T/(ρ·A)) − V),   A = π·d²/4

v is the speed the propeller adds to the air in the disk (momentum theory), so that the efficiency falls by itself in
slow flight; η is what is left, close to constant. Level flight is T = D. The control is the shaft power, in W.
Level flight fixes drag over η; a climb at known power fixes η.

References: `docs/performance.md`, section 4; momentum theory as in any text on propellers (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from airwork.airplane.performance.polar import Polar
from airwork.airplane.performance.state import Array, State

NAMES = ("eta",)


@dataclass(frozen=True)
class ConstantSpeed:
    """Level flight and excess thrust with a constant-speed propeller; the control is shaft power, W."""

    wing_area_m2: float
    diameter_m: float
    notches: int
    polar: Polar = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "polar", Polar(self.wing_area_m2, self.notches, len(NAMES)))

    @property
    def names(self) -> tuple[str, ...]:
        """Names of θ, in order."""
        return NAMES + self.polar.names

    @property
    def disk_m2(self) -> float:
        """Area of the propeller disk. [m²]"""
        return float(np.pi * self.diameter_m**2 / 4.0)

    def _added(self, at: State, thrust: Array) -> tuple[Array, Array]:
        """(V + v, root √(V² + 2T/ρA)); v = 0 for a thrust that pulls back."""
        root = np.sqrt(at.tas_mps**2 + 2.0 * np.maximum(thrust, 0.0) / (at.density_kgpm3 * self.disk_m2))
        return 0.5 * (at.tas_mps + root), root

    def control(self, theta: Array, at: State) -> Array:
        """Shaft power of steady level flight. [W]"""
        drag = self.polar.drag_n(theta, at)
        speed, _ = self._added(at, drag)
        return drag * speed / theta[0]

    def control_gradient(self, theta: Array, at: State) -> tuple[Array, Array]:
        """(power, ∂power/∂θ of shape (len, len θ)). [W]"""
        drag = self.polar.drag_n(theta, at)
        speed, root = self._added(at, drag)
        power = drag * speed / theta[0]
        per_drag = (speed + 0.5 * drag / (at.density_kgpm3 * self.disk_m2) / root) / theta[0]
        out = (per_drag * self.polar.pressure_area(at))[:, None] * self.polar.gradient(theta, at)
        out[:, 0] -= power / theta[0]
        return power, out

    def thrust_n(self, theta: Array, at: State, power_w: Array) -> Array:
        """Thrust of a shaft power: T·(V + v(T)) = η·P by Newton's method; zero for no power. [N]"""
        useful = np.maximum(theta[0] * np.broadcast_to(power_w, at.tas_mps.shape), 0.0)
        disk = at.density_kgpm3 * self.disk_m2
        # starts above the answer, where the function is convex and rising: it can't overshoot
        thrust = np.minimum(useful / np.maximum(at.tas_mps, 1.0), np.cbrt(2.0 * disk * useful**2))
        for _ in range(12):
            speed, root = self._added(at, thrust)
            step = (thrust * speed - useful) / (speed + 0.5 * thrust / disk / root)
            thrust = thrust - step
            if float(np.max(np.abs(step), initial=0.0)) < 1e-9:
                break
        return thrust

    def excess_n(self, theta: Array, at: State, power_w: Array) -> Array:
        """Thrust less drag at a shaft power. [N]"""
        return self.thrust_n(theta, at, power_w) - self.polar.drag_n(theta, at)

    def excess_gradient(self, theta: Array, at: State, power_w: Array) -> tuple[Array, Array]:
        """(excess, ∂excess/∂θ of shape (len, len θ)). [N]"""
        thrust = self.thrust_n(theta, at, power_w)
        speed, root = self._added(at, thrust)
        out = -self.polar.pressure_area(at)[:, None] * self.polar.gradient(theta, at)
        out[:, 0] += power_w / (speed + 0.5 * thrust / (at.density_kgpm3 * self.disk_m2) / root)
        return thrust - self.polar.drag_n(theta, at), out
