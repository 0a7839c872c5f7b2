"""The lesson in time and fuel: climbs and cruise by the book, reserve, turn for home, one more try."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.airdata.column import AirColumn, WindLayer
from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.performance import Performance, performance
from airwork.errors import AirworkError, NotPossible
from airwork.lesson.cruise import climb_rate, cruise_at, flow_at
from airwork.lesson.fuel import plan_fuel
from airwork.lesson.legs import Leg, Planner, climb, groundspeed, make_legs, start_taxi_fuel, time_fuel_home
from airwork.lesson.lesson import PlanWanted
from airwork.lesson.path import Laid
from airwork.lesson.reasons_heights import seconds_above
from airwork.units import FT_M, KT_MPS, LB_KG, NM_M, USGAL_M3, from_unit, to_unit
from lesson.runs import a_run

STANDARD_AIR = AirColumn()
FIELD_M = 1000 * FT_M


def planner(airplane: Airplane, fit: Performance, *, air: AirColumn = STANDARD_AIR, **plan: object) -> Planner:
    return Planner(airplane, fit, air, PlanWanted(**plan), (0.0, 0.0), FIELD_M, 2300 * LB_KG)  # type: ignore[arg-type]


@pytest.fixture
def home(larkmoor: Airplane, larkmoor_fit: Performance) -> Planner:
    return planner(larkmoor, larkmoor_fit, cruise_power_ratio=0.65, mixture="best_power")


def laid_at(run_numbers: list[int], north_nm: float) -> dict[int, Laid]:
    """Every run beside one point."""
    out = {}
    for n in run_numbers:
        trace = a_run(n).trace
        zero = 0.0 * trace.time_s
        altitude = trace.columns["altitude_m"]
        out[n] = Laid(trace.time_s, zero, zero + north_nm * NM_M, altitude, 0.0, 1000.0, 300.0, "")
    return out


# Source: the airplane's own handbook table (invented airplane): time, fuel and distance to climb, 2,300 lb, standard
# air: 2,000 to 6,000 ft is 8 min and 1.4 gal. The climb table's own rates give the time within a minute.
def test_a_climb_in_standard_air_takes_what_the_handbook_table_prints(home: Planner):
    up = climb(home, 2000 * FT_M, 6000 * FT_M, 2300 * LB_KG)
    assert up.time_s / 60 == pytest.approx(8, abs=1.0)
    assert to_unit(up.fuel_m3, "gal") == pytest.approx(1.4, abs=0.2)
    assert up.how == "handbook table, climb"


def test_heat_makes_the_climb_longer_and_dearer(larkmoor, larkmoor_fit):
    hot = replace(STANDARD_AIR, temperature_k=308.15)
    low, high = 2000 * FT_M, 6000 * FT_M
    cool, warm = (climb(planner(larkmoor, larkmoor_fit, air=a), low, high, 1000.0) for a in (STANDARD_AIR, hot))
    assert warm.time_s > cool.time_s
    assert warm.fuel_m3 > cool.fuel_m3


def test_a_climb_the_airplane_can_not_make_is_refused(larkmoor, larkmoor_fit):
    hot = replace(STANDARD_AIR, temperature_k=318.15)
    with pytest.raises(AirworkError, match=r"outside|climbs less"):
        climb(planner(larkmoor, larkmoor_fit, air=hot), FIELD_M, 14_000 * FT_M, 2300 * LB_KG)


# Source: the airplane's cruise table: 2,000 ft, standard, 2,400 rpm: 67 %, 106 KTAS, 8.5 gph best power.
def test_the_cruise_setting_agrees_with_the_handbooks_row(larkmoor, larkmoor_fit):
    c = cruise_at(larkmoor, larkmoor_fit, STANDARD_AIR, 2000 * FT_M, 2300 * LB_KG, 0.67, "best_power")
    assert c.tas_mps / KT_MPS == pytest.approx(106, abs=2.5)
    assert c.rpm == pytest.approx(2400, abs=40)
    assert to_unit(c.fuel_flow_m3ps, "gph") == pytest.approx(8.5, abs=0.15)


def test_more_power_than_there_is_takes_what_there_is_and_says_so(larkmoor, larkmoor_fit):
    c = cruise_at(larkmoor, larkmoor_fit, STANDARD_AIR, 11_000 * FT_M, 2300 * LB_KG, 0.9, None)
    assert c.power_ratio < 0.9
    assert "not there at this height" in c.note


def test_a_constant_speed_propeller_has_a_manifold_pressure(caldmere):
    c = cruise_at(caldmere, performance(caldmere), STANDARD_AIR, 5000 * FT_M, 2500 * LB_KG, 0.65, "best_power")
    assert c.manifold_pressure_pa is not None
    assert 15 < to_unit(c.manifold_pressure_pa, "inHg") < 29


# Source: rows H3, H5 of the reference (PHAK ch. 16 [V]): 220 NM at 88 kt and 8 gph: 2:30, 20 gal; 53 NM at 106 kt
# plus 5 min climb: 35 min, 4.7 gal. Time and fuel are those of the way over the ground.
@pytest.mark.parametrize(
    ("course_to", "distance_nm", "tas", "wind", "extra_min", "minutes", "gallons"),
    [
        ((1.0, 0.0), 220, 120, (45, 40), 0, 150, 20.0),
        ((0.515, 0.857), 53, 115, (0, 10), 5, 35, 4.7),
    ],
)
def test_h3_h5_time_and_fuel_over_the_ground_published(course_to, distance_nm, tas, wind, extra_min, minutes, gallons):
    import math

    air = AirColumn(winds=(WindLayer(0.0, math.radians(wind[0]), wind[1] * KT_MPS),))
    there = (course_to[0] * distance_nm * NM_M, course_to[1] * distance_nm * NM_M)
    speed = groundspeed(air, 1500.0, tas * KT_MPS, (0.0, 0.0), there)
    found = distance_nm * NM_M / speed / 60 + extra_min
    assert found == pytest.approx(minutes, abs=1.0)
    assert found / 60 * 8.0 == pytest.approx(gallons, abs=0.1)


# Source: row K7 [D]: 160 hp at 75 %, 0.45 lb per hp and hour: 9.0 gph. The book's flow at that power is of that size.
def test_k7_fuel_flow_is_of_the_size_of_a_specific_consumption(larkmoor):
    power_hp = 0.70 * 155
    per_hp = to_unit(larkmoor.fuel_flow_m3ps(0.70, "best_economy"), "gph") * 6.0 / power_hp
    assert per_hp == pytest.approx(0.45, abs=0.04)


def test_full_rich_above_the_cruise_table_is_an_estimate_not_a_refusal(larkmoor):
    assert flow_at(larkmoor, 1.0, "full_rich") > larkmoor.fuel_flow_m3ps(0.85, "full_rich")


def test_a_lighter_airplane_than_the_table_climbs_no_worse_than_its_first_row(larkmoor, larkmoor_fit):
    light = climb_rate(larkmoor, larkmoor_fit, 1600 * LB_KG, 4000 * FT_M, 283.15)
    assert light == climb_rate(larkmoor, larkmoor_fit, 1750 * LB_KG, 4000 * FT_M, 283.15)
    assert light[1]
    low = climb_rate(larkmoor, larkmoor_fit, 2000 * LB_KG, -450 * FT_M, 283.15)  # 30.40 inHg at sea level
    assert low == climb_rate(larkmoor, larkmoor_fit, 2000 * LB_KG, 0.0, 283.15)
    assert low[1]


def test_a_climb_hotter_than_the_table_is_the_fitted_airplanes_and_says_so(larkmoor, larkmoor_fit):
    """The table ends at 20 °C at 10,000 ft, where it prints 285 fpm for 2,000 lb."""
    rate, in_book = climb_rate(larkmoor, larkmoor_fit, 2000 * LB_KG, 10_000 * FT_M, 273.15 + 30)
    assert not in_book
    assert 0 < to_unit(rate, "fpm") < 285
    assert climb_rate(larkmoor, larkmoor_fit, 2000 * LB_KG, 10_000 * FT_M, 273.15 + 20)[1]


def test_beyond_the_climb_table_the_book_is_carried_on_not_left(larkmoor, larkmoor_fit):
    """A book more cautious than the fitted airplane stays so above its last row, heavier or hotter than it too."""
    table = larkmoor.file.performance.climb
    cautious = [row.model_copy(update={"rate_of_climb_fpm": 0.5 * row.rate_of_climb_fpm}) for row in table.rows]
    performance = larkmoor.file.performance.model_copy(update={"climb": table.model_copy(update={"rows": cautious})})
    book = Airplane(larkmoor.file.model_copy(update={"performance": performance}))
    top = max(row.pressure_altitude_ft for row in table.rows)
    at, _ = climb_rate(book, larkmoor_fit, 2000 * LB_KG, top * FT_M, 268.15)
    above, in_book = climb_rate(book, larkmoor_fit, 2000 * LB_KG, (top + 300) * FT_M, 268.15)
    fitted, _ = climb_rate(larkmoor, larkmoor_fit, 2000 * LB_KG, (top + 300) * FT_M, 268.15)
    assert not in_book
    assert 0.0 < above < at < fitted


def test_hotter_than_the_last_column_of_its_height_the_book_is_carried_on_from_there(larkmoor, larkmoor_fit):
    """The table ends at 20 °C at 10,000 ft and reaches 40 °C lower down: 30 °C there has no row of its own."""
    rows = larkmoor.file.performance.climb.rows
    assert max(r.oat_c for r in rows) > 20 == max(r.oat_c for r in rows if r.pressure_altitude_ft == 10_000)
    at, _ = climb_rate(larkmoor, larkmoor_fit, 2000 * LB_KG, 10_000 * FT_M, 273.15 + 20)
    hot, in_book = climb_rate(larkmoor, larkmoor_fit, 2000 * LB_KG, 10_000 * FT_M, 273.15 + 25)
    assert not in_book
    assert to_unit(at, "fpm") - 60 < to_unit(hot, "fpm") < to_unit(at, "fpm")


def test_start_and_taxi_take_the_handbooks_allowance_unless_given(home: Planner, larkmoor, larkmoor_fit):
    """The handbook's climb table says: add 1.1 us gal for start, taxi and takeoff."""
    fuel, how = start_taxi_fuel(home)
    assert to_unit(fuel, "gal") == pytest.approx(1.1)
    assert "handbook" in how
    own = planner(larkmoor, larkmoor_fit, start_taxi_fuel_m3=from_unit(2.0, "gal"))
    assert start_taxi_fuel(own) == (from_unit(2.0, "gal"), "given")


