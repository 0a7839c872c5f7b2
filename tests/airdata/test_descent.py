"""Glide and descent path against the handbooks."""

from __future__ import annotations

import math

import pytest

from airwork.airdata import descent
from airwork.units import DEG_RAD, FPM_MPS, FT_M, KT_MPS, NM_M


def test_10000_ft_forward_per_1000_ft_is_a_ratio_of_10_published() -> None:
    """K1: AFH ch. 3 [V]."""
    assert float(descent.glide_distance_m(1000 * FT_M, 10.0)) / FT_M == pytest.approx(10_000, rel=1e-12)


def test_5000_ft_at_nine_to_one_reaches_7_4_nm_published() -> None:
    """K2 [D]."""
    assert float(descent.glide_distance_m(5000 * FT_M, 9.0)) / NM_M == pytest.approx(7.41, abs=0.01)


def test_a_three_degree_path_at_90_kt_published() -> None:
    """K8 [D]: 478 ft/min (the rule of five says 450)."""
    assert float(descent.path_descent_rate_mps(90 * KT_MPS, 3 * DEG_RAD)) / FPM_MPS == pytest.approx(478, abs=1)


def test_700_fpm_at_75_kt_climbs_560_ft_in_a_mile_published() -> None:
    """K9 [D]: the path whose angle is 560 ft in a nautical mile takes 700 ft/min at 75 kt."""
    path = math.atan(560 * FT_M / NM_M)
    assert float(descent.path_descent_rate_mps(75 * KT_MPS, path)) / FPM_MPS == pytest.approx(700, abs=1)


def test_a_headwind_as_strong_as_the_airspeed_leaves_no_glide() -> None:
    assert float(descent.glide_distance_m(1000.0, 9.0, 30.0, 35.0)) == 0.0
