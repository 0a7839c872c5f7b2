"""The bootstrap formulas against the worked example of the four-seat 160-hp sample airplane."""

import math

import pytest

from airwork.airplane.performance.bootstrap import DataPlate, composites
from airwork.errors import NotPossible
from airwork.units import FPM_MPS, FT_M, KT_MPS, LBF_N

# Source: J. T. Lowry, Performance of Light Aircraft, AIAA 1999; plate [M: from memory], outputs computed from the
# formulas of the same source [D, recomputed]; worked-examples section L, rows L1 to L5. Tolerance as stated there:
# 0.1 kt, 1 ft/min.
PLATE = DataPlate(174 * FT_M**2, 7.38, 311.2 * FT_M * LBF_N, 0.12, 6.25 * FT_M, 0.037, 0.72, 1.70, -0.0564)
# weight lb, σ, (E, F, G, H), speeds Vx Vy VM Vm Vbg Vmd [KCAS], rate at Vy, glide ratio
PUBLISHED = [
    (2400, 1.0, (531.85, -0.0052366, 0.0076512, 1_668_612), (63.20, 75.85, 115.26, 34.65, 72.00, 54.71), 700.3, 10.62),
    (2000, 1.0, (531.85, -0.0052366, 0.0076512, 1_158_758), (57.69, 74.16, 116.95, 28.46, 65.73, 49.94), 961.2, 10.62),
    (2400, 0.786, (402.53, -0.0041161, 0.006014, 2_122_862), (63.20, 69.06, 96.11, 41.56, 72.00, 54.71), 343.8, 10.62),
    (2400, 0.8617, (448.25, -0.0045122, 0.0065928, 1_936_481), (63.2, 71.49, 103.54, 38.58, 72.0, 54.71), 474.5, 10.62),
]
# L4: the speeds of L3 as true airspeeds
PUBLISHED_TRUE = (71.29, 77.90, 108.40, 46.88, 81.21, 61.71)


def speeds_mps(weight_lb, sigma):
    c = composites(PLATE, weight_lb * LBF_N, sigma)
    slow, fast = c.level_speeds_mps()
    return c, (c.best_angle_mps, c.best_rate_mps, fast, slow, c.best_glide_mps, c.min_descent_mps)


@pytest.mark.parametrize(("weight", "sigma", "letters", "speeds", "rate", "glide"), PUBLISHED)
def test_the_sample_airplane_comes_out_as_published(weight, sigma, letters, speeds, rate, glide):
    """Composites to five figures, speeds within 0.1 kt, rate within 1 ft/min."""
    c, found = speeds_mps(weight, sigma)
    metric = (c.e_n / LBF_N, c.f * FT_M**2 / LBF_N, c.g * FT_M**2 / LBF_N, c.h / LBF_N / FT_M**2)
    assert metric == pytest.approx(letters, rel=1.0e-4)  # σ is printed to four digits
    calibrated = [v * math.sqrt(sigma) / KT_MPS for v in found]
    assert calibrated == pytest.approx(speeds, abs=0.1)
    assert c.climb_rate_mps(c.best_rate_mps) / FPM_MPS == pytest.approx(rate, abs=1.0)
    assert c.glide_ratio == pytest.approx(glide, abs=0.005)


def test_true_airspeeds_at_8000_ft_published():
    """Row L4."""
    _, found = speeds_mps(2400, 0.7860)
    assert [v / KT_MPS for v in found] == pytest.approx(PUBLISHED_TRUE, abs=0.1)


def test_no_climb_is_left_at_the_fastest_and_slowest_level_speed():
    """ROC(VM) = ROC(Vm) = 0."""
    c, found = speeds_mps(2400, 0.9)
    assert c.climb_rate_mps(found[2]) == pytest.approx(0.0, abs=1e-9)
    assert c.climb_rate_mps(found[3]) == pytest.approx(0.0, abs=1e-9)


def test_best_angle_and_glide_speeds_keep_their_calibrated_value_with_height_and_go_with_root_weight():
    """Invariants of the method."""
    for index in (0, 4, 5):
        low, high = speeds_mps(2400, 1.0)[1][index], speeds_mps(2400, 0.7)[1][index] * math.sqrt(0.7)
        assert high == pytest.approx(low, rel=1e-12)
        assert speeds_mps(1800, 1.0)[1][index] == pytest.approx(low * math.sqrt(0.75), rel=1e-12)


def test_above_the_absolute_ceiling_it_says_so():
    """Q² + 4R < 0."""
    with pytest.raises(NotPossible, match="ceiling"):
        composites(PLATE, 2400 * LBF_N, 0.45).level_speeds_mps()


def test_a_bank_counts_as_more_weight_in_the_drag_of_lift_alone():
    """Bank enters only through H."""
    level, banked = composites(PLATE, 2400 * LBF_N, 1.0), composites(PLATE, 2400 * LBF_N, 1.0, math.radians(60))
    assert banked.h == pytest.approx(4 * level.h)
    assert (banked.e_n, banked.f, banked.g) == (level.e_n, level.f, level.g)
