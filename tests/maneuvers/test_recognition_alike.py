"""Pairs that were once taken for each other, and what a trip has that looks like an exercise: one flight each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from airwork.debrief import recognize
from airwork.maneuvers.seeing.view_building import build_view
from flightbuilder import APPROACH_KT, STALL_KT, Builder
from maneuvers.told_apart import BOTH, in_air, is_found, kinds, story


def trip(**more: float) -> Builder:
    """Under way at 3,500 ft after a take-off."""
    b = Builder(wind_kt=12.0, **more)
    b.takeoff()
    b.climb(3500.0)
    b.hold(150.0)
    return b


def home(b: Builder) -> Builder:
    """Down into the pattern and landed."""
    b.hold(150.0)
    b.descend(b.field_ft + 1000.0)
    b.pattern_to()
    return b


def exercises(b: Builder, *, position: bool) -> list[str]:
    """What is claimed beside the work at the field."""
    return [k for k in kinds(story(b, position=position)) if k not in ("takeoff", "traffic_pattern", "landing")]


@BOTH
def test_not_steep_turn_turned_back_on_a_trip_at_43_degrees(position: bool) -> None:
    """A brisk half circle for home, nothing practiced before or after: as steep as an exercise, and none."""
    b = trip()
    b.turn(-185.0, 43.0)
    assert exercises(home(b), position=position) == []


@BOTH
def test_pass_one_steep_turn_on_a_trip(position: bool) -> None:
    """A full circle at 45° is nothing that happens on the way: found though it is the only exercise."""
    b = trip()
    b.steep_turn()
    assert exercises(home(b), position=position) == ["steep_turn"]


@BOTH
def test_not_steep_turn_two_circles_down_after_a_release(position: bool) -> None:
    """A tow plane comes down at 40° of bank and 900 ft/min, 900 ft in two circles: a steep turn is flown level."""
    b = trip(skill=1.0)
    b.turn(700.0, 40.0, vs=lambda turned: -4.6)
    b.level_ft = b.alt_ft
    b.hold(60.0, kt=95.0)
    assert "steep_turn" not in exercises(home(b), position=position)


@BOTH
def test_not_slow_flight_circling_slowly_round_and_round(position: bool) -> None:
    """Ten circles at 22° of bank and 60 kt, as under a cloud: nobody turns so far in slow flight."""
    b = trip()
    b.until(lambda: b.ias_kt < 60.0, 0.0, None, 59.0, accel=0.7)
    b.kt = 59.0
    b.turn(3600.0, 22.0, vs=lambda turned: 0.6)
    b.level_ft = b.alt_ft
    b.hold(60.0, kt=100.0)
    assert "slow_flight" not in exercises(home(b), position=position)


@BOTH
def test_not_slow_flight_gliding_down_slowly_into_a_stall(position: bool) -> None:
    """Twenty-five seconds at idle and 400 ft/min down with the flaps out is how a stall is entered."""
    b = in_air()
    b.clearing_turn()
    with b.mark("power_off_stall"):
        b.until(lambda: b.ias_kt < 56.0, 0.0, None, 55.0, accel=0.8)
        b.flap = 1.0
        begun = b.t
        b.until(lambda: b.t > begun + 25.0, 0.0, -2.1, 55.0)
        b.until(lambda: b.ias_kt < 43.0, 0.0, -0.7, 38.0, accel=0.8)
        b._break(-6.5, 58.0)
        b.flap = 0.0
    b.hold(60.0, ft=b.alt_ft, kt=95.0)
    found = story(b, position=position)
    assert kinds(found) == ["clearing_turn", "power_off_stall"]


@BOTH
@pytest.mark.parametrize(
    ("corners", "bank_deg"),
    [(((111.0, 54.0), (100.0, 35.0), (41.0, 60.0)), 25.0), (((105.0, 35.0), (47.0, 70.0), (110.0, 60.0)), 20.0)],
    ids=["two turns and a bend on the way home", "three turns one way, no right angles"],
)
def test_not_rectangular_course_turns_low_on_a_look_round(
    corners: tuple[tuple[float, float], ...], bank_deg: float, position: bool
) -> None:
    """At about 1,000 ft, (degrees, seconds to the next): once round takes three right corners."""
    b = Builder(wind_kt=10.0)
    b.takeoff()
    b.climb(1800.0)
    b.hold(60.0, kt=95.0)
    for corner, leg_s in corners:
        b.turn(corner, bank_deg)
        b.hold(leg_s)
    assert "rectangular_course" not in exercises(home(b), position=position)


@BOTH
@pytest.mark.parametrize(
    ("corners", "between_s", "seen"),
    [
        ((102.0, 125.0, 64.0), 0.0, False),
        ((90.0,) * 4, 0.0, False),
        ((90.0,) * 8, 0.0, True),
        ((90.0,) * 4, 150.0, True),
    ],
    ids=["abeam the runway, 45, downwind", "once round", "twice round", "once round, the pattern later"],
)
def test_not_rectangular_course_legs_that_end_on_the_downwind_leg(
    corners: tuple[float, ...], between_s: float, seen: bool, position: bool
) -> None:
    """That is how the pattern was joined; a course goes round one field, better twice ([AFH] ch. 7)."""
    b = Builder(wind_kt=10.0)
    b.takeoff()
    b.climb(b.field_ft + 900.0)
    b.hold(120.0, kt=95.0)
    for corner in corners:
        b.turn(corner, 23.0)
        b.hold(20.0)
    if between_s:
        b.hold(between_s)
        b.turn(80.0, 20.0)
        b.hold(60.0)
    b.pattern_to()
    assert ("rectangular_course" in exercises(b, position=position)) is seen


@BOTH
@pytest.mark.parametrize("rounds", [1.0, 1.36, 1.87, 2.0, 2.18, 2.5])
def test_circles_at_one_bank_blown_along_are_meant_where_they_end_as_they_began(position: bool, rounds: float) -> None:
    """Four times round and round at 22° low down, carried off by 12 kt. Out on any heading, nobody followed a point;
    once round is a look, or waiting ([AFH] ch. 7: two turns)."""
    b = Builder(wind_kt=12.0)
    b.takeoff()
    b.climb(1700.0)
    for _ in range(4):
        b.hold(90.0, kt=80.0)
        b.turn(360.0 * rounds, 22.0)
    assert ("turns_around_point" in exercises(home(b), position=position)) == (rounds == 2.0)


@BOTH
@pytest.mark.parametrize(("rounds", "is_one"), [(1.0, False), (2.0, True), (2.4, True)])
def test_turns_around_a_point_held_at_one_radius_go_round_twice(position: bool, rounds: float, is_one: bool) -> None:
    """The wind allowed for, out on any heading: two rounds lie on each other, one lies on nothing ([AFH] ch. 7)."""
    b = Builder(wind_kt=12.0)
    b.takeoff()
    b.climb(1700.0)
    b.hold(90.0, kt=80.0)
    b.turns_around_point(rounds)
    b.hold(60.0)
    assert ("turns_around_point" in exercises(home(b), position=position)) == is_one


@BOTH
def test_not_turns_around_a_point_a_very_wide_circle(position: bool) -> None:
    """1,500 m of radius round a town is sightseeing: a poor pilot's circle is half as wide."""
    b = Builder(wind_kt=12.0)
    b.takeoff()
    b.climb(1700.0)
    b.hold(40.0, kt=95.0)
    b.turns_around_point(1.3, radius=1500.0)
    assert "turns_around_point" not in exercises(home(b), position=position)