def test_the_legs_follow_one_another_without_a_gap(home: Planner):
    runs = [a_run(0), a_run(1, altitude_ft=5500), a_run(2, altitude_ft=7000)]
    legs = make_legs(home, runs, laid_at([0, 1, 2], 8.0))
    for before, after in itertools.pairwise(legs):
        assert after.start_s == pytest.approx(before.end_s)
    assert legs[0].kind == "taxi"
    assert [leg.run for leg in legs if leg.kind == "exercise"] == [0, 1, 2]
    assert legs[-1].name.startswith("taxi in")
    assert all(leg.fuel_m3 >= 0 for leg in legs)


def test_without_a_path_the_way_to_the_middle_of_the_area_is_counted(home: Planner):
    there = make_legs(home, [a_run(0)], {}, (0.0, 15 * NM_M))
    assert sum(leg.distance_m for leg in there if leg.kind in {"climb", "transit"}) == pytest.approx(15 * NM_M, rel=0.1)
    assert next(leg for leg in there if leg.kind == "return").distance_m == pytest.approx(15 * NM_M)


def test_altitudes_join_up_and_the_climbs_are_there(home: Planner):
    runs = [a_run(0, altitude_ft=5500), a_run(1, altitude_ft=7000)]
    legs = make_legs(home, runs, laid_at([0, 1], 8.0))
    climbs = [leg for leg in legs if leg.kind == "climb"]
    assert [round(leg.altitude_to_m / FT_M) for leg in climbs] == [5500, 7000]
    way_home = next(leg for leg in legs if leg.kind == "return")
    assert way_home.altitude_to_m == pytest.approx(FIELD_M + 1000 * FT_M)


