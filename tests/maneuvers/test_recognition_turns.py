"""Turns and ground work an instructor would tell apart at a glance: pass_ is it, not_ is something else.

Flights are built kinematically (`flightbuilder`); an episode counts when its kind is right and it overlaps what was
flown by half of their union.
"""

from __future__ import annotations

import numpy as np
import pytest

from airwork.debrief import recognize
from airwork.debrief.debrief import proposals_of
from airwork.maneuvers.seeing.view_building import build_view
from flightbuilder import Builder
from maneuvers.told_apart import BOTH, in_air, is_found, kinds, story


@BOTH
def test_pass_straight_and_level_ridden_up_and_down_by_100_feet(position: bool) -> None:
    """One minute a wave, 700 ft/min at its steepest: the altitude badly held is still one stretch of level flight."""
    b = in_air()
    b.turn(90.0, 25.0)
    with b.mark("straight_and_level") as flown:
        begun = b.t
        while b.t < begun + 180.0:
            b.level_ft = 4500.0 + 110.0 * float(np.sin(2.0 * np.pi * (b.t - begun) / 60.0))
            b.tick(0.0, b.toward(None), 100.0)
    b.level_ft = 4500.0
    b.turn(-90.0, 25.0)
    b.hold(30.0)
    found = [e for e in story(b, position=position) if e.kind == "straight_and_level" and e.end_s > flown.start_s]
    assert is_found(flown, found, 0.7)
    assert len([e for e in found if e.start_s < flown.end_s - 10.0]) == 1


def test_not_straight_and_level_a_slow_climb() -> None:
    """250 ft/min for three minutes is a climb, however steady."""
    b = in_air()
    b.until(lambda: b.alt_ft > 5300.0, 0.0, 1.27, 90.0)
    b.hold(60.0, ft=5300.0, kt=100.0)
    found = story(b)
    climb = next(e for e in found if e.kind == "climb")
    level = [e for e in found if e.kind == "straight_and_level"]
    assert climb.end_s - climb.start_s > 150.0
    assert all(e.end_s < climb.start_s + 25.0 or e.start_s > climb.end_s - 25.0 for e in level)


@BOTH
def test_not_clearing_turn_two_course_changes_on_a_trip(position: bool) -> None:
    """80° left and, a little later, 80° right in a flight without any maneuver to clear the air for."""
    b = Builder(wind_kt=12.0)
    b.takeoff()
    b.climb(3500.0)
    b.hold(120.0)
    b.turn(-85.0, 20.0)
    b.hold(8.0)
    b.turn(80.0, 20.0)
    b.hold(200.0)
    b.descend(b.field_ft + 1000.0)
    b.pattern_to()
    assert set(kinds(story(b, position=position))) == {"takeoff", "traffic_pattern", "landing"}


@BOTH
def test_pass_clearing_turn_before_what_was_given_up(position: bool) -> None:
    """90° and 90° back, slowed to 75 kt and let be: the maneuver was not flown, the air was cleared all the same."""
    b = in_air()
    b.clearing_turn()
    b.until(lambda: b.ias_kt < 75.0, 0.0, None, 72.0, accel=0.9)
    b.hold(150.0, kt=100.0)
    assert kinds(story(b, position=position)) == ["clearing_turn"]


@BOTH
@pytest.mark.parametrize(("degrees", "is_one"), [(180.0, True), (212.0, False)])
def test_a_steep_half_circle_is_rolled_out_on_time(degrees: float, is_one: bool, position: bool) -> None:
    """One left anywhere past it was given up."""
    b = in_air()
    b.clearing_turn()
    b.turn(degrees, 46.0)
    b.hold(60.0)
    assert kinds(story(b, position=position)) == ["clearing_turn", *(["steep_turn"] if is_one else [])]