@BOTH
@pytest.mark.parametrize(("rest_s", "are_some"), [((70.0,), False), ((30.0, 50.0, 40.0), True)])
def test_turns_from_line_to_line_of_a_survey_are_no_level_turns(
    position: bool, rest_s: tuple[float, ...], are_some: bool
) -> None:
    """Eight half circles to alternate sides: lines of one length are the job, rests of any a lesson's."""
    b = Builder()
    b.takeoff()
    b.climb(3400.0)
    b.hold(60.0, kt=95.0)
    for k in range(8):
        b.turn(180.0 * (-1.0) ** k, 20.0)
        b.hold(rest_s[k % len(rest_s)])
    assert ("level_turn" in exercises(home(b), position=position)) == are_some


@BOTH
def test_half_and_full_circles_all_in_one_medium_bank_are_level_turns(position: bool) -> None:
    """29° of bank is a medium turn (20° to 45°, [AFH] ch. 3), through 180° and 360°: nothing steep, nothing cleared."""
    b = Builder()
    b.takeoff()
    b.climb(4800.0)
    b.hold(60.0, kt=92.0)
    for degrees in (180.0, -180.0, 180.0, -180.0, 360.0, -360.0):
        b.turn(degrees, 29.0)
        b.hold(30.0)
    assert set(exercises(home(b), position=position)) == {"level_turn"}