def test_a_run_at_the_field_brings_the_airplane_home_first(home: Planner):
    runs = [a_run(0), a_run(1, at_field=True, altitude_ft=2000, kind="landing")]
    kinds = [leg.kind for leg in make_legs(home, runs, laid_at([0], 8.0))]
    assert kinds.index("return") < len(kinds) - 1 - kinds[::-1].index("exercise")


def test_a_headwind_home_takes_longer_than_a_tailwind(larkmoor, larkmoor_fit):
    south, north = (AirColumn(winds=(WindLayer(0.0, d, 12.0),)) for d in (3.14159, 0.0))
    against = time_fuel_home(planner(larkmoor, larkmoor_fit, air=south), (0.0, 15 * NM_M), 2000.0, 1000.0)
    along = time_fuel_home(planner(larkmoor, larkmoor_fit, air=north), (0.0, 15 * NM_M), 2000.0, 1000.0)
    assert against[0] > along[0]
    assert against[1] > along[1]


def test_a_wind_stronger_than_the_airplane_is_refused():
    with pytest.raises(NotPossible, match="is as strong as the airplane is fast"):
        groundspeed(AirColumn(winds=(WindLayer(0.0, 0.0, 80.0),)), 1000.0, 50.0, (0.0, 0.0), (0.0, 1e4))


