"""How far a glide reaches: the ring is where the arrival height is nothing; still air by the rule, wind shifts it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from airwork.airdata.column import AirColumn, WindLayer
from airwork.lesson.glide import Field, arrival_height_m, reach_m

CALM, WIND = AirColumn(), AirColumn(winds=(WindLayer(0.0, math.radians(270.0), 10.0),))


def test_still_air_is_height_times_the_ratio_all_around() -> None:
    """FAA-H-8083-3C ch. 3: a glide ratio of 9 : 1 covers nine times the height."""
    east, north = reach_m(1500.0, 500.0, 9.0, 36.0, CALM)
    assert np.hypot(east, north) == pytest.approx(np.full(72, 9000.0))


def test_on_the_ring_one_arrives_with_nothing_to_spare() -> None:
    east, north = reach_m(1500.0, 500.0, 9.0, 36.0, WIND)
    for e, n in zip(east, north, strict=True):
        field = Field("there", float(e), float(n), 500.0)
        assert arrival_height_m(0.0, 0.0, 1500.0, field, 9.0, 36.0, WIND) == pytest.approx(0.0, abs=1e-6)


def test_a_west_wind_carries_the_ring_east_and_a_storm_leaves_no_way_west() -> None:
    east, _ = reach_m(1500.0, 500.0, 9.0, 36.0, WIND)
    assert east.max() == pytest.approx(9000.0 * 46.0 / 36.0)
    assert east.min() == pytest.approx(-9000.0 * 26.0 / 36.0)
    storm = AirColumn(winds=(WindLayer(0.0, math.radians(270.0), 40.0),))
    east, north = reach_m(1500.0, 500.0, 9.0, 36.0, storm)
    assert east.min() >= -1e-9
    assert reach_m(400.0, 500.0, 9.0, 36.0, CALM)[0] == pytest.approx(np.zeros(72))
    assert np.isfinite(north).all()
