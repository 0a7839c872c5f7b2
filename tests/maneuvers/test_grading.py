"""Grades of flown maneuvers: numbers against the builder's own truth, targets, what can't be judged."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.airplane import load_airplane
from airwork.debrief import debrief
from airwork.debrief.plan import LessonPlan
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.judge import best_band
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column, Flight
from airwork.units import FT_M, KT_MPS
from flightbuilder import Builder
from maneuvers.graded_flights import COMMERCIAL, PRIVATE, graded, high, one_steep_turn, verdict


# Aims of the debrief (its issue): 10 ft, 1.5 kt, 1.5°, 3°. Truth: the builder's rows between its own start and end.
@pytest.mark.parametrize("skill", [1.0, 0.5, 0.1])
def test_measured_numbers_agree_with_what_was_flown(skill: float) -> None:
    """Altitude, speed, bank and heading of a steep turn in 18 kt of wind."""
    b = one_steep_turn(skill=skill, wind_kt=18.0, seed=3)
    true = b.truth[0]
    rows = np.array(b.rows)
    part = rows[(rows[:, 0] >= true.start_s) & (rows[:, 0] <= true.end_s)]
    measured = graded(b, "steep_turn").grade.measured
    altitude = part[:, 3] / FT_M
    assert measured["entry_altitude_ft"] == pytest.approx(altitude[0], abs=10.0)
    assert measured["max_altitude_error_ft"] == pytest.approx(altitude.max() - altitude[0], abs=10.0)
    assert measured["min_altitude_error_ft"] == pytest.approx(altitude.min() - altitude[0], abs=10.0)
    assert measured["max_ias_kt"] == pytest.approx(part[:, 4].max() / KT_MPS, abs=1.5)
    assert measured["min_ias_kt"] == pytest.approx(part[:, 4].min() / KT_MPS, abs=1.5)
    bank = np.degrees(np.abs(part[:, 10]))
    assert measured["max_bank_deg"] == pytest.approx(bank.max(), abs=1.5)
    assert measured["steady_mean_bank_deg"] == pytest.approx(bank[bank > 0.8 * np.percentile(bank, 90)].mean(), abs=1.5)
    assert measured["heading_change_deg"] == pytest.approx(np.degrees(part[-1, 8] - part[0, 8]), abs=3.0)
    assert measured["wind_kt"] == pytest.approx(18.0, abs=2.0)


def test_poor_flying_lowers_the_grade_and_does_not_hide_the_maneuver() -> None:
    """A precise turn is held throughout; 32° of bank to 300° is found, and bank and roll-out are not held."""
    good = graded(one_steep_turn(), "steep_turn")
    assert good.met
    b = high()
    b.steep_turn(-1.0, 33.0, 300.0)
    b.hold(10.0)
    b.steep_turn(1.0, 45.0)
    b.hold(30.0)
    turns = [g for g in debrief(b.flight(), standard=PRIVATE).episodes if g.episode.kind == "steep_turn"]
    assert len(turns) == 2
    assert verdict(turns[0], "bank") == "not held"
    assert verdict(turns[0], "roll-out heading") == "not held"
    assert verdict(turns[1], "bank") == "held"


def test_commercial_wants_fifty_degrees() -> None:
    """The same 45° turn, private held, commercial not (50 ±5: 45 is the edge, roll-in and wander fall below)."""
    b = high()
    b.steep_turn(1.0, 43.0)
    b.hold(30.0)
    assert verdict(graded(b, "steep_turn"), "bank") == "held"
    assert verdict(graded(b, "steep_turn", COMMERCIAL), "bank") == "not held"


def test_airspeed_is_never_judged_from_position_alone() -> None:
    """An estimate from ground speed and wind is shown as true airspeed and judged by nobody."""
    g = graded(one_steep_turn(wind_kt=15.0), "steep_turn", gps_only=True)
    assert verdict(g, "airspeed") == "can't be judged"
    assert "max_ias_kt" not in g.grade.measured
    assert g.grade.measured["mean_tas_kt"] == pytest.approx(100.5, abs=3.0)
    assert verdict(g, "altitude") == "held"


def test_the_lessons_target_counts_and_is_named() -> None:
    """A lesson at 4,500 ft and 90 kt: the 95 kt flown are 5 fast, and the source says lesson."""
    plan = LessonPlan(
        order=("steep_turn",), targets={"steep_turn": {"altitude_m": 4500 * FT_M, "ias_mps": 90 * KT_MPS}}
    )
    g = graded(one_steep_turn(), "steep_turn", plan=plan)
    assert g.grade.target["ias_kt"] == 90.0
    assert "lesson" in g.grade.target_source
    speed = next(f for f in g.grade.findings if f.name == "airspeed")
    assert speed.worst == pytest.approx(5.0, abs=1.5)
    own = graded(one_steep_turn(), "steep_turn")
    assert own.grade.target["ias_kt"] == pytest.approx(95.0, abs=1.0)
    assert "inferred" in own.grade.target_source


def test_a_stall_is_not_failed_for_the_height_it_cost_published() -> None:
    """FAA-S-ACS-6C, notes on stalls [V]: no altitude loss may be set; it is reported."""
    b = high()
    b.power_off_stall()
    g = graded(b, "power_off_stall")
    assert g.grade.measured["altitude_lost_in_recovery_ft"] > 50.0
    assert not any("altitude" in f.name and "ground" not in f.name for f in g.grade.findings)
    assert g.met


def test_the_floor_of_the_task_is_kept_or_not() -> None:
    """1,500 ft above ground for stalls: at 4,500 ft over an 800 ft field kept, at 2,100 ft not."""
    b = high()
    b.power_off_stall()
    assert verdict(graded(b, "power_off_stall"), "lowest height above ground") == "held"
    low = Builder(altitude_ft=2150.0, speed_kt=100.0)
    low.level_ft = 2150.0
    low.hold(40.0, kt=95.0)
    low.power_off_stall()
    assert verdict(graded(low, "power_off_stall"), "lowest height above ground") == "not held"


def test_slow_flight_against_the_best_fitting_band() -> None:
    """With no lesson the target is the speed whose +10/−0 kt band holds most: a steady 56 kt is held."""
    b = high()
    b.slow_flight()
    g = graded(b, "slow_flight")
    assert verdict(g, "airspeed") == "held"
    assert 46.0 <= g.grade.target["ias_kt"] <= 56.0
    plan = LessonPlan(targets={"slow_flight": {"ias_mps": 60 * KT_MPS}})
    assert verdict(graded(b, "slow_flight", plan=plan), "airspeed") == "not held"  # below a −0 target


def test_best_band_holds_the_most_samples() -> None:
    """By hand: ten samples at 50, three at 70, a band of +10/−0: the target lies in 40 to 50."""
    speeds = np.array([50.0] * 10 + [70.0] * 3)
    assert 40.0 <= best_band(speeds, 0.0, 10.0) <= 50.0
    assert best_band(np.array([50.0, 60.0]), 0.0, 10.0) == pytest.approx(50.0, abs=0.1)
    assert best_band(np.array([63.4, 63.5, 63.8]), 0.0, 10.0) == pytest.approx(62.5, abs=0.1)  # 58 was not flown


def test_a_stall_warning_in_slow_flight_is_momentary_or_not() -> None:
    """ACS appendix [V]: momentary and corrected is not unsatisfactory; 3 s is airwork's own [P]."""
    b = high()
    b.slow_flight()
    true = b.truth[0]

    def warned(seconds: float) -> Callable[[Flight], Flight]:
        def change(flight: Flight) -> Flight:
            on = np.zeros(len(flight))
            middle = 0.5 * (true.start_s + true.end_s)
            on[(flight.time_s > middle) & (flight.time_s < middle + seconds)] = 1.0
            return replace(flight, columns={**flight.columns, "stall_warning": Column(on, "measured")})

        return change

    assert verdict(graded(b, "slow_flight"), "stall warning") == "held"
    assert verdict(graded(b, "slow_flight", change=warned(2.0)), "stall warning") == "briefly out and corrected"
    assert verdict(graded(b, "slow_flight", change=warned(8.0)), "stall warning") == "not held"


