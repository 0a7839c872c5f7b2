"""Airspeeds against the worked rows and an independent inversion by bisection."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from numpy.testing import assert_allclose

from airwork.airdata import airspeed as spd
from airwork.airdata.atmosphere import density_ratio, standard_temperature_k
from airwork.units import FT_M, KT_MPS, ZERO_C_K
from strategies import cas_mps, geopotential_m, pressure_altitudes_m, temperatures_k

# Source: worked-examples section D [formulas M, numbers D, checked there by a separate bisection].
# id, pressure altitude ft, °C (None: standard), KCAS, Mach, KTAS, KEAS, CAS/√σ, tolerance of KTAS
ROWS = [
    ("D1", 0, 15, 100, 0.1512, 100.00, 100.00, 100.00, 0.05),
    ("D2", 5000, None, 100, 0.1656, 107.67, 99.94, 107.73, 0.05),
    ("D3", 3000, 25, 65, 0.1038, 69.83, 64.99, 69.84, 0.05),
    ("D4", 6000, 20, 110, 0.1856, 123.83, 109.91, 123.94, 0.05),
    ("D5", 8000, None, 120, 0.2102, 135.16, 119.83, 135.35, 0.05),
    ("D6", 7500, 10, 120, 0.2082, 136.53, 119.84, 136.71, 0.05),
    ("D7", 9500, -10, 140, 0.2522, 159.40, 139.67, 159.78, 0.05),
    ("D8", 10_000, 10, 100, 0.1821, 119.38, 99.87, 119.54, 0.05),
    ("D9", 10_000, None, 150, 0.2727, 174.05, 149.57, 174.55, 0.05),
    ("D10", 20_000, None, 200, 0.4404, 270.53, 197.47, 274.00, 0.1),
    ("D11", 35_000, None, 250, 0.7412, 427.24, 237.83, 449.11, 0.2),
]


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r[0])
def test_airspeeds_match_the_worked_rows_published(row) -> None:
    _, feet, celsius, kcas, mach, ktas, keas, shortcut, tolerance = row
    h, cas = feet * FT_M, kcas * KT_MPS
    t = float(standard_temperature_k(h)) if celsius is None else celsius + ZERO_C_K
    tas = float(spd.tas_from_cas_mps(cas, h, t))
    assert tas / KT_MPS == pytest.approx(ktas, abs=tolerance)
    assert float(spd.mach_from_cas(cas, h)) == pytest.approx(mach, abs=0.0000501)
    sigma = float(density_ratio(h, t))
    assert tas * math.sqrt(sigma) / KT_MPS == pytest.approx(keas, abs=0.00501)  # 14 CFR 1.1: EAS = TAS·√σ
    assert kcas / math.sqrt(sigma) == pytest.approx(
        shortcut, abs=0.00501 if feet < 30_000 else 0.01
    )  # D11 is printed 0.006 kt over the exact quotient


def _tas_by_bisection_kt(cas_kt: float, geometric_m: float) -> float:
    """True airspeed in standard air with the same impact pressure, by bisection; air from ambiance, not from us."""
    from ambiance import Atmosphere  # here: each worker would load it for half a second
    from scipy.optimize import bisect

    gamma = 1.4

    def impact_pa(p: float, a: float, v: float) -> float:
        return p * ((1 + (gamma - 1) / 2 * (v / a) ** 2) ** (gamma / (gamma - 1)) - 1)

    here, sea = Atmosphere(geometric_m), Atmosphere(0.0)
    wanted = impact_pa(float(sea.pressure[0]), float(sea.speed_of_sound[0]), cas_kt * KT_MPS)
    p, a = float(here.pressure[0]), float(here.speed_of_sound[0])
    return bisect(lambda v: impact_pa(p, a, v) - wanted, 0.0, a, xtol=1e-9) / KT_MPS


@pytest.mark.parametrize("geometric_m", [0.0, 1000.0, 3000.0, 6000.0, 12_000.0])
@pytest.mark.parametrize("cas_kt", [30.0, 65.0, 120.0, 180.0])
def test_true_airspeed_agrees_with_an_independent_inversion(cas_kt: float, geometric_m: float) -> None:
    h = geopotential_m(geometric_m)
    ours = float(spd.tas_from_cas_mps(cas_kt * KT_MPS, h, standard_temperature_k(h))) / KT_MPS
    assert ours == pytest.approx(_tas_by_bisection_kt(cas_kt, geometric_m), abs=1e-3)


@given(cas_mps, pressure_altitudes_m, temperatures_k)
@settings(max_examples=100)
def test_calibrated_and_true_airspeed_go_there_and_back(cas: float, h: float, t: float) -> None:
    tas = spd.tas_from_cas_mps(cas, h, t)
    assert float(spd.cas_from_tas_mps(tas, h, t)) == pytest.approx(cas, rel=1e-8)


@given(pressure_altitudes_m, temperatures_k)
def test_true_airspeed_rises_with_calibrated_airspeed(h: float, t: float) -> None:
    assert np.all(np.diff(spd.tas_from_cas_mps(np.linspace(5.0, 130.0, 200), h, t)) > 0)


def test_speeds_outside_the_subsonic_formula_are_nan_and_spoil_no_neighbor() -> None:
    got = spd.tas_from_cas_mps(np.array([-1.0, 0.0, 50.0, 400.0, np.nan]), 1000.0, 288.15)
    assert np.isnan(got).tolist() == [True, False, False, True, True]
    assert got[1] == 0.0
    back = spd.cas_from_tas_mps(np.array([-1.0, 0.0, 50.0, 400.0]), 1000.0, 288.15)
    assert np.isnan(back).tolist() == [True, False, False, True]


@pytest.mark.parametrize("kt", [0.0, 40.0, 100.0, 250.0])
def test_a_pitots_pressure_is_half_rho_v_squared_and_its_compressibility(kt: float) -> None:
    """Anderson, Introduction to Flight, ch. 4 (from memory): qc = ½ρV²·(1 + M²/4 + M⁴/40 + …), at the sea-level values.
    A pressure below nought is a pitot at a stand."""
    v, mach = kt * KT_MPS, kt * KT_MPS / 340.294
    impact = 0.5 * 1.225 * v * v * (1.0 + mach**2 / 4.0 + mach**4 / 40.0)
    assert float(spd.cas_from_impact_mps(impact)) == pytest.approx(v, abs=0.01)
    assert float(spd.cas_from_impact_mps(-3.0)) == 0.0


def test_at_sea_level_in_standard_air_all_airspeeds_are_one() -> None:
    cas = np.linspace(10.0, 130.0, 50)
    assert_allclose(spd.tas_from_cas_mps(cas, 0.0, 288.15), cas, rtol=1e-10)


def test_two_percent_per_thousand_feet_is_the_pilots_rule() -> None:
    """Rule [P]: TAS is 2 % over CAS per 1,000 ft; at 5,000 ft within 3 %."""
    h = 5000 * FT_M
    ratio = float(spd.tas_from_cas_mps(50.0, h, standard_temperature_k(h))) / 50.0
    assert ratio == pytest.approx(1.10, abs=0.03)
