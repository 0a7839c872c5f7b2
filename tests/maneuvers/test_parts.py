"""Long exercises in parts: what was asked for, what was let slip; what the recorder resolves; how an error looked.

The rule (a commanded climb or descent counts against nobody) is an examiner's common sense; its thresholds are
airwork's own (common practice, no source). Altitudes here are made by hand, in feet at ten samples a second.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from airwork.maneuvers.grading.judge import over_time
from airwork.maneuvers.grading.reading import rounding
from airwork.maneuvers.grading.stretches import level_parts
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from airwork.units import FT_M

PRIVATE = load_standard("private")
TOLERANCE_M = 100.0 * FT_M


def flown(*legs: tuple[float, float, float], asked: tuple[tuple[float, float], ...] = ()) -> SimpleNamespace:
    """Evidence of legs (seconds, feet at their end, share of power), from 4,000 ft."""
    feet, power = [4000.0], []
    for seconds, end_ft, share in legs:
        n = round(seconds / 0.1)
        feet += list(np.linspace(feet[-1], end_ft, n + 1)[1:])
        power += [share] * n
    time = np.arange(len(feet)) * 0.1
    return SimpleNamespace(
        flight=Flight(0.0, time, {}), altitude_m=np.array(feet) * FT_M, step_s=0.1, asked=asked,
        some_power=np.array([power[0], *power]),
    )  # fmt: skip


def anchors(evidence: SimpleNamespace) -> list[float | None]:
    """Altitudes of the level stretches, in feet."""
    end = float(evidence.flight.time_s[-1])
    parts = level_parts(evidence, (0.0, end), 4000.0 * FT_M, TOLERANCE_M, -TOLERANCE_M, TOLERANCE_M)  # type: ignore[arg-type]
    return [round(p.altitude_m / FT_M) for p in parts if p.altitude_m is not None]


def test_a_climb_with_power_set_for_it_and_held_anchors_the_altitude_anew() -> None:
    """300 ft up at 500 fpm, then held; and back down again: three altitudes, none of them missed."""
    assert anchors(flown((30, 4000, 0.5), (36, 4300, 0.9), (40, 4300, 0.5))) == [4000, 4300]
    both = flown((30, 4000, 0.5), (36, 4300, 0.9), (30, 4300, 0.5), (36, 4000, 0.2), (30, 4000, 0.5))
    assert anchors(both) == [4000, 4300, 4000]


@pytest.mark.parametrize(
    ("setting_up", "anchor"),
    [
        pytest.param(((5, 4060, 0.9), (7, 4130, 0.75), (8, 4175, 0.55), (8, 4190, 0.4), (60, 4190, 0.35)), 4000,
                     id="ballooned, the power led back"),
        pytest.param(((20, 4000, 0.35), (36, 4300, 0.8), (60, 4300, 0.35)), 4300, id="leveled, then a climb asked for"),
        pytest.param(((40, 4300, 0.8), (60, 4300, 0.35)), 4300, id="a steady climb at once, power set and left"),
    ],
)  # fmt: skip
def test_a_balloon_as_slow_flight_is_set_up_is_no_climb_asked_for(
    setting_up: tuple[tuple[float, float, float], ...], anchor: float
) -> None:
    """The power before it was the slowing's, any is more: a climb is asked for from level flight, or flown as one
    (common practice, no source)."""
    assert anchors(flown((1, 4000, 0.2), *setting_up))[-1] == anchor


@pytest.mark.parametrize(("warned_s", "anchor"), [(1.0, 3750), (12.0, 4000)])
def test_nobody_is_asked_down_through_the_stall_warning(warned_s: float, anchor: float) -> None:
    """250 ft down with the power taken off for it, level there, and back up: a descent asked for, or sinking. Slow
    flight is flown without a stall warning (FAA-S-ACS-6C, VII.A)."""
    evidence = flown((30, 4000, 0.5), (40, 3750, 0.3), (30, 3750, 0.5), (40, 4000, 0.8), (30, 4000, 0.5))
    on = (evidence.flight.time_s > 40.0) & (evidence.flight.time_s < 40.0 + warned_s)
    warning = Column(on.astype(float), "measured")
    evidence.flight = Flight(0.0, evidence.flight.time_s, {"stall_warning": warning})
    assert anchors(evidence)[1:2] == ([anchor] if anchor != 4000 else [])


@pytest.mark.parametrize(
    "legs",
    [
        pytest.param(((30, 4000, 0.5), (40, 3800, 0.5), (30, 3800, 0.5)), id="power never touched"),
        pytest.param(((30, 4000, 0.5), (40, 3800, 0.3), (40, 4000, 0.8), (20, 4000, 0.5)), id="flown back at once"),
        pytest.param(((30, 4000, 0.5), (7, 4140, 0.9), (7, 4000, 0.3), (40, 4000, 0.5)), id="a zoom"),
    ],
)
def test_what_was_let_slip_is_not_taken_as_asked_for(legs: tuple[tuple[float, float, float], ...]) -> None:
    """The altitude held to stays the entry's."""
    assert set(anchors(flown(*legs))) == {4000}


