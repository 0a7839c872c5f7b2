"""Carburetor-icing risk at the handbook's limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given

from airwork.airdata.atmosphere import relative_humidity
from airwork.airdata.icing import LEVELS, carburetor_icing, carburetor_icing_level, carburetor_icing_region
from airwork.errors import InputError
from airwork.units import ZERO_C_K, from_unit
from strategies import temperatures_k


def _dewpoint_k(temperature_k: float, humidity: float) -> float:
    """Dew point of a relative humidity, inverting the Magnus form by hand."""
    t = temperature_k - ZERO_C_K
    x = 7.5 * t / (237.7 + t) + np.log10(humidity)
    return 237.7 * x / (7.5 - x) + ZERO_C_K


# PHAK ch. 7 [V]: most likely below 70 °F (21 °C) with relative humidity above 80 %; possible up to 100 °F (38 °C) and
# down to 50 %. Each limit from both sides.
@pytest.mark.parametrize(
    ("fahrenheit", "percent", "level"),
    [
        (69.5, 81, "most likely"),
        (70.5, 81, "possible"),
        (69.5, 79, "possible"),
        (99.5, 51, "possible"),
        (100.5, 51, "outside the handbook's limits"),
        (99.5, 49, "outside the handbook's limits"),
        (32.0, 49, "outside the handbook's limits"),
        (32.0, 95, "most likely"),
    ],
)
def test_the_handbooks_limits_hold_published(fahrenheit: float, percent: float, level: str) -> None:
    t = from_unit(fahrenheit, "°F")
    risk = carburetor_icing(t, _dewpoint_k(t, percent / 100))
    assert risk.level == level
    assert risk.relative_humidity == pytest.approx(percent / 100, abs=1e-6)
    assert "%" in risk.reason
    assert "chapter 7" in risk.source


def test_a_dew_point_above_the_temperature_is_refused() -> None:
    with pytest.raises(InputError, match="dew point"):
        carburetor_icing(283.15, 284.15)
    assert np.isnan(carburetor_icing_level(283.15, 284.15))


@given(temperatures_k)
def test_more_moisture_never_lowers_the_risk(t: float) -> None:
    levels = carburetor_icing_level(t, np.linspace(t - 30.0, t, 100))
    assert np.all(np.diff(levels) >= 0)
    assert set(np.unique(levels)) <= set(range(len(LEVELS)))


def test_saturated_cool_air_is_most_likely_even_far_below_freezing() -> None:
    """The handbook names no lower temperature; none is invented."""
    assert carburetor_icing(258.15, 258.15).level == "most likely"
    assert float(relative_humidity(258.15, 258.15)) == 1.0


# [SAIB-CE-09-35]: 30 °C with a dew point of 7 °C was "serious icing at glide power"; the edges from memory.
@pytest.mark.parametrize(
    ("celsius", "percent", "region"),
    [
        (30.0, 24, "serious at glide power"),
        (30.0, 22, "light"),
        (33.5, 24, "light"),
        (32.5, 24, "serious at glide power"),
        (19.5, 81, "serious at any power"),
        (20.5, 81, "serious at glide power, moderate at cruise"),
        (-6.5, 81, "serious at any power"),
        (-7.5, 81, "serious at glide power, moderate at cruise"),
        (26.5, 61, "serious at glide power, moderate at cruise"),
        (27.5, 61, "serious at glide power"),
        (26.5, 59, "serious at glide power"),
        (-9.5, 61, "serious at glide power, moderate at cruise"),
        (-10.5, 90, "light"),
        (-19.5, 90, "light"),
        (-20.5, 90, "none"),
        (39.5, 21, "light"),
        (40.5, 21, "none"),
        (39.5, 19, "none"),
    ],
)
def test_the_regions_of_the_icing_chart(celsius: float, percent: int, region: str) -> None:
    t = celsius + ZERO_C_K
    assert carburetor_icing_region(t, _dewpoint_k(t, percent / 100)) == region