def test_every_criterion_of_the_task_is_answered() -> None:
    """Nothing of the standard goes missing, whatever the recording lacks."""
    b = one_steep_turn()
    for how in ({}, {"gps_only": True}, {"gps_only": True, "with_wind": False}):
        names = [f.name for f in graded(b, "steep_turn", **how).grade.findings]
        assert names[:4] == ["altitude", "airspeed", "bank", "roll-out heading"]


@pytest.mark.parametrize(
    ("steps", "said", "side"),
    [(((0.0, 0.0), (15.0, 0.0), (45.0, -18.0), (80.0, -18.0)), "not held", "left"),
     (((0.0, 0.0), (80.0, -4.0)), "held", ""),
     (((0.0, 14.0), (6.0, 0.0), (80.0, 0.0)), "held", "")],
    ids=["drifted left and stayed there", "hardly", "rolled out beside it, put right"],
)  # fmt: skip
def test_in_slow_flight_a_heading_is_the_one_it_was_begun_on(
    steps: tuple[tuple[float, float], ...], said: str, side: str
) -> None:
    """±10° (FAA-S-ACS-6C, VII.A) of the heading wanted: what a nose that wanders off ends on was never wanted."""
    b = high()
    b.hold(30.0, ft=4500.0, kt=95.0)
    with b.mark("slow_flight"):
        b.until(lambda: b.ias_kt < 57.0, 0.0, None, 56.0, accel=0.7)
        slow = b.t
        b.hold(80.0, ft=4500.0, kt=56.0)
        b.until(lambda: b.ias_kt > 90.0, 0.0, None, 95.0, accel=0.8)
    b.hold(30.0)
    flight = b.flight()
    turned = np.radians(np.interp(flight.time_s - slow, *zip(*steps, strict=True)))
    new = {
        k: replace(flight.columns[k], values=flight.columns[k].values + turned) for k in ("heading_rad", "track_rad")
    }
    found = next(
        g for g in debrief(flight.with_columns(new), standard=PRIVATE).episodes if g.episode.kind == "slow_flight"
    )
    assert verdict(found, "heading") == said
    told = [c.text for c in found.grade.causes if "heading" in c.text]
    assert bool(told) == bool(side)
    assert all(f"to the {side}" in text for text in told)
    if side:
        assert next(f.worst for f in found.grade.findings if f.quantity == "heading") < -10.0


