"""Wind components and the wind triangle against handbook problems and plain vectors."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given

from airwork.airdata import wind
from airwork.airdata.angles import turn_from_to_rad
from airwork.units import DEG_RAD, KT_MPS, MPH_MPS, NM_M
from strategies import cas_mps, directions_rad, winds_mps

# id, runway or course °, wind from °, wind kt, headwind kt, crosswind kt (right positive), tolerance.
# H1: PHAK ch. 11 problem 10 [V]; H14, H15 [D].
COMPONENTS = [
    ("H1", 170, 140, 25, 22, -13, 0.5),
    ("H14", 360, 30, 20, 17.32, 10.00, 0.01),
    ("H15", 270, 310, 15, 11.49, 9.64, 0.01),
]


@pytest.mark.parametrize("row", COMPONENTS, ids=lambda r: r[0])
def test_components_match_the_handbook_published(row) -> None:
    _, course, wd, w, head, cross, tolerance = row
    args = (wd * DEG_RAD, w * KT_MPS, course * DEG_RAD)
    assert float(wind.headwind_mps(*args)) / KT_MPS == pytest.approx(head, abs=tolerance)
    assert float(wind.crosswind_mps(*args)) / KT_MPS == pytest.approx(cross, abs=tolerance)


# id, TC, TAS, wind from, wind, WCA, TH, GS, tolerance. H2, H4: PHAK ch. 16 [V]; H7: AFH ch. 7 [V]; H11–H13 [D].
TRIANGLES = [
    ("H2", 90, 120, 45, 40, -14, 76, 88, 0.5),
    ("H4", 31, 115, 360, 10, -3, 28, 106, 0.6),
    ("H7 20", 360, 100, 90, 20, 12, 12, None, 0.5),
    ("H7 10", 360, 100, 90, 10, 6, 6, None, 0.5),
    ("H11", 90, 120, 360, 20, -9.59, 80.41, 118.32, 0.02),
    ("H12", 223, 118, 310, 22, 10.73, 233.73, 114.79, 0.02),
    ("H13", 310, 105, 200, 30, -15.57, 294.43, 111.41, 0.02),
]


@pytest.mark.parametrize("row", TRIANGLES, ids=lambda r: r[0])
def test_wind_triangle_matches_the_problems_published(row) -> None:
    _, course, tas, wd, w, correction, heading, gs, tolerance = row
    got = wind.wind_triangle(course * DEG_RAD, tas * KT_MPS, wd * DEG_RAD, w * KT_MPS)
    assert float(got.correction_rad) / DEG_RAD == pytest.approx(correction, abs=tolerance)
    assert float(turn_from_to_rad(heading * DEG_RAD, got.heading_rad)) / DEG_RAD == pytest.approx(0, abs=tolerance)
    if gs is not None:
        assert float(got.groundspeed_mps) / KT_MPS == pytest.approx(gs, abs=tolerance)


def test_time_and_fuel_over_220_nm_published() -> None:
    """H3: PHAK ch. 16 [V]: 2 h 30 min (1 min), 20 gal at 8 gph (0.1)."""
    gs = wind.wind_triangle(90 * DEG_RAD, 120 * KT_MPS, 45 * DEG_RAD, 40 * KT_MPS).groundspeed_mps
    hours = 220 * NM_M / float(gs) / 3600
    assert hours * 60 == pytest.approx(150, abs=1)
    assert hours * 8 == pytest.approx(20, abs=0.1)


def test_headings_down_to_the_compass_published() -> None:
    """H4: PHAK ch. 16 [V]: TH 028, variation 7° E gives MH 021."""
    got = wind.wind_triangle(31 * DEG_RAD, 115 * KT_MPS, 0.0, 10 * KT_MPS)
    assert float(got.heading_rad) / DEG_RAD - 7 == pytest.approx(21, abs=0.6)


def test_time_and_fuel_over_53_nm_with_a_climb_published() -> None:
    """H5: PHAK ch. 16 [V]: 35 min with 5 min for the climb, 4.7 gal at 8 gph."""
    gs = wind.wind_triangle(31 * DEG_RAD, 115 * KT_MPS, 0.0, 10 * KT_MPS).groundspeed_mps
    minutes = 53 * NM_M / float(gs) / 60 + 5
    assert minutes == pytest.approx(35, abs=0.5)
    assert minutes / 60 * 8 == pytest.approx(4.7, abs=0.05)


def test_head_tail_and_beam_wind_published() -> None:
    """H6: PHAK ch. 16 [V]: TAS 120: 100 and 140 kt; heading 090 in a north wind drifts 20 NM south in an hour."""
    head, tail = (wind.wind_triangle(math.pi / 2, 120.0, d * DEG_RAD, 20.0).groundspeed_mps for d in (90, 270))
    assert float(head) == pytest.approx(100, abs=1e-9)
    assert float(tail) == pytest.approx(140, abs=1e-9)
    _, north = wind.wind_vector_mps(0.0, 20 * KT_MPS)
    assert float(north) * 3600 / NM_M == pytest.approx(-20, abs=1e-9)


def test_speed_time_and_distance_published() -> None:
    """H9: PHAK ch. 16 [V]: 210 NM at 140 kt, 120 kt for 1:45, 270 NM in 3 h."""
    assert pytest.approx(1.5, rel=1e-12) == 210 * NM_M / (140 * KT_MPS) / 3600
    assert pytest.approx(210, rel=1e-12) == 120 * KT_MPS * 1.75 * 3600 / NM_M
    assert pytest.approx(90, rel=1e-12) == 270 * NM_M / (3 * 3600) / KT_MPS


def test_20_kt_is_23_mph_published() -> None:
    """H10: PHAK ch. 16 [V]."""
    assert pytest.approx(23, abs=0.05) == 20 * KT_MPS / MPH_MPS


@given(directions_rad, cas_mps, directions_rad, winds_mps)
def test_the_triangle_closes_as_vectors(course: float, tas: float, wd: float, w: float) -> None:
    """Air velocity on the heading plus the wind's velocity is the ground speed along the course."""
    assume(w < 0.95 * tas)
    got = wind.wind_triangle(course, tas, wd, w)
    air = tas * np.exp(1j * (math.pi / 2 - float(got.heading_rad)))  # east + i·north
    blowing = -w * np.exp(1j * (math.pi / 2 - wd))
    ground = float(got.groundspeed_mps) * np.exp(1j * (math.pi / 2 - course))
    assert abs(air + blowing - ground) < 1e-9 * tas
    assert abs(float(got.correction_rad)) < math.pi / 2


