"""What is said first: the drill is of the thing that went wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.debrief.debrief import evidence_of
from airwork.debrief.first import THEN, _one_sided, not_known
from airwork.debrief.first_margins import alike, grouped, joined, said_first
from airwork.debrief.first_places import IN, LEAST_SIZE, Place, _unexplained, pattern, pattern_text, said_of
from airwork.debrief.first_words import (
    DRILLS,
    IN_STALLS,
    LEVEL_DRILL,
    POWER_DRILL,
    SETTLED_DRILLS,
    drill,
    root_words,
    with_article,
)
from airwork.debrief.margins import Margin
from airwork.debrief.notes import _clearing
from airwork.debrief.plan import LessonPlan
from airwork.debrief.record import clearing_record, with_clearing
from airwork.jobs.files import load_airplane
from airwork.maneuvers.episode import Cause, Episode, Finding, Grade
from airwork.maneuvers.grading.evidence import Evidence
from airwork.output.debrief_doc import _short, _three, make_debrief_doc
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from flightbuilder import Builder


@pytest.mark.parametrize("quantity", ["bank", "altitude"])
def test_a_turn_too_shallow_gets_no_drill_of_speeds(quantity: str) -> None:
    assert drill("target not set", {quantity}, "level_turn") == SETTLED_DRILLS[quantity]


def test_several_things_or_the_speed_get_the_roots_drill() -> None:
    for quantities in ({"bank", "ias"}, {"ias"}, {""}):
        assert drill("target not set", quantities, "climb") == DRILLS["target not set"]
    assert drill("late", {"rollout_heading"}, "steep_turn") == DRILLS["late"]


def test_the_drill_is_of_the_place_where_it_cost_most() -> None:
    """No leads for power that came late in a stall, no half circles for a sag on the downwind leg."""
    assert drill("late", {""}, "power_off_stall") == IN_STALLS["late"]
    assert drill("late", {"altitude"}, "slow_flight") == POWER_DRILL
    assert drill("back pressure", {"pattern_altitude"}, "traffic_pattern") == LEVEL_DRILL
    assert drill("back pressure", {"altitude"}, "steep_turn") == DRILLS["back pressure"]
    spoken = [drill("late", {""}, k) for k in ("landing", "go_around", "power_off_stall", "takeoff")]
    assert len(set(spoken)) == 4
    assert "flare" in drill("too big", {""}, "landing").lower()
    assert (
        drill("late", {"ias"}, "landing") == drill("target not set", {""}, "landing") != drill("late", {""}, "landing")
    )
    assert "turn to final" in drill("wind", {""}, "traffic_pattern")


def test_a_root_is_said_of_what_it_was() -> None:
    """One thing beside its target is named alone; a sag in level flight had no bank to go with."""
    assert root_words("target not set", {"ias", "pattern_ias"}, ["climb"]) == "It settled beside the speed wanted"
    assert "bank or altitude" in root_words("target not set", {"ias", "bank"}, ["steep_turn"])
    assert root_words("back pressure", {"altitude"}, ["traffic_pattern"]) == "The altitude was let slip"
    assert "bank" in root_words("back pressure", {"altitude"}, ["steep_turn", "slow_flight"])
    assert [with_article(x) for x in ("slow flight", "left steep turn")] == ["slow flight", "the left steep turn"]


def test_the_patterns_clock_is_that_of_the_place_told_first() -> None:
    """Whichever cost most; the same error in both turns is one, from the least to the most."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(40.0, kt=95.0)
    b.steep_turn(1.0, bank_deg=52.0)
    b.hold(70.0)
    b.steep_turn(-1.0, bank_deg=58.0)
    b.hold(40.0)
    found = debrief(b.flight(), standard=load_standard("private"))
    line = next(x for x in found.first if x.heading == "pattern")
    assert re.fullmatch(r"Bank \+[678] to \+1[234]° in both steep turns \(too steep\)\.", line.text)
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
    """Of an emergency descent or in no maneuver: pressure; of a stall: the stall's own."""
    assert drill("too big", {""}, "emergency_descent") == drill("too big", {""}, "") == DRILLS["too big"]
    assert drill("too big", {""}, "power_off_stall") == IN_STALLS["too big"]


