"""Where the speed of a steep turn came from or went: height, power not added, power left in; beside each a control.

ΔV² = 2·g·Δh is mechanics (energy of a point mass); what counts as explained is airwork's own (common practice).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from airwork.airplane import Airplane
from airwork.debrief.first import first_lines
from airwork.jobs.files import load_airplane
from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.causes import altitude, speed
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.handbook import handbook_ias_mps
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from airwork.units import FT_M, KT_MPS

PRIVATE = load_standard("private")
START, END, KT = 20.0, 52.0, 95.0
Shape = Callable[[np.ndarray], np.ndarray]
flat: Shape = np.zeros_like


STEEP = (speed.speed_from_height, speed.speed_without_power, speed.speed_with_power)


def turned(kt: Shape, feet: Shape, rpm: Shape | None, airplane: Airplane | None = None) -> tuple[Episode, Evidence]:
    """A steep turn flown with these changes of speed, height and engine speed over time."""
    t = np.arange(0.0, 80.0, 0.2)
    v, zero = (KT + kt(t)) * KT_MPS, np.zeros(t.size)
    bank = np.where((t > START) & (t < END), np.radians(45.0), 0.0)
    track = np.cumsum(9.80665 * np.tan(bank) / v) * 0.2
    values = {
        "altitude_m": 1200.0 + feet(t) * FT_M, "indicated_altitude_m": 1200.0 + feet(t) * FT_M,
        "east_m": np.cumsum(v * np.sin(track)) * 0.2, "north_m": np.cumsum(v * np.cos(track)) * 0.2,
        "groundspeed_mps": v, "ias_mps": v, "cas_mps": v, "tas_mps": v, "bank_rad": bank, "agl_m": zero + 900.0,
        "track_rad": track, "heading_rad": track, "heading_mag_rad": track, "pitch_rad": zero,
        **({} if rpm is None else {"rpm": 2300.0 + rpm(t)}),
    }  # fmt: skip
    flight = Flight(1.75e9, t, {k: Column(x, "measured") for k, x in values.items()}, source={"name": "drawn"})
    view = build_view(flight)
    assert view is not None
    e = Episode("steep_turn", START, END, 1.0, facts={"sign": 1.0})
    return e, Evidence(flight, view, PRIVATE, airplane, episodes=(e,))


def reasons(kt: Shape, feet: Shape, rpm: Shape | None, looks=STEEP) -> list[str]:  # type: ignore[no-untyped-def]
    """Names told of it."""
    sheet = Sheet(*turned(kt, feet, rpm))
    sheet.over("ias", sheet.evidence.ias_mps, target=KT * KT_MPS)
    for look in looks:
        sheet.cause(look(sheet, START, END))
    return [c.name for c in sheet.grade().causes]


def over(a: float, b: float, by: float) -> Shape:
    """From nothing at a to so much at b."""
    return lambda t: np.interp(t, [a, b], [0.0, by])


@pytest.mark.parametrize(
    ("over_kt", "said"), [(-4.0, ""), (2.0, ""), (8.0, "to polish"), (14.0, "main error")]
)  # fmt: skip
def test_a_turn_entered_above_maneuvering_speed_is_slow_down_first_and_no_danger(over_kt: float, said: str) -> None:
    """Steep turns: the maker's speed, else one "not to exceed VA" (FAA-S-ACS-6C, V.A), its tolerance 10 kt. 1.41 g
    is no load for an airplane built for 3.8 (14 CFR 23.337, from memory): nothing that leads a debrief."""
    airplane = load_airplane("larkmoor_155")
    e, evidence = turned(lambda t: 0.0 * t, flat, None, airplane)
    limit = handbook_ias_mps(evidence, "maneuvering")
    assert limit is not None
    e, evidence = turned(lambda t: np.full(t.size, limit / KT_MPS + over_kt - KT), flat, None, airplane)
    grade = room("steep_turn").grade(e, evidence)  # what isn't asked about, its roll-out, is as drawn
    held = tuple(f for f in grade.findings if f.quantity != "rollout_heading")
    causes = tuple(c for c in grade.causes if c.explains != "rollout_heading")
    lines = first_lines(evidence, [(e, replace(grade, findings=held, causes=causes))])
    found = {x.heading: x.text for x in lines if "maneuvering speed" in x.text and x.heading != "next time"}
    assert list(found) == ([said] if said else [])


def test_speed_gained_for_height_given_away_is_the_heights() -> None:
    """200 ft at 95 kt are 22 kt: (48.9 m/s)² + 2·9.81·61 m; the engine, its throttle untouched, turns faster by it."""
    assert reasons(over(25.0, 40.0, 22.0), over(25.0, 40.0, -200.0), None) == ["speed from height"]
    assert reasons(over(25.0, 40.0, -18.0), over(25.0, 40.0, 150.0), None) == ["speed from height"]


@pytest.mark.parametrize("feet", [0.0, -40.0, 200.0])
def test_speed_gained_at_the_height_kept_or_gained_is_not(feet: float) -> None:
    """Nor for 40 ft, which are 5 of the 22 kt; nor with 200 ft gained on top."""
    assert "speed from height" not in reasons(over(25.0, 45.0, 22.0), over(25.0, 45.0, feet), None)


def test_power_left_in_and_power_taken_off() -> None:
    """22 kt gained at one engine speed or a higher one; with 250 rpm taken off it was something else."""
    assert reasons(over(22.0, 45.0, 22.0), flat, over(22.0, 45.0, 90.0)) == ["power left in"]
    assert reasons(over(22.0, 45.0, 22.0), flat, over(25.0, 28.0, -250.0)) == []


def test_power_that_came_back_before_a_turn_is_why_the_speed_went() -> None:
    """350 rpm off while rolling in and 18 kt lost; 60 rpm are what the propeller slows by itself; none known: none."""
    look = (speed.power_came_off,)
    assert reasons(over(22.0, 45.0, -18.0), flat, over(15.0, 24.0, -350.0), look) == ["power came back"]
    assert reasons(over(22.0, 45.0, -18.0), flat, over(22.0, 45.0, -60.0), look) == []
    assert reasons(over(22.0, 45.0, -18.0), flat, None, look) == []
    assert reasons(over(22.0, 45.0, 18.0), flat, over(15.0, 24.0, -350.0), look) == []  # faster: not by that


def test_power_not_added_and_added() -> None:
    """18 kt bled off; with 200 rpm more it was not for want of power."""
    assert reasons(over(22.0, 45.0, -18.0), flat, over(22.0, 45.0, -60.0)) == ["no power added"]
    assert reasons(over(22.0, 45.0, -18.0), flat, over(22.0, 26.0, 200.0)) == []


def slow_at(height_m: np.ndarray, rpm: np.ndarray | None = None) -> Sheet:
    """Slow flight at 55 kt, judged against 1,200 m, two samples a second."""
    t = 0.5 * np.arange(height_m.size)
    v, zero = np.full(t.size, 55.0 * KT_MPS), np.zeros(t.size)
    values = {
        "altitude_m": height_m, "indicated_altitude_m": height_m, "groundspeed_mps": v, "ias_mps": v, "cas_mps": v,
        "tas_mps": v, "east_m": zero, "north_m": np.cumsum(v) * 0.5, "track_rad": zero, "heading_rad": zero,
        "agl_m": zero + 900.0, **({} if rpm is None else {"rpm": rpm}),
    }  # fmt: skip
    flight = Flight(1.75e9, t, {k: Column(x, "measured") for k, x in values.items()}, source={"name": "drawn"})
    view = build_view(flight)
    assert view is not None
    e = Episode("slow_flight", 0.0, float(t[-1]) - 20.0, 1.0)
    sheet = Sheet(e, Evidence(flight, view, PRIVATE, episodes=(e,)))
    sheet.over("altitude", sheet.evidence.altitude_m, target=1200.0)
    return sheet


@pytest.mark.parametrize(
    ("rpm", "lost_ft", "name"),
    [(flat, 120.0, "power left alone"), (flat, 85.0, "power left alone"), (over(40.0, 46.0, 250.0), 120.0, ""),
     (None, 120.0, "altitude let go"), (None, 85.0, "")],
)  # fmt: skip
def test_a_drift_in_slow_flight_says_of_the_power_what_is_known(rpm: Shape | None, lost_ft: float, name: str) -> None:
    """120 or 85 ft (of 100) lost in 30 s: the power left, moved, or not recorded."""
    t = np.arange(0.0, 120.0, 0.5)
    height = 1200.0 + np.interp(t, [30.0, 60.0], [0.0, -lost_ft]) * FT_M
    found = altitude.let_slip(
        slow_at(height, None if rpm is None else 1900.0 + rpm(t)), 1200.0, (10.0, 70.0), by_power=True
    )
    assert ("" if found is None else found.name) == name


@pytest.mark.parametrize(("stays", "name"), [(True, "settled off"), (False, "altitude let go")])
def test_to_sink_slowly_all_along_is_not_to_settle(stays: bool, name: str) -> None:
    """150 ft lost in 100 s, the power moved all the while: too little of it. 120 ft in 20 s, then kept: beside it."""
    t = np.arange(0.0, 140.0, 0.5)
    lost = np.interp(t, [20.0, 40.0], [0.0, 120.0]) if stays else np.interp(t, [20.0, 120.0], [0.0, 150.0])
    sheet = slow_at(1200.0 - lost * FT_M, 1900.0 + 150.0 * np.sin(t / 3.0))
    settled = altitude.settled_off(sheet, 1200.0, (5.0, 120.0))
    found = settled or altitude.let_slip(sheet, 1200.0, (5.0, 120.0), by_power=True)
    assert found is not None
    assert found.name == name
    assert ("too little power" in found.text) == (not stays)


def test_a_speed_is_said_as_the_dial_shows_it_not_by_way_of_whole_knots() -> None:
    """57.6 kt are 66.3 mph (1 kt is 1852 m in an hour, 1 mph 1609.344 m); 58 kt would be 67."""
    speed_mps = 57.6 * 1852.0 / 3600.0
    for airplane, said in ((SimpleNamespace(dial_unit="mph"), "66 mph"), (None, "58 kt")):
        one = cast(Evidence, SimpleNamespace(airplane=airplane))
        assert Evidence.speed_text(one, speed_mps) == Evidence.speed_text(one, -speed_mps) == said


@pytest.mark.parametrize(
    ("margin_kt", "given", "told"), [(19.0, False, True), (12.0, False, False), (19.0, True, False)]
)
def test_slow_flight_far_above_the_stall_was_none(
    monkeypatch: pytest.MonkeyPatch, margin_kt: float, given: bool, told: bool
) -> None:
    """5 to 10 kt above the stall ([AFH] ch. 5): 19 is told with both numbers, unless the lesson asked for it."""
    sheet = slow_at(np.full(160, 1200.0))
    monkeypatch.setattr(Evidence, "stall_margin_mps", lambda self, part: np.full(160, margin_kt * KT_MPS)[part])
    monkeypatch.setattr(Sheet, "given", lambda self, name: given)
    found = speed.far_above_the_stall(sheet, 10.0, 50.0)
    assert (found is not None) == told
    if found is not None:
        assert found.text == "Flown 19 kt above the stall; slow flight is 10 kt above it at most."