@BOTH
def test_pass_level_turn_left_and_right_with_nothing_to_clear_for(position: bool) -> None:
    """180° one way, straight, 180° the other, then straight: two level turns, as in a first lesson."""
    b = in_air()
    for degrees in (-180.0, 180.0):
        with b.mark("level_turn"):
            b.turn(degrees, 25.0)
        b.hold(25.0)
    b.hold(60.0)
    found = story(b, position=position)
    assert kinds(found) == ["level_turn", "level_turn"]
    assert all(is_found(flown, found) for flown in b.truth)


@pytest.mark.parametrize("degrees", [300.0, 330.0, 400.0])
def test_pass_level_turn_stopped_short_or_overshot(degrees: float) -> None:
    """A full circle asked for, rolled out 60° early or 40° late: nobody changes course by turning so far."""
    b = in_air()
    with b.mark("level_turn") as flown:
        b.turn(degrees, 24.0)
    b.hold(60.0)
    b.steep_turn()
    found = story(b)
    assert kinds(found) == ["level_turn", "steep_turn"]
    assert is_found(flown, found, 0.8)


def test_not_level_turn_a_quarter_circle_unless_the_lesson_has_level_turns() -> None:
    """90° is a change of course; in a lesson of level turns it is one of them."""
    b = in_air()
    b.turn(90.0, 25.0)
    b.hold(60.0)
    view = build_view(b.flight(rate_hz=5.0))
    assert view is not None
    assert kinds(recognize(view)) == []
    assert kinds(recognize(view, ("straight_and_level", "level_turn"))) == ["level_turn"]


@BOTH
@pytest.mark.parametrize("bank_deg", [30.0, 32.0])
def test_pass_steep_turn_at_30_degrees_right_after_the_clearing_turn(bank_deg: float, position: bool) -> None:
    """Nobody clears the air for an ordinary turn: a full circle at 30° is then a poor steep turn, one way only."""
    b = in_air()
    b.clearing_turn()
    with b.mark("steep_turn") as flown:
        b.turn(360.0, bank_deg)
    b.hold(60.0)
    found = story(b, position=position)
    assert kinds(found) == ["clearing_turn", "steep_turn"]
    assert is_found(flown, found, 0.8)


def test_not_clearing_turn_a_climbing_half_circle() -> None:
    """180° while climbing 600 ft/min before a stall: a climbing turn."""
    b = in_air(3500.0)
    start = b.psi
    b.until(lambda: b.psi - start > np.radians(172.0), np.radians(25.0), 3.2, 98.0)
    b.hold(5.0, ft=b.alt_ft)
    b.power_off_stall()
    assert kinds(story(b)) == ["power_off_stall"]


def _low(**more: float) -> Builder:
    """800 ft above the ground, level."""
    b = Builder(altitude_ft=1600.0, speed_kt=100.0, **more)
    b.level_ft = 1600.0
    b.hold(40.0, kt=95.0)
    return b


@BOTH
def test_pass_s_turns_with_a_half_circle_broken_off_and_one_over_too_soon(position: bool) -> None:
    """Left 120° and on 80° after a moment of level wings; right 140° and straight for 15 s to the road."""
    b = _low()
    with b.mark("s_turns") as flown:
        b.turn(185.0, 25.0)
        b.turn(-120.0, 28.0)
        b.hold(6.0)
        b.turn(-80.0, 28.0)
        b.turn(140.0, 28.0)
        b.hold(15.0)
        b.turn(-180.0, 22.0)
    b.hold(60.0)
    found = story(b, position=position)
    assert kinds(found) == ["s_turns"]
    assert is_found(flown, found, 0.8)


