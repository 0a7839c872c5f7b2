"""Cloud base against the handbooks."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.airdata import icing as cloud
from airwork.units import FT_M, ZERO_C_K, from_unit


def test_convective_base_in_fahrenheit_published() -> None:
    """K10: PHAK ch. 12 [V]: 85/71 °F, 3,180 ft (5 ft)."""
    base = cloud.cloud_base_agl_m(from_unit(85.0, "°F"), from_unit(71.0, "°F"), cloud.CLOSING_PHAK_K_PER_M)
    assert float(base) / FT_M == pytest.approx(3180, abs=5)


def test_convective_base_in_celsius_published() -> None:
    """K11: AWH ch. 12 [V]: 18/13 °C, 2,000 ft."""
    assert float(cloud.cloud_base_agl_m(18 + ZERO_C_K, 13 + ZERO_C_K)) / FT_M == pytest.approx(2000, abs=1e-6)


def test_the_metric_rule_lies_two_percent_higher_published() -> None:
    """K12 [D]: 30/20 °C: 4,000 ft at 400 ft/°C; 1,250 m = 4,101 ft at 125 m/°C [M]. The default is the lower."""
    t, d = 30 + ZERO_C_K, 20 + ZERO_C_K
    assert float(cloud.cloud_base_agl_m(t, d)) / FT_M == pytest.approx(4000, abs=1)
    assert float(cloud.cloud_base_agl_m(t, d, 1.0 / 125.0)) / FT_M == pytest.approx(4101, abs=1)


def test_no_spread_is_fog_and_a_negative_one_is_nan() -> None:
    assert float(cloud.cloud_base_agl_m(280.0, 280.0)) == 0.0
    assert np.isnan(cloud.cloud_base_agl_m(280.0, 281.0))


# O12: AWH 3.4.2 [V]; the rest are the printed limits from both sides.
