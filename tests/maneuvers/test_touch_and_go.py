"""A touch that nothing but a height shows: the wheels slow an airplane down, flying just above the runway doesn't."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.debrief.margins import thin_margins
from airwork.debrief.not_flown import not_flown
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column
from airwork.standards import load_standard
from airwork.units import KT_MPS
from flightbuilder import Builder

KIND = "touch_and_go"


def flown(slowed_kt: float, *, wheels: bool, late_s: float = 0.0) -> tuple[Episode, Grade, Evidence]:
    """A circuit and eight seconds at the runway's height, slower and slower by so much in all, nose low.

    wheels : the recorder had a switch on them; late_s : the touch is found so much later.
    """
    b = Builder(field_ft=800.0, altitude_ft=800.0, speed_kt=0.0, wind_kt=6.0)
    b.takeoff()
    b.pattern_to(8.0)
    b.pattern_to()
    flight = b.flight(rate_hz=5.0)
    ground = flight["on_ground"] > 0.5
    middle = slice(flight.index_at(60.0), flight.index_at(flight.time_s[-1] - 60.0))
    down = np.flatnonzero(ground & (np.arange(ground.size) >= middle.start) & (np.arange(ground.size) < middle.stop))
    first, last = int(down[0]), int(down[-1])
    speed, pitch = flight["groundspeed_mps"].copy(), flight["pitch_rad"].copy()
    near = slice(first - 30, last + 30)
    share = np.clip((flight.time_s[near] - flight.time_s[first]) / 4.0, 0.0, 1.0)
    speed[near] = speed[first] - slowed_kt * KT_MPS * share
    pitch[near] = np.radians(-2.0)
    pitch[ground & (flight["groundspeed_mps"] < 5.0)] = np.radians(2.0)
    ground[first : first + round(5.0 * late_s)] = False
    flight = flight.with_columns({
        "groundspeed_mps": Column(speed, "measured"), "pitch_rad": Column(pitch, "measured"),
        "on_ground": Column(ground.astype(float), "measured" if wheels else "derived"),
    })  # fmt: skip
    view = build_view(flight)
    assert view is not None
    (e,) = room(KIND).seen(view)
    evidence = Evidence(flight, view, load_standard("private"), episodes=(e,))
    return e, room(KIND).grade(e, evidence), evidence  # type: ignore[misc]


def test_a_touch_found_late_is_sure_by_the_speed_it_cost_before() -> None:
    """Slowed down at the runway's height in the four seconds before the wheels were seen."""
    e, _, _ = flown(9.0, wheels=False, late_s=4.5)
    assert e.score > 0.9


@pytest.mark.parametrize(("slowed_kt", "wheels", "sure"), [(9.0, False, True), (0.0, False, False), (0.0, True, True)])
def test_a_touch_is_sure_by_the_speed_it_costs_or_by_a_switch(*, slowed_kt: float, wheels: bool, sure: bool) -> None:
    """Rolling friction is some 0.03 of the weight on pavement (common practice, no source): with drag a knot a second.

    One that lost none is half a go-around: nothing is said of its touch, and a go-around planned may be it.
    """
    e, grade, evidence = flown(slowed_kt, wheels=wheels)
    assert (e.score > 0.9) is sure
    nose = [m.text for m in thin_margins(evidence, [(e, grade)]) if "nose wheel" in m.text]
    assert bool(nose) is sure
    assert any("touchdown" in name for name in grade.measured) is sure
    assert ("isn't sure" in not_flown(evidence, [e], {"go_around": 1})) is not sure
