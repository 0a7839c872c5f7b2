"""What was done on the wheels beside the maneuvers. Sizes are airwork's own (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from airwork.debrief.on_the_ground import ground_notes
from airwork.maneuvers.seeing.view_building import build_view
from flightbuilder import Builder


def told(b: Builder) -> list[str]:
    """The sentences of a pattern with what was done before it."""
    b.takeoff()
    b.closed_circuit()
    b.pattern_to()
    view = build_view(b.flight(rate_hz=5.0))
    assert view is not None
    return ground_notes(view)


@pytest.mark.parametrize("hesitated_s", [0.0, 6.0])
def test_a_takeoff_broken_off_is_told_with_its_speed(hesitated_s: float) -> None:
    """At once, or with seconds gone before the throttle was closed."""
    b = Builder(skill=1.0)
    b.hold_on_ground(10.0)
    b.until(lambda: b.groundspeed > 21.0, 0.0, 0.0, 60.0, accel=1.8)
    if hesitated_s:
        b.hold_on_ground(hesitated_s, kt=41.0)
    b.until(lambda: b.groundspeed < 1.0, 0.0, 0.0, 0.0, accel=2.5)
    b.hold_on_ground(60.0)
    (line,) = told(b)
    assert line.startswith("A takeoff was broken off at 0:2")
    assert line.endswith(("at 41 kt over the ground.", "at 42 kt over the ground."))


@pytest.mark.parametrize(("kt", "said"), [(12.0, False), (20.0, False), (33.0, True)])
def test_a_fast_taxi_is_told_and_an_ordinary_one_is_not(kt: float, *, said: bool) -> None:
    b = Builder(skill=1.0)
    b.hold_on_ground(10.0)
    b.hold_on_ground(40.0, kt=kt)
    b.hold_on_ground(60.0)
    lines = told(b)
    assert [line.startswith("Taxied at up to 3") for line in lines] == [True] * said


def test_take_offs_and_landings_are_neither() -> None:
    assert told(Builder(skill=1.0)) == []


@pytest.mark.parametrize(("most_mps", "gains_s", "said"), [(22.0, 10.0, True), (227.0, 2.0, False)])
def test_a_leap_of_the_positions_is_no_takeoff_broken_off(most_mps: float, gains_s: float, *, said: bool) -> None:
    """A run gains 2 m/s each second; where the positions leap once by 450 m the speed between them is 440 kt."""
    b = Builder(skill=1.0)
    b.hold_on_ground(90.0)
    b.takeoff()
    b.closed_circuit()
    b.pattern_to()
    view = build_view(b.flight(rate_hz=5.0))
    assert view is not None
    ran = np.interp(view.time_s, [30.0, 30.0 + gains_s, 30.0 + 2.0 * gains_s], [0.0, most_mps, 0.0])
    lines = ground_notes(replace(view, groundspeed_mps=np.maximum(view.groundspeed_mps, ran)))
    assert [line.startswith("A takeoff was broken off at 0:") for line in lines] == [True] * said