@BOTH
def test_not_eights_on_pylons_half_a_turn_back_and_on_course(position: bool) -> None:
    """130° one way, 255° the other, low: two turns round two places, neither flown round again."""
    b = Builder(wind_kt=15.0)
    b.takeoff()
    b.climb(1700.0)
    b.hold(60.0, kt=90.0)
    b.turn(-130.0, 21.0)
    b.turn(255.0, 21.0)
    b.hold(60.0)
    assert "eights_on_pylons" not in exercises(home(b), position=position)


@BOTH
def test_pass_chandelle_held_up_until_it_nearly_stalls(position: bool) -> None:
    """Slow at its end it breaks off like a power-on stall would: half a circle of turn says which it was."""
    b = in_air()
    b.clearing_turn()
    b.chandelle()
    flown = b.truth[-1]
    found = story(b, position=position)
    assert is_found(flown, found)
    assert "power_on_stall" not in kinds(found)


@BOTH
def test_not_chandelle_a_power_on_stall_in_a_turn(position: bool) -> None:
    """A turning stall climbs and slows as a chandelle does, through less than a quarter of a circle."""
    b = in_air()
    b.clearing_turn()
    with b.mark("power_on_stall") as flown:
        b.until(lambda: b.ias_kt < 61.0, 0.0, None, 60.0, accel=0.8)
        b.until(lambda: b.ias_kt < STALL_KT - 1.0, np.radians(15.0), 3.6, STALL_KT - 4.0, accel=0.6)
        b._break(-5.5, 60.0)
    b.hold(60.0, ft=4600.0, kt=95.0)
    found = story(b, position=position)
    assert is_found(flown, found)
    assert "chandelle" not in kinds(found)


def test_pass_power_on_stall_whose_power_came_off_with_the_nose() -> None:
    """The throttle closed as the nose drops, slowest some seconds later: the engine ran when it broke."""
    b = in_air()
    b.clearing_turn()
    with b.mark("power_on_stall") as flown:
        b.until(lambda: b.ias_kt < 61.0, 0.0, None, 60.0, accel=0.8)
        b.until(lambda: b.ias_kt < STALL_KT, 0.0, 3.6, STALL_KT - 4.0, accel=0.6)
        begun = b.t
        b.until(lambda: b.t > begun + 5.0, 0.0, -5.5, STALL_KT - 7.0, accel=0.5)  # nose down, idle, still slowing
        b._break(-5.5, 60.0)
    b.hold(60.0, ft=4500.0, kt=95.0)
    found = story(b)
    assert is_found(flown, found)
    assert "power_off_stall" not in kinds(found)