@BOTH
def test_pass_s_turns_from_the_turn_onto_downwind_to_the_climb_away(position: bool) -> None:
    """A turn begun into the wind leads to the road; turning on in a climb is the departure (a stranger's flight)."""
    b = _low(wind_kt=14.0, wind_from_deg=10.0, heading_deg=0.0)
    b.turn(-165.0, 20.0, by_track=True)
    with b.mark("s_turns") as flown:
        for sign in (1.0, -1.0, 1.0, -1.0):
            b._circle(sign, 450.0, lambda d: d > 176.0)
    start = b.psi
    b.until(lambda: b.psi - start < np.radians(-40.0), np.radians(-22.0), 5.0, 95.0)
    b.until(lambda: False, 0.0, 5.0, 95.0, most_s=30.0)
    found = [e for e in story(b, position=position) if e.kind == "s_turns"]
    assert len(found) == 1
    assert abs(found[0].start_s - flown.start_s) < 4.0
    assert abs(found[0].end_s - flown.end_s) < 4.0


@BOTH
def test_pass_rectangular_course_between_two_turns_back(position: bool) -> None:
    """Four legs, three corners; half circles to the same side before and after, on the way, are not part of it."""
    b = _low()
    b.turn(-180.0, 22.0)
    b.hold(25.0)
    with b.mark("rectangular_course") as flown:
        b.hold(20.0)
        for _ in range(3):
            b.turn(-90.0, 25.0)
            b.hold(25.0)
    b.turn(-175.0, 22.0)
    b.hold(90.0)
    found = story(b, position=position)
    assert "rectangular_course" in kinds(found)
    assert is_found(flown, found)


@BOTH
def test_not_s_turns_two_turns_of_130_degrees(position: bool) -> None:
    """Low, one way and back, neither of them a half circle: a look at something, in a flight without any exercise."""
    b = _low()
    b.turn(125.0, 22.0)
    b.turn(-135.0, 24.0)
    b.hold(60.0)
    assert "s_turns" not in kinds(story(b, position=position))


@BOTH
def test_not_level_turn_turned_for_home_on_a_trip(position: bool) -> None:
    """A look at something right round, later a half circle for home: no exercise anywhere, so neither is one."""
    b = Builder(wind_kt=12.0)
    b.takeoff()
    b.climb(3500.0)
    b.hold(150.0)
    b.turn(360.0, 22.0)
    b.hold(150.0)
    b.turn(-180.0, 20.0)
    b.hold(150.0)
    b.descend(b.field_ft + 1000.0)
    b.pattern_to()
    assert set(kinds(story(b, position=position))) == {"takeoff", "traffic_pattern", "landing"}


@BOTH
def test_not_level_turn_turned_back_in_the_practice_area(position: bool) -> None:
    """A half circle by itself keeps the airplane in the area; a lesson that has level turns makes it one."""
    b = in_air()
    b.clearing_turn()
    b.steep_turn()
    b.hold(60.0)
    b.turn(180.0, 22.0)
    b.hold(120.0)
    b.clearing_turn()
    b.power_off_stall()
    flight = b.flight(gps_only=position, rate_hz=1.0 if position else 5.0)
    view = build_view(flight)
    assert view is not None
    assert "level_turn" not in kinds(recognize(view))
    assert kinds(recognize(view, ("steep_turn", "level_turn", "power_off_stall"))).count("level_turn") == 1


def test_a_clearing_turns_half_is_no_part_of_the_spiral_after_it() -> None:
    """90° left and right, level, some seconds straight, then a spiral right: three turns, not three and a quarter."""
    b = in_air(5000.0)
    b.turn(-90.0, 28.0)
    b.turn(90.0, 28.0)
    b.hold(5.0, kt=80.0)
    with b.mark("steep_spiral") as flown:
        b.turn(1080.0, 40.0, vs=lambda turned: -5.6)
    b.hold(20.0, ft=b.alt_ft)
    found = next(e for e in story(b) if e.kind == "steep_spiral")
    assert np.degrees(found.facts["change_rad"]) < 1110.0
    assert is_found(flown, [found])


@BOTH
def test_pass_level_turns_a_minute_before_something_else(position: bool) -> None:
    """180° right and left, straight for a minute, then a steep spiral: what clears the air comes right before it."""
    b = in_air(6500.0)
    for degrees in (180.0, -180.0):
        with b.mark("level_turn"):
            b.turn(degrees, 21.0)
        b.hold(20.0)
    b.hold(45.0)
    b.steep_spiral()
    b.hold(40.0)
    found = story(b, position=position)
    assert kinds(found) == ["level_turn", "level_turn", "steep_spiral"]