@pytest.mark.parametrize("pushed", [True, False])
def test_what_has_no_drill_does_not_hide_the_one_of_the_thin_margin(pushed: bool) -> None:
    """A push and a steep turn nobody cleared for: the turn is the pattern's news, the drill is of the push."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(200.0, kt=95.0)
    b.steep_turn(1.0, bank_deg=45.0)
    b.hold(60.0, kt=95.0)
    flight = b.flight()
    load = np.ones(len(flight))
    if pushed:
        load[flight.span(60.0, 62.0)] = -0.2
    found = debrief(flight.with_columns({"load_factor": Column(load, "measured")}), standard=load_standard("private"))
    said = {x.heading: x.text for x in found.first}
    assert "clearing turn" in said["main error"]
    assert ("next time" in said) == ("ask" in said) == pushed
    if pushed:
        assert said["next time"] == DRILLS["too big"]


def test_the_next_flight_is_for_what_was_said_first_then_for_the_pattern() -> None:
    """A push, and two turns with the altitude let go: the push's drill stands first, alone in the three sentences."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(200.0, kt=95.0)
    b.steep_turn(1.0, bank_deg=52.0)
    b.hold(70.0)
    b.steep_turn(-1.0, bank_deg=58.0)
    b.hold(60.0, kt=95.0)
    flight = b.flight()
    load = np.ones(len(flight))
    load[flight.span(60.0, 62.0)] = -0.2
    found = debrief(flight.with_columns({"load_factor": Column(load, "measured")}), standard=load_standard("private"))
    text = next(x.text for x in found.first if x.heading == "next time")
    first, then = text.split(THEN)
    assert first == DRILLS["too big"]
    assert then == drill("target not set", {"bank"}, "steep_turn")
    assert make_debrief_doc(found).three[2].text == first


def test_a_clearing_turn_that_came_late_is_no_main_error() -> None:
    """Four minutes before is told beside the maneuver; none at all is an error to work on."""
    e = Episode("steep_turn", 1000.0, 1030.0, 1.0)
    row = {"for": "steep_turn", "start_s": 1000.0, "cleared": False}
    for before_s, place in ((240.0, False), (None, True)):
        grade = with_clearing(Grade({}, "", {}, (), ()), e, [{**row, "seconds_before": before_s}], 180.0)
        assert len(grade.causes) == 1
        assert (grade.causes[0].weight >= LEAST_SIZE) == place
    rows = [{**row, "seconds_before": 240.0}, {**row, "seconds_before": None}, {**row, "cleared": True}]
    assert _clearing(rows) == [
        "No clearing turn seen before 1 of 3 series of maneuvers (steep turn).",
        "The clearing turn ended too long before 1 of 3 series of maneuvers (steep turn).",
    ]


@pytest.mark.parametrize(
    ("turned_deg", "before_s", "seen"), [(180.0, 60.0, True), (180.0, 260.0, False), (60.0, 60.0, False)]
)
def test_a_nose_swept_round_shortly_before_is_no_sky_not_looked_at(
    turned_deg: float, before_s: float, seen: bool
) -> None:
    """Whatever it was taken for: after half a circle a minute before, "no clearing turn" is not claimed."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(320.0, kt=95.0)
    b.turn(turned_deg, 30.0)
    b.hold(before_s, kt=95.0)
    start = b.t
    b.hold(40.0, kt=95.0)
    evidence = evidence_of(debrief(b.flight(), standard=load_standard("private")))
    assert evidence is not None
    e = Episode("steep_turn", start, start + 30.0, 1.0)
    (row,) = clearing_record(evidence, [e])
    assert not row["cleared"]
    assert ("turned_seconds_before" in row) == seen
    told = with_clearing(Grade({}, "", {}, (), ()), e, [row], 180.0).causes
    assert [c.name for c in told] == ([] if seen else ["not cleared"])
    if seen:
        assert row["turned_seconds_before"] == pytest.approx(before_s, abs=8.0)


def test_margins_alike_are_one_with_how_many_times_and_no_pattern_besides() -> None:
    """Three times over the engine's limit and one push: two kinds, the worst of each; the same again is no pattern."""
    rpm = [
        Margin(f"{n:,} rpm; the limit is 2,700.", 10.0 * k, 10.0 * k + 3.0, 60.0)
        for k, n in enumerate((2813, 2796, 2788))
    ]
    push = Margin(
        "Pushed to −0.2 g in the climb.", 500.0, 501.0, 50.0, "too big", "climb", brief="pushed to −0.2 g in the climb"
    )
    again = replace(push, text="Pushed to 0.1 g in the climb.", start_s=900.0, brief="pushed to 0.1 g in the climb")
    one = grouped([*rpm, push, again])
    assert [m.text for m in one] == [
        "2,813 rpm; the limit is 2,700 (3 times).",
        "Pushed to −0.2 g in the climb (2 times).",
    ]
    assert joined(one) == "2,813 rpm; the limit is 2,700 (3 times). Also: pushed to −0.2 g in the climb (2 times)."
    places = [
        Place(m.short, "climb", 50.0, "too big", m.start_s, m.end_s, n, margin=alike(m.text))
        for n, m in enumerate((push, again))
    ]
    assert pattern(places, said_first(one)) == ("", [])
    other = Place("slow flight speed +12 kt (chased)", "slow flight", 40.0, "too big", 1500.0, 1520.0, 7, "ias")
    assert pattern([*places, other], said_first(one))[1] == [other, *places]  # the news first


