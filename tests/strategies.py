"""Shared Hypothesis strategies: the air and the speeds of a light piston single. SI."""

from __future__ import annotations

import math

from hypothesis import strategies as st

pressure_altitudes_m = st.floats(-600.0, 6000.0)  # about −2,000 to 20,000 ft
temperatures_k = st.floats(233.15, 323.15)  # −40 to 50 °C
settings_pa = st.floats(94_800.0, 108_400.0)  # 28.0 to 32.0 inHg
cas_mps = st.floats(10.0, 130.0)  # about 20 to 250 kt
winds_mps = st.floats(0.0, 25.0)
directions_rad = st.floats(0.0, 2.0 * math.pi, exclude_max=True)
angles_rad = st.floats(-50.0, 50.0)
banks_rad = st.floats(math.radians(1.0), math.radians(75.0))
masses_kg = st.floats(500.0, 1500.0)
