"""Altimeter setting, pressure, true altitude and cold-air correction against the handbooks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.airdata import altimetry as alt
from airwork.airdata.atmosphere import standard_pressure_pa, standard_temperature_k
from airwork.units import FT_M, INHG_PA, ZERO_C_K
from strategies import settings_pa


def _pa_ft(indicated_ft: float, inhg: float) -> float:
    return float(alt.pressure_altitude_from_setting_m(indicated_ft * FT_M, inhg * INHG_PA)) / FT_M


# id, field ft, altimeter inHg, pressure altitude ft, tolerance ft. B1: PHAK ch. 11 problem 1 [V]; others [D].
@pytest.mark.parametrize(
    ("field", "inhg", "expected", "tolerance"),
    [
        pytest.param(5883, 30.10, 5718, 2, id="B1"),
        pytest.param(5000, 29.42, 5466.8, 1, id="B12"),
        pytest.param(1000, 30.42, 541.8, 1, id="B13"),
        pytest.param(1200, 28.80, 2253.1, 1, id="B14"),
        pytest.param(5431, 30.45, 4945.5, 1, id="B15"),
    ],
)
def test_pressure_altitude_matches_the_handbook_published(field, inhg, expected, tolerance) -> None:
    assert _pa_ft(field, inhg) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("actual_inhg", "expected", "tolerance"),
    [pytest.param(29.69, 2350, 20, id="B16"), pytest.param(30.56, 3220, 55, id="B17")],
)
def test_a_stale_setting_misleads_as_the_handbook_says_published(actual_inhg, expected, tolerance) -> None:
    """PHAK ch. 8 [V], which rounds to 1 inHg per 1,000 ft: 29.94 is kept, 2,600 ft indicated.

    The printed 620 ft of B17 are 52 ft more than the exact 568, hence 55; the exact differences are held to 1 ft.
    """
    pressure_altitude = alt.pressure_altitude_from_setting_m(2600 * FT_M, 29.94 * INHG_PA)
    true_ft = float(alt.indicated_altitude_m(pressure_altitude, actual_inhg * INHG_PA)) / FT_M
    assert true_ft == pytest.approx(expected, abs=tolerance)
    exact = {29.69: -232.0, 30.56: 568.0}[actual_inhg]
    assert true_ft - 2600 == pytest.approx(exact, abs=1)


def test_a_high_stations_pressure_reduced_to_sea_level_published() -> None:
    """B19: AWH 8.2.5 [V], by the rule of 1 inHg per 1,000 ft: 25 inHg at 5,000 ft is about 30 inHg at sea level."""
    settings = np.linspace(28.0, 32.0, 401)
    station = standard_pressure_pa(alt.pressure_altitude_from_setting_m(5000 * FT_M, settings * INHG_PA)) / INHG_PA
    assert np.interp(25.0, station, settings) == pytest.approx(30.0, abs=0.3)


def test_a_parked_altimeter_rises_300_ft_when_the_pressure_falls_published() -> None:
    """B18: PHAK ch. 8 [V]: 29.98 to 29.68."""
    rise = _pa_ft(0, 29.68) - _pa_ft(0, 29.98)
    assert rise == pytest.approx(300, abs=25)


@pytest.mark.parametrize(
    ("height_ft", "celsius", "expected", "tolerance"),
    [
        pytest.param(2994, -12, 300, 25, id="B20 AIM 7-3 example [V]"),
        pytest.param(1000, -20, 140, 10, id="B21 ICAO table [M], -20"),
        pytest.param(1000, -50, 300, 10, id="B21 ICAO table [M], -50"),
    ],
)
def test_cold_air_correction_matches_the_printed_tables_published(height_ft, celsius, expected, tolerance) -> None:
    got = float(alt.cold_temperature_correction_m(height_ft * FT_M, celsius + ZERO_C_K)) / FT_M
    assert got == pytest.approx(expected, abs=tolerance)


def test_warm_air_needs_no_cold_correction() -> None:
    assert float(alt.cold_temperature_correction_m(500.0, 303.15)) == 0.0
    assert np.isnan(alt.cold_temperature_correction_m(-10.0, 253.15))


@given(st.floats(100.0, 2000.0), st.floats(223.15, 283.15))
def test_flying_the_cold_correction_gives_the_height_wanted(height: float, temperature: float) -> None:
    """Indicated height = wanted + correction; the true height by the column must come out within 2 % of the correction.

    Independent check of the formula [M] against the hydrostatic column of `true_altitude_m`.
    """
    correction = float(alt.cold_temperature_correction_m(height, temperature))
    true = float(alt.true_altitude_m(height + correction, 0.0, temperature - 288.15, 101_325.0))
    assert true == pytest.approx(height, abs=0.02 * correction + 0.1)


@given(st.floats(-300.0, 5000.0), settings_pa)
def test_indicated_and_pressure_altitude_go_there_and_back(altitude: float, setting: float) -> None:
    pa = alt.pressure_altitude_from_setting_m(altitude, setting)
    assert float(alt.indicated_altitude_m(pa, setting)) == pytest.approx(altitude, abs=1e-6)


def test_at_sea_level_the_setting_is_the_pressure() -> None:
    height = alt.pressure_altitude_from_setting_m(0.0, 100_800.0)
    assert float(standard_pressure_pa(height)) == pytest.approx(100_800.0, rel=1e-12)


@pytest.mark.parametrize("deviation", [-30.0, 0.0, 20.0])
@pytest.mark.parametrize("indicated", [3000.0, 13_000.0])
def test_true_altitude_is_the_integral_of_the_column(deviation: float, indicated: float) -> None:
    """Numerical integration of (T_std + ΔT)/T_std over the standard column, by scipy; also across the tropopause."""
    from scipy.integrate import quad

    setting, station = 102_000.0, 400.0
    low = float(alt.pressure_altitude_from_setting_m(station, setting))
    high = float(alt.pressure_altitude_from_setting_m(indicated, setting))
    column = quad(lambda h: (standard_temperature_k(h) + deviation) / standard_temperature_k(h), low, high, limit=200)[
        0
    ]
    got = float(alt.true_altitude_m(indicated, station, deviation, setting))
    assert got == pytest.approx(station + column, abs=1e-3)


def test_four_percent_per_ten_degrees_is_the_pilots_rule() -> None:
    """True altitude: about 4 % of the height per 10 °C off standard [M]; at 6,000 ft, ISA − 20: 8 % low, within 1 %."""
    indicated = 6000 * FT_M
    true = float(alt.true_altitude_m(indicated, 0.0, -20.0, 101_325.0))
    assert (indicated - true) / indicated == pytest.approx(0.08, abs=0.01)


def test_pressure_altitude_of_the_setting_is_where_it_stands() -> None:
    assert float(standard_pressure_pa(alt.pressure_altitude_from_setting_m(0.0, 95_000.0))) == pytest.approx(95_000.0)