def test_repeats_of_one_error_are_one_line_with_count_and_range() -> None:
    """Four hard touchdowns of five: told once; what else came late beside them; in the order flown."""
    kinds = ["touch_and_go", "touch_and_go", "steep_turn", "touch_and_go", "touch_and_go", "landing"]
    hard = [
        Place(
            f"{IN} it touched at {fpm} fpm: the flare came late, or too little of it",
            "touch-and-go",
            rank,
            "late",
            100.0 * n,
            100.0 * n + 5.0,
            n,
        )
        for n, fpm, rank in ((4, 667, 40.0), (0, 502, 30.0), (1, 540, 20.0), (5, 590, 10.0))
    ]
    one = "in 4 of 5 landings it touched at 502 to 667 fpm: the flare came late, or too little of it"
    (told,) = said_of(hard, kinds)
    assert told.text == one
    assert told.places[0].maneuver == 0
    assert pattern_text("The next action came late", [told], 4) == f"I{one[1:]}."
    late = Place(f"roll-out +14° {IN} (roll-out late)", "left steep turn", 35.0, "late", 200.0, 205.0, 2)
    text = pattern_text("The next action came late", said_of([*hard, late], kinds), 5)
    assert (
        text == f"The next action came late, in 5 places: {one}; roll-out +14° in the left steep turn (roll-out late)."
    )


def test_what_was_missing_before_a_maneuver_is_said_of_the_maneuver() -> None:
    place = Place(f"no clearing turn before {IN}: the nose hardly turned", "power-on stall", 5.0, "", 1.0, 2.0, 0)
    assert said_of([place], ["power_on_stall"])[0].text == (
        "no clearing turn before the power-on stall: the nose hardly turned"
    )


def test_places_left_out_are_counted() -> None:
    places = [Place(f"{word} +{n}° {IN} (late)", "steep turn", 9.0 - n, "late", n, n, n) for n, word in
              enumerate(("bank", "speed", "roll-out", "altitude", "heading"))]  # fmt: skip
    text = pattern_text(
        "Late", said_of([*places, replace(places[0], text=f"bank +9° {IN} (late)", maneuver=5)], ["steep_turn"] * 7), 6
    )
    assert text.startswith("Late, in 6 places: bank +0 to +9° in 2 of 7 steep turns (late); ")
    assert text.endswith("; and 1 more.")


def test_the_one_thing_to_fix_is_one() -> None:
    """What else was thin stands in the lines below, not in the sentence taken home."""
    line = {"heading": "first", "text": "Pushed to −0.3 g. Also: final at 300 ft: 16° off. And 1 more.", "start_s": 9.0}
    assert _three([line])[1].text == "Pushed to −0.3 g."


def test_what_was_planned_and_not_flown_is_said() -> None:
    """A stall and a steep turn asked for, the turn flown alone; without a lesson nothing is missed."""
    b = Builder(altitude_ft=4500.0, speed_kt=95.0)
    b.level_ft = 4500.0
    b.hold(60.0, kt=95.0)
    b.steep_turn(1.0)
    b.hold(60.0)
    plan = LessonPlan(targets={"power_off_stall": {}, "steep_turn": {}})
    for briefing, said in ((plan, ["Planned and not seen: power-off stall."]), (None, [])):
        found = debrief(b.flight(), standard=load_standard("private"), briefing=briefing)
        assert [x.text for x in found.first if x.heading == "not flown"] == said


