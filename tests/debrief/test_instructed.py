"""An instructor's word on the grading: data, checked, kept with who said it; the grade follows."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.debrief.correct import correct
from airwork.debrief.instructed import Instructed, _judged_between, check, graded_as_told, seconds
from airwork.errors import InputError
from airwork.maneuvers.episode import Episode, Phase
from airwork.maneuvers.grading.runway_ends import RunwayEnd
from airwork.standards import load_standard
from approaches import approach, desk, landing
from flightbuilder import Builder

PRIVATE = load_standard("private")


def lesson():  # type: ignore[no-untyped-def]
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(40.0, kt=95.0)
    b.steep_turn(1.0)
    b.hold(40.0)
    found = debrief(b.flight(), standard=PRIVATE)
    return found, next(g.episode for g in found.episodes if g.episode.kind == "steep_turn")


def test_another_bank_wanted_changes_the_verdict_and_says_who() -> None:
    found, e = lesson()
    word = Instructed("steep_turn", e.start_s, "target", "M. Keller", target="bank_deg", value=30.0)
    told = next(g for g in correct(found, (), [word]).episodes if g.episode.kind == "steep_turn")
    before = next(g for g in found.episodes if g.episode.kind == "steep_turn")
    verdicts = [next(f.verdict for f in g.grade.findings if f.quantity == "bank") for g in (before, told)]
    assert verdicts == ["held", "not held"]
    assert told.grade.target["bank_deg"] == 30.0
    assert "bank: M. Keller" in told.grade.target_source
    assert told.grade.said == ("bank wanted: 30° (M. Keller)",)


def test_judge_from_here_to_here() -> None:
    found, e = lesson()
    word = Instructed("steep_turn", e.start_s, "judge", "M. Keller", start_s=e.start_s + 6.0, end_s=e.start_s + 20.0)
    told = next(g for g in correct(found, (), [word]).episodes if g.episode.kind == "steep_turn")
    assert any(p.name == "established" and p.start_s == e.start_s + 6.0 for p in told.episode.phases)


@pytest.mark.parametrize(
    ("word", "problem"),
    [
        ({"what": "target", "target": "bank_deg", "value": 30.0, "by": " "}, "say who"),
        ({"what": "target", "target": "flaps", "value": 3.0, "by": "M."}, "none of"),
        ({"what": "target", "target": "bank_deg", "value": 300.0, "by": "M."}, "not between"),
        ({"what": "asked", "start_s": 50.0, "end_s": 40.0, "by": "M."}, "not after the beginning"),
        ({"what": "judge", "start_s": 50.0, "end_s": 50.5, "by": "M."}, "shorter than"),
    ],
)
def test_what_cant_be_meant_is_refused(word: dict[str, object], problem: str) -> None:
    found, e = lesson()
    with pytest.raises(InputError, match=problem):
        correct(found, (), [Instructed("steep_turn", e.start_s, **word)])  # type: ignore[arg-type]


def test_the_chosen_touchdown_point_is_judged_when_an_instructor_says_it() -> None:
    """200 m beyond the threshold: 656 ft; chosen 500 ft: held, 600: held by little is in doubt, 800: short of it."""
    here = {"latitude_rad": lambda t: np.full(t.size, 0.8), "longitude_rad": lambda t: np.full(t.size, 0.1)}
    end = RunwayEnd("XX", "36", 0.8 - 200.0 / 6_371_000.0, 0.1, 0.0, 900.0, 23.0)
    evidence, _ = desk(approach(**here), runways=(end,))
    said = {}
    for chosen in (None, 500.0, 640.0, 800.0):
        words = [] if chosen is None else [
            Instructed("landing", 60.0, "target", "M.", target="touchdown_ft", value=chosen)
        ]  # fmt: skip
        _, grade = graded_as_told(landing(), evidence, words)
        f = next(f for f in grade.findings if f.quantity == "touchdown_distance")
        said[chosen] = f.verdict
        assert "656 ft beyond the threshold" in f.why
    assert said == {None: "can't be judged", 500.0: "held", 640.0: "can't be judged", 800.0: "not held"}


@pytest.mark.parametrize(
    ("target", "low", "high"),
    [("altitude_ft", -1500, 30000), ("ias_kt", 20, 400), ("bank_deg", 0, 80), ("turn_deg", 30, 1440),
     ("touchdown_ft", -300, 8000)],
)  # fmt: skip
def test_a_target_out_of_reason_is_refused_and_its_ends_are_in(target: str, low: float, high: float) -> None:
    """The ranges as the form and the documentation give them."""
    for value, fits in ((low, True), (high, True), (low - 0.1, False), (high + 0.1, False)):
        word = Instructed("steep_turn", 1.0, "target", "M.", target=target, value=value)
        if fits:
            check(word, 600.0)
        else:
            with pytest.raises(InputError, match=f"is not between {low} and {high}"):
                check(word, 600.0)


@pytest.mark.parametrize(("start_s", "end_s", "problem"), [
    (0.0, 2.0, ""), (0.0, 1.9, "shorter than 2 s"), (-0.1, 9.0, "not inside"), (9.0, 9.0, "not after the beginning"),
    (590.0, 601.0, ""), (590.0, 601.1, "not inside"),
])  # fmt: skip
def test_times_lie_in_the_recording_and_two_seconds_apart(start_s: float, end_s: float, problem: str) -> None:
    """Its last sample is at 600 s; a clock read to the second may be one later."""
    word = Instructed("steep_turn", 1.0, "judge", "M.", start_s=start_s, end_s=end_s)
    if problem:
        with pytest.raises(InputError, match=problem):
            check(word, 600.0)
    else:
        check(word, 600.0)


@pytest.mark.parametrize(("text", "value"), [("12:30", 750.0), (" 90 ", 90.0), ("0:07.5", 7.5), ("100:00", 6000.0)])
def test_a_clock_is_minutes_and_seconds(text: str, value: float) -> None:
    assert seconds(text) == value


def test_what_was_said_is_told_in_its_unit() -> None:
    said = [Instructed("steep_turn", 1.0, "target", "M.", target=t, value=v).words for t, v in
            (("bank_deg", 50.0), ("altitude_ft", 4500.0))]  # fmt: skip
    assert said == ["bank wanted: 50° (M.)", "altitude wanted: 4,500 ft (M.)"]
    asked, judge = (Instructed("climb", 1.0, what, "M.", 10.0, 50.0).words for what in ("asked", "judge"))  # type: ignore[arg-type]
    assert asked == "a climb or descent of 40 s was asked for (M.)"
    assert judge == "judged over 40 s chosen by hand (M.)"


def test_judged_between_two_times_the_rest_is_entry_and_recovery() -> None:
    """Of a maneuver from 10 to 60 s with established flight: 20 to 50 s is that, its ends reach as far as before."""
    parts = (Phase("entry", 10.0, 15.0), Phase("established", 15.0, 60.0))
    whole = Episode("steep_turn", 10.0, 60.0, 1.0, parts)
    told = _judged_between(whole, 20.0, 50.0).phases
    assert [(p.name, p.start_s, p.end_s) for p in told] == [
        ("entry", 10.0, 20.0), ("established", 20.0, 50.0), ("recovery", 50.0, 60.0)]  # fmt: skip
    wide = _judged_between(whole, 5.0, 70.0).phases
    assert [(p.start_s, p.end_s) for p in wide] == [(5.0, 5.0), (5.0, 70.0), (70.0, 70.0)]
    without = _judged_between(Episode("climb", 10.0, 60.0, 1.0), 20.0, 50.0)
    assert (without.start_s, without.end_s) == (20.0, 50.0)