def fuel_of(
    home: Planner, aboard_gal: float, *, night: bool = False, own_s: float | None = None, sunset: float | None = None,
    start: float = 0.0,
):  # fmt: skip
    runs = [a_run(0), a_run(1)]
    laid = laid_at([0, 1], 10.0)
    legs = make_legs(home, runs, laid)
    return plan_fuel(
        home, legs, runs, laid, from_unit(aboard_gal, "gal"), start_utc_s=start, night=night, sunset_utc_s=sunset,
        own_reserve_s=own_s,
    )  # fmt: skip


# Rule: 14 CFR 91.151 [V]: 30 min by day, 45 min by night at normal cruise.
def test_the_reserve_is_time_at_cruise_and_the_longer_one_counts(home: Planner):
    day, night, own = fuel_of(home, 30), fuel_of(home, 30, night=True), fuel_of(home, 30, own_s=3600.0)
    assert day.reserve_m3 == pytest.approx(1800 * day.cruise_flow_m3ps)
    assert night.reserve_m3 == pytest.approx(2700 * day.cruise_flow_m3ps)
    assert (own.reserve_s, own.reserve_how) == (3600.0, "own reserve")
    assert fuel_of(home, 30, own_s=600.0).reserve_s == 1800.0


def test_the_books_balance(home: Planner):
    f = fuel_of(home, 30)
    assert f.aboard_m3 == pytest.approx(f.burned_m3 + f.left_m3)
    assert f.spare_m3 == pytest.approx(f.left_m3 - f.reserve_m3)
    flow = home.cruise(home.pattern_m, home.mass_after(f.burned_m3)).fuel_flow_m3ps
    assert f.turn_home_m3 == pytest.approx(f.home_m3 + f.reserve_m3 + 360.0 * flow)  # six minutes for once more round
    legs = make_legs(home, [a_run(0), a_run(1)], laid_at([0, 1], 10.0))
    assert f.time_s == pytest.approx(sum(leg.duration_s for leg in legs))
    back = [leg.name for leg in legs].index("way home")
    assert f.planned_turn_home_s == pytest.approx(sum(leg.duration_s for leg in legs[:back]))


def test_turning_home_at_the_latest_lands_with_the_reserve_and_a_pattern(home: Planner):
    """At the latest moment the fuel aboard is just what the way home, a second pattern and the reserve need."""
    f = fuel_of(home, 30)
    assert f.turn_home_by == "fuel"
    runs, laid = [a_run(0), a_run(1)], laid_at([0, 1], 10.0)
    work = [x for x in make_legs(home, runs, laid) if x.end_s <= f.planned_turn_home_s + 1]
    at_planned = f.aboard_m3 - sum(x.fuel_m3 for x in work)
    air = [x for x in work if x.kind in {"exercise", "between", "transit", "climb"}]
    flow = sum(x.fuel_m3 for x in air) / sum(x.duration_s for x in air)
    left = at_planned - flow * (f.turn_home_s - f.planned_turn_home_s)
    assert left == pytest.approx(f.turn_home_m3, rel=1e-6)


