"""Smoothing and slopes: no delay, exact on lines, gaps and uneven times forgiven."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.recording.smooth import Window, filled, least_around, unwrapped

NUMBERS = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60).map(np.array)


@given(NUMBERS, st.integers(0, 80))
def test_the_least_around_a_sample_is_scipys_running_minimum(values: np.ndarray, half: int) -> None:
    """To the last bit, at the ends and in windows longer than all there is too."""
    from scipy.ndimage import minimum_filter1d

    assert least_around(values, half).tolist() == minimum_filter1d(values, 2 * half + 1, mode="nearest").tolist()


def test_the_least_around_passes_over_what_is_unknown() -> None:
    assert least_around(np.array([3.0, np.nan, 2.0, np.nan, 5.0]), 1).tolist() == [3.0, 2.0, 2.0, 2.0, 5.0]
    assert least_around(np.empty(0), 3).size == 0


def test_a_straight_line_keeps_its_slope_everywhere() -> None:
    t = np.arange(0.0, 60.0, 0.1)
    assert Window(t, 1.5).slope(3.0 + 0.7 * t) == pytest.approx(0.7)


def test_the_slope_of_a_parabola_is_right_away_from_the_ends() -> None:
    """d/dt of 2t² is 4t; the window is symmetric, so nothing is late."""
    t = np.arange(0.0, 60.0, 0.2)
    slope = Window(t, 2.0).slope(2.0 * t**2)
    assert slope[12:-12] == pytest.approx(4.0 * t[12:-12], rel=1e-9)


def test_even_and_uneven_spacing_give_the_same() -> None:
    t = np.arange(0.0, 300.0, 0.1)
    x = np.sin(t / 9.0) * 40.0
    even = Window(t, 1.0).slope(x)
    jittered = t + 0.004 * np.sin(np.arange(t.size))  # uneven enough for the general way
    uneven = Window(jittered, 1.0).slope(np.sin(jittered / 9.0) * 40.0)
    assert even[20:-20] == pytest.approx(uneven[20:-20], abs=0.05)


def test_precision_holds_over_a_long_flight_far_from_the_origin() -> None:
    t = np.arange(0.0, 4 * 3600.0, 0.1)
    x = 1e6 + 60.0 * t
    slope = Window(t, 1.0).slope(x)
    assert slope == pytest.approx(60.0, abs=1e-4)


def test_unknown_samples_take_no_part() -> None:
    t = np.arange(0.0, 30.0, 0.1)
    x = 5.0 * t
    x[100:108] = np.nan
    slope = Window(t, 1.0).slope(x)
    assert slope[80:130] == pytest.approx(5.0)


def test_a_direction_is_unwrapped_through_north() -> None:
    heading = np.mod(np.linspace(6.0, 7.0, 30), 2 * np.pi)
    assert np.diff(unwrapped(heading)) == pytest.approx(np.diff(np.linspace(6.0, 7.0, 30)))


def test_only_short_gaps_are_bridged() -> None:
    t = np.arange(10.0)
    x = np.array([0.0, np.nan, 2.0, np.nan, np.nan, np.nan, np.nan, 7.0, 8.0, np.nan])
    out, count = filled(t, x, 2.0)
    assert count == 1
    assert out[1] == pytest.approx(1.0)
    assert np.isnan(out[[3, 4, 5, 6, 9]]).all()


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.floats(0.01, 20.0), min_size=2, max_size=60),
    st.floats(0.1, 30.0),
    st.floats(-5.0, 5.0),
    st.floats(-1e4, 1e4),
)
def test_a_line_on_any_time_base_keeps_its_slope(steps: list[float], half: float, rate: float, start: float) -> None:
    t = np.cumsum(steps)
    slope = Window(t, half).slope(start + rate * t)
    known = np.isfinite(slope)
    assert slope[known] == pytest.approx(rate, abs=1e-4)
