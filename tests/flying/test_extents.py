"""Extents in the exact state by the rooms' words, on made columns where they can be told by hand."""

from __future__ import annotations

import math

import numpy as np
from flying.extents import exact
from flying.truth import Mark

from airwork.units import FT_M, KT_MPS

T = np.arange(0.0, 300.0, 0.5)


def columns(**given: np.ndarray) -> dict[str, np.ndarray]:
    level = np.zeros_like(T)
    return {"time_s": T, "vertical_speed_mps": level, "ias_mps": level + 50.0, "heading_rad": level,
            "agl_m": level + 900.0, **given}  # fmt: skip


def test_slow_flight_ends_where_nine_tenths_of_the_speed_are_back() -> None:
    """50 m/s, slowed from 10 s on, half a meter a second faster from 100 s on: 45 m/s at 140 s."""
    ias = np.interp(T, [0.0, 10.0, 60.0, 100.0, 160.0], [50.0, 50.0, 25.0, 25.0, 55.0])
    mark = Mark("slow_flight", 10.0, 120.0, phases={"recovery": 100.0})
    assert exact(columns(ias_mps=ias), [mark])[0].end_s == 140.0


def test_slow_flight_whose_speed_never_comes_back_ends_where_it_gains_no_more() -> None:
    ias = np.interp(T, [0.0, 10.0, 60.0, 100.0, 120.0], [50.0, 50.0, 25.0, 25.0, 40.0])
    mark = Mark("slow_flight", 10.0, 110.0, phases={"recovery": 100.0})
    assert 118.0 <= exact(columns(ias_mps=ias), [mark])[0].end_s <= 120.5


def test_a_stall_ends_climbing_at_a_safe_speed_not_when_the_pilot_goes_on() -> None:
    climb = np.where(T < 60.0, -3.0, 1.0)
    ias = np.interp(T, [0.0, 50.0, 70.0], [25.0, 25.0, 35.0])
    mark = Mark("power_off_stall", 20.0, 90.0, phases={"recovery": 50.0}, notes={"stall_ias_kt": 26.0 / KT_MPS})
    found = exact(columns(ias_mps=ias, vertical_speed_mps=climb), [mark])[0]
    assert (found.start_s, found.end_s) == (20.0, 62.5)  # 1.2 · 26 = 31.2 m/s at 62.4 s


def test_a_go_around_runs_from_half_the_sink_to_400_ft_above_its_lowest_point() -> None:
    climb = np.interp(T, [0.0, 100.0, 104.0, 200.0], [-3.0, -3.0, 3.0, 3.0])
    rises = 0.25 * (climb[1:] + climb[:-1])
    height = 400.0 + np.concatenate([[0.0], np.cumsum(rises)])
    found = exact(columns(vertical_speed_mps=climb, agl_m=height), [Mark("go_around", 99.0, 150.0)])[0]
    assert found.start_s == 100.5  # −1.5 m/s at 101 s
    over = (height - height.min()) / FT_M
    assert over[found.end_s == T][0] >= 400.0
    assert over[found.end_s - 0.5 == T][0] < 400.0


def test_a_closed_pattern_lies_between_take_off_and_landing() -> None:
    """Crosswind at 60 s, downwind at 90 s, base and final from 170 s on; landing from 220 s on."""
    heading = np.radians(np.interp(T, [60, 70, 90, 100, 160, 170, 190, 200], [0, 90, 90, 180, 180, 270, 270, 360]))
    marks = [Mark("takeoff", 5.0, 40.0), Mark("traffic_pattern", 60.0, 200.0, phases={"abeam": 130.0}),
             Mark("landing", 220.0, 250.0)]  # fmt: skip
    found = exact(columns(heading_rad=heading), marks)[1]
    assert (found.start_s, found.end_s) == (40.0, 220.0)
    entered = Mark("traffic_pattern", 85.0, 200.0, phases={"abeam": 130.0})
    joined = exact(columns(heading_rad=heading), [entered, marks[2]])
    assert abs(joined[0].start_s - (90.0 + 10.0 * (55.0 / 90.0))) <= 0.5
    assert math.isclose(joined[0].end_s, 220.0)
