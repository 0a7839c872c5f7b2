"""Glide, descent path, turn back and ground effect against the handbooks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.airdata import descent
from airwork.units import DEG_RAD, FPM_MPS, FT_M, KT_MPS, NM_M


def test_10000_ft_forward_per_1000_ft_is_a_ratio_of_10_published() -> None:
    """K1: AFH ch. 3 [V]."""
    assert float(descent.glide_distance_m(1000 * FT_M, 10.0)) / FT_M == pytest.approx(10_000, rel=1e-12)


def test_5000_ft_at_nine_to_one_reaches_7_4_nm_published() -> None:
    """K2 [D]."""
    assert float(descent.glide_distance_m(5000 * FT_M, 9.0)) / NM_M == pytest.approx(7.41, abs=0.01)


def test_turning_back_from_300_ft_ends_1000_ft_below_the_runway_published() -> None:
    """K3: AFH ch. 18 [V]: 4 s + 225° at 3°/s at 1,000 ft/min: 79 s, 1,316 ft (exact 1,316.7)."""
    loss = float(descent.turn_back_height_loss_m(1000 * FPM_MPS, 225 * DEG_RAD, 3 * DEG_RAD, 4.0)) / FT_M
    assert loss == pytest.approx(1316, abs=1)
    assert loss - 300 == pytest.approx(1016, abs=1)


@pytest.mark.parametrize(("ratio", "percent"), [(0.25, 23.5), (0.1, 47.6)], ids=["K5 0.25", "K5 0.1"])
def test_ground_effect_matches_the_handbook_published(ratio: float, percent: float) -> None:
    """K5: PHAK ch. 5 [V], 1.5 points; the fit [M] gives 23.1 and 48.5."""
    assert 100 * float(descent.ground_effect_reduction(ratio)) == pytest.approx(percent, abs=1.5)


def test_ground_effect_refuses_outside_the_fit_and_falls_with_height() -> None:
    """The handbook's 1.4 % at one span is outside the fit: NaN, not a guess."""
    assert np.isnan(descent.ground_effect_reduction(np.array([0.05, 0.51, 1.0, -1.0]))).all()
    assert np.all(np.diff(descent.ground_effect_reduction(np.linspace(1 / 15, 0.5, 50))) < 0)


def test_a_three_degree_path_at_90_kt_published() -> None:
    """K8 [D]: 478 ft/min (the rule of five says 450)."""
    assert float(descent.path_descent_rate_mps(90 * KT_MPS, 3 * DEG_RAD)) / FPM_MPS == pytest.approx(478, abs=1)


def test_700_fpm_at_75_kt_published() -> None:
    """K9 [D]: 560 ft/NM."""
    assert float(descent.path_gradient(700 * FPM_MPS, 75 * KT_MPS)) * NM_M / FT_M == pytest.approx(560, abs=1)
    assert np.isnan(descent.path_gradient(1.0, 0.0))


@given(st.floats(20.0, 60.0), st.floats(5.0, 15.0), st.floats(-15.0, 15.0), st.floats(50.0, 3000.0))
def test_a_glide_reaches_as_far_as_its_sink_and_ground_speed_say(v: float, ratio: float, head: float, h: float) -> None:
    time = h / float(descent.glide_sink_mps(v, ratio))
    assert float(descent.glide_distance_m(h, ratio, v, head)) == pytest.approx((v - head) * time, rel=1e-9)


def test_a_headwind_as_strong_as_the_airspeed_leaves_no_glide() -> None:
    assert float(descent.glide_distance_m(1000.0, 9.0, 30.0, 35.0)) == 0.0
