"""The practice area on its map, the path through it in the wind, and the glide to the user's fields."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.airdata.column import AirColumn, WindLayer
from airwork.errors import InputError, Where
from airwork.lesson.area import Area, FlatMap, make_area
from airwork.lesson.exercises import shape_of
from airwork.lesson.flight_plan import _lay
from airwork.lesson.glide import Field, arrival_height_m
from airwork.lesson.lesson import AreaWanted
from airwork.lesson.path import Glide, Shape, drift_m, lay_path, over_ground
from airwork.units import FT_M, KT_MPS, NM_M
from lesson.runs import a_run

RAD = math.pi / 180.0
CALM = AirColumn()


def windy(direction_deg: float, knots: float) -> AirColumn:
    return AirColumn(winds=(WindLayer(0.0, direction_deg * RAD, knots * KT_MPS),))


def square(half_nm: float = 5.0, **more: float) -> Area:
    """A square about 41.3N 101.8W, corners by the geodesic from its middle."""
    flat = FlatMap(41.3 * RAD, -101.8 * RAD)
    h = half_nm * NM_M
    corners = tuple(flat.lat_lon_rad(e, n) for e, n in ((-h, -h), (h, -h), (h, h), (-h, h)))
    return make_area(AreaWanted(1500.0, 2700.0, 1100.0, "square", corners_rad=corners, **more))


def straight(seconds: float, tas: float = 45.0, altitude: float = 2000.0) -> Shape:
    t = np.linspace(0.0, seconds, 120)
    return Shape(t, 0.0 * t, tas * t, np.full_like(t, altitude))


def circle(tas: float = 50.0, bank_deg: float = 45.0, turns: float = 2.0) -> Shape:
    radius = tas**2 / (9.80665 * math.tan(bank_deg * RAD))
    angle = np.linspace(0.0, 2 * math.pi * turns, 200)
    return Shape(angle * radius / tas, radius * (1 - np.cos(angle)), radius * np.sin(angle), np.full(200, 2000.0))


# Source: geodesic rows P4 and P5 of the reference [chk by geographiclib's own test values]: 59.9591 NM, 46.1088 NM.
def test_the_map_keeps_geodesic_distances_published():
    flat = FlatMap(40 * RAD, -105 * RAD)
    assert math.hypot(*flat.east_north_m(41 * RAD, -105 * RAD)) / NM_M == pytest.approx(59.9591, abs=1e-4)
    east, north = flat.east_north_m(40 * RAD, -104 * RAD)
    assert math.hypot(east, north) / NM_M == pytest.approx(46.1088, abs=1e-4)
    assert math.degrees(math.atan2(east, north)) == pytest.approx(89.6786, abs=1e-3)


@given(st.floats(-80, 80), st.floats(-180, 180), st.floats(-60e3, 60e3), st.floats(-60e3, 60e3))
def test_there_and_back_on_the_map(latitude: float, longitude: float, east: float, north: float):
    flat = FlatMap(latitude * RAD, longitude * RAD)
    assert flat.east_north_m(*flat.lat_lon_rad(east, north)) == pytest.approx((east, north), abs=1e-3)


def test_distance_to_the_edge_is_positive_inside_and_negative_outside():
    area = square(5.0)
    assert area.inside_m([0.0, 6 * NM_M], [0.0, 0.0]) / NM_M == pytest.approx([5.0, -1.0], abs=2e-3)


def test_a_circle_is_measured_as_a_circle():
    round_one = make_area(AreaWanted(1500, 2700, 1100, "round", center_rad=(0.7, -1.7), radius_m=4 * NM_M))
    assert round_one.inside_m([0.0, 3 * NM_M], [4.5 * NM_M, 0.0]) / NM_M == pytest.approx([-0.5, 1.0])


def test_a_polygon_that_crosses_itself_is_one_line_naming_the_spot():
    bow_tie = tuple((a * RAD, b * RAD) for a, b in ((41.2, -101.9), (41.4, -101.6), (41.4, -101.9), (41.2, -101.6)))
    small = Where("small", field="area", dotted=True)
    with pytest.raises(
        InputError, match=r"small: area.polygon: the polygon crosses itself near \[41.30\d, -101.75\d\]"
    ) as f:
        make_area(AreaWanted(1500, 2700, 1100, "tie", corners_rad=bow_tie), where=small)
    assert "\n" not in str(f.value)


def test_an_area_across_the_date_line_is_one_area():
    corners = tuple((a * RAD, b * RAD) for a, b in ((10, 179.9), (10, -179.9), (10.2, -179.9), (10.2, 179.9)))
    area = make_area(AreaWanted(100, 2700, 0, "line", corners_rad=corners))
    assert np.ptp(area.corners_m[:, 0]) / NM_M == pytest.approx(11.84, abs=0.05)  # 0.2° of longitude at 10.1°N


# Source: PHAK ch. 16 (row H6 [V]): wind from the north at 20 kt carries the airplane 20 NM south in an hour.
def test_h6_an_hour_of_wind_drifts_its_speed_published():
    t = np.linspace(0.0, 3600.0, 50)
    east, north = drift_m(t, np.full_like(t, 1500.0), windy(360, 20))
    assert north[-1] / NM_M == pytest.approx(-20.0)
    assert east[-1] / NM_M == pytest.approx(0.0, abs=1e-9)


@given(st.floats(0.0, 2 * math.pi), st.floats(0.0, 360.0), st.floats(0.0, 30.0))
def test_turning_a_shape_keeps_its_air_path(turn: float, wind_deg: float, knots: float):
    """Length through the air is the same on every heading: ground path less drift."""
    air, shape = windy(wind_deg, knots), circle()
    east, north = over_ground(shape, turn, air)
    de, dn = drift_m(shape.time_s, shape.altitude_m, air)
    length = np.hypot(np.diff(east - de), np.diff(north - dn)).sum()
    assert length == pytest.approx(np.hypot(np.diff(shape.east_m), np.diff(shape.north_m)).sum())


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 360.0), st.floats(0.0, 25.0))
def test_the_path_stays_inside_with_its_margin_in_any_wind(direction: float, knots: float):
    area, air = square(6.0), windy(direction, knots)
    laid = lay_path(
        (straight(240), circle(), straight(120), circle()), area, air, enter_m=(0, -20e3), leave_m=(0, -20e3)
    )
    for path in laid:
        assert path.margin_m >= area.margin_m - 1.0
        assert path.margin_m == pytest.approx(float(area.inside_m(path.east_m, path.north_m).min()))


def test_what_can_not_fit_leaves_and_says_by_how_much():
    area = square(1.0)
    (path,) = lay_path((straight(600),), area, CALM, enter_m=(0, 0), leave_m=(0, 0))
    assert path.margin_m < 0.0


def test_a_fixed_heading_is_kept():
    shape = Shape(**{**straight(60).__dict__, "fixed": True, "heading_rad": 1.0})
    (path,) = lay_path((shape,), square(), windy(90, 20), enter_m=(0, 0), leave_m=(0, 0))
    assert path.heading_rad == pytest.approx(1.0)


def test_the_chain_is_short_when_everything_fits():
    """Four turns in a calm square: no start lies farther from the end before it than the grid is coarse."""
    laid = lay_path((circle(),) * 4, square(6.0), CALM, enter_m=(0, -20e3), leave_m=(0, -20e3))
    gaps = [math.dist((a.east_m[-1], a.north_m[-1]), (b.east_m[0], b.north_m[0])) for a, b in itertools.pairwise(laid)]
    assert max(gaps) < 12 * NM_M / 15


def test_starts_move_toward_a_landing_place():
    area = square(8.0)
    field = Field("meadow", 6 * NM_M, 0.0, 1100.0)
    low = Glide((field,), 9.0, 38.0)
    (path,) = lay_path((circle(),), area, CALM, enter_m=(-9e3, 0), leave_m=(-9e3, 0), glide=low)
    assert path.glide_field == "meadow"
    assert path.glide_spare_m > 100.0


# Source: row K2 [D]: 5,000 ft above ground, glide ratio 9, calm: 7.41 NM.
def test_k2_glide_reach_in_calm_air_published():
    at = 7.41 * NM_M
    arrives = arrival_height_m(at, 0.0, 5000 * FT_M, Field("f", 0.0, 0.0, 0.0), 9.0, 35.0, CALM)
    assert float(arrives) / FT_M == pytest.approx(0.0, abs=5.0)


# Source: AFH ch. 3 (row K1 [V]): 10,000 ft forward for 1,000 ft of height is a glide ratio of 10.
def test_k1_glide_ratio_published():
    arrives = arrival_height_m(10_000 * FT_M, 0.0, 1000 * FT_M, Field("f", 0.0, 0.0, 0.0), 10.0, 35.0, CALM)
    assert float(arrives) == pytest.approx(0.0, abs=0.1)


# Formula of the reference, section 6 [M]: with a headwind the distance is multiplied by (V − W)/V.
def test_a_headwind_shortens_the_glide_by_its_share_of_the_speed():
    tas, wind = 36.0, 9.0
    air = AirColumn(winds=(WindLayer(0.0, 270 * RAD, wind),))
    reach = 9.0 * 1000.0 * (tas - wind) / tas
    arrives = arrival_height_m(reach, 0.0, 1000.0, Field("west", 0.0, 0.0, 0.0), 9.0, tas, air)
    assert float(arrives) == pytest.approx(0.0, abs=1e-6)


def test_against_a_wind_as_fast_as_the_glide_nothing_is_in_reach():
    arrives = arrival_height_m(1000.0, 0.0, 3000.0, Field("west", 0.0, 0.0, 0.0), 9.0, 30.0, windy(270, 80))
    assert float(arrives) == -math.inf


def test_a_trace_over_the_ground_and_one_through_the_air_are_the_same_shape():
    """A room may give the path over the ground in the day's wind, or only heading and airspeed."""
    from airwork.lesson.exercises import shape_of
    from airwork.maneuvers.setup import Trace
    from lesson.runs import a_run

    run, air = a_run(0), windy(230, 18)
    through_air = shape_of(run, air)
    east, north = over_ground(through_air, 0.0, air)
    trace = Trace(run.trace.time_s, {**run.trace.columns, "east_m": east + 500.0, "north_m": north - 200.0})
    over = shape_of(type(run)(**{**{f: getattr(run, f) for f in run.__dataclass_fields__}, "trace": trace}), air)
    assert over.east_m == pytest.approx(through_air.east_m, abs=1e-6)
    assert over.north_m == pytest.approx(through_air.north_m, abs=1e-6)