@BOTH
@pytest.mark.parametrize("level_s", [4.0, 60.0])
def test_pass_a_descent_with_a_moment_level_in_it_is_one(level_s: float, position: bool) -> None:
    """Leveled for four seconds on the way down: one descent; for a minute: two."""
    b = in_air(ft=5000.0)
    for to_ft in (4300.0, 3600.0):
        b.until(lambda to_ft=to_ft: b.alt_ft < to_ft, 0.0, -2.8, 95.0)
        b.level_ft = b.alt_ft
        b.hold(level_s if to_ft == 4300.0 else 60.0, kt=95.0)
    found = [e for e in story(b, position=position) if e.kind == "descent"]
    assert len(found) == (1 if level_s < 10.0 else 2)


@BOTH
def test_pass_clearing_turn_still_under_way_as_the_speed_comes_back(position: bool) -> None:
    """Slowing down begins in the second turn: the clearing turn and the slow flight overlap, and both are told."""
    b = in_air()
    with b.mark("clearing_turn"):
        b.turn(90.0, 25.0)
        b.kt = APPROACH_KT
        b.turn(-90.0, 25.0)
    with b.mark("slow_flight"):
        b.until(lambda: b.ias_kt < 57.0, 0.0, None, 56.0, accel=0.7)
        b.flap = 0.5
        b.hold(60.0, kt=56.0)
        b.flap = 0.0
        b.until(lambda: b.ias_kt > 92.0, 0.0, None, 98.0, accel=0.8)
    b.hold(60.0, kt=100.0)
    assert kinds(story(b, position=position)) == ["clearing_turn", "slow_flight"]


@BOTH
def test_not_stall_a_wallow_in_slow_flight(position: bool) -> None:
    """Nose high, 900 ft/min down for some seconds, and on at the same slow speed: nothing was recovered from."""
    b = trip()
    b.clearing_turn()
    b.until(lambda: b.ias_kt < 53.0, 0.0, None, 51.0, accel=0.7)
    b.hold(40.0, kt=52.0)
    b.until(lambda: b.ias_kt < STALL_KT + 1.0, 0.0, 1.6, STALL_KT - 1.0, accel=0.7)
    wallowed = b.t
    b.until(lambda: b.t > wallowed + 5.0, 0.0, -4.6, 55.0, accel=1.5)
    b.until(lambda: b.t > wallowed + 12.0, 0.0, 1.5, 52.0)
    b.level_ft = b.alt_ft
    b.hold(50.0, kt=52.0)
    b.until(lambda: b.ias_kt > 90.0, 0.0, None, 95.0)
    assert exercises(home(b), position=position) == ["clearing_turn", "slow_flight"]


def test_pass_power_off_stall_recovered_with_the_throttle_closed() -> None:
    """As a school may ask for it: the nose down to 1.5 times the stall speed, level, and only then power."""
    b = trip()
    b.clearing_turn()
    with b.mark("power_off_stall") as flown:
        b.until(lambda: b.ias_kt < APPROACH_KT, 0.0, -2.0, APPROACH_KT - 1.0, accel=0.8)
        b.until(lambda: b.ias_kt < STALL_KT, 0.0, -0.7, STALL_KT - 4.0, accel=0.8)
        b.until(lambda: b.ias_kt > 1.5 * STALL_KT, 0.0, -6.0, 1.6 * STALL_KT, accel=1.8)
    idle = b.t
    b.until(lambda: b.t > idle + 5.0, 0.0, -3.4, 72.0, accel=0.5)
    assert is_found(flown, story(home(b)), 0.4)


@BOTH
def test_not_steep_turn_two_circles_near_the_stall(position: bool) -> None:
    """Twice round at 40° of bank and 58 kt, rising, as under a cloud: a steep turn is flown far from the stall."""
    b = trip(skill=1.0)
    b.until(lambda: b.ias_kt < 58.0, 0.0, None, 57.0, accel=0.7)
    b.kt = 57.0
    b.turn(720.0, 40.0, vs=lambda turned: 1.5)
    b.level_ft = b.alt_ft
    b.hold(60.0, kt=95.0)
    assert exercises(home(b), position=position) == []