@BOTH
def test_pass_steep_half_circles_to_both_sides(position: bool) -> None:
    b = in_air()
    for sign in (1.0, -1.0):
        with b.mark("steep_turn"):
            b.turn(sign * 180.0, 45.0)
        b.hold(5.0)
    b.hold(60.0)
    assert kinds(story(b, position=position)) == ["steep_turn", "steep_turn"]


@BOTH
def test_not_steep_turns_half_circles_at_an_ordinary_bank(position: bool) -> None:
    b = in_air()
    for sign in (1.0, -1.0):
        b.turn(sign * 180.0, 30.0)
        b.hold(5.0)
    b.hold(60.0)
    assert "steep_turn" not in kinds(story(b, position=position))


@BOTH
def test_pass_a_steep_turn_carried_fifty_degrees_past_its_circle(position: bool) -> None:
    b = in_air(skill=0.5)
    with b.mark("steep_turn") as flown:
        b.turn(410.0, 44.0)
    b.hold(60.0)
    assert is_found(flown, story(b, position=position), 0.8)


@BOTH
def test_pass_wide_turns_around_a_point_of_a_poor_pilot(position: bool) -> None:
    """2,500 ft from the point, in 15 kt of wind."""
    b = Builder(wind_kt=15.0, wind_from_deg=215.0, skill=0.2, seed=5)
    b.takeoff()
    b.climb(1700.0)
    b.hold(40.0, kt=95.0)
    b.turns_around_point(2.0, radius=760.0)
    b.hold(40.0)
    assert is_found(b.truth[-1], story(b, position=position), 0.8)


@pytest.mark.parametrize(
    ("agl_ft", "bank_deg", "is_one"),
    [(900.0, 31.0, True), (900.0, 22.0, True), (1180.0, 22.0, False), (3500.0, 31.0, False)],
)
def test_pass_turns_around_a_point_blown_along_with_one_bank(agl_ft: float, bank_deg: float, is_one: bool) -> None:
    """Twice round low down at one bank in 17 kt: an attempt whose wind was let go (600 to 1,000 ft are the exercise's
    heights, [AFH] chapter 7), no steep turn at 31°; beyond those heights and the ±100 ft nothing speaks for a point."""
    b = Builder(wind_kt=17.0, wind_from_deg=215.0, altitude_ft=700.0 + agl_ft, speed_kt=95.0)
    b.level_ft = b.field_ft + agl_ft
    b.hold(60.0, kt=90.0)
    with b.mark("turns_around_point") as flown:
        b.turn(720.0, bank_deg)
    b.hold(60.0)
    assert is_found(flown, story(b)) == is_one


@BOTH
def test_pass_eights_on_pylons_with_s_turns_half_a_minute_later(position: bool) -> None:
    b = Builder(wind_kt=12.0, wind_from_deg=215.0, skill=0.6, seed=11)
    b.takeoff()
    b.climb(1700.0)
    b.hold(30.0, kt=95.0)
    b.eights_on_pylons()
    b.hold(30.0)
    b.s_turns()
    assert kinds(story(b, position=position))[1:] == ["eights_on_pylons", "s_turns"]


@BOTH
def test_pass_s_turns_and_a_turn_home_after_a_pause(position: bool) -> None:
    """Six half circles one right after the other; eight seconds later one more, the way home: that one isn't theirs."""
    b = _low()
    with b.mark("s_turns") as flown:
        for k in range(6):
            b.turn(180.0 if k % 2 else -180.0, 25.0)
    b.hold(8.0)
    b.turn(-165.0, 22.0)
    b.hold(60.0)
    found = [e for e in story(b, position=position) if e.kind == "s_turns"]
    assert len(found) == 1
    assert abs(found[0].end_s - flown.end_s) < 4.0


