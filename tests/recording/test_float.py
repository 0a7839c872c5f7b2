"""A float low over the runway is flown until a recorded sink ends; one that lags, or is not recorded, moves nothing."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.recording.flight import Column
from airwork.recording.rolls import without_float
from airwork.recording.work import Work
from airwork.units import FPM_MPS

T = np.arange(0.0, 40.0, 0.5)
ON = T >= 20.0  # as speed and height say


def touched_s(rate_fpm: np.ndarray | None, sinks_m: float) -> float:
    """When the wheels are said to have met the runway: sunk so far from 20 s to 24 s, level from there."""
    altitude = 300.0 + np.interp(T, [0.0, 20.0, 24.0], [80.0, sinks_m, 0.0])
    columns = {} if rate_fpm is None else {"vertical_speed_mps": Column(rate_fpm * FPM_MPS, "measured")}
    work = Work(T, columns)
    return float(T[np.argmax(without_float(work, ON, altitude))])


@pytest.mark.parametrize(
    ("rate", "sinks_m", "at_s"),
    [
        (np.where(T < 24.0, -100.0, 0.0), 2.0, 24.0),  # floats for four seconds
        (np.where(T < 24.0, -100.0, 0.0), 0.0, 20.0),  # the needle lags at one height
        (np.where(T < 20.0, -100.0, 0.0), 0.0, 20.0),  # down where it seemed to be
        (None, 2.0, 20.0),
    ],
)
def test_the_wheels_meet_it_where_the_sink_ends(rate: np.ndarray | None, sinks_m: float, at_s: float) -> None:
    """100 fpm for 4 s are 2 m."""
    assert touched_s(rate, sinks_m) == at_s