def test_slow_flight_begun_in_a_descent_is_held_to_where_it_came_down_to() -> None:
    """Back from a turn that gained 160 ft, slowing on the way down: nobody wanted the altitude it was begun at."""
    b = high()
    b.hold(60.0, ft=4660.0, kt=95.0)
    b.until(lambda: b.alt_ft < 4620.0, 0.0, -3.0, 95.0)
    with b.mark("slow_flight"):
        b.until(lambda: b.alt_ft < 4510.0, 0.0, -3.0, 56.0, accel=0.7)
        b.hold(70.0, ft=4500.0, kt=56.0)
        b.until(lambda: b.ias_kt > 90.0, 0.0, None, 95.0, accel=0.8)
    b.hold(30.0)
    found = graded(b, "slow_flight")
    assert verdict(found, "altitude") == "held"
    assert found.grade.target["altitude_ft"] == pytest.approx(4500.0, abs=25.0)


@pytest.mark.parametrize(
    ("climbed", "held_ft", "said"), [(False, 4700.0, "not held"), (True, 4700.0, "held"), (False, 4540.0, "held")],
    ids=["ballooned", "a climb asked for", "within the tolerance"],
)  # fmt: skip
def test_slow_flight_is_held_to_the_altitude_it_was_begun_at(climbed: bool, held_ft: float, said: str) -> None:
    """Slowed from level flight at 4,500 ft, power back; 200 ft up on the way is the entry's fault ([AFH] ch. 5:
    altitude is maintained as the airspeed is reduced), unless it was climbed there slow, with power."""
    b = high()
    with b.mark("slow_flight"):
        if not climbed:
            b.until(lambda: b.alt_ft > held_ft - 20.0, 0.0, 2.0, 56.0, accel=0.7)
        b.until(lambda: b.ias_kt < 57.0, 0.0, None, 56.0, accel=0.7)
        b.hold(30.0, ft=held_ft if not climbed else 4500.0, kt=56.0)
        b.until(lambda: b.alt_ft > held_ft - 10.0, 0.0, 2.0, 56.0)
        b.hold(60.0, ft=held_ft, kt=56.0)
        b.until(lambda: b.ias_kt > 90.0, 0.0, None, 95.0, accel=0.8)
    b.hold(30.0)
    assert verdict(graded(b, "slow_flight"), "altitude") == said


