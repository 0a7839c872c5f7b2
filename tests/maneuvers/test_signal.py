"""Median and percentile of short stretches, held to NumPy: the same numbers to the last bit."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from airwork.maneuvers.seeing.signal import known_share, median, percentile

NUMBERS = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60).map(np.array)


@given(NUMBERS)
def test_the_median_is_numpys(values: np.ndarray) -> None:
    assert median(values) == np.median(values)


@given(NUMBERS, st.floats(0.0, 100.0))
def test_the_percentile_is_numpys(values: np.ndarray, percent: float) -> None:
    assert percentile(values, percent) == np.percentile(values, percent)


def test_an_unknown_sample_makes_both_unknown_and_so_does_an_empty_stretch() -> None:
    for values in (np.array([1.0, np.nan, 3.0]), np.empty(0)):
        assert np.isnan(median(values))
        assert np.isnan(percentile(values, 50.0))


def test_the_known_share_counts_finite_samples() -> None:
    assert known_share(np.array([1.0, np.nan, np.inf, 2.0])) == 0.5
    assert known_share(np.empty(0)) == 0.0
