"""Distance and course over the ellipsoid against published and checked rows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.airdata import geodesy
from airwork.errors import InputError
from airwork.units import NM_M

r = math.radians


def test_the_long_way_round_published() -> None:
    """P1: distance from GeographicLib's documentation [V], azimuths checked."""
    got = geodesy.leg(r(-41.32), r(174.81), r(40.96), r(-5.50))
    assert got.distance_m == pytest.approx(19_959_679.267, abs=0.001)
    assert math.degrees(got.course_rad) == pytest.approx(161.06767, abs=5e-6)
    assert math.degrees(got.arrival_course_rad) == pytest.approx(18.82520, abs=6e-6)


def test_20000_km_along_a_course_published() -> None:
    """P2: inputs from GeographicLib's documentation [V], result checked."""
    got = geodesy.place(r(-32.06), r(115.74), r(225), 20_000_000.0)
    assert math.degrees(got.latitude_rad) == pytest.approx(32.11195529, abs=1e-8)
    assert math.degrees(got.longitude_rad) == pytest.approx(-63.95925278, abs=1e-8)


def test_across_the_atlantic_published() -> None:
    """P3."""
    got = geodesy.leg(r(40.6), r(-73.8), r(51.6), r(-0.5))
    assert got.distance_m == pytest.approx(5_551_759.400, abs=0.01)
    assert math.degrees(got.course_rad) == pytest.approx(51.19888, abs=6e-6)
    assert math.degrees(got.arrival_course_rad) == pytest.approx(107.82178, abs=6e-6)


# P4–P8: worked-examples section P, checked there. id, from, to, NM, initial course ° or None
SHORT = [
    ("P4", (40, -105), (41, -105), 59.9591, None),
    ("P5", (40, -105), (40, -104), 46.1088, 89.6786),
    ("P6", (33, -97), (33.5, -96.5), 39.1094, 39.9011),
    ("P7", (60, 10), (60.5, 11), 42.4130, 44.3966),
    ("P8 longitude", (0, 0), (0, 1), 60.1077, None),
    ("P8 latitude", (0, 0), (1, 0), 59.7054, None),
]


@pytest.mark.parametrize("row", SHORT, ids=lambda row: row[0])
def test_short_legs_published(row) -> None:
    _, start, end, miles, course = row
    got = geodesy.leg(*map(r, start), *map(r, end))
    assert got.distance_m / NM_M == pytest.approx(miles, abs=0.0001)
    if course is not None:
        assert math.degrees(got.course_rad) == pytest.approx(course, abs=0.0001)


@given(st.floats(-1.4, 1.4), st.floats(-3.1, 3.1), st.floats(0.0, 6.28), st.floats(1.0, 500_000.0))
def test_a_leg_to_a_place_comes_back(latitude: float, longitude: float, course: float, distance: float) -> None:
    there = geodesy.place(latitude, longitude, course, distance)
    got = geodesy.leg(latitude, longitude, there.latitude_rad, there.longitude_rad)
    assert got.distance_m == pytest.approx(distance, abs=1e-4)
    assert 0.0 <= got.course_rad < 2 * math.pi


def test_no_such_latitude_is_refused() -> None:
    with pytest.raises(InputError, match="latitude"):
        geodesy.leg(r(91), 0.0, 0.0, 0.0)
    with pytest.raises(InputError, match="latitude"):
        geodesy.place(float("nan"), 0.0, 0.0, 1.0)


def test_many_places_at_once_are_those_of_karneys_geodesics_published() -> None:
    """Against the package geographiclib [V], which implements C. F. F. Karney, J. Geodesy 87 (2013), to 1,000 km."""
    rng = np.random.default_rng(3)
    courses, distances = rng.uniform(-7.0, 7.0, 40), np.concatenate([[0.0, 1e-3, 1.0], 10.0 ** rng.uniform(0, 6, 37)])
    courses[:8] = np.arange(8) * math.pi / 4.0
    for latitude in (-89.0, -60.0, 0.0, 20.0, 41.1, 75.0, 89.9):
        for longitude in (-179.99, -101.0, 179.9):
            at = math.radians(latitude), math.radians(longitude)
            found = np.column_stack(geodesy.places(*at, courses, distances))
            for (lat, lon), course, distance in zip(found.tolist(), courses.tolist(), distances.tolist(), strict=True):
                true = geodesy.place(*at, course, distance)
                east = math.remainder(lon - true.longitude_rad, math.tau) * math.cos(lat)
                assert math.hypot(lat - true.latitude_rad, east) * 6.4e6 < 1e-4
                assert -math.pi <= lon <= math.pi


def test_many_places_refuse_no_latitude_and_keep_unknowns() -> None:
    with pytest.raises(InputError, match="no such latitude"):
        geodesy.places(2.0, 0.0, 0.0, 1.0)
    latitude, longitude = geodesy.places(0.7, 0.1, np.array([0.0, np.nan]), 1000.0)
    assert np.isfinite(latitude[0])
    assert np.isnan(latitude[1])
    assert np.isnan(longitude[1])
