"""Cloud base, freezing level and category against the handbooks."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.airdata import cloud
from airwork.units import FT_M, SM_M, ZERO_C_K, from_unit


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


def test_freezing_level_by_the_pilots_rule() -> None:
    """2 °C per 1,000 ft (PHAK ch. 4 [V]): 16 °C at 1,000 ft freezes near 9,000; exact with 1.98 °C."""
    got = float(cloud.freezing_level_m(16 + ZERO_C_K, 1000 * FT_M)) / FT_M
    assert got == pytest.approx(9000, abs=100)
    assert float(cloud.freezing_level_m(270.0, 300.0)) == 300.0


# O12: AWH 3.4.2 [V]; the rest are the printed limits from both sides.
@pytest.mark.parametrize(
    ("ceiling_ft", "miles", "category"),
    [
        pytest.param(3000, 5, "MVFR", id="O12 MVFR"),
        pytest.param(999, 10, "IFR", id="O12 IFR"),
        pytest.param(499, 4, "LIFR", id="O12 LIFR"),
        pytest.param(3001, 6, "VFR", id="O12 VFR"),
        (None, 10, "VFR"),
        (None, 5, "MVFR"),
        (None, 3, "MVFR"),
        (None, 2.75, "IFR"),
        (None, 1, "IFR"),
        (None, 0.75, "LIFR"),
        (3000, 10, "MVFR"),
        (1000, 10, "MVFR"),
        (500, 10, "IFR"),
        (3001, 5, "MVFR"),
        (200, 10, "LIFR"),
    ],
)
def test_category_is_the_worse_of_ceiling_and_visibility_published(ceiling_ft, miles, category) -> None:
    ceiling = None if ceiling_ft is None else ceiling_ft * FT_M
    assert cloud.flight_category(ceiling, miles * SM_M) == category
