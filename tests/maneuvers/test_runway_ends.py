"""Where the wheels touched on a runway, held against a geodesic library and the published table itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from airwork import aerodromes
from airwork.lesson.runway_ends import runway_ends_near
from airwork.maneuvers.grading.runway_ends import RunwayEnd, touched


@pytest.mark.parametrize("heading", [0.0, 57.0, 143.0, 238.0, 305.0])
@pytest.mark.parametrize(("along", "right"), [(350.0, 22.0), (-60.0, -14.0), (1200.0, 3.0)])
def test_along_and_beside_agree_with_a_geodesic_library(heading: float, along: float, right: float) -> None:
    """The point is put there by GeographicLib (Karney 2013); a plane is right within a meter or 0.5 %."""
    ahead = Geodesic.WGS84.Direct(48.4, 9.1, heading, along)
    point = Geodesic.WGS84.Direct(ahead["lat2"], ahead["lon2"], heading + 90.0, right)
    end = RunwayEnd("X", "N", math.radians(48.4), math.radians(9.1), math.radians(heading), 1500.0)
    found = touched([end], math.radians(point["lat2"]), math.radians(point["lon2"]), math.radians(heading + 5.0))
    assert found is not None
    assert found.beyond_m == pytest.approx(along, abs=max(1.0, 0.005 * abs(along)))
    assert found.right_m == pytest.approx(right, abs=max(1.0, 0.005 * abs(along)))


@pytest.mark.parametrize(("track", "right"), [(30.0, 0.0), (180.0, 0.0), (0.0, 80.0)])
def test_not_a_runway_across_from_behind_or_beside(track: float, right: float) -> None:
    """Rolling 30° off, the other way, or 80 m beside it: another runway, or none."""
    end = RunwayEnd("X", "36", 0.8, 0.1, 0.0, 900.0)
    east = right / 6_371_000.0 / math.cos(0.8)
    assert touched([end], 0.8 + 1e-5, 0.1 + east, math.radians(track)) is None


@pytest.mark.skipif(aerodromes.table("runways") is None, reason="the airport tables are not installed")
def test_a_published_runway_has_both_its_directions_published() -> None:
    """Ogallala (KOGA) 13/31, public-domain airport table: opposite headings, thresholds as far apart as it is long."""
    ends = {e.name: e for e in runway_ends_near(math.radians(41.12), math.radians(-101.77)) if e.airport == "KOGA"}
    one, other = ends["13"], ends["31"]
    found = Geodesic.WGS84.Inverse(*(math.degrees(x) for x in (one.latitude_rad, one.longitude_rad)),
                                   *(math.degrees(x) for x in (other.latitude_rad, other.longitude_rad)))  # fmt: skip
    assert found["s12"] == pytest.approx(one.length_m, rel=0.005)
    assert np.degrees(one.heading_rad) == pytest.approx(found["azi1"], abs=0.5)
    assert np.degrees(one.heading_rad - other.heading_rad) % 360.0 == pytest.approx(180.0)


def test_nothing_is_published_in_the_ocean_or_nowhere() -> None:
    """No runway near, or no position."""
    assert runway_ends_near(0.0, -0.6) == ()
    assert runway_ends_near(float("nan"), 0.0) == ()