def test_little_fuel_means_turning_home_before_the_plan_says(home: Planner):
    f = fuel_of(home, 9.0)
    assert f.turn_home_s < f.planned_turn_home_s
    burned = 0.0  # by then, leg by leg, the last in part
    for leg in make_legs(home, [a_run(0), a_run(1)], laid_at([0, 1], 10.0)):
        part = min(max((f.turn_home_s - leg.start_s) / max(leg.duration_s, 1e-9), 0.0), 1.0)
        burned += part * leg.fuel_m3
    assert f.aboard_m3 - burned == pytest.approx(f.turn_home_m3, rel=1e-6)
    assert f.spare_m3 < fuel_of(home, 30).spare_m3


def test_with_less_than_the_way_home_takes_one_does_not_leave(home: Planner):
    """4 gal don't even make the reserve, way home and a pattern: the latest time to turn is the engine's start."""
    f = fuel_of(home, 4.0)
    assert f.turn_home_m3 > from_unit(4.0, "gal")
    assert (f.turn_home_s, f.turn_home_by) == (0.0, "fuel")


def test_without_a_path_the_way_home_is_the_one_planned(home: Planner):
    """Way home, pattern, taxi in, as the legs have them; the taxi out and the lesson are none of it."""
    runs = [a_run(0)]
    legs = make_legs(home, runs, {}, (0.0, 15 * NM_M))
    f = plan_fuel(home, legs, runs, {}, from_unit(30, "gal"), start_utc_s=0.0, night=False, sunset_utc_s=None,
                  own_reserve_s=None)  # fmt: skip
    assert [leg.kind for leg in legs[-3:]] == ["return", "pattern", "landing"]
    assert f.home_s == pytest.approx(f.time_s - legs[-3].start_s)
    assert f.home_m3 == pytest.approx(sum(leg.fuel_m3 for leg in legs[-3:]))


# Source: the airplane's cruise table: 2,000 ft, standard, 67 %: 8.5 gph best power; 90 s of it are 0.21 gal, by hand.
def test_one_more_of_a_lone_exercise_is_set_up_at_cruise(larkmoor, larkmoor_fit):
    there = planner(larkmoor, larkmoor_fit, cruise_power_ratio=0.67, mixture="best_power")
    runs = [a_run(0, altitude_ft=2000)]
    legs = make_legs(there, runs, laid_at([0], 0.0))
    asked = {"start_utc_s": 0.0, "night": False, "sunset_utc_s": None, "own_reserve_s": None}
    (more,) = plan_fuel(there, legs, runs, {}, from_unit(30, "gal"), **asked).one_more
    assert to_unit(more.fuel_m3, "gal") == pytest.approx(0.6 + 8.5 * 90 / 3600, abs=0.005)
    longer = planner(larkmoor, larkmoor_fit, cruise_power_ratio=0.67, mixture="best_power", between_s=180.0)
    (more,) = plan_fuel(longer, legs, runs, {}, from_unit(30, "gal"), **asked).one_more
    assert to_unit(more.fuel_m3, "gal") == pytest.approx(0.6 + 8.5 * 180 / 3600, abs=0.005)
    assert more.time_s == 4 * 60 + 180


def test_an_exercise_flown_three_times_is_offered_once_and_one_without_numbers_never(home: Planner):
    """Runs 0, 1 and 3 are one exercise, 2 another; of 4 no set-up could be worked out."""
    runs = [a_run(n, exercise=int(n == 2)) for n in range(4)]
    laid = laid_at([0, 1, 2, 3], 10.0)
    legs = make_legs(home, runs, laid)
    f = plan_fuel(home, legs, [*runs, replace(a_run(4), set_up=None)], laid, from_unit(30, "gal"), start_utc_s=0.0,
                  night=False, sunset_utc_s=None, own_reserve_s=None)  # fmt: skip
    assert [more.run for more in f.one_more] == [0, 2]


