"""V-speeds, climb and glide from nine numbers of a data plate: the bootstrap approach of J. T. Lowry. SI.

For an airplane of which only a data plate is known, and as a check from outside on this package's physics. It can't
give RPM at part throttle: RPM cancels out of its thrust.

E = 2π·m·M0·Φ(σ)/d   F = ρ·d²·b   G = ½·ρ·S·CD0   H = 2·(W/cos φ)²/(ρ·π·e·A·S)
K = F − G   Q = E/K   R = H/K   U = H/G
thrust T = E + F·V²,   drag D = G·V² + H/V²,   V true

References: J. T. Lowry, "The Bootstrap Approach to Predicting Airplane Flight Performance", J. Aviation/Aerospace
Education & Research 6(1), 1995, doi 10.15394/jaaer.1995.1167, for the nine parameters; formulas from memory,
re-derived.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airdata.atmosphere import RHO0_KGPM3
from airwork.errors import NotPossible


@dataclass(frozen=True, slots=True)
class DataPlate:
    """Nine numbers of a fixed-pitch airplane. Polar: CT/J² = m·CP/J² + b; CD = CD0 + CL²/(π·e·A)."""

    wing_area_m2: float
    aspect_ratio: float
    torque_nm: float  # M0, full throttle at sea level
    drop_off: float  # C
    diameter_m: float
    cd0: float
    efficiency: float  # e
    polar_slope: float  # m
    polar_intercept: float  # b


@dataclass(frozen=True, slots=True)
class Composites:
    """E F G H K Q R U at a weight, density and bank. Newtons and metres per second."""

    e_n: float
    f: float
    g: float
    h: float
    weight_n: float

    @property
    def k(self) -> float:
        """F − G."""
        return self.f - self.g

    @property
    def q(self) -> float:
        """E/K."""
        return self.e_n / self.k

    @property
    def r(self) -> float:
        """H/K."""
        return self.h / self.k

    @property
    def u(self) -> float:
        """H/G."""
        return self.h / self.g

    @property
    def best_angle_mps(self) -> float:
        """Vx = (−R)^¼, true. [m/s]"""
        return float((-self.r) ** 0.25)

    @property
    def best_rate_mps(self) -> float:
        """Vy = √((−Q + √(Q² − 12·R))/6), true. [m/s]"""
        return float(np.sqrt((-self.q + np.sqrt(self.q**2 - 12.0 * self.r)) / 6.0))

    def level_speeds_mps(self) -> tuple[float, float]:
        """(slowest, fastest) level flight at full throttle: √((−Q ∓ √(Q² + 4R))/2), true. [m/s]

        Raises
        ------
        NotPossible : above the absolute ceiling, Q² + 4R < 0.
        """
        inside = self.q**2 + 4.0 * self.r
        if inside < 0:
            raise NotPossible("Above the absolute ceiling: no level flight at any speed.")
        root = float(np.sqrt(inside))
        return float(np.sqrt((-self.q - root) / 2.0)), float(np.sqrt((-self.q + root) / 2.0))

    @property
    def best_glide_mps(self) -> float:
        """Vbg = U^¼, true. [m/s]"""
        return float(self.u**0.25)

    @property
    def min_descent_mps(self) -> float:
        """Vmd = (U/3)^¼, true. [m/s]"""
        return float((self.u / 3.0) ** 0.25)

    @property
    def glide_ratio(self) -> float:
        """W/D at best glide = W/(2·√(G·H)). [1]"""
        return float(self.weight_n / (2.0 * np.sqrt(self.g * self.h)))

    def climb_rate_mps(self, tas_mps: float) -> float:
        """(E·V + K·V³ − H/V)/W. [m/s]"""
        return (self.e_n * tas_mps + self.k * tas_mps**3 - self.h / tas_mps) / self.weight_n

    def sink_mps(self, tas_mps: float) -> float:
        """Power-off sink D·V/W. [m/s]"""
        return (self.g * tas_mps**3 + self.h / tas_mps) / self.weight_n


def composites(plate: DataPlate, weight_n: float, sigma: float, bank_rad: float = 0.0) -> Composites:
    """The composites at a weight, density ratio and bank (which enters through H alone)."""
    density = RHO0_KGPM3 * sigma
    phi = (sigma - plate.drop_off) / (1.0 - plate.drop_off)
    lift = weight_n / np.cos(bank_rad)
    return Composites(
        e_n=float(2.0 * np.pi * plate.polar_slope * plate.torque_nm * phi / plate.diameter_m),
        f=density * plate.diameter_m**2 * plate.polar_intercept,
        g=0.5 * density * plate.wing_area_m2 * plate.cd0,
        h=float(2.0 * lift**2 / (density * np.pi * plate.efficiency * plate.aspect_ratio * plate.wing_area_m2)),
        weight_n=weight_n,
    )
