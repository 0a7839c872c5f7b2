"""The tank clock and the center of gravity through the lesson."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.airplane import Airplane
from airwork.errors import InputError
from airwork.lesson.balance import plan_balance
from airwork.lesson.legs import Leg
from airwork.lesson.tanks import TankPoint, plan_tanks
from airwork.units import FT_M, LB_KG, from_unit

GAL = from_unit(1.0, "gal")
GROUND_M = 3000 * FT_M


def legs(*parts: tuple[str, float, float, float]) -> list[Leg]:
    """(kind, minutes, gallons, altitude ft) one after another."""
    out, time = [], 0.0
    for kind, minutes, gallons, altitude in parts:
        height = altitude * FT_M
        leg = Leg(kind, kind, time, minutes * 60, gallons * GAL, height, height, 0.0, None, "full_rich", "")
        out.append(replace(leg, can_change=kind in {"transit", "between", "return"}))
        time += minutes * 60
    return out


def lesson_of(rounds: int, minutes: float = 12.0) -> list[Leg]:
    """Taxi, climb, way out, exercises with a gap between, way home, pattern, taxi in."""
    middle = [
        part for _ in range(rounds) for part in (("exercise", minutes, 1.5, 6500.0), ("between", 2.0, 0.3, 6500.0))
    ]
    parts = [("taxi", 10, 1.1, 3000), ("climb", 6, 1.0, 3000), ("transit", 4, 0.5, 6500), *middle,
             ("return", 8, 1.0, 6500), ("pattern", 6, 0.8, 4000), ("landing", 5, 0.4, 3000)]  # fmt: skip
    return legs(*parts)


def both(left: float, right: float) -> dict[str, float]:
    return {"left wing": left * GAL, "right wing": right * GAL}


def test_fuel_is_kept_whichever_tank_feeds(larkmoor: Airplane):
    plan = plan_tanks(larkmoor, lesson_of(4), both(18, 17), GROUND_M)
    burned = sum(leg.fuel_m3 for leg in lesson_of(4))
    assert plan.points[-1].total_m3 == pytest.approx(35 * GAL - burned)


def test_changes_come_between_maneuvers_high_enough_and_in_time(larkmoor: Airplane):
    work = lesson_of(6)
    plan = plan_tanks(larkmoor, work, both(18, 17), GROUND_M)
    assert len(plan.changes) >= 2
    for change in plan.changes:
        leg = next(x for x in work if x.start_s <= change.time_s < x.end_s)
        assert leg.kind in {"transit", "between", "return"}
        assert change.altitude_m >= GROUND_M + 1000 * FT_M
    times = [0.0, *(c.time_s for c in plan.changes)]
    assert max(b - a for a, b in itertools.pairwise(times)) <= 31 * 60


def test_low_work_is_not_interrupted(larkmoor: Airplane):
    """At 800 ft above ground, below the safe height, no change is made however late it is."""
    low = legs(("taxi", 10, 1, 3000), ("transit", 4, 0.5, 3800), ("exercise", 25, 3, 3800), ("between", 2, 0.2, 3800),
               ("exercise", 20, 2, 3800), ("pattern", 6, 0.8, 3800))  # fmt: skip
    assert plan_tanks(larkmoor, low, both(18, 18), GROUND_M).changes == ()


def test_a_long_exercise_makes_the_change_late_and_says_by_how_much(larkmoor: Airplane):
    work = legs(("taxi", 10, 1, 3000), ("transit", 4, 0.5, 6500), ("exercise", 55, 5, 6500), ("between", 2, 0.2, 6500),
                ("exercise", 10, 1, 6500), ("return", 8, 1, 6500), ("pattern", 6, 0.8, 4000))  # fmt: skip
    plan = plan_tanks(larkmoor, work, both(19, 19), GROUND_M, interval_s=30 * 60)
    first, second = plan.changes[:2]
    assert first.time_s == pytest.approx(13 * 60)  # the last chance before the long exercise, a minute ahead of it
    assert first.overdue_s == 0.0
    assert second.time_s == pytest.approx(69 * 60)
    assert second.overdue_s == pytest.approx((69 - 13 - 30) * 60)


def test_a_nearly_dry_tank_is_left_before_its_time(larkmoor: Airplane):
    plan = plan_tanks(larkmoor, lesson_of(3, 5.0), both(4.0, 4.0), GROUND_M, first_tank="left")
    assert plan.changes[0].why == "nearly dry"


def test_a_tank_that_runs_dry_is_a_problem_and_the_total_stays_right(larkmoor: Airplane):
    work = legs(("taxi", 10, 1, 3000), ("exercise", 60, 6, 6500))
    plan = plan_tanks(larkmoor, work, both(4, 9), GROUND_M, first_tank="left")
    assert plan.problems == ("“left” runs dry in “exercise”",)
    more = legs(("taxi", 10, 1, 3000), ("exercise", 60, 6, 6500), ("exercise", 20, 1, 6500), ("pattern", 6, 0.5, 4000))
    assert plan_tanks(larkmoor, more, both(4, 9), GROUND_M, first_tank="left").problems == plan.problems
    assert plan.points[-1].total_m3 == pytest.approx(6 * GAL)


def test_the_fullest_tank_is_taken_for_takeoff_and_landing(larkmoor: Airplane):
    plan = plan_tanks(larkmoor, lesson_of(4), both(12, 18), GROUND_M)
    assert plan.points[0].feeding == "right"
    last = plan.points[-1]
    other = "left wing" if last.feeding == "right" else "right wing"
    feeding = "right wing" if last.feeding == "right" else "left wing"
    assert last.left_m3[feeding] >= last.left_m3[other] - 1.5 * GAL


def test_one_selector_for_both_tanks_has_nothing_to_change(wrenbrook: Airplane):
    fuel = {t.name: 10 * GAL for t in wrenbrook.tanks}
    plan = plan_tanks(wrenbrook, lesson_of(3), fuel, GROUND_M)
    assert not plan.selectable
    assert plan.changes == ()
    amounts = list(plan.points[-1].left_m3.values())
    assert amounts[0] == pytest.approx(amounts[1])


def test_an_unknown_tank_to_start_on_is_one_line(larkmoor: Airplane):
    with pytest.raises(InputError, match="no selector position 'middle'; there are: left, right"):
        plan_tanks(larkmoor, lesson_of(1), both(10, 10), GROUND_M, first_tank="middle", where="x")


@given(st.integers(1, 7), st.floats(4.0, 25.0), st.floats(6.0, 20.0), st.floats(6.0, 20.0))
def test_no_tank_ever_holds_less_than_nothing(larkmoor, rounds: int, minutes: float, left: float, right: float):
    work = lesson_of(rounds, minutes)
    plan = plan_tanks(larkmoor, work, both(left, right), GROUND_M)
    assert all(v >= 0.0 for p in plan.points for v in p.left_m3.values())
    burned = sum(leg.fuel_m3 for leg in work)
    assert plan.points[-1].total_m3 == pytest.approx(max((left + right) * GAL - burned, 0.0), abs=1e-6)


# Source: WBH FAA-H-8083-1B ch. 2 (row I1's arithmetic [V]): CG = Σ moment / Σ weight. The airplane's own stations
# (invented): empty 1,385 lb at 85.8 in, front 85.0, fuel 95.0, 6 lb/gal.
def test_weight_and_arm_at_start_are_moment_over_weight(larkmoor: Airplane):
    fuel = both(18, 16.5)
    plan = plan_balance(larkmoor, {"front seats": 329 * LB_KG}, [TankPoint(0.0, fuel, "left")])
    pounds = 1385 + 329 + 34.5 * 6
    inches = (1385 * 85.8 + 329 * 85.0 + 34.5 * 6 * 95.0) / pounds
    assert plan.points[0].mass_kg / LB_KG == pytest.approx(pounds)
    assert plan.points[0].arm_m / 0.0254 == pytest.approx(inches)


# Source: PHAK ch. 10 (row I20 [V]): avgas weighs 6 lb/gal: 30 gal are 180 lb.
def test_i20_thirty_gallons_weigh_180_pounds_published(larkmoor: Airplane):
    full, less = ({"left wing": a * GAL, "right wing": b * GAL} for a, b in ((20.0, 20.0), (5.0, 5.0)))
    plan = plan_balance(larkmoor, {}, [TankPoint(0.0, full, "left"), TankPoint(1.0, less, "left")])
    assert (plan.points[0].mass_kg - plan.points[1].mass_kg) / LB_KG == pytest.approx(180)


def test_burning_fuel_ahead_of_the_center_of_gravity_moves_it_aft_and_the_other_way(larkmoor: Airplane):
    """The fuel's arm, 95 in, lies behind the loaded airplane's 87 in: the center moves forward as it burns."""
    plan = plan_balance(
        larkmoor, {"front seats": 300 * LB_KG}, [TankPoint(0, both(18, 18), "left"), TankPoint(1, both(10, 10), "left")]
    )
    assert plan.points[1].arm_m < plan.points[0].arm_m
    assert "normal" in plan.always


def test_too_heavy_is_a_problem_from_the_start(larkmoor: Airplane):
    plan = plan_balance(
        larkmoor, {"front seats": 480 * LB_KG, "rear seats": 380 * LB_KG}, [TankPoint(0.0, both(20, 20), "left")]
    )
    assert plan.problems
    assert plan.always == ()