def test_daylight_can_be_what_sends_one_home(home: Planner):
    f = fuel_of(home, 38, sunset=3000.0)
    assert f.turn_home_by == "daylight"
    assert f.turn_home_s == pytest.approx(3000.0 - f.home_s)
    later = fuel_of(home, 38, sunset=53_000.0, start=50_000.0)  # the same lesson on another part of the day
    assert later.turn_home_s == pytest.approx(f.turn_home_s)
    assert later.one_more[0].landing_utc_s == pytest.approx(50_000.0 + later.time_s + later.one_more[0].time_s)


def test_of_fuel_and_daylight_the_earlier_sends_one_home(home: Planner):
    f = fuel_of(home, 30)
    dark = f.turn_home_s + f.home_s  # home at sunset by turning when the fuel says so
    assert [fuel_of(home, 30, sunset=dark + s).turn_home_by for s in (60.0, -60.0)] == ["fuel", "daylight"]
    assert fuel_of(home, 30, sunset=dark + 60.0).turn_home_s == f.turn_home_s


def test_one_more_try_costs_the_run_and_setting_it_up(home: Planner):
    f = fuel_of(home, 30)
    more = f.one_more[0]
    assert more.fuel_m3 > from_unit(0.6, "gal")
    between = next(x for x in make_legs(home, [a_run(0), a_run(1)], laid_at([0, 1], 10.0)) if x.kind == "between")
    assert more.fuel_m3 == pytest.approx(a_run(0).fuel_m3 + 90.0 * between.fuel_m3 / between.duration_s)
    assert more.time_s == pytest.approx(4 * 60 + 90)
    assert more.spare_after_m3 == pytest.approx(f.spare_m3 - more.fuel_m3)


def test_gallons_are_gallons():
    assert from_unit(1.0, "gal") == USGAL_M3


# Source: the airplane's cruise table (invented airplane): 106 KTAS and 8.5 gph at 67 %, best power; calm, so the way
# between two points is their distance over that speed, by hand.
@pytest.mark.parametrize("far_first", [True, False])
def test_fuel_to_turn_home_with_is_counted_from_the_farthest_exercise(larkmoor, larkmoor_fit, far_first: bool):
    there = planner(larkmoor, larkmoor_fit, cruise_power_ratio=0.67, mixture="best_power")
    runs = [a_run(0), a_run(1)]
    near, far = (laid_at([n], nm)[n] for n, nm in ((0, 20.0), (1, 38.0)))
    legs = make_legs(there, runs, {0: near, 1: far})
    laid = {0: far, 1: near} if far_first else {0: near, 1: far}
    both, only_near = (
        plan_fuel(
            there,
            legs,
            runs,
            on,
            from_unit(40.0, "gal"),
            start_utc_s=0.0,
            night=False,
            sunset_utc_s=None,
            own_reserve_s=None,
        )
        for on in (laid, {0: near, 1: near})
    )
    hours = 18.0 / 106.0
    assert (both.home_s - only_near.home_s) / 3600 == pytest.approx(hours, rel=0.06)
    assert to_unit(both.home_m3 - only_near.home_m3, "gal") == pytest.approx(8.5 * hours, rel=0.10)
    assert both.turn_home_m3 - only_near.turn_home_m3 == pytest.approx(both.home_m3 - only_near.home_m3)


@pytest.mark.parametrize("outward", [True, False])
def test_the_way_home_is_counted_from_both_ends_of_an_exercise(home: Planner, outward: bool) -> None:
    """A path from 20 to 38 NM out, or back: as one that lies 38 NM out all the way."""
    runs, far = [a_run(0)], laid_at([0], 38.0)
    to = np.linspace(20.0, 38.0, far[0].time_s.size) * NM_M
    leading = {0: replace(far[0], north_m=to if outward else to[::-1])}
    legs = make_legs(home, runs, far)
    asked = {"start_utc_s": 0.0, "night": False, "sunset_utc_s": None, "own_reserve_s": None}
    one, all_the_way = (plan_fuel(home, legs, runs, on, from_unit(40.0, "gal"), **asked) for on in (leading, far))
    assert one.home_m3 == pytest.approx(all_the_way.home_m3, rel=1e-9)
    assert one.home_s == pytest.approx(all_the_way.home_s, rel=1e-9)


