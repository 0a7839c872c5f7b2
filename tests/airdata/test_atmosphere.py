"""Standard atmosphere and density altitude against the printed tables and an independent package."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from numpy.testing import assert_allclose

from airwork.airdata import atmosphere as air
from airwork.units import FT_M, HPA_PA, INHG_PA, KT_MPS, ZERO_C_K
from strategies import geopotential_m, pressure_altitudes_m, temperatures_k

# Source: ICAO Doc 7488 rows as in ambiance's tests/table_data.py (worked-examples A1–A7) [V].
# id, geometric height Z [m] or geopotential H [m], T [K], p [Pa], rho [kg/m3], a [m/s]. Tolerance: the last digit.
ICAO_ROWS = [
    ("A1", None, 0.0, 288.150, 101325, 1.22500, 340.294),
    ("A2", 1000.0, None, 281.651, 89876.3, 1.11166, 336.435),
    ("A3", 2000.0, None, 275.154, 79501.4, 1.00655, 332.532),
    ("A4", 11000.0, None, 216.774, 22699.9, 0.364801, 295.154),
    ("A5", None, 11000.0, 216.650, 22632.0, 0.363918, 295.069),
    ("A6", 15000.0, None, 216.650, 12111.8, 0.194755, 295.069),
    ("A7", None, 20000.0, 216.650, 5474.87, 0.0880345, 295.069),
]
LAST_DIGIT = {
    "A1": (1e-3, 1.0, 1e-5),
    "A2": (1e-3, 0.1, 1e-5),
    "A3": (1e-3, 0.1, 1e-5),
    "A4": (1e-3, 0.1, 1e-6),
    "A5": (1e-3, 0.1, 1e-6),
    "A6": (1e-3, 0.1, 1e-6),
    "A7": (1e-3, 0.01, 2e-7),  # two digits: the table's density is cut off, 5474.87/(R·216.65) is 0.08803457
}


@pytest.mark.parametrize("row", ICAO_ROWS, ids=lambda r: r[0])
def test_standard_air_matches_the_icao_table_published(row) -> None:
    """T, p, ρ and a agree with the table to its last digit."""
    name, geometric, geopotential, t, p, rho, a = row
    h = geopotential_m(geometric) if geometric is not None else geopotential
    got = air.standard_air(h)
    dt, dp, drho = LAST_DIGIT[name]
    assert abs(float(got.temperature_k) - t) <= dt
    assert abs(float(got.pressure_pa) - p) <= dp
    assert abs(float(got.density_kgpm3) - rho) <= drho
    assert abs(float(got.sound_mps) - a) <= 1e-3


# Source: worked-examples A8–A25, foot table [D, checked there with ambiance]. ft, °C, hPa, inHg, δ, σ, a kt.
FOOT_ROWS = [
    ("A8", 0, 15.00, 1013.250, 29.9213, 1.00000, 1.00000, 661.48),
    ("A9", 1000, 13.02, 977.166, 28.8557, 0.96439, 0.97106, 659.20),
    ("A10", 2000, 11.04, 942.129, 27.8211, 0.92981, 0.94277, 656.91),
    ("A11", 3000, 9.06, 908.117, 26.8167, 0.89624, 0.91512, 654.62),
    ("A12", 4000, 7.08, 875.105, 25.8418, 0.86366, 0.88809, 652.32),
    ("A13", 5000, 5.09, 843.073, 24.8959, 0.83205, 0.86167, 650.01),
    ("A14", 6000, 3.11, 811.996, 23.9782, 0.80138, 0.83586, 647.69),
    ("A15", 7000, 1.13, 781.854, 23.0881, 0.77163, 0.81065, 645.36),
    ("A16", 8000, -0.85, 752.624, 22.2250, 0.74278, 0.78602, 643.03),
    ("A17", 9000, -2.83, 724.285, 21.3881, 0.71481, 0.76196, 640.69),
    ("A18", 10000, -4.81, 696.816, 20.5770, 0.68770, 0.73848, 638.33),
    ("A19", 12000, -8.77, 644.408, 19.0294, 0.63598, 0.69317, 633.60),
    ("A20", 15000, -14.72, 571.819, 16.8858, 0.56434, 0.62924, 626.44),
    ("A21", 18000, -20.66, 505.998, 14.9421, 0.49938, 0.56991, 619.19),
    ("A22", 20000, -24.62, 465.632, 13.7501, 0.45954, 0.53281, 614.32),
    ("A23", 30000, -44.44, 300.896, 8.8854, 0.29696, 0.37413, 589.32),
    ("A24", 36089.24, -56.50, 226.320, 6.6832, 0.22336, 0.29708, 573.57),
    ("A25", 40000, -56.50, 187.539, 5.5380, 0.18509, 0.24617, 573.57),
]


@pytest.mark.parametrize("row", FOOT_ROWS, ids=lambda r: r[0])
def test_standard_air_matches_the_foot_table_published(row) -> None:
    """°C, hPa, inHg, δ, σ and the speed of sound agree to half the last printed digit (plus float noise)."""
    _, feet, celsius, hpa, inhg, delta, sigma, sound_kt = row
    got = air.standard_air(feet * FT_M)
    assert abs(float(got.temperature_k) - ZERO_C_K - celsius) <= 0.00501
    assert abs(float(got.pressure_pa) / HPA_PA - hpa) <= 0.000501
    assert abs(float(got.pressure_pa) / INHG_PA - inhg) <= 0.0000501
    assert abs(float(got.pressure_pa) / air.P0_PA - delta) <= 0.00000501
    assert abs(float(got.density_kgpm3) / air.RHO0_KGPM3 - sigma) <= 0.00000501
    assert abs(float(got.sound_mps) / KT_MPS - sound_kt) <= 0.00501


def test_standard_air_agrees_with_an_independent_package() -> None:
    """ambiance 1.3 (which takes geometric height) from −4,900 m to 19,900 m, at 500 heights."""
    from ambiance import Atmosphere  # here: each worker would load it for half a second

    geometric = np.linspace(-4900.0, 19_900.0, 500)
    other, ours = Atmosphere(geometric), air.standard_air(geopotential_m(geometric))
    assert_allclose(ours.temperature_k, other.temperature, rtol=1e-6)
    assert_allclose(ours.pressure_pa, other.pressure, rtol=1e-5)
    assert_allclose(ours.density_kgpm3, other.density, rtol=1e-5)
    assert_allclose(ours.sound_mps, other.speed_of_sound, rtol=1e-6)


@given(pressure_altitudes_m)
def test_pressure_altitude_inverts_the_standard_pressure(h: float) -> None:
    assert float(air.pressure_altitude_m(air.standard_pressure_pa(h))) == pytest.approx(h, abs=1e-6)


@pytest.mark.parametrize("h", [10_999.0, 11_000.0, 11_001.0, 15_000.0, 19_999.0])
def test_both_inverses_hold_across_the_tropopause(h: float) -> None:
    p, t = air.standard_pressure_pa(h), air.standard_temperature_k(h)
    assert float(air.pressure_altitude_m(p)) == pytest.approx(h, abs=1e-6)
    assert float(air.density_altitude_m(p, t)) == pytest.approx(h, abs=1e-6)


def test_a_height_outside_the_model_is_nan_and_spoils_no_neighbor() -> None:
    h = np.array([-5001.0, 0.0, 11_500.0, 20_001.0, np.nan])
    before = h.copy()
    for values in (*air.standard_air(h), air.standard_pressure_pa(h), air.standard_temperature_k(h)):
        assert np.isnan(values).tolist() == [True, False, False, True, True]
    assert_allclose(h, before)
    assert np.isnan(air.pressure_altitude_m(np.array([0.0, -5.0, 3000.0]))).all()


def test_pressure_and_density_fall_with_height() -> None:
    got = air.standard_air(np.linspace(-5000.0, 20_000.0, 4001))
    assert np.all(np.diff(got.pressure_pa) < 0)
    assert np.all(np.diff(got.density_kgpm3) < 0)


# Source: PHAK ch. 8, 11; AWH 8.4.1.5 [V]; B8–B11 [D]. id, pressure altitude ft, °C, density altitude ft, tolerance.
DENSITY_ALTITUDES = [
    ("B2", 5718.1, (70 - 32) / 1.8, 7700, 50),
    ("B3", 5048, 30, 7855, 10),
    ("B4", 5048, -25, 1232, 5),
    ("B5", 5048, 5, 5048, 5),
    ("B7", 10_000, 20, 12_700, 100),
    ("B8", 0, 30, 1724, 5),
    ("B9", 2000, 22, 3270, 5),
    ("B10", 3000, 30, 5376, 5),
    ("B11", 8000, 20, 10_362, 5),
]


@pytest.mark.parametrize("row", DENSITY_ALTITUDES, ids=lambda r: r[0])
def test_density_altitude_matches_the_handbook_published(row) -> None:
    _, pa_ft, celsius, expected, tolerance = row
    got = air.density_altitude_m(air.standard_pressure_pa(pa_ft * FT_M), celsius + ZERO_C_K) / FT_M
    assert float(got) == pytest.approx(expected, abs=tolerance)


def test_twenty_degrees_above_standard_at_5000_ft_is_above_7000_ft_published() -> None:
    """B6: PHAK ch. 4 and 11 [V]."""
    h = 5000 * FT_M
    got = float(air.density_altitude_m(air.standard_pressure_pa(h), air.standard_temperature_k(h) + 20.0)) / FT_M
    assert 7000 < got < 7500


# Source: worked-examples section C: weather-service formula [V], results [D]; tolerance 3 ft.
# id, °C, dew point °C, station inHg, dry DA, weather-service DA, exact moist DA, e hPa, Tv K.
HUMID = [
    ("C1", 30, 20, 29.92126, 1724, 2036, 2019, 23.34, 305.81),
    ("C2", 35, 25, 29.50, 2751, 3171, 3155, 31.61, 311.88),
    ("C3", 20, 10, 24.896, 6712, 6906, 6891, 12.27, 294.77),
    ("C4", 30, 15, 24.896, 7801, 8062, 8048, 17.03, 305.48),
    ("C5", 15, 15, 29.92126, 0, 236, 218, 17.03, 289.99),
    ("C6", 28, 22, 29.15, 2381, 2738, 2722, 26.39, 304.22),
]


@pytest.mark.parametrize("row", HUMID, ids=lambda r: r[0])
def test_humid_density_altitude_matches_the_worked_rows_published(row) -> None:
    _, t, d, inhg, dry, _, moist, e_hpa, tv = row
    p, t_k, d_k = inhg * INHG_PA, t + ZERO_C_K, d + ZERO_C_K
    assert float(air.density_altitude_m(p, t_k)) / FT_M == pytest.approx(dry, abs=3)
    assert float(air.density_altitude_m(p, t_k, d_k)) / FT_M == pytest.approx(moist, abs=3)
    assert float(air.vapor_pressure_pa(d_k)) / HPA_PA == pytest.approx(e_hpa, abs=0.00501)
    virtual = p / (air.R_AIR * float(air.density_kgpm3(p, t_k, d_k)))
    assert virtual == pytest.approx(tv, abs=0.02)  # the row's 0.622 is rounded (0.62199)


@pytest.mark.parametrize("row", HUMID, ids=lambda r: r[0])
def test_the_weather_services_own_formula_lies_within_its_rounding_published(row) -> None:
    """DA = 145366·(1 − (17.326·p/Tr)^0.235) [V]: its rounded constants give about 18 ft more than the exact form."""
    _, t, d, inhg, _, service, _, _, _ = row
    e = 6.11 * 10 ** (7.5 * d / (237.7 + d))
    tv = (t + 273.15) / (1 - e / (inhg * 33.86389) * (1 - 0.622))
    formula_ft = 145366 * (1 - (17.326 * inhg / (1.8 * (tv - 273.15) + 32 + 459.69)) ** 0.235)
    assert formula_ft == pytest.approx(service, abs=3)
    ours = float(air.density_altitude_m(inhg * INHG_PA, t + ZERO_C_K, d + ZERO_C_K)) / FT_M
    assert 10 < formula_ft - ours < 25


def test_vapor_pressure_agrees_with_the_wmo_form() -> None:
    """6.112·exp(17.62·t/(243.12 + t)) hPa [M], −20 to 40 °C: within 0.8 %; above freezing within 0.4 %."""
    t = np.linspace(-20.0, 40.0, 61)
    assert_allclose(air.vapor_pressure_pa(t + ZERO_C_K), 611.2 * np.exp(17.62 * t / (243.12 + t)), rtol=8e-3)
    t = t[t >= 0]
    assert_allclose(air.vapor_pressure_pa(t + ZERO_C_K), 611.2 * np.exp(17.62 * t / (243.12 + t)), rtol=4e-3)


@given(pressure_altitudes_m, temperatures_k)
def test_density_altitude_is_the_height_of_that_density(h: float, t: float) -> None:
    p = air.standard_pressure_pa(h)
    da = air.density_altitude_m(p, t)
    assert float(air.standard_air(da).density_kgpm3) == pytest.approx(float(air.density_kgpm3(p, t)), rel=1e-9)
    assert float(air.density_ratio(h, t)) == pytest.approx(float(air.density_kgpm3(p, t)) / air.RHO0_KGPM3, rel=1e-12)


def test_density_altitude_rises_with_heat_and_moisture() -> None:
    t = np.linspace(243.15, 323.15, 200)
    assert np.all(np.diff(air.density_altitude_m(90_000.0, t)) > 0)
    d = np.linspace(253.15, 303.15, 200)
    assert np.all(np.diff(air.density_altitude_m(90_000.0, 303.15, d)) > 0)


def test_a_dew_point_above_the_temperature_is_nan() -> None:
    assert np.isnan(air.density_altitude_m(101_325.0, 288.15, 289.15))
    assert np.isnan(air.relative_humidity(288.15, 289.15))
    assert float(air.relative_humidity(288.15, 288.15)) == 1.0