@BOTH
def test_pass_clearing_turn_that_lost_height_and_won_it_back(position: bool) -> None:
    """Down at 600 ft/min through the first 90°, up again through the second: level on the whole."""
    b = trip()
    with b.mark("clearing_turn") as flown:
        b.turn(90.0, 28.0, vs=lambda turned: -3.1)
        b.turn(-90.0, 28.0, vs=lambda turned: 2.4)
    b.level_ft = b.alt_ft
    b.hold(10.0)
    b.steep_turn()
    assert is_found(flown, story(home(b), position=position))


@BOTH
def test_pass_chandelle_out_of_a_slight_climb(position: bool) -> None:
    """Still rising at 700 ft/min from the work before: what makes it a chandelle is the speed it pays with."""
    b = trip(skill=1.0)
    b.clearing_turn()
    b.level_ft = b.alt_ft + 1500.0  # climbing until it rolls in
    before = len(b.truth)
    b.chandelle()
    assert is_found(b.truth[before], story(home(b), position=position))


@pytest.mark.parametrize(
    ("level_s", "what", "position"),
    [
        (30.0, ["power_on_stall"], False),
        (30.0, ["power_on_stall"], True),
        (90.0, ["slow_flight", "power_on_stall"], False),
    ],
)
def test_a_stall_slowed_for_long_is_a_stall_and_after_slow_flight_both(
    level_s: float, what: list[str], position: bool
) -> None:
    """Half a minute level and slow before the nose goes up is how poor hands enter; a minute and a half is held.

    From position alone the mild break at the end of the minute and a half is not clear enough to be told.
    """
    b = in_air()
    b.clearing_turn()
    with b.mark("power_on_stall" if len(what) == 1 else "slow_flight") as flown:
        b.until(lambda: b.ias_kt < 57.0, 0.0, None, 56.0, accel=0.7)
        b.hold(level_s, kt=56.0)
        b.until(lambda: b.ias_kt < STALL_KT - 2.0, 0.0, 2.5, STALL_KT - 5.0, accel=0.6)
        b._break(-6.0, 62.0)
    b.hold(60.0, ft=4600.0, kt=100.0)
    found = story(b, position=position)
    assert kinds(found) == ["clearing_turn", *what]
    assert is_found(flown, found)


def test_not_stall_where_the_recorded_warning_kept_silent() -> None:
    """Two alike; the switch that warned of the first was silent at the second: nothing stalled there."""
    b = in_air()
    for _ in range(2):
        b.clearing_turn()
        b.power_off_stall()
        b.hold(60.0, ft=4500.0, kt=100.0)
    flight, second_s = b.flight(rate_hz=5.0), b.truth[-1].start_s
    warning = flight.columns["stall_warning"]

    def stalls(until_s: float) -> list[str]:
        silent = replace(warning, values=np.where(flight.time_s < until_s, warning.values, 0.0))
        view = build_view(replace(flight, columns={**flight.columns, "stall_warning": silent}))
        assert view is not None
        return [e.kind for e in recognize(view) if e.kind.endswith("stall")]

    assert stalls(np.inf) == ["power_off_stall", "power_off_stall"]
    assert stalls(second_s) == ["power_off_stall"]
    assert stalls(0.0) == ["power_off_stall", "power_off_stall"]  # a switch that never worked says nothing


