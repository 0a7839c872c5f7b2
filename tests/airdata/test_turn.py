"""Turning flight against the handbooks' rows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given

from airwork.airdata import turn
from airwork.units import DEG_RAD, FT_M, KT_MPS, MPH_MPS
from strategies import banks_rad, cas_mps

# Source: worked-examples section E [D]; 60° and 80°: PHAK ch. 5 [V]. id, bank °, load factor (the stall: test_speeds)
LOADS = [
    ("E1", 20, 1.0642),
    ("E2", 30, 1.1547),
    ("E3", 45, 1.4142),
    ("E4", 50, 1.5557),
    ("E5", 60, 2.0),
    ("E6", 70, 2.9238),
    ("E7", 80, 5.7588),
]


@pytest.mark.parametrize("row", LOADS, ids=lambda r: r[0])
def test_load_factor_matches_the_table_published(row) -> None:
    _, bank, load = row
    assert float(turn.load_factor(bank * DEG_RAD)) == pytest.approx(load, abs=0.0000501)


def test_6000_lb_in_a_60_degree_bank_feels_like_12000_published() -> None:
    """E11: WBH ch. 1 [V]."""
    assert 6000 * float(turn.load_factor(60 * DEG_RAD)) == pytest.approx(12_000, rel=1e-12)


def test_78_mph_is_68_kt_published() -> None:
    """E12: PHAK ch. 11 problem 13 [V] (a unit check: 67.8 kt)."""
    assert pytest.approx(68, abs=0.5) == 78 * MPH_MPS / KT_MPS


# id, KTAS, bank °, rate °/s, its tolerance, radius ft, its tolerance. F1–F4: PHAK ch. 5 [V] (its constants 1091 and
# 11.26 are 0.1 and 0.3 % off, so the exact values stand for the radii: 2,208 and 8,833 ft); F6–F9 [D].
TURNS = [
    ("F1 F3", 120, 30, 5.25, 0.01, 2208, 1),
    ("F2 F4", 240, 30, 2.63, 0.01, 8833, 2),
    ("F6", 90, 30, 7.007, 0.01, 1242, 2),
    ("F7", 100, 45, 10.92, 0.01, 885.4, 1),
    ("F8", 95, 50, 13.70, 0.01, 670.5, 1),
    ("F9", 105, 45, 10.40, 0.01, 976.2, 1),
]


@pytest.mark.parametrize("row", TURNS, ids=lambda r: r[0])
def test_rate_and_radius_match_the_rows_published(row) -> None:
    _, ktas, bank, rate, rate_tol, radius, radius_tol = row
    v, b = ktas * KT_MPS, bank * DEG_RAD
    assert float(turn.turn_rate_radps(v, b)) / DEG_RAD == pytest.approx(rate, abs=rate_tol)
    assert float(turn.turn_radius_m(v, b)) / FT_M == pytest.approx(radius, abs=radius_tol)


@pytest.mark.parametrize(("ktas", "printed"), [pytest.param(120, 2215, id="F3"), pytest.param(240, 8861, id="F4")])
def test_radius_lies_within_the_handbooks_rounded_constant_published(ktas: float, printed: float) -> None:
    """PHAK fig. 5-59, 5-61 [V] with 11.26 for 11.294: printed radii are 0.3 % too large, no more."""
    exact = float(turn.turn_radius_m(ktas * KT_MPS, 30 * DEG_RAD)) / FT_M
    assert printed / exact == pytest.approx(11.294 / 11.26, abs=2e-4)


def test_reversing_at_140_kt_and_30_degrees_needs_over_6000_ft_published() -> None:
    """F5: PHAK fig. 5-62 [V]; exact diameter 6,012 ft."""
    diameter = 2 * float(turn.turn_radius_m(140 * KT_MPS, 30 * DEG_RAD)) / FT_M
    assert 6000 < diameter < 6020


@pytest.mark.parametrize(
    ("ktas", "bank"), [(80, 12.39), (90, 13.89), (100, 15.36), (120, 18.24), (140, 21.03)], ids=lambda v: f"F10 {v}"
)
def test_standard_rate_bank_matches_the_rows_published(ktas: float, bank: float) -> None:
    """[D]; the handbook's 15 % rule (IFH [V]) gives 15° at 100 and 18° at 120 kt: within half a degree."""
    got = float(turn.bank_for_rate_rad(ktas * KT_MPS, 3 * DEG_RAD)) / DEG_RAD
    assert got == pytest.approx(bank, abs=0.02)
    if ktas in (100, 120):
        assert got == pytest.approx(0.15 * ktas, abs=0.5)


def test_the_tenth_plus_seven_rule_is_two_degrees_too_steep_at_90_kt_published() -> None:
    """F11: IFH ch. 4 [V] prints 16°; the exact bank is 2.1° less."""
    assert 90 / 10 + 7 - float(turn.bank_for_rate_rad(90 * KT_MPS, 3 * DEG_RAD)) / DEG_RAD == pytest.approx(
        2.1, abs=0.05
    )


