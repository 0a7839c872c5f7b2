"""How far a glide reaches: still air by the rule, wind shifts it."""

from __future__ import annotations

import math

import pytest

from airwork.airdata.column import AirColumn, WindLayer
from airwork.lesson.glide import Field, arrival_height_m


@pytest.mark.parametrize(("wind_mps", "east_m"), [(0.0, 9000.0), (10.0, 9000.0 * 46.0 / 36.0), (10.0, -6500.0)])
def test_height_times_the_ratio_by_the_speed_over_the_ground_is_just_reached(wind_mps: float, east_m: float) -> None:
    """FAA-H-8083-3C ch. 3: a glide ratio of 9 : 1 covers nine times the height; a west wind carries it east."""
    air = AirColumn(winds=(WindLayer(0.0, math.radians(270.0), wind_mps),))
    field = Field("there", east_m, 0.0, 500.0)
    assert arrival_height_m(0.0, 0.0, 1500.0, field, 9.0, 36.0, air) == pytest.approx(0.0, abs=1e-6)


def test_a_storm_leaves_no_way_against_it() -> None:
    air = AirColumn(winds=(WindLayer(0.0, math.radians(270.0), 40.0),))
    assert arrival_height_m(0.0, 0.0, 1500.0, Field("there", -10.0, 0.0, 500.0), 9.0, 36.0, air) < 0.0