@BOTH
@pytest.mark.parametrize(("bank_deg", "kind"), [(47.0, "steep_turn"), (20.0, "slow_flight")])
def test_a_circle_that_lost_its_speed_is_what_its_bank_says(bank_deg: float, kind: str, position: bool) -> None:
    """From 95 to 60 kt round one circle, half a minute near 62: at 47° a steep turn with no power added, 1.47 g; slow
    flight turns at some 20° (AFH ch. 5), and may be slowed down for in such a turn."""
    b = in_air(kt=95.0)
    b.clearing_turn()
    b.hold(8.0, kt=95.0)
    begun = b.psi
    with b.mark(kind) as flown:
        while b.psi - begun < np.radians(345.0):
            b.tick(np.radians(bank_deg), b.toward(None), 64.0, accel=0.7)
        b.until(lambda: abs(b.bank) < 0.04, 0.0, None, 58.0)
        b.hold(40.0 * (kind == "slow_flight"), kt=58.0)
    b.hold(30.0, kt=62.0)
    b.until(lambda: b.ias_kt > 88.0, 0.0, None, 95.0, accel=0.4)
    b.hold(40.0, kt=95.0)
    found = story(b, position=position)
    assert kind in kinds(found)
    assert ({"steep_turn", "slow_flight"} - {kind}).isdisjoint(kinds(found))
    assert is_found(flown, found, 0.3)


@BOTH
def test_pass_steep_turn_let_go_round(position: bool) -> None:
    """One and four tenths times round at 47°, never rolled out at a circle: a steep turn gone wrong is still one."""
    b = in_air()
    b.clearing_turn()
    with b.mark("steep_turn") as flown:
        b.turn(504.0, 47.0)
    b.hold(60.0)
    found = story(b, position=position)
    assert is_found(flown, found)
    assert kinds(found) == ["clearing_turn", "steep_turn"]


def test_pass_clearing_turn_before_a_dive_given_up() -> None:
    """There and back, then 1,200 fpm down for a quarter of a minute: something was begun; after a half circle it is a
    way down."""

    def said(halves: bool) -> list[str]:
        b = in_air()
        b.turn(180.0, 25.0) if halves else b.clearing_turn()
        b.hold(3.0)
        b.until(lambda: b.alt_ft < 4150.0, 0.0, -6.3, 100.0)
        b.level_ft = b.alt_ft
        b.hold(60.0)
        return kinds(recognize(build_view(b.flight(rate_hz=5.0))))

    assert said(halves=False) == ["clearing_turn"]
    assert "clearing_turn" not in said(halves=True)


def test_half_circles_amid_a_lazy_eight_clear_nothing() -> None:
    """The third of four to alternate sides is no lone half circle turned to look round."""
    b = in_air()
    for sign in (1.0, -1.0, 1.0, -1.0):
        b.level_turn(sign * 180.0, 28.0)
        b.hold(2.0)
    b.hold(40.0)
    view = build_view(b.flight(rate_hz=5.0))
    assert view is not None
    lone = [e for e in proposals_of(view) if e.kind == "clearing_turn" and e.facts["turns"] == 1.0]
    assert len(lone) == 2  # the first, after which others went on, and the last: nobody swung back


@BOTH
def test_not_chandelle_a_climbing_turn_onto_another_heading(position: bool) -> None:
    """150° at 19° of bank, slowed from 95 to 75 kt and climbed on at that: no 30° of bank, no near stall."""
    b = in_air(kt=95.0)
    turned, last = 0.0, b.psi
    while turned < np.radians(153.0):
        share = turned / np.radians(153.0)
        b.tick(np.radians(19.0), 3.3, 95.0 - 20.0 * share)
        turned, last = turned + abs(b.psi - last), b.psi
    b.until(lambda: b.alt_ft > 5800.0, 0.0, 3.3, 75.0)
    b.level_ft = b.alt_ft
    b.hold(60.0, kt=95.0)
    assert "chandelle" not in kinds(story(b, position=position))


