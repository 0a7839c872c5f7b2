"""A touch that nothing but a height shows: the wheels slow an airplane down, flying just above the runway doesn't."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from airwork.debrief.margins import thin_margins
from airwork.debrief.not_flown import not_flown
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.broken_off import may_have_touched
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column
from airwork.standards import load_standard
from airwork.units import FT_M, KT_MPS
from flightbuilder import Builder

KIND = "touch_and_go"


def flown(
    slowed_kt: float, *, wheels: bool, late_s: float = 0.0, noise_kt: float = 0.0, above_ft: float = 0.0
) -> tuple[Episode, Grade, Evidence]:
    """A circuit and eight seconds at the runway's height, slower and slower by so much in all, nose low.

    wheels : the recorder had a switch on them; late_s : the touch is found so much later; noise_kt : every other second
    so much slower; above_ft : above where it rolls in the end.
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
    speed[near] -= noise_kt * KT_MPS * (np.floor(flight.time_s[near]) % 2.0)
    height = flight["indicated_altitude_m"].copy()
    height[near] += above_ft * FT_M
    places = {name: flight[name].copy() for name in ("east_m", "north_m")}
    if above_ft:  # over where it rolls in the end
        for place in places.values():
            place[near] += place[-1] - place[first]
    pitch[near] = np.radians(-2.0)
    pitch[ground & (flight["groundspeed_mps"] < 5.0)] = np.radians(2.0)
    ground[first : first + round(5.0 * late_s)] = False
    flight = flight.with_columns({n: Column(x, "measured") for n, x in places.items()} | {
        "groundspeed_mps": Column(speed, "measured"), "indicated_altitude_m": Column(height, "measured"),
        "pitch_rad": Column(pitch, "measured"),
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


@pytest.mark.parametrize(("step_s", "lowest_ft", "unsure"), [
    (11.0, 20.0, True), (11.0, 150.0, False), (5.0, 20.0, True), (1.0, 20.0, False),
])  # fmt: skip
def test_far_rows_may_hide_a_touch(step_s: float, lowest_ft: float, unsure: bool) -> None:
    """3° at 97 kt is 8.5 ft in a second: between rows 11 s apart it may have touched from 90 ft, from 150 ft not."""
    seen = SimpleNamespace(flight=SimpleNamespace(step_s=step_s), agl_m=np.array([lowest_ft * FT_M]))
    assert may_have_touched(seen, 0) is unsure  # type: ignore[arg-type]


def test_a_go_around_that_may_have_touched_is_not_judged() -> None:
    """From 80 ft, written every six seconds: named, unsure, and nothing held against it; every second it is judged."""
    b = Builder(field_ft=800.0, altitude_ft=800.0, speed_kt=0.0, wind_kt=6.0)
    b.takeoff()
    b.closed_circuit()
    b.go_around()
    found = {}
    for rate_hz in (1.0, 1.0 / 6.0):
        flight = b.flight(rate_hz=rate_hz, drop=("on_ground",))
        low = flight["agl_m"] if "agl_m" in flight.columns else flight["altitude_m"] - 800.0 * FT_M
        flight = flight.with_columns({"agl_m": Column(np.maximum(low - 20.0, 1.0), "measured")})
        view = build_view(flight)
        assert view is not None
        for e in room("go_around").seen(view):
            grade = room("go_around").grade(e, Evidence(flight, view, load_standard("private"), episodes=(e,)))
            found[rate_hz] = (e.score, any("held" in f.verdict for f in grade.findings))
    assert found[1.0][1]
    assert found.get(1.0 / 6.0, (0.0, False))[0] <= 0.6
    assert not found.get(1.0 / 6.0, (0.0, False))[1]


@pytest.mark.parametrize(("slowed_kt", "noise_kt", "above_ft"), [(0.0, 4.0, 0.0), (9.0, 0.0, 20.0)])
def test_a_samples_noise_costs_no_speed_and_nothing_rolls_above_the_runway(
    slowed_kt: float, noise_kt: float, above_ft: float
) -> None:
    """4 kt to and fro from second to second are the receiver's; slowing down 20 ft above where it rolls minutes later
    is floating: nothing is said of a touch, nor that it was landed."""
    e, grade, evidence = flown(slowed_kt, wheels=False, noise_kt=noise_kt, above_ft=above_ft)
    assert e.score < 0.9
    assert not any("ouched" in m.text or "landed" in m.text for m in thin_margins(evidence, [(e, grade)]))