@given(directions_rad, winds_mps)
def test_a_wind_as_a_vector_comes_back(wd: float, w: float) -> None:
    assume(w > 1e-6)
    east, north = wind.wind_vector_mps(wd, w)
    direction, speed = wind.wind_from_vector(east, north)
    assert float(speed) == pytest.approx(w, rel=1e-9)
    assert float(turn_from_to_rad(wd, direction)) == pytest.approx(0, abs=1e-9)


@given(directions_rad, winds_mps, directions_rad)
def test_components_keep_the_wind_and_turn_over_with_the_runway(wd: float, w: float, course: float) -> None:
    head, cross = float(wind.headwind_mps(wd, w, course)), float(wind.crosswind_mps(wd, w, course))
    assert math.hypot(head, cross) == pytest.approx(w, abs=1e-9)
    assert float(wind.headwind_mps(wd, w, course + math.pi)) == pytest.approx(-head, abs=1e-9)
    assert float(wind.crosswind_mps(wd, w, course + math.pi)) == pytest.approx(-cross, abs=1e-9)


def test_a_course_that_cannot_be_flown_is_nan_and_spoils_no_neighbor() -> None:
    """Too much wind across; too much against; no airspeed; and one that works."""
    course, tas = 0.0, np.array([20.0, 20.0, 0.0, 20.0])
    got = wind.wind_triangle(course, tas, np.array([math.pi / 2, 0.0, 0.0, 0.0]), np.array([21.0, 20.0, 5.0, 5.0]))
    for values in got:
        assert np.isnan(values).tolist() == [True, True, True, False]
