"""The stall speed out of a recorded angle of attack, against the lift equation it must follow.

Source: L = ½·ρ·V²·S·CL with CL = a·(α − α0) [PHAK] chapter 5; the wing's numbers below are made up.
"""

from __future__ import annotations

import numpy as np
import pytest

from airwork.maneuvers.seeing.attack import STALLS_AT_RAD, stall_by_attack_mps

WEIGHT_N, AREA_M2, SLOPE, RHO = 9_500.0, 16.0, 5.1, 1.225
STALL_MPS = float(np.sqrt(2.0 * WEIGHT_N / (RHO * AREA_M2 * SLOPE * STALLS_AT_RAD)))


def flown(slowest: float, fastest: float, load: float = 1.0, vane_rad: float = 0.0) -> tuple[np.ndarray, ...]:
    """(angle of attack, speed, load factor) of flight between two speeds, with noise of a vane and a dial."""
    rng = np.random.default_rng(5)
    speed = np.linspace(slowest, fastest, 1_200)
    n = np.full(speed.size, load) + 0.02 * rng.standard_normal(speed.size)
    angle = 2.0 * n * WEIGHT_N / (RHO * AREA_M2 * SLOPE * speed**2) + vane_rad
    return angle + np.radians(0.2) * rng.standard_normal(speed.size), speed, n


@pytest.mark.parametrize("load", [1.0, 1.4])
@pytest.mark.parametrize("vane_deg", [-3.0, 0.0, 5.0])
def test_it_is_found_without_a_stall_being_flown(load: float, vane_deg: float) -> None:
    """From 1.3 times the stall speed up; a vane's offset and a turn's load factor don't matter."""
    angle, speed, n = flown(1.3 * STALL_MPS * load**0.5, 2.4 * STALL_MPS, load, np.radians(vane_deg))
    found = stall_by_attack_mps(angle, speed, n, np.ones(speed.size, dtype=bool))
    assert found == pytest.approx(STALL_MPS, rel=0.03)


def test_stalled_flight_bends_away_and_hardly_counts() -> None:
    """Half a minute at twice the angle with no more lift."""
    angle, speed, n = flown(1.1 * STALL_MPS, 2.2 * STALL_MPS)
    angle[:40] += np.radians(12.0)
    found = stall_by_attack_mps(angle, speed, n, np.ones(speed.size, dtype=bool))
    assert found == pytest.approx(STALL_MPS, rel=0.05)


def test_what_does_not_follow_the_lift_says_nothing() -> None:
    angle, speed, n = flown(1.3 * STALL_MPS, 2.2 * STALL_MPS)
    use = np.ones(speed.size, dtype=bool)
    assert stall_by_attack_mps(angle[::-1].copy(), speed, n, use) is None
    assert stall_by_attack_mps(np.random.default_rng(1).permutation(angle), speed, n, use) is None
    assert stall_by_attack_mps(np.full(speed.size, 0.1), speed, n, use) is None
    assert stall_by_attack_mps(None, speed, n, use) is None
