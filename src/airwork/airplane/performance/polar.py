"""Drag of the airplane: a parabola about a lift coefficient, a rise before the stall, flaps by notch. SI.

CD = CD0 + ΔCD_f + k·(CL − CL0 − ΔCL_f)² + q·s⁶,   s = CL/CLmax of the flap setting

A cambered wing has its least drag at a small positive lift (CL0); with CL0 = 0 the common parabola CD0 + CL²/(πeA) is
left. Near the stall the drag rises faster than any parabola: q is the extra drag coefficient at the stall, and s⁶ keeps
it to the last few knots (half of it at 1.06 Vs, a fifth at 1.14 Vs). Both terms were added on evidence, see
`docs/performance.md`. `w` is the drag coefficient of the windmilling propeller, used in glides alone.

The parameters are columns of one vector θ; a law puts its propeller before them (`offset`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airplane.performance.state import Array, State


def _rise(stall_share: Array) -> Array:
    """s⁶, by products (a power of floats is ten times slower)."""
    square = stall_share * stall_share
    return square * square * square


@dataclass(frozen=True, slots=True)
class Polar:
    """Where the drag's parameters stand in θ, for a wing and a number of flap notches.

    θ[offset:] = CD0, k, CL0, q, w, ΔCD of notch 1…, ΔCL of notch 1…
    """

    wing_area_m2: float
    notches: int  # without flaps up
    offset: int

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the parameters, in order."""
        flaps = range(1, self.notches + 1)
        return ("cd0", "k", "cl0", "q", "w", *(f"flap_cd_{i}" for i in flaps), *(f"flap_cl_{i}" for i in flaps))

    def lift_coefficient(self, at: State) -> Array:
        """CL = 2·L/(ρ·V²·S). [1]"""
        return 2.0 * at.lift_n / (at.density_kgpm3 * at.tas_mps**2 * self.wing_area_m2)

    def coefficient(self, theta: Array, at: State, *, windmilling: bool = False) -> Array:
        """Drag coefficient. [1]"""
        o = self.offset
        x, flap_cd, _ = self._parts(theta, at)
        cd = theta[o] + flap_cd + theta[o + 1] * x * x + theta[o + 3] * _rise(at.stall_share)
        return cd + theta[o + 4] if windmilling else cd

    def gradient(self, theta: Array, at: State, *, windmilling: bool = False) -> Array:
        """∂CD/∂θ, shape (n, len θ)."""
        o, m = self.offset, self.notches
        x, _, _ = self._parts(theta, at)
        out = np.zeros((len(at), theta.size))
        out[:, o] = 1.0
        out[:, o + 1] = x * x
        out[:, o + 2] = -2.0 * theta[o + 1] * x
        out[:, o + 3] = _rise(at.stall_share)
        if windmilling:
            out[:, o + 4] = 1.0
        for i in range(m):
            here = at.notch == i + 1
            out[here, o + 5 + i] = 1.0
            out[here, o + 5 + m + i] = out[here, o + 2]
        return out

    def drag_n(self, theta: Array, at: State, *, windmilling: bool = False) -> Array:
        """Drag. [N]"""
        return self.pressure_area(at) * self.coefficient(theta, at, windmilling=windmilling)

    def pressure_area(self, at: State) -> Array:
        """½·ρ·V²·S. [N]"""
        return 0.5 * at.density_kgpm3 * at.tas_mps**2 * self.wing_area_m2

    def _parts(self, theta: Array, at: State) -> tuple[Array, Array | float, Array | float]:
        o, m = self.offset, self.notches
        x = self.lift_coefficient(at) - theta[o + 2]
        if m == 0 or not np.count_nonzero(at.notch):  # a quarter of the time of any()
            return x, 0.0, 0.0
        cd = np.concatenate([[0.0], theta[o + 5 : o + 5 + m]])[at.notch]
        cl = np.concatenate([[0.0], theta[o + 5 + m : o + 5 + 2 * m]])[at.notch]
        return x - cl, cd, cl
