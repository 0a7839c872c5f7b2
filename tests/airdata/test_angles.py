"""Wrapping, subtracting, unwrapping and averaging directions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from airwork.airdata import angles
from strategies import angles_rad, directions_rad

TAU = 2 * math.pi
nasty = st.one_of(angles_rad, st.sampled_from([-1e-20, -5e-324, 0.0, math.pi, -math.pi, TAU, -TAU, 1e-20]))


@given(nasty)
def test_wrapped_angles_stay_in_their_half_open_circle(a: float) -> None:
    """Also for a tiny negative angle, which rounds up to the full circle."""
    positive, signed = float(angles.wrap_positive_rad(a)), float(angles.wrap_signed_rad(a))
    assert 0.0 <= positive < TAU
    assert -math.pi <= signed < math.pi
    for wrapped in (positive, signed):
        assert math.cos(wrapped) == pytest.approx(math.cos(a), abs=1e-9)
        assert math.sin(wrapped) == pytest.approx(math.sin(a), abs=1e-9)


@given(directions_rad, st.floats(-3.1, 3.1))
def test_a_turn_is_found_again(start: float, turn: float) -> None:
    assert float(angles.turn_from_to_rad(start, start + turn)) == pytest.approx(turn, abs=1e-9)


def test_ten_degrees_through_north_is_ten_degrees() -> None:
    got = angles.turn_from_to_rad(np.radians([355.0, 5.0, 180.0]), np.radians([5.0, 355.0, 0.0]))
    assert_allclose(np.degrees(got), [10.0, -10.0, -180.0])


def test_unwrapping_passes_over_gaps() -> None:
    raw = np.radians([350.0, np.nan, 5.0, 20.0, np.nan])
    got = np.degrees(angles.unwrap_rad(raw))
    assert_allclose(got, [350.0, np.nan, 365.0, 380.0, np.nan])


@given(st.lists(directions_rad, min_size=1, max_size=20), angles_rad)
def test_the_mean_direction_turns_with_its_directions(directions: list[float], turn: float) -> None:
    vector = sum(np.exp(1j * np.array(directions))) / len(directions)
    if abs(vector) < 0.01:
        return
    mean = angles.mean_direction_rad(directions)
    turned = angles.mean_direction_rad(np.array(directions) + turn)
    assert float(angles.turn_from_to_rad(mean + turn, turned)) == pytest.approx(0, abs=1e-9)
    assert float(angles.turn_from_to_rad(mean, np.angle(vector))) == pytest.approx(0, abs=1e-9)


def test_no_mean_without_directions_or_where_they_cancel() -> None:
    assert math.isnan(angles.mean_direction_rad([]))
    assert math.isnan(angles.mean_direction_rad([np.nan]))
    assert math.isnan(angles.mean_direction_rad([0.0, math.pi]))
    assert angles.mean_direction_rad([np.nan, 1.0]) == pytest.approx(1.0)


@given(st.lists(st.integers(-720, 720), max_size=60))
@example([0, 180])
@example([180, 0])
@example([0, 540, 0])
def test_unwrapping_is_numpys_to_the_last_bit(degrees: list[int]) -> None:
    direction = np.mod(np.radians(np.array(degrees, dtype=float)), 2.0 * np.pi)
    assert (angles.unwrap_rad(direction) == np.unwrap(direction)).all()


@given(st.floats(-6.0, 6.0), st.integers(101, 120))
def test_a_long_history_is_wrapped_as_one_direction_is(start: float, size: int) -> None:
    """Long arrays near the circle are wrapped without a division; the numbers must be the division's."""
    for values in (start + np.linspace(0.0, 6.0, size), start * np.linspace(0.9, 40.0, size)):
        one_by_one = np.array([float(angles.wrap_positive_rad(v)) for v in values])
        assert (angles.wrap_positive_rad(values) == one_by_one).all()
