"""Center-of-gravity arithmetic: sums, mass to move, percent of the mean aerodynamic chord. SI.

[WBH] FAA-H-8083-1B ch. 2, 3, 7, 10. Arms may have any sign; any consistent units do.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def center_of_gravity_m(mass_kg: Sequence[float], arm_m: Sequence[float]) -> float:
    """Center of gravity of some masses: Σ m·a / Σ m. [m]

    >>> center_of_gravity_m([100, 100, 200], [50, 90, 150])
    110.0
    """
    masses = np.asarray(mass_kg, dtype=float)
    return float(masses @ np.asarray(arm_m, dtype=float) / masses.sum())


def mass_to_move_kg(shift_m_: float, from_m: float, to_m: float, total_kg: float) -> float:
    """Mass to move between two arms so that the center of gravity shifts so far: M·Δ/(to − from). [kg]

    Negative: it would have to go the other way. NaN for equal arms.
    """
    return total_kg * shift_m_ / (to_m - from_m) if to_m != from_m else float("nan")