def test_standard_rate_at_65_kt_needs_about_2100_ft_published() -> None:
    """F12: AFH ch. 18 [V]; exact 2,095 ft."""
    v = 65 * KT_MPS
    assert float(turn.turn_radius_m(v, turn.bank_for_rate_rad(v, 3 * DEG_RAD))) / FT_M == pytest.approx(2100, abs=10)


def test_rollout_from_60_degrees_begins_30_degrees_early_published() -> None:
    """F14: AFH ch. 10 [V]: a right turn back to 270° is rolled out from 240°."""
    assert 270 - float(turn.rollout_lead_rad(60 * DEG_RAD)) / DEG_RAD == pytest.approx(240, abs=1e-9)


@pytest.mark.parametrize(("bank", "feet"), [(45, 261), (30, 302), (15, 522)], ids=["F15 45", "F15 30", "F15 15"])
def test_height_lost_in_a_gliding_turn_published(bank: float, feet: float) -> None:
    """[D]: 65 KTAS, glide ratio 9, 180°."""
    got = float(turn.gliding_turn_height_loss_m(65 * KT_MPS, 9.0, bank * DEG_RAD, math.pi)) / FT_M
    assert got == pytest.approx(feet, abs=1)


# id, ground speed kt, GS²/11.3 (AFH ch. 7 [V], numbers [D]), exact
PIVOTAL = [
    ("G1", 70, 433.6, 433.8),
    ("G2", 80, 566.4, 566.7),
    ("G3", 90, 716.8, 717.2),
    ("G4", 100, 885.0, 885.4),
    ("G5", 110, 1070.8, 1071.3),
    ("G6", 120, 1274.3, 1275.0),
]


@pytest.mark.parametrize("row", PIVOTAL, ids=lambda r: r[0])
def test_pivotal_altitude_matches_the_handbooks_formula_published(row) -> None:
    _, gs, printed, exact = row
    got = float(turn.pivotal_altitude_m(gs * KT_MPS)) / FT_M
    assert got == pytest.approx(exact, abs=0.0501)
    assert got == pytest.approx(printed, rel=7e-4)  # 11.3 for 11.294


@pytest.mark.parametrize(
    ("gs", "feet"), [(87, 670), (91, 735), (96, 810), (100, 885), (104, 960), (109, 1050), (113, 1130)]
)
def test_pivotal_altitude_follows_the_handbooks_table_published(gs: float, feet: float) -> None:
    """G7: AFH figure 7-12 [M], which rounds to 5 and 10 ft: within 6 ft, plus the 0.06 % of 11.3."""
    assert float(turn.pivotal_altitude_m(gs * KT_MPS)) / FT_M == pytest.approx(feet, abs=7)


@given(cas_mps, banks_rad)
def test_rate_times_radius_is_the_speed(v: float, bank: float) -> None:
    rate, radius = turn.turn_rate_radps(v, bank), turn.turn_radius_m(v, bank)
    assert float(rate * radius) == pytest.approx(v, rel=1e-9)
    assert float(turn.bank_for_rate_rad(v, rate)) == pytest.approx(bank, rel=1e-9)


@given(cas_mps, banks_rad)
def test_left_and_right_turn_alike(v: float, bank: float) -> None:
    assert float(turn.turn_radius_m(v, -bank)) == float(turn.turn_radius_m(v, bank))
    assert float(turn.load_factor(-bank)) == float(turn.load_factor(bank))


def test_a_gliding_turn_loses_least_at_45_degrees() -> None:
    bank = np.radians(np.arange(5.0, 85.0, 0.5))
    loss = turn.gliding_turn_height_loss_m(35.0, 9.0, bank, math.pi)
    assert bank[np.argmin(loss)] == pytest.approx(math.pi / 4)


def test_a_gliding_turn_loses_what_the_sink_in_the_turn_says() -> None:
    """Independent: sink = V·√n·n/(L/D) (drag grows with n), time = ψ/ω at V·√n."""
    for bank in np.radians([10.0, 30.0, 45.0, 60.0]):
        n = 1 / math.cos(bank)
        v = 34.0 * math.sqrt(n)
        time = math.pi / (9.80665 * math.tan(bank) / v)
        expected = v * n / 9.0 * time
        assert float(turn.gliding_turn_height_loss_m(34.0, 9.0, bank, math.pi)) == pytest.approx(expected, rel=1e-9)


def test_wings_level_is_an_endless_radius_and_no_turn() -> None:
    assert np.isinf(turn.turn_radius_m(50.0, 0.0))
    assert float(turn.turn_rate_radps(50.0, 0.0)) == 0.0
    assert np.isinf(turn.gliding_turn_height_loss_m(50.0, 9.0, 0.0, 1.0))


def test_a_bank_of_90_degrees_or_more_is_nan_and_spoils_no_neighbor() -> None:
    bank = np.array([0.5, math.pi / 2, 2.0, np.nan])
    for got in (turn.load_factor(bank), turn.turn_radius_m(50.0, bank), turn.rollout_lead_rad(bank)):
        assert np.isnan(got).tolist() == [False, True, True, True]