@BOTH
def test_not_turns_around_a_point_the_circles_of_a_climb_over_the_field(position: bool) -> None:
    """An airplane that tows, or climbs over a lake: round and round at 22° of bank and 430 ft/min from 500 ft on."""
    b = in_air(ft=1400.0, kt=80.0)
    begun = b.t
    b.until(lambda: b.t > begun + 30.0, 0.0, 2.2, 70.0)
    b.turn(1100.0, 22.0, vs=lambda _turned: 2.2)
    again = b.t
    b.until(lambda: b.t > again + 40.0, 0.0, 2.2, 70.0)
    b.level_ft = b.alt_ft
    b.hold(60.0, kt=100.0)
    assert kinds(story(b, position=position)) == []


@BOTH
@pytest.mark.parametrize("before_mps", [2.2, 0.0], ids=["climbing all along", "drifting up in the turn alone"])
def test_not_a_level_turn_one_that_climbs_as_it_did_before_and_after(position: bool, before_mps: float) -> None:
    """A climbing turn at 18° of bank and 430 ft/min belongs to its climb; a level turn badly held is one still."""
    b = in_air(kt=90.0)
    with b.mark("steep_turn"):
        b.steep_turn()
    b.hold(40.0, kt=90.0)
    for sign in (1.0, -1.0, 1.0):
        begun = b.t
        b.until(lambda since=begun: b.t > since + 40.0, 0.0, before_mps, 80.0)  # type: ignore[misc]
        b.turn(sign * 290.0, 18.0, vs=lambda _turned: 2.2 if before_mps else 1.0)
        b.until(lambda since=b.t: b.t > since + 40.0, 0.0, before_mps, 80.0)  # type: ignore[misc]
    b.hold(60.0, kt=100.0)
    assert ("level_turn" in [e.kind for e in story(b, position=position)]) == (before_mps == 0.0)


@BOTH
@pytest.mark.parametrize("after_mps", [-2.2, 0.0], ids=["the way home", "let slip, leveled off"])
def test_not_a_level_turn_one_in_which_the_descent_was_begun(position: bool, after_mps: float) -> None:
    """Turned for home with the power back, 430 ft/min from the roll-in on: a descending turn ([AFH] ch. 3)."""
    b = in_air(kt=90.0)
    with b.mark("steep_turn"):
        b.steep_turn()
    b.hold(40.0, kt=90.0)
    b.turn(250.0, 25.0, vs=lambda _turned: -2.2)
    begun = b.t
    b.until(lambda: b.t > begun + 60.0, 0.0, after_mps, 90.0)
    b.level_ft = b.alt_ft
    b.hold(60.0, kt=100.0)
    assert ("level_turn" in kinds(story(b, position=position))) == (after_mps == 0.0)


@BOTH
@pytest.mark.parametrize("climbs", [True, False])
def test_a_rectangle_ends_where_one_climbed_away_from_it(position: bool, climbs: bool) -> None:
    """A half circle to its side, climbing, and on at that height for a minute and a half is the way home.

    ±100 ft is asked for round the rectangle (FAA-S-ACS-6C, V.B), not on the way from it.
    """
    b = Builder(wind_kt=12.0, wind_from_deg=215.0)
    b.takeoff()
    b.climb(1700.0)
    b.hold(40.0, kt=95.0)
    b.rectangular_course()
    b.turn(180.0, 25.0, vs=lambda _turned: 1.6 if climbs else 0.0)
    b.level_ft = b.alt_ft
    b.hold(90.0)
    view = build_view(b.flight(gps_only=position, rate_hz=1.0 if position else 5.0))
    assert view is not None
    corners = [e.facts["corners"] for e in proposals_of(view) if e.kind == "rectangular_course"]
    assert max(corners) == (5.0 if climbs else 6.0)