def test_setting_up_once_more_burns_what_setting_up_between_the_exercises_burns(home: Planner) -> None:
    """Told to burn twice as much between them, it costs that much more."""
    runs, on = [a_run(0), a_run(1)], laid_at([0, 1], 20.0)
    legs = make_legs(home, runs, on)
    asked = {"start_utc_s": 0.0, "night": False, "sunset_utc_s": None, "own_reserve_s": None}
    thirsty = [replace(leg, fuel_m3=2.0 * leg.fuel_m3) if leg.kind == "between" else leg for leg in legs]
    between = next(leg for leg in legs if leg.kind == "between" and leg.fuel_m3 > 0.0)
    once, twice = (plan_fuel(home, flown, runs, on, from_unit(40.0, "gal"), **asked).one_more[0].fuel_m3
                   for flown in (legs, thirsty))  # fmt: skip
    assert twice - once == pytest.approx(between.fuel_m3, rel=1e-6)


def test_the_dearest_way_home_counts_not_the_longest(home: Planner) -> None:
    """A little nearer, but a thousand feet to climb to pattern altitude: sooner home, on more fuel."""
    at_pattern, below = (np.full(120, FIELD_M + up * FT_M) for up in (1000.0, 0.0))
    far, low = (replace(laid_at([0], nm)[0], altitude_m=h) for nm, h in ((10.0, at_pattern), (9.8, below)))
    legs = make_legs(home, [a_run(0)], {0: far})
    asked = {"start_utc_s": 0.0, "night": False, "sunset_utc_s": None, "own_reserve_s": None}
    alone, both = (
        plan_fuel(home, legs, [a_run(0)], on, from_unit(40.0, "gal"), **asked) for on in ({0: far}, {0: far, 1: low})
    )
    assert both.home_m3 > alone.home_m3
    assert both.home_s < alone.home_s


# Source: arithmetic. 500 ft of the climb at the rate of their middle, 500 ft down at 500 ft/min, what is level whole.
def test_time_above_an_altitude_is_that_of_the_part_above_it(caldmere: Airplane):
    fit = performance(caldmere)
    p = replace(planner(caldmere, fit), mass_kg=2300 * LB_KG)
    top, limit = 13_000 * FT_M, 12_500 * FT_M
    up = climb(p, FIELD_M, top, p.mass_kg).time_s
    legs = [
        Leg("climb", "", 0.0, up, 0.0, FIELD_M, top, 0.0, None, "", ""),
        Leg("exercise", "", up, 900.0, 0.0, top, top, 0.0, None, "", ""),
        Leg("return", "", up + 900.0, 3000.0, 0.0, top, 2000 * FT_M, 0.0, None, "", ""),
    ]
    rate, _ = climb_rate(caldmere, fit, p.mass_kg, 12_750 * FT_M, float(STANDARD_AIR.temperature_at_k(12_750 * FT_M)))
    assert seconds_above(p, legs, limit) == pytest.approx(500 * FT_M / rate + 900.0 + 60.0, abs=15.0)
    assert seconds_above(p, legs, 14_000 * FT_M) == 0.0
    assert seconds_above(p, legs, 0.0) == pytest.approx(up + 900.0 + 3000.0)


# Source: the airplane's own handbook table (invented airplane), whose coldest column at 4,000 ft, 0 °C, says 545 ft/min
# once that at -20 °C is struck out: in colder air it climbs no worse ([PHAK] ch. 11: density).
def test_air_colder_than_the_climb_table_takes_its_coldest_column_there(larkmoor_fit: Performance, tmp_path: Path):
    lines = find_airplane_file("larkmoor_155").read_text("utf-8").splitlines()
    struck = "pressure_altitude_ft = 4000, oat_c = -20, climb_speed_kias"
    file = tmp_path / "larkmoor_155.toml"
    file.write_text("\n".join(line for line in lines if struck not in line), "utf-8")
    for celsius in (0.0, -8.0, -25.0):
        rate, printed = climb_rate(load_airplane(file), larkmoor_fit, 2300 * LB_KG, 4000 * FT_M, 273.15 + celsius)
        assert printed
        assert to_unit(rate, "fpm") == pytest.approx(545, abs=1.0)
