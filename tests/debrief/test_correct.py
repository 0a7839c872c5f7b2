"""A person's correction is graded as if it had been recognized so; what follows from the episodes follows."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest

import airwork
from airwork.airplane import find_airplane_file, load_airplane
from airwork.debrief import Debrief, debrief
from airwork.debrief.correct import Correction, NotSeen, UnlikeIt, _check, _is_said, _which, correct
from airwork.debrief.ideals import ideals_of
from airwork.errors import InputError
from airwork.maneuvers import room, rooms
from airwork.maneuvers.episode import Episode, ungraded
from airwork.maneuvers.grading.evidence import Evidence
from airwork.output.debrief_doc import make_debrief_doc
from airwork.recording import read_flight
from airwork.standards import load_standard
from airwork.units import to_unit

DEMO = Path(airwork.__file__).parent / "demo_files" / "recordings"


@pytest.fixture(scope="module")
def found() -> Debrief:
    """The commercial lesson of the demo: chandelles, a lazy eight, steep turns, a steep spiral."""
    airplane = load_airplane(find_airplane_file("caldmere_200"))
    flight = read_flight(DEMO / "2025-09-16_commercial.csv.gz", airplane=airplane)
    return debrief(flight, standard=load_standard("commercial"), airplane=airplane)


def test_the_same_again_grades_the_same(found: Debrief) -> None:
    """An episode given with the limits it was recognized with has the findings it had."""
    given = [g.episode for g in found.episodes]
    again = correct(found, [Correction(e.kind, e.start_s, e.end_s, e.kind, e.start_s) for e in given])
    assert len(again.episodes) == len(given)
    for graded in found.episodes:
        e = graded.episode
        match = next(g for g in again.episodes if g.episode.kind == e.kind and g.episode.start_s == e.start_s)
        assert match is not graded, e.kind
        assert [(f.name, f.verdict, f.worst) for f in match.grade.findings] == [
            (f.name, f.verdict, f.worst) for f in graded.grade.findings
        ], e.kind


def test_no_kind_at_any_place_is_a_fault(found: Debrief) -> None:
    """Each kind somewhere, by turns where each kind that was flown was flown; as said, too."""
    places = list({graded.episode.kind: graded.episode for graded in found.episodes}.values())
    for n, kind in enumerate(one.kind for one in rooms()):
        e = places[n % len(places)]
        first = Correction(kind, e.start_s + 1.0, e.end_s - 1.0, e.kind, e.start_s)
        refused = _refused(found, first)  # "nothing looks like …" is an answer
        if refused is None:
            continue
        as_said = correct(found, [replace(first, as_said_by="M. Keller")])
        if isinstance(refused, UnlikeIt):
            assert any("(M. Keller)" in g.episode.evidence[-1] for g in as_said.episodes)
            continue
        (entered,) = (g for g in as_said.episodes if ungraded(g.episode.evidence))
        assert (entered.episode.kind, entered.verdict, entered.met) == (kind, "", None)
        make_debrief_doc(as_said, every=True)


def _refused(found: Debrief, one: Correction) -> NotSeen | None:
    try:
        correct(found, [one])
    except NotSeen as said:
        return said
    return None


def test_a_turn_too_steep_for_a_level_turn_is_told_so_and_graded_on_somebody_s_word(found: Debrief) -> None:
    """It said that "where it turned" was not there: it had turned right round."""
    steep = next(g.episode for g in found.episodes if g.episode.kind == "steep_turn")
    one = Correction("level_turn", steep.start_s, steep.end_s, "steep_turn", steep.start_s)
    refused = _refused(found, one)
    assert isinstance(refused, UnlikeIt)
    assert refused.graded  # on somebody's word it gets a mark
    said = str(refused)
    assert re.search(r"3[3-9]\d° (left|right) at (4|5)\d° of bank", said), said
    assert "level turn: 10 to 35° of bank" in said
    told = correct(found, [replace(one, as_said_by="M. Keller")])
    (entered,) = (g for g in told.episodes if g.episode.kind == "level_turn" and g.episode.start_s == steep.start_s)
    assert "off_quarter_turn_deg" in entered.grade.measured  # worked out; the commercial standard has no limits for it
    assert "(M. Keller)" in entered.episode.evidence[-1]
    leg = max((g.episode for g in found.episodes if g.episode.kind == "straight_and_level"), key=lambda e: e.end_s)
    with pytest.raises(NotSeen, match="engine at idle") as nothing:
        correct(found, [Correction("glide", leg.start_s + 5.0, leg.start_s + 45.0)])
    assert not nothing.value.graded


def _never_seen(found: Debrief, kind: str) -> tuple[Correction, Debrief, int]:
    """Said to be in the middle of a straight leg, where nothing like it is: refused, then entered on M. Keller's word.
    What was said, the debrief with it, and its place there.
    """
    leg = max((g.episode for g in found.episodes if g.episode.kind == "straight_and_level"), key=lambda e: e.end_s)
    one = Correction(kind, leg.start_s + 5.0, leg.start_s + 45.0)
    with pytest.raises(NotSeen):
        correct(found, [one])
    one = replace(one, as_said_by="M. Keller")
    told = correct(found, [one])
    k = next(k for k, g in enumerate(told.episodes) if g.episode.kind == kind and ungraded(g.episode.evidence))
    return one, told, k


@pytest.mark.parametrize("kind", ["short_field_landing", "soft_field_takeoff", "power_off_180", "level_turn", "glide"])
def test_what_is_not_seen_is_entered_on_an_instructor_s_word_and_not_graded(found: Debrief, kind: str) -> None:
    """Named, dated, without a mark, and taken out again as if it had never been said."""
    one, told, k = _never_seen(found, kind)
    assert told.episodes[k].grade.findings == told.episodes[k].grade.causes == ()
    again = correct(found, [one, Correction("", 0.0, 0.0, kind, one.start_s)])
    assert [g.episode for g in again.episodes] == [g.episode for g in found.episodes]


def test_what_was_entered_on_an_instructor_s_word_is_told_so_and_has_no_ideal(found: Debrief) -> None:
    _, told, k = _never_seen(found, "glide")
    assert k not in ideals_of(told)
    doc = make_debrief_doc(told, zone="UTC")
    row = doc.rows[k]
    assert (row.title, row.sure, row.word) == (room("glide").title, "said", "not graded")
    part = next(p for p in doc.maneuvers if p.index == k)
    assert "entered as said, not graded (M. Keller)" in part.confidence


def test_an_instructor_s_word_does_not_take_the_grade_from_what_is_seen(found: Debrief) -> None:
    e = next(g.episode for g in found.episodes if g.episode.kind == "steep_turn")
    again = correct(found, [Correction(e.kind, e.start_s, e.end_s, e.kind, e.start_s, "M. Keller")])
    assert next(g for g in again.episodes if g.episode.start_s == e.start_s).grade.findings


def test_shorter_limits_judge_only_what_lies_inside(found: Debrief) -> None:
    e = next(g.episode for g in found.episodes if g.episode.kind == "steep_turn")
    cut = correct(found, [Correction("steep_turn", e.start_s + 5, e.end_s - 5, "steep_turn", e.start_s)])
    new = next(g for g in cut.episodes if g.episode.start_s == e.start_s + 5)
    assert new.episode.end_s == e.end_s - 5
    assert all(new.episode.start_s <= p.start_s <= p.end_s <= new.episode.end_s for p in new.episode.phases)


def test_one_taken_out_is_gone_from_the_record_too(found: Debrief) -> None:
    turns = [g.episode for g in found.episodes if g.episode.kind == "clearing_turn"]
    wanted = [Correction("", 0.0, 0.0, "clearing_turn", e.start_s) for e in turns]
    without = correct(found, wanted)
    assert len(without.episodes) == len(found.episodes) - len(turns)
    if turns:
        assert not any(row["cleared"] for row in without.clearing)


def test_one_that_is_not_there_any_more_is_said(found: Debrief) -> None:
    with pytest.raises(InputError, match="was recognized"):
        correct(found, [Correction("climb", 10.0, 50.0, "lazy_eight", 3.0)])


def test_the_ideal_of_a_steep_turn_holds_the_target_it_is_graded_by(found: Debrief) -> None:
    """The ideal is laid from the flown entry: the bank and altitude of the target, the flown side and heading."""
    ideals = ideals_of(found)
    kinds = {found.episodes[k].episode.kind for k in ideals}
    assert "steep_turn" in kinds
    assert all(room(k).lay or room(k).over_ground for k in kinds)
    for k, trace in ideals.items():
        graded = found.episodes[k]
        if graded.episode.kind != "steep_turn":
            continue
        side = 1.0 if graded.episode.facts["sign"] > 0 else -1.0
        bank = trace.columns["bank_rad"] * side
        assert to_unit(float(bank.max()), "deg") == pytest.approx(graded.grade.target["bank_deg"], abs=0.5)
        height = to_unit(trace.columns["altitude_m"], "ft")
        assert abs(float(height.mean()) - graded.grade.target["altitude_ft"]) < 20.0


def test_without_an_airplane_there_is_no_ideal(found: Debrief) -> None:
    bare = debrief(found.flight, standard=found.standard)
    assert ideals_of(bare) == {}


def test_a_story_told_already_is_not_told_twice(found: Debrief) -> None:
    """A stall that was the slow flight around it: the stall goes, the slow flight stays as it was."""
    first, second = [g.episode for g in found.episodes if g.episode.kind == "steep_turn"][:2]
    told = correct(found, [Correction("steep_turn", first.start_s, first.end_s, "steep_turn", second.start_s)])
    assert len(told.episodes) == len(found.episodes) - 1


@pytest.mark.parametrize(("start_s", "end_s", "problem"), [
    (0.0, 2.0, ""), (0.0, 1.9, "shorter than 2 s"), (-0.1, 9.0, "not inside"), (9.0, 9.0, "not after the beginning"),
    (590.0, 600.6, ""), (590.0, 600.7, "not inside"),
])  # fmt: skip
def test_limits_given_lie_in_the_recording_and_two_seconds_apart(start_s: float, end_s: float, problem: str) -> None:
    """Its last sample is at 600 s; a printed time is rounded."""
    evidence = cast(Evidence, SimpleNamespace(flight=SimpleNamespace(time_s=[0.0, 600.0])))
    one = Correction("steep_turn", start_s, end_s)
    if problem:
        with pytest.raises(InputError, match=problem):
            _check(one, evidence)
    else:
        _check(one, evidence)
    _check(replace(one, kind=""), evidence)  # taken out, wherever it was
    with pytest.raises(InputError, match="no maneuver"):
        _check(Correction("barrel_roll", 1.0, 9.0), evidence)


def test_an_episode_is_found_by_its_kind_and_its_start_as_printed() -> None:
    """Six tenths of a second off it is the same one."""
    episodes = [Episode("climb", 100.0, 200.0, 1.0), Episode("steep_turn", 100.0, 140.0, 1.0)]
    assert [_which(episodes, "steep_turn", s) for s in (100.6, 99.4, None)] == [1, 1, None]
    for start_s in (100.7, 99.3):
        with pytest.raises(InputError, match="no steep turn was recognized at"):
            _which(episodes, "steep_turn", start_s)
    said = Correction("steep_turn", 100.0, 140.0)
    for start_s, end_s, kind, same in (
        (100.6, 139.4, "steep_turn", True),
        (100.7, 140.0, "steep_turn", False),
        (100.0, 140.7, "steep_turn", False),
        (100.0, 140.0, "climb", False),
    ):
        assert _is_said(Episode(kind, start_s, end_s, 1.0), said) is same
