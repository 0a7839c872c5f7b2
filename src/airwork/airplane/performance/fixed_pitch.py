"""The law of a fixed-pitch propeller: RPM of steady flight, thrust at an RPM. SI; n in rev/s.

T = ρ·n²·d⁴·CT(J),  CT = a0·(1 − b·j − (1 − b)·j²),  j = J/J0,  J = V/(n·d)

J0 is the advance ratio of zero thrust, b how straight the curve falls (1 a line, 0 a parabola about J = 0). Level
flight is T = D, a quadratic in n:

a0·n² + a1·n·V/d + a2·V²/d² = D/(ρ·d⁴),   a1 = −a0·b/J0,  a2 = −a0·(1 − b)/J0²

Divided by a0 this is the law of level flight n² = p·n·V + g·V² + h·(W·L/ρ)²/V² + …: RPM alone fixes it but for a common
scale, which a climb with its RPM and rate adds. Weight, density and bank enter exactly; all flights of one flap setting
lie on one curve of n·√(σ·Ws/W) over V_cal·√(Ws/W) (the collapse).

References: `docs/performance.md`; J. T. Lowry, Performance of Light Aircraft, AIAA 1999 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from airwork.airplane.performance.polar import Polar
from airwork.airplane.performance.state import Array, State

NAMES = ("a0", "j0", "b")


@dataclass(frozen=True)
class FixedPitch:
    """Level flight and excess thrust with a fixed-pitch propeller; the control is n, rev/s of the engine.

    A geared propeller turns at n/gear: J is V·gear/(n·d), and a0·n²·d⁴ becomes a0·n²·d⁴/gear².
    """

    wing_area_m2: float
    diameter_m: float
    notches: int
    gear: float = 1.0  # turns of the engine for one of the propeller
    polar: Polar = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "polar", Polar(self.wing_area_m2, self.notches, len(NAMES)))

    @property
    def _per_turn_m(self) -> float:
        """Diameter over gear: V over n and this is the propeller's advance ratio."""
        return self.diameter_m / self.gear

    @property
    def _fourth_m4(self) -> float:
        """The fourth power of the diameter, for thrust by the engine's n²."""
        return self.diameter_m**4 / self.gear**2

    @property
    def names(self) -> tuple[str, ...]:
        """Names of θ, in order."""
        return NAMES + self.polar.names

    def control(self, theta: Array, at: State) -> Array:
        """n of steady level flight; NaN where no n holds it. [rev/s]"""
        a0, _, _ = theta[:3]
        line, rest = self._line(theta, at)
        with np.errstate(invalid="ignore"):
            return (np.sqrt(line * line - 4.0 * a0 * rest) - line) / (2.0 * a0)

    def _line(self, theta: Array, at: State) -> tuple[Array, Array]:
        """Coefficients of n¹ and n⁰ of the quadratic."""
        a0, j0, b = theta[:3]
        u = at.tas_mps / self._per_turn_m
        load = (0.5 * self.wing_area_m2 / self._fourth_m4) * at.tas_mps**2 * self.polar.coefficient(theta, at)
        return (-a0 * b / j0) * u, (-a0 * (1.0 - b) / j0**2) * u * u - load

    def control_gradient(self, theta: Array, at: State) -> tuple[Array, Array]:
        """(n, ∂n/∂θ of shape (len, len θ)) by the implicit function of the quadratic."""
        a0, j0, b = theta[:3]
        n = self.control(theta, at)
        line, _ = self._line(theta, at)
        u = at.tas_mps / self._per_turn_m
        area = 0.5 * self.wing_area_m2 / self._fourth_m4 * at.tas_mps**2
        out = -area[:, None] * self.polar.gradient(theta, at)
        out[:, 0] += n * n - (b / j0) * n * u - (1.0 - b) / j0**2 * u * u
        out[:, 1] += a0 * b / j0**2 * n * u + 2.0 * a0 * (1.0 - b) / j0**3 * u * u
        out[:, 2] += -a0 / j0 * n * u + a0 / j0**2 * u * u
        return n, -out / (2.0 * a0 * n + line)[:, None]

    def thrust_n(self, theta: Array, at: State, n: Array) -> Array:
        """Thrust at n; negative beyond the zero-thrust advance ratio. [N]"""
        a0, j0, b = theta[:3]
        u = at.tas_mps / self._per_turn_m / j0
        return at.density_kgpm3 * self._fourth_m4 * a0 * (n * n - b * n * u - (1.0 - b) * u * u)

    def excess_n(self, theta: Array, at: State, n: Array) -> Array:
        """Thrust less drag at n. [N]"""
        return self.thrust_n(theta, at, n) - self.polar.drag_n(theta, at)

    def excess_gradient(self, theta: Array, at: State, n: Array) -> tuple[Array, Array]:
        """(excess, ∂excess/∂θ of shape (len, len θ)). [N]"""
        a0, j0, b = theta[:3]
        u = at.tas_mps / self._per_turn_m
        scale = at.density_kgpm3 * self._fourth_m4
        out = -self.polar.pressure_area(at)[:, None] * self.polar.gradient(theta, at)
        thrust = self.thrust_n(theta, at, n)
        out[:, 0] += thrust / a0
        out[:, 1] += scale * (a0 * b / j0**2 * n * u + 2.0 * a0 * (1.0 - b) / j0**3 * u * u)
        out[:, 2] += scale * (-a0 / j0 * n * u + a0 / j0**2 * u * u)
        return thrust - self.polar.drag_n(theta, at), out