def test_every_thin_margin_can_be_found() -> None:
    """The worst in words, one more, the others by time and exercise; two of the same half minute are one place."""
    thin = [Margin(f"Thing {k}.", at_s, at_s + 2.0, 9.0 - k, kind=kind) for k, (at_s, kind) in enumerate(
        ((900.0, ""), (1360.0, ""), (1365.0, "power_on_stall"), (1380.0, "power_on_stall"), (2000.0, "")))]  # fmt: skip
    assert joined(thin) == "Thing 0. Also: thing 1. And 3 more: 22:45 in the power-on stall; 33:20."


def test_what_stands_in_three_sentences_is_never_cut() -> None:
    """A long list loses places, not half a sentence; every drill fits whole."""
    places = [
        f"{word} +20° in the left steep turn (an error with a name of its own)"
        for word in ("bank", "speed", "roll-out")
    ]
    text = f"The next action came late, in 5 places: {'; '.join(places)}; and 2 more. Another sentence."
    assert _short(text) == f"The next action came late, in 5 places: {places[0]}; {places[1]}; and 3 more."
    every = [*DRILLS.values(), *IN_STALLS.values(), *SETTLED_DRILLS.values(), POWER_DRILL, LEVEL_DRILL]
    assert all(_short(text) == text for text in every)
    whole = f"{'A sentence without any places, longer than there is room for, '.lower() * 5}."
    assert _short(whole) == whole


def test_gates_missed_in_different_ways_are_one_kind() -> None:
    said = "Final at 300 ft above the field: {}. The brief: stable by 300 ft or go around. It was landed."
    off = ((0.0, "37° off the runway's track"), (900.0, "12 kt fast"))
    gates = [Margin(said.format(x), t, t + 30.0, 100.0, "decision", "landing") for t, x in off]
    (one,) = grouped(gates)
    assert one.text.startswith("Final at 300 ft above the field: 37° off the runway's track (2 times). The brief")


def test_what_is_not_known_is_said_before_anything_else() -> None:
    """Without a place and a day both are named with what follows; where nothing can be looked for, that line alone."""
    t = np.arange(300.0)
    blind = Flight(float("nan"), t, {"altitude_m": Column(np.full(300, 900.0), "measured")})
    said = not_known(blind)
    assert "where it was flown" in said
    assert "the day and time" in said
    rpm = Flight(1.78e9, t, {"rpm": Column(np.full(300, 2_300.0), "measured")})
    found = debrief(rpm, standard=load_standard("us_private"))
    assert [x.heading for x in found.first] == ["not known"]
    assert found.first[0].text.startswith("Nothing can be recognized: no altitude and no position or speed")


@pytest.mark.parametrize(("verdict", "explained", "seen"), [("not held", "", True), ("held", "", False),
                                                            ("not held", "ias", False)])  # fmt: skip
def test_what_was_not_held_is_said_first_without_a_reason_too(verdict: str, explained: str, seen: bool) -> None:
    """19 kt lost in a turn whose limit is 10, nothing recorded that shows why; held, or explained: not said so."""
    off = Finding("airspeed", "±10 kt", -19.0, "kt", 0.2, verdict, "", 14.0, low=-10.0, high=10.0,  # type: ignore[arg-type]
                  quantity="ias")  # fmt: skip
    causes = (Cause("It was let slow.", "Add power.", 14.0, 20.0, 0.1, "slow", "late", explained),) if explained else ()
    e = Episode("steep_turn", 10.0, 40.0, 1.0, facts={"sign": 1.0})
    desk = cast(Evidence, SimpleNamespace(speed_text=lambda mps: f"{mps * 3600.0 / 1852.0:.0f} kt"))
    (*_, place) = (None, *_unexplained(desk, e, Grade({}, "", {}, (off,), causes), 0))
    assert (place is not None) == seen
    if place is not None:
        assert place.text == "speed −19 kt {in} (the data show no reason)"
        assert (place.start_s, place.root, place.rank) == (14.0, "", pytest.approx(0.5 * 57.0))
