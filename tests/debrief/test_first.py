"""What is said first: the drill is of the thing that went wrong."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.debrief.first import DRILLS, PRESSURE_DRILL, SETTLED_DRILLS, _drill, _one_sided, _Place
from airwork.debrief.record import with_clearing
from airwork.jobs.files import load_airplane
from airwork.maneuvers.episode import Episode, Grade
from airwork.recording.flight import Column
from airwork.standards import load_standard
from flightbuilder import Builder


def _settled(*quantities: str) -> list[_Place]:
    return [_Place("", "", 1.0, "target not set", 0.0, 1.0, n, q) for n, q in enumerate(quantities)]


@pytest.mark.parametrize("quantity", ["bank", "altitude"])
def test_a_turn_too_shallow_gets_no_drill_of_speeds(quantity: str) -> None:
    assert _drill("target not set", _settled(quantity, quantity)) == SETTLED_DRILLS[quantity]


def test_several_things_or_the_speed_get_the_roots_drill() -> None:
    for places in (_settled("bank", "ias"), _settled("ias"), _settled("")):
        assert _drill("target not set", places) == DRILLS["target not set"]
    assert _drill("late", _settled("bank")) == DRILLS["late"]


def test_the_patterns_clock_is_that_of_the_place_told_first() -> None:
    """Places stand in the order they were flown, whichever cost most."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(40.0, kt=95.0)
    b.steep_turn(1.0, bank_deg=52.0)
    b.hold(70.0)
    b.steep_turn(-1.0, bank_deg=58.0)
    b.hold(40.0)
    found = debrief(b.flight(), standard=load_standard("private"))
    line = next(x for x in found.first if x.heading == "pattern")
    assert line.text.index("turn right") < line.text.index("turn left")
    first = next(g.episode for g in found.episodes if g.episode.kind == "steep_turn")
    assert first.start_s - 1.0 < (line.start_s or 0.0) < first.end_s


@pytest.mark.parametrize(
    ("right", "left", "seen"),
    [((12.0, 15.0), (-2.0, 1.0), True), ((12.0, 1.0), (-2.0, 13.0), False), ((12.0,), (-2.0, 1.0), False)],
)
def test_roll_outs_off_to_one_side_alone(right: tuple[float, ...], left: tuple[float, ...], seen: bool) -> None:
    """Past the heading each time to the right and never to the left: told with the numbers; mixed or too few: not."""
    rows = [(1.0, x) for x in right] + [(-1.0, x) for x in left]
    graded = [
        (Episode("steep_turn", 0.0, 1.0, 1.0, facts={"sign": s}), Grade({}, "", {"rollout_error_deg": x}, (), ()))
        for s, x in rows
    ]
    text = _one_sided(graded)
    assert bool(text) == seen
    if seen:
        assert "right +12°, +15°; left −2°, +1°" in text


@pytest.mark.parametrize(("before_s", "name"), [(None, "not cleared"), (400.0, "cleared late"), (60.0, "")])
def test_a_clearing_turn_late_or_none_is_a_cause_of_the_first_of_a_series(before_s: float | None, name: str) -> None:
    """None, 400 s before, 60 s before; put on once however often it is worked out, and taken off when it isn't so."""
    e = Episode("steep_turn", 1000.0, 1030.0, 1.0)
    row = {"for": "steep_turn", "start_s": 1000.0, "cleared": before_s == 60.0, "seconds_before": before_s}
    grade = Grade({}, "", {}, (), ())
    told = with_clearing(with_clearing(grade, e, [row], 180.0), e, [row], 180.0)
    assert [c.name for c in told.causes] == ([name] if name else [])
    assert with_clearing(told, e, [{**row, "cleared": True}], 180.0).causes == ()


def test_no_drill_and_no_question_that_do_not_fit() -> None:
    """RPM over its limit with nothing else: said, without a drill of leads and without a question."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(120.0, kt=95.0)
    flight = b.flight()
    fast = Column(np.full(len(flight), 2900.0), "measured")
    found = debrief(flight.with_columns({"rpm": fast}), standard=load_standard("private"),
                    airplane=load_airplane("larkmoor_155"))  # fmt: skip
    headings = [x.heading for x in found.first]
    assert "2,900 rpm" in next(x.text for x in found.first if x.heading == "first")
    assert "next time" not in headings
    assert "ask" not in headings


def test_a_push_outside_of_stalls_gets_no_drill_of_stalls() -> None:
    """Of an emergency descent: pressure; of a stall: the stall's own."""
    push = [_Place("", "", 1.0, "too big", 0.0, 1.0, 0)]
    assert _drill("too big", push, ["emergency_descent"]) == PRESSURE_DRILL
    assert _drill("too big", push) == PRESSURE_DRILL
    assert _drill("too big", push, ["power_off_stall"]) == DRILLS["too big"]
