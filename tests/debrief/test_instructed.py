"""An instructor's word on the grading: data, checked, kept with who said it; the grade follows."""

from __future__ import annotations

import pytest

from airwork.debrief import debrief
from airwork.debrief.correct import correct
from airwork.debrief.instructed import Instructed
from airwork.errors import InputError
from airwork.standards import load_standard
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
        ({"what": "asked", "start_s": 50.0, "end_s": 40.0, "by": "M."}, "not inside"),
        ({"what": "judge", "start_s": 50.0, "end_s": 50.5, "by": "M."}, "shorter than"),
    ],
)
def test_what_cant_be_meant_is_refused(word: dict[str, object], problem: str) -> None:
    found, e = lesson()
    with pytest.raises(InputError, match=problem):
        correct(found, (), [Instructed("steep_turn", e.start_s, **word)])  # type: ignore[arg-type]
