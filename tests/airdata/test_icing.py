"""The carburetor-icing chart's regions against the handbook's limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given

from airwork.airdata.icing import REGIONS, carburetor_icing_region
from airwork.errors import InputError
from airwork.units import ZERO_C_K, from_unit
from strategies import temperatures_k


def _dewpoint_k(temperature_k: float, humidity: float) -> float:
    """Dew point of a relative humidity, inverting the Magnus form by hand."""
    t = temperature_k - ZERO_C_K
    x = 7.5 * t / (237.7 + t) + np.log10(humidity)
    return 237.7 * x / (7.5 - x) + ZERO_C_K


# PHAK ch. 7 [V]: most likely below 70 °F (21 °C) with relative humidity above 80 %; possible up to 100 °F (38 °C) and
# down to 50 %. The chart's regions are no milder, each limit from inside.
@pytest.mark.parametrize(
    ("fahrenheit", "percent", "region"),
    [
        (69.5, 81, "serious at glide power, moderate at cruise"),
        (67.5, 81, "serious at any power"),
        (32.0, 95, "serious at any power"),
        (69.5, 79, "serious at glide power, moderate at cruise"),
        (99.5, 51, "light"),
    ],
)
def test_the_regions_are_no_milder_than_the_handbooks_limits_published(
    fahrenheit: float, percent: float, region: str
) -> None:
    t = from_unit(fahrenheit, "°F")
    assert carburetor_icing_region(t, _dewpoint_k(t, percent / 100)) == region


def test_a_dew_point_above_the_temperature_is_refused() -> None:
    with pytest.raises(InputError, match="dew point"):
        carburetor_icing_region(283.15, 284.15)


@given(temperatures_k)
def test_more_moisture_never_lowers_the_risk(t: float) -> None:
    order = [name for name, *_ in REGIONS] + ["none"]
    found = [order.index(carburetor_icing_region(t, dew)) for dew in np.linspace(t - 30.0, t, 100)]
    assert np.all(np.diff(found) <= 0)


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