def test_bank_from_one_turn_straight_into_the_other_is_judged_in_the_turns() -> None:
    """The wings pass through level between: that is neither turn's bank."""
    b = Builder(skill=1.0)
    b.takeoff()
    b.climb(4500.0)
    with b.mark("slow_flight"):
        b.until(lambda: b.ias_kt < 57.0, 0.0, None, 56.0, accel=0.7)
        b.hold(25.0, kt=56.0)
        for side in (1.0, -1.0):
            b.until(lambda: False, side * np.radians(18.0), None, 56.0, most_s=18.0)
        b.hold(25.0, kt=56.0)
        b.until(lambda: b.ias_kt > 89.0, 0.0, None, 95.0, accel=0.8)
    b.hold(15.0, kt=95.0)
    bank = next(c for c in graded(b, "slow_flight").grade.findings if c.name == "bank")
    assert bank.verdict == "held"
    assert bank.worst is not None
    assert abs(bank.worst) < 5.0


# Source: [PHAK] chapter 5, load factors and stalling speeds [V]: an airplane that stalls at 50 kt stalls at 100 kt
# under 4 g. 2.25 g by the same rule is 75 kt, by hand.
@pytest.mark.parametrize(("load", "stall_kt_of_50"), [(4.0, 100.0), (2.25, 75.0), (1.0, 50.0)])
def test_the_stall_margin_falls_by_the_handbooks_stall_speed_under_load(
    load: float, stall_kt_of_50: float, airplane_folder: Path
) -> None:
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    flight = high().flight()
    cas = 130.0 * KT_MPS
    flight = flight.with_columns(
        {
            "load_factor": Column(np.full(len(flight), load), "measured"),
            "cas_mps": Column(np.full(len(flight), cas), "measured"),
            "flap_notch": Column(np.zeros(len(flight)), "measured"),
        }
    )
    view = build_view(flight)
    assert view is not None
    mass = airplane.max_takeoff_mass_kg
    margin = Evidence(flight, view, PRIVATE, airplane, mass).stall_margin_mps(flight.span(10.0, 30.0))
    assert margin is not None
    one_g = float(airplane.stall_cas_mps(mass))
    assert (cas - np.nanmedian(margin)) / one_g == pytest.approx(stall_kt_of_50 / 50.0, abs=0.005)


@pytest.mark.parametrize(("asked", "limit"), [(50.0, "50° ±5°"), (45.0, "45° ±5°")])
def test_the_limit_shown_is_about_the_lessons_bank(asked: float, limit: str) -> None:
    """Private's steep turn is 45° ±5°; the lesson asks 50°: held against 50°, and printed so."""
    plan = LessonPlan(order=("steep_turn",), targets={"steep_turn": {"bank_rad": np.radians(asked)}})
    g = graded(one_steep_turn(), "steep_turn", plan=plan)
    assert next(f.limit for f in g.grade.findings if f.quantity == "bank") == limit
