"""Unusual attitudes: seen nose high and nose low, and the order of the controls. [AFH] ch. 5 and 10, [IFH] ch. 6:
nose high, power, nose down, wings level; nose low, power off, wings level, nose up. ACS PA.VIII.E prints no number."""

from __future__ import annotations

import pytest

from airwork.maneuvers import room
from airwork.maneuvers.episode import Episode, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.view_building import build_view
from airwork.recording.flight import Flight
from airwork.standards import load_standard
from flightbuilder import Builder

KIND = "unusual_attitude"


def flown(*, low: bool, in_order: bool, direction: float = 1.0) -> Builder:
    """One of them between two minutes of level flight."""
    b = Builder(altitude_ft=5500.0, speed_kt=100.0, skill=1.0, wind_kt=8.0)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    b.unusual_attitude(direction, low=low, in_order=in_order)
    b.hold(60.0, ft=b.alt_ft, kt=100.0)
    return b


def seen(flight: Flight) -> list[tuple[Episode, Grade]]:
    """What the room claims with a score above a half, graded."""
    view = build_view(flight)
    assert view is not None
    evidence = Evidence(flight, view, load_standard("private"))
    return [(e, room(KIND).grade(e, evidence)) for e in room(KIND).seen(view) if e.score > 0.5]


def causes(b: Builder) -> list[str]:
    """Names of the faults told of the one that is seen, where it was flown."""
    ((episode, grade),) = seen(b.flight(rate_hz=5.0))
    (truth,) = b.truth
    assert abs(episode.start_s - truth.start_s) < 5.0
    assert abs(episode.end_s - truth.end_s) < 12.0
    assert grade.findings == ()
    return [cause.name for cause in grade.causes]


@pytest.mark.parametrize("direction", [1.0, -1.0])
@pytest.mark.parametrize(("low", "fault"), [(True, "pulled in a bank"), (False, "leveled before unloading")])
def test_the_order_of_the_controls_is_told(*, low: bool, fault: str, direction: float) -> None:
    assert fault in causes(flown(low=low, in_order=False, direction=direction))
    assert fault not in causes(flown(low=low, in_order=True, direction=direction))


def test_a_throttle_left_alone_is_told_and_one_closed_is_not() -> None:
    """Nose low: with the throttle as it was the RPM rises with the speed; closed it falls below idle's."""
    flight = flown(low=True, in_order=True).flight(rate_hz=5.0)
    ((episode, _),) = seen(flight)
    for rpm, told in ((2300.0, True), (1000.0, False)):
        series = flight["rpm"].copy()
        series[:] = 2250.0
        series[flight.span(episode.phases[1].start_s, episode.end_s)] = rpm
        series[0] = 700.0
        columns = {n: c for n, c in flight.columns.items() if n not in {"rpm", "power_ratio"}}
        changed = flight.__class__(
            flight.start_utc_s, flight.time_s, columns | {"rpm": flight.columns["rpm"].__class__(series, "measured")}
        )
        ((_, grade),) = seen(changed)
        assert ("power not moved" in [c.name for c in grade.causes]) is told


@pytest.mark.parametrize(
    "other", ["steep_turn", "chandelle", "lazy_eight", "power_on_stall", "power_off_stall", "accelerated_stall",
              "steep_spiral", "clearing_turn", "slow_flight"],
)  # fmt: skip
@pytest.mark.parametrize("skill", [1.0, 0.3])
def test_no_other_maneuver_is_taken_for_one(other: str, skill: float) -> None:
    b = Builder(altitude_ft=5500.0, speed_kt=100.0, skill=skill, wind_kt=8.0)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    getattr(b, other)()
    b.hold(60.0, ft=b.alt_ft, kt=100.0)
    assert seen(b.flight(rate_hz=5.0)) == []


def dive(falls_s: float) -> Builder:
    """A spiral dive from level cruise, its nose falling in so many seconds, between minutes of level flight."""
    b = Builder(altitude_ft=5500.0, speed_kt=100.0, skill=1.0, wind_kt=8.0)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    b.spiral_dive(falls_s)
    b.hold(60.0, ft=b.alt_ft, kt=100.0)
    return b


@pytest.mark.parametrize(("falls_s", "claimed"), [(5.0, True), (30.0, False)])
def test_a_spiral_dive_set_up_to_recover_from_is_one(falls_s: float, *, claimed: bool) -> None:
    """EASA AMC1 FCL.210.A, exercise 15 (from memory): "recoveries from unusual attitudes, including spiral dives".

    It goes on from an upset's 10° to twice that, so that nearly all of it takes longer than a nose pushed down; what
    counts is how soon it was past the 10°. A nose let down little by little in a turn is no exercise.
    """
    assert bool(seen(dive(falls_s).flight(rate_hz=5.0))) is claimed


def test_an_emergency_descent_is_none_and_without_a_recorded_bank_nothing_is_claimed() -> None:
    b = Builder(altitude_ft=6500.0, speed_kt=100.0, skill=1.0, wind_kt=8.0)
    b.level_ft = b.altitude_ft
    b.hold(60.0, kt=100.0)
    b.emergency_descent(3000.0)
    b.hold(60.0, ft=b.alt_ft, kt=100.0)
    assert seen(b.flight(rate_hz=5.0)) == []
    assert seen(flown(low=True, in_order=False).flight(rate_hz=1.0, gps_only=True)) == []