def test_an_exercise_flown_longer_goes_on_from_where_it_ends():
    """A quarter more time is a quarter more way through the air, without a jump."""
    once = shape_of(a_run(0), CALM)
    longer = shape_of(replace(a_run(0), duration_s=1.25 * a_run(0).duration_s), CALM)
    length = [np.hypot(np.diff(s.east_m), np.diff(s.north_m)) for s in (once, longer)]
    assert length[1].sum() == pytest.approx(1.25 * length[0].sum(), rel=0.01)
    assert length[1].max() == pytest.approx(length[0].max(), rel=0.05)
    assert longer.time_s[-1] == pytest.approx(1.25 * once.time_s[-1], rel=0.01)


@pytest.mark.parametrize(("half_nm", "fits"), [(5.0, True), (2.0, False)])
def test_half_an_hour_of_an_exercise_is_flown_in_stretches(half_nm: float, fits: bool):
    """30 min at 45 m/s are 44 NM straight on: one flies back each five minutes (7.3 NM); 4 NM of area are too few."""
    run = replace(a_run(0), duration_s=1800.0)
    time = np.arange(241.0)
    columns = {"heading_rad": 0.0 * time, "tas_mps": 45.0 + 0.0 * time, "altitude_m": 2000.0 + 0.0 * time}
    run = replace(run, trace=replace(run.trace, time_s=time, columns=columns))
    laid = _lay([run], square(half_nm), SimpleNamespace(air=CALM), (0.0, 0.0), None)[run.number]
    assert 1500.0 < laid.time_s[-1] <= 1800.0  # the way back counts: the last stretch may end with it
    speed = np.hypot(np.diff(laid.east_m), np.diff(laid.north_m)) / np.diff(laid.time_s)
    assert speed.max() == pytest.approx(45.0, rel=0.01)
    assert (laid.margin_m > 0.0) == fits
