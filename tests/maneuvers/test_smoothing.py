"""Noise goes, tops stay; an airspeed's lag is found where the recording shows it and nowhere else."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.maneuvers.grading.smoothing import lag_s, rate, through_parabolas
from airwork.maneuvers.seeing.signal import mean_over

STEP = 0.1


def test_through_parabolas_is_savitzky_and_golays_filter() -> None:
    """SciPy's savgol_filter (order 2, its ends held) is the reference, and of nothing comes nothing."""
    from scipy.signal import savgol_filter

    values = np.random.default_rng(3).normal(size=200).cumsum()
    held = {"window_length": 19, "polyorder": 2, "mode": "nearest"}
    assert through_parabolas(values, 9) == pytest.approx(savgol_filter(values, **held))
    assert rate(values, STEP) == pytest.approx(savgol_filter(values, **held, deriv=1, delta=STEP))
    assert through_parabolas(values[:0], 9).size == 0


def test_a_top_is_kept_that_a_mean_cuts_off() -> None:
    """An excursion that lasts 1.1 s over a limit lasts 1.1 s after it, 0.2 s less after a mean of the same noise."""
    t = np.arange(-5.0, 5.0, STEP / 10.0)
    height = 0.151 - 0.5 * t * t  # over 0 for 1.1 s
    over = lambda x: float((x > 0.0).sum()) * STEP / 10.0  # noqa: E731
    assert over(through_parabolas(height, 90)) == pytest.approx(1.1, abs=0.02)
    assert over(mean_over(height, 80)) < 1.02


def flown(lag: float, *, noise: float = 0.13, gust: float = 0.4, seed: int = 1):  # type: ignore[no-untyped-def]
    """Slowing down and speeding up in straight level flight, steady wind: (airspeed late, ground speed, altitude)."""
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, 600.0, STEP)
    true = 45.0 + 8.0 * np.sin(2.0 * np.pi * t / 40.0)
    late = 45.0 + 8.0 * np.sin(2.0 * np.pi * (t - lag) / 40.0)
    keep = np.exp(-STEP / 3.0)
    gusts = np.zeros(t.size)
    for k in range(1, t.size):
        gusts[k] = keep * gusts[k - 1] + np.sqrt(1.0 - keep * keep) * gust * rng.normal()
    return late + gusts + noise * rng.normal(size=t.size), true - 6.0 + 0.15 * rng.normal(size=t.size), 0.0 * t + 900.0


@pytest.mark.parametrize("lag", [0.3, 0.5, 0.8])
def test_the_lag_is_found(lag: float) -> None:
    """In calm air within 0.03 s; gusts look like changes of speed: then rather too small than too large."""
    for gust, low, high in ((0.0, 0.97 * lag - 0.02, 1.03 * lag + 0.02), (0.4, 0.75 * lag, 1.05 * lag)):
        late, ground, altitude = flown(lag, gust=gust)
        assert low < lag_s(late, ground, altitude, np.ones(late.size, dtype=bool), STEP) < high


def test_no_lag_is_taken_out_where_none_is_seen() -> None:
    """None there; turning all the time; climbing; no change of speed."""
    late, ground, altitude = flown(0.0)
    straight = np.ones(late.size, dtype=bool)
    assert lag_s(late, ground, altitude, straight, STEP) == 0.0
    late, ground, altitude = flown(0.5)
    assert lag_s(late, ground, altitude, ~straight, STEP) == 0.0
    assert lag_s(late, ground, altitude + 5.0 * np.arange(late.size) * STEP, straight, STEP) == 0.0
    assert lag_s(0.0 * late + 45.0, ground, altitude, straight, STEP) == 0.0
