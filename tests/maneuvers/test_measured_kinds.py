"""What is measured means something in that kind: no speed on the wheels, no altitude error where none was held."""

from __future__ import annotations

from functools import cache

import pytest

from airwork.debrief import Debrief, debrief
from airwork.maneuvers.episode import Grade
from airwork.output.debrief_doc import make_debrief_doc
from airwork.output.debrief_text import debrief_text
from airwork.standards import load_standard
from flightbuilder import Builder


@cache
def circuit() -> Debrief:
    """Take-off, a closed pattern at 1,000 ft above the field, a landing; precise."""
    b = Builder(wind_kt=8.0)
    b.takeoff()
    b.closed_circuit()
    b.pattern_to()
    b.hold_on_ground(30.0)
    return debrief(b.flight(), standard=load_standard("private"))


def grade_of(kind: str) -> Grade:
    """The grade of the one episode of a kind."""
    return next(g.grade for g in circuit().episodes if g.episode.kind == kind)


@pytest.mark.parametrize("kind", ["takeoff", "landing"])
def test_speeds_are_those_in_the_air(kind: str) -> None:
    """It lifts off at 55 kt and lands not far below: standing and taxiing are no "slowest"."""
    measured = grade_of(kind).measured
    assert measured["min_ias_kt"] > 40.0
    assert measured["mean_ias_kt"] > 45.0


def test_a_takeoff_has_no_entry_speed() -> None:
    assert "entry_ias_kt" not in grade_of("takeoff").measured
    assert "entry_ias_kt" in grade_of("traffic_pattern").measured


def test_the_patterns_altitude_is_held_on_the_downwind_leg_and_nowhere_else() -> None:
    """Flown to some 50 ft: base and final, 1,000 ft lower, are no altitude error."""
    grade = grade_of("traffic_pattern")
    assert grade.measured["min_altitude_error_ft"] > -150.0
    assert grade.measured["max_altitude_error_ft"] < 150.0
    assert grade.measured["max_altitude_ft"] - grade.measured["min_altitude_ft"] > 600.0


def test_no_altitude_error_is_shown_where_no_altitude_was_to_be_held() -> None:
    text = debrief_text(make_debrief_doc(circuit(), every=True), everything=True)
    parts = {part.split()[1]: part for part in text.split("\n\n") if part[:1].isdigit()}
    assert {"TAKEOFF", "TRAFFIC", "LANDING"} <= set(parts)
    for title, part in parts.items():
        words = " ".join(part.split())
        assert ("lowest below target" in words) == (title == "TRAFFIC"), title
        assert "slowest indicated 0" not in words


@pytest.mark.parametrize("kind", ["slow_flight", "power_off_stall", "power_on_stall"])
def test_a_maneuver_slowed_into_is_entered_at_the_speed_held_before(kind: str) -> None:
    """100 kt held, then slowed: the entry is where the slowing begins, not two knots later."""
    b = Builder(altitude_ft=4500.0, speed_kt=107.0)
    b.level_ft = 4500.0
    b.hold(60.0, kt=100.0)
    getattr(b, kind)()
    b.hold(40.0)
    found = debrief(b.flight(), standard=load_standard("private")).episodes
    measured = next(g.grade.measured for g in found if g.episode.kind == kind)
    assert measured["entry_ias_kt"] == pytest.approx(100.0, abs=1.0)
