"""Shared Hypothesis strategies: the air and the speeds of a light piston single. SI."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st
from numpy.typing import ArrayLike, NDArray

pressure_altitudes_m = st.floats(-600.0, 6000.0)  # about −2,000 to 20,000 ft
temperatures_k = st.floats(233.15, 323.15)  # −40 to 50 °C
settings_pa = st.floats(94_800.0, 108_400.0)  # 28.0 to 32.0 inHg
cas_mps = st.floats(10.0, 130.0)  # about 20 to 250 kt
winds_mps = st.floats(0.0, 25.0)
directions_rad = st.floats(0.0, 2.0 * math.pi, exclude_max=True)
angles_rad = st.floats(-50.0, 50.0)
banks_rad = st.floats(math.radians(1.0), math.radians(75.0))
masses_kg = st.floats(500.0, 1500.0)


def geopotential_m(geometric_m: ArrayLike) -> NDArray[np.float64]:
    """Geopotential height of a geometric height, as the tables of the standard atmosphere print both. [m]"""
    z = np.asarray(geometric_m, dtype=float)
    return 6_356_766.0 * z / (6_356_766.0 + z)