def test_an_instructor_says_it_was_asked_for() -> None:
    """The drift nobody set power for becomes a descent once the instructor says so."""
    legs = ((30, 4000, 0.5), (40, 3800, 0.5), (30, 3800, 0.5))
    assert anchors(flown(*legs, asked=((30.0, 70.0),))) == [4000, 3800]


def test_a_steady_altitude_never_inside_is_another_target() -> None:
    """Two minutes at 160 ft beside the entry's: held to that; 60 ft beside it stays an error of 60 ft."""
    assert anchors(flown((1, 4160, 0.5), (120, 4160, 0.5))) == [4160]
    assert anchors(flown((1, 4060, 0.5), (120, 4060, 0.5))) == [4000]


def altitude_finding(feet: np.ndarray, **how: float):  # type: ignore[no-untyped-def]
    criterion = PRIVATE.task("steep_turn").criterion("altitude")
    assert criterion is not None
    time = np.arange(feet.size) * 0.1
    return over_time(criterion, time, feet * FT_M, (0.0, float(time[-1])), PRIVATE.judging, **how)


def test_what_the_recorder_resolves_is_given_and_shown() -> None:
    """103 ft throughout: outside ±100 ft; with 5 ft allowed for a dial read to 10 ft inside, and said."""
    feet = np.full(600, 103.0)
    assert altitude_finding(feet).verdict == "not held"
    given = altitude_finding(feet, allowance=5.0 * FT_M)
    assert (given.verdict, given.allowance) == ("held", 5.0)
    assert altitude_finding(feet, allowance=2.0 * FT_M).verdict == "not held"


def test_near_the_limit_a_doubtful_recording_judges_neither_way() -> None:
    """10 ft of error: 95 ft and 105 ft can't be told from the limit; 80 ft is held, 120 ft not."""
    said = {
        size: altitude_finding(np.full(600, size), error=10.0 * FT_M).verdict for size in (80.0, 95.0, 105.0, 120.0)
    }
    assert said == {80.0: "held", 95.0: "can't be judged", 105.0: "can't be judged", 120.0: "not held"}


@pytest.mark.parametrize(
    ("feet", "shape"),
    [
        (np.full(600, 20.0), ""),
        (np.full(600, 80.0), "a steady offset"),
        (np.linspace(0.0, 140.0, 600), "a drift"),
        (80.0 * np.sin(np.linspace(0.0, 12.0 * np.pi, 600)), "to and fro"),
        (np.where(abs(np.arange(600) - 300) < 25, 120.0, 0.0), "a moment"),
    ],
)
def test_an_error_is_told_by_its_shape(feet: np.ndarray, shape: str) -> None:
    """A moment, a drift, a steady offset, to and fro."""
    assert altitude_finding(feet).shape == shape
    assert altitude_finding(-feet).shape == shape


def test_a_columns_rounding_is_found() -> None:
    """Whole knots, tenths, tens of feet; none where nothing was rounded."""
    rng = np.random.default_rng(5)
    smooth = 80.0 + np.cumsum(rng.normal(0.0, 0.3, 4000))
    assert rounding(np.round(smooth)) == pytest.approx(1.0)
    assert rounding(10.0 * np.round(smooth / 10.0) + 0.0) == pytest.approx(10.0)
    assert rounding(smooth) == 0.0