@BOTH
@pytest.mark.parametrize("leveled_s", [0.0, 15.0], ids=["leveled off late in it", "leveled off before it"])
def test_not_a_level_turn_one_that_went_on_with_the_descent_before(position: bool, leveled_s: float) -> None:
    """On the way home at 550 ft/min, the turn rolled into in the descent, leveled at the pattern's height in its last
    third: a descending turn ([AFH] ch. 3), whose height nobody meant to hold."""
    b = in_air(kt=90.0)
    with b.mark("steep_turn"):
        b.steep_turn()
    b.hold(30.0, kt=90.0)
    begun = b.t
    b.until(lambda: b.t > begun + 50.0, 0.0, -2.8, 90.0)
    if leveled_s:
        b.level_ft = b.alt_ft
        b.hold(leveled_s, kt=90.0)
    b.turn(290.0, 25.0, vs=lambda turned: 0.0 if leveled_s or turned > np.radians(200.0) else -2.8)
    b.level_ft = b.alt_ft
    b.hold(60.0, kt=90.0)
    assert ("level_turn" in kinds(story(b, position=position))) is bool(leveled_s)


@pytest.mark.parametrize(("straight_s", "kind"), [(20.0, "level_turn"), (3.0, "clearing_turn")])
def test_half_circles_there_and_back_with_a_rest_between_are_level_turns(straight_s: float, kind: str) -> None:
    """180° right, straight, 180° left in the same bank, before a stall: turns to headings (FAA-S-ACS-6C, VIII.D); at
    once back it is the look round that a stall wants."""
    b = in_air(kt=90.0)
    b.turn(180.0, 25.0)
    b.hold(straight_s)
    b.turn(-180.0, 25.0)
    b.hold(12.0)
    with b.mark("power_off_stall"):
        b.power_off_stall()
    b.hold(60.0, kt=90.0)
    found = kinds(story(b))
    assert (kind in found, "power_off_stall" in found) == (True, True)
    assert ("clearing_turn" in found) == (kind == "clearing_turn")


@pytest.mark.parametrize(
    ("banks_deg", "kind"), [((30.0, 30.0, 30.0), "level_turn"), ((30.0, 38.0, 45.0), "steep_turn")]
)
def test_circles_all_in_a_bank_of_30_degrees_are_level_turns(banks_deg: tuple[float, ...], kind: str) -> None:
    """[AFH] ch. 3: medium turns are banked 20 to 45°. Three alike were meant so; on the way to 45° none is."""
    b = in_air(kt=95.0)
    for bank in banks_deg:
        b.turn(360.0, bank)
        b.hold(30.0)
    found = kinds(story(b, position=True))
    assert found.count(kind) >= 2
    assert (kind == "steep_turn") or "steep_turn" not in found


@pytest.mark.parametrize(("bank_deg", "kind"), [(27.0, "level_turn"), (36.0, "steep_turn")])
def test_circles_to_both_sides_in_a_medium_bank_are_level_turns(bank_deg: float, kind: str) -> None:
    """[AFH] ch. 3 and 10: a steep turn is banked 45° and more; who flies it flat still has more than a medium bank."""
    b = Builder(altitude_ft=3500.0, speed_kt=95.0)
    b.level_ft = 3500.0
    b.hold(30.0, kt=95.0)
    for side in (1.0, -1.0):
        b.turn(side * 360.0, bank_deg)
        b.hold(20.0)
    found = [e.kind for e in story(b)]
    assert found.count(kind) == 2


@pytest.mark.parametrize(("bank_deg", "seen"), [(24.0, False), (36.0, True)])
def test_gliding_turns_in_a_medium_bank_are_no_steep_spiral(bank_deg: float, seen: bool) -> None:
    """Down in five circles over the field at 24° of bank: what an engine failure is practiced by ([AFH] ch. 9)."""
    b = Builder(altitude_ft=5500.0, speed_kt=72.0)
    b.level_ft = 5500.0
    b.hold(30.0, kt=72.0)
    b.turn(1440.0, bank_deg, vs=lambda turned: -4.2)
    b.hold(30.0, ft=b.alt_ft, kt=90.0)
    assert ("steep_spiral" in {e.kind for e in story(b)}) is seen