@BOTH
def test_pass_turning_power_on_stall_whose_wing_drops(position: bool) -> None:
    """Below the 1 g stall speed with the wing going down to 40°: no accelerated stall, that comes above it."""
    b = in_air()
    b.clearing_turn()
    with b.mark("power_on_stall") as flown:
        b.until(lambda: b.ias_kt < 58.0, 0.0, None, 57.0, accel=0.8)
        b.until(lambda: b.ias_kt < STALL_KT + 2.0, np.radians(15.0), 3.6, STALL_KT - 4.0, accel=0.5)
        b.until(lambda: b.ias_kt < STALL_KT - 3.0, np.radians(42.0), 1.0, STALL_KT - 6.0, accel=0.8)
        b._break(-6.0, 62.0)
    b.hold(60.0, ft=4600.0, kt=95.0)
    found = story(b, position=position)
    assert kinds(found) == ["clearing_turn", "power_on_stall"]
    assert is_found(flown, found)


@BOTH
def test_not_clearing_turn_there_and_back_with_nothing_begun_after(position: bool) -> None:
    """A look at something left and right of the way: on a trip, straight on after it."""
    b = trip()
    b.turn(84.0, 25.0)
    b.hold(4.0)
    b.turn(-88.0, 25.0)
    assert exercises(home(b), position=position) == []


@BOTH
def test_pass_half_circle_that_cleared_for_what_was_given_up(position: bool) -> None:
    """Rolled to 48° for a steep turn and out again after a quarter: no steep turn, but the air was cleared for one."""
    b = in_air()
    b.clearing_turn()
    b.slow_flight()
    b.hold(90.0, ft=4500.0, kt=100.0)
    with b.mark("clearing_turn") as flown:
        b.turn(180.0, 27.0)
    b.hold(8.0)
    b.turn(-95.0, 48.0)
    b.hold(90.0)
    found = story(b, position=position)
    assert is_found(flown, found)
    assert "steep_turn" not in kinds(found)


@BOTH
def test_not_steep_turn_rolled_out_of_two_thirds_round(position: bool) -> None:
    """240° at 45° in a lesson: given up, or a turn for somewhere."""
    b = in_air()
    b.clearing_turn()
    b.turn(240.0, 45.0)
    b.hold(90.0)
    assert "steep_turn" not in kinds(story(b, position=position))


@BOTH
def test_pass_emergency_descent_leveled_off_from_and_gone_on_with(position: bool) -> None:
    """Ten seconds of second thoughts on the way down: one descent."""
    b = in_air(ft=6500.0)
    with b.mark("emergency_descent") as flown:
        b.until(lambda: b.alt_ft < 5500.0, np.radians(35.0), -9.0, 120.0)
        b.until(lambda begun=b.t: b.t > begun + 8.0, np.radians(35.0), -2.5, 115.0)
        b.until(lambda: b.alt_ft < 4300.0, np.radians(35.0), -9.0, 120.0)
    b.hold(60.0, ft=4000.0, kt=100.0)
    found = [e for e in story(b, position=position) if e.kind == "emergency_descent"]
    assert len(found) == 1
    assert is_found(flown, found)


def test_not_emergency_descent_a_fast_straight_descent_on_the_way() -> None:
    """1,800 ft/min at cruising speed and more, wings level: 30 to 45° of bank are the task's (FAA-S-ACS-6C, IX.A)."""
    b = in_air(ft=7500.0)
    b.until(lambda: b.alt_ft < 4300.0, 0.0, -9.0, 120.0)
    b.hold(60.0, ft=4000.0, kt=100.0)
    assert "emergency_descent" not in [e.kind for e in story(b)]


def test_not_turns_around_a_point_one_circle_going_down() -> None:
    """Once round on the way home, 250 ft/min down: a descending turn, whatever it may have looked at."""
    b = in_air(ft=1150.0, kt=85.0)
    b.level_ft = 1150.0
    b.hold(30.0, kt=85.0)
    begun = b.psi
    b.until(lambda: abs(b.psi - begun) > np.radians(352.0), np.radians(22.0), -1.3, 85.0)
    b.until(lambda: abs(b.bank) < 0.03, 0.0, 0.0, 85.0)
    b.hold(60.0, ft=b.alt_ft, kt=95.0)
    assert "turns_around_point" not in [e.kind for e in story(b)]
