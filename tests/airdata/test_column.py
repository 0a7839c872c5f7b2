"""The day's column of air."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from numpy.testing import assert_allclose

from airwork.airdata.atmosphere import density_kgpm3
from airwork.airdata.column import AirColumn, WindLayer
from airwork.units import FT_M, INHG_PA, ZERO_C_K
from strategies import settings_pa, temperatures_k


def test_the_handbooks_airport_problem_in_a_column_published() -> None:
    """B1, B2: PHAK ch. 11 problem 1 [V]: 5,883 ft, 30.10, 70 °F: 5,718 ft pressure, 7,700 ft density altitude."""
    air = AirColumn(30.10 * INHG_PA, (70 - 32) / 1.8 + ZERO_C_K, 5883 * FT_M)
    assert float(air.pressure_altitude_m(5883 * FT_M)) / FT_M == pytest.approx(5718, abs=2)
    assert float(air.density_altitude_m(5883 * FT_M)) / FT_M == pytest.approx(7700, abs=50)


@given(settings_pa, temperatures_k)
def test_the_column_keeps_the_temperature_it_was_given(setting: float, temperature: float) -> None:
    air = AirColumn(setting, temperature, 800.0)
    assert float(air.temperature_at_k(800.0)) == pytest.approx(temperature, abs=1e-9)
    h = np.array([0.0, 1000.0, 3000.0])
    assert_allclose(np.diff(air.temperature_at_k(h)), -0.0065 * np.diff(h), atol=1e-9)


@given(settings_pa, temperatures_k)
def test_density_is_that_of_pressure_and_temperature(setting: float, temperature: float) -> None:
    air = AirColumn(setting, temperature, 300.0)
    rho = density_kgpm3(air.pressure_at_pa(1500.0), air.temperature_at_k(1500.0))
    assert float(air.density_ratio(1500.0)) == pytest.approx(float(rho) / 1.225, rel=1e-6)


def test_wind_is_interpolated_as_a_vector_and_held_outside_its_layers() -> None:
    """Between north at 10 and west at 10 the middle blows from north-west at 7.07, not at 10."""
    air = AirColumn(winds=(WindLayer(2000.0, math.radians(270), 10.0), WindLayer(1000.0, 0.0, 10.0)))
    direction, speed = air.wind_at([500.0, 1500.0, 3000.0])
    assert_allclose(np.degrees(direction), [0.0, 315.0, 270.0], atol=1e-9)
    assert_allclose(speed, [10.0, 10 / math.sqrt(2), 10.0])
    assert AirColumn().wind_at(500.0) == (0.0, 0.0)