def test_circles_among_shorter_turns_in_the_same_bank_are_level_turns() -> None:
    """90°, 180° and 360° each way, all at 31°: a lesson in medium turns, whoever would call the circles too flat."""
    b = Builder(altitude_ft=3500.0, speed_kt=95.0)
    b.level_ft = 3500.0
    b.hold(30.0, kt=95.0)
    for degrees in (90.0, -90.0, 180.0, -180.0, 360.0, -360.0):
        b.turn(degrees, 31.0)
        b.hold(20.0)
    assert "steep_turn" not in {e.kind for e in story(b)}


@pytest.mark.parametrize(
    ("legs", "growth_s", "alike", "seen"),
    [(9, 0.0, 2, True), (9, 4.0, 4, True), (9, 12.0, 2, False), (13, 12.0, 2, False), (13, 15.0, 4, False)],
)
def test_a_square_that_grows_with_each_leg_is_a_search(legs: int, growth_s: float, alike: int, seen: bool) -> None:
    """Round and round outward from a place: no two rounds lie on each other, and no course is flown.

    Legs grow by so much after so many alike; a second round a fifth wider is a poor eye for the field.
    """
    b = Builder(altitude_ft=1600.0, speed_kt=90.0)
    b.level_ft = 1600.0
    b.hold(40.0, kt=90.0)
    for k in range(legs):
        b.turn(90.0, 25.0)
        b.hold(20.0 + growth_s * (k // alike))
    b.turn(40.0, 20.0)
    b.hold(60.0)
    assert ("rectangular_course" in {e.kind for e in story(b)}) is seen


@BOTH
def test_three_half_circles_one_after_the_other_are_level_turns(position: bool) -> None:
    """Right, left, right at 17° under the hood, seconds between: turns to headings (FAA-S-ACS-6C, VIII.D); a look round
    is over after two, and soon."""
    b = in_air(kt=95.0)
    b.steep_turn()
    b.hold(100.0, kt=95.0)
    for sign in (1.0, -1.0, 1.0):
        b.turn(sign * 180.0, 17.0)
        b.hold(4.0)
    b.hold(60.0)
    found = kinds(story(b, position=position))
    assert found.count("level_turn") == 3
    assert "clearing_turn" not in found


@BOTH
def test_pass_turns_around_a_point_come_down_to_in_the_first_of_them(position: bool) -> None:
    """Rolled in while still sinking to the height asked for: round over the ground twice all the same."""
    b = Builder(wind_kt=14.0, wind_from_deg=215.0)
    b.takeoff()
    b.climb(2150.0)
    b.hold(60.0, kt=95.0)
    begun = b.t
    b.until(lambda: b.t > begun + 25.0, 0.0, -2.6, 90.0)
    b.level_ft = b.alt_ft - 330.0
    b.turns_around_point(2.0)
    b.hold(60.0)
    assert is_found(b.truth[-1], story(b, position=position), 0.7)


@pytest.mark.parametrize(
    ("agl_ft", "bank_deg", "is_one"), [(1050.0, 32.0, False), (1050.0, 42.0, True), (2500.0, 32.0, True)]
)
def test_low_down_a_medium_bank_is_no_steep_turn(agl_ft: float, bank_deg: float, is_one: bool) -> None:
    """Round and on at 1,050 ft above the field in wind; a poor steep turn is flown at 32°, too, but higher up."""
    b = Builder(wind_kt=17.0, wind_from_deg=215.0, altitude_ft=700.0 + agl_ft, speed_kt=95.0)
    b.level_ft = b.field_ft + agl_ft
    b.hold(60.0, kt=95.0)
    with b.mark("steep_turn") as flown:
        b.turn(650.0, bank_deg)
    b.hold(60.0)
    assert is_found(flown, story(b)) is is_one
