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
from airwork.debrief.first import THEN, _also_not_held, _next_time, _one_sided, _pattern_line, _went_well, not_known
from airwork.debrief.first_margins import alike, grouped, joined, said_first
from airwork.debrief.first_places import (
    IN,
    Place,
    _unexplained,
    pattern,
    pattern_text,
    places_of,
    said_of,
)
from airwork.debrief.first_words import (
    AROUND,
    DRILLS,
    GLIDING,
    IN_STALLS,
    LEVEL_DRILL,
    QUESTIONS,
    ROLLING,
    ROOTS,
    SETTLED_DRILLS,
    SLOWLY,
    TOO_SOON,
    drill,
    question,
    root_words,
    several,
    with_article,
)
from airwork.debrief.limit_margins import _lasting
from airwork.debrief.margin import Margin
from airwork.debrief.not_flown import not_flown
from airwork.debrief.not_judged import _fast_by_the_takeoff, _finals_apart
from airwork.debrief.notes import _clearing, _left, lesson_notes, marked
from airwork.debrief.plan import LessonPlan
from airwork.debrief.record import _turned, clearing_record, with_clearing
from airwork.jobs.files import load_airplane
from airwork.maneuvers.episode import Cause, Episode, Finding, Grade, Root, Stretch, Verdict
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import FITTING, HANDBOOK, SETTLED
from airwork.output.debrief_doc import Row, _short, _three, _with_what_is_first, make_debrief_doc
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from airwork.units import KT_MPS
from approaches import approach, desk
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
    assert drill("power", {"altitude", "ias"}, "slow_flight") == DRILLS["power"] != drill("power", {""}, "takeoff")
    assert drill("back pressure", {"pattern_altitude"}, "traffic_pattern") == LEVEL_DRILL
    assert drill("back pressure", {"altitude"}, "steep_turn") == DRILLS["back pressure"]
    assert drill("back pressure", {"altitude"}, "turns_around_point") == LEVEL_DRILL  # 25° of bank, not 45
    spoken = [drill("late", {""}, k) for k in ("landing", "go_around", "power_off_stall", "takeoff")]
    assert len(set(spoken)) == 4
    assert "flare" in drill("too big", {""}, "landing").lower()
    assert (
        drill("late", {"ias"}, "landing") == drill("target not set", {""}, "landing") != drill("late", {""}, "landing")
    )
    assert "turn to final" in drill("wind", {""}, "traffic_pattern")
    assert "between half a mile and a mile" in drill("target not set", {""}, "traffic_pattern")
    assert "between half a mile" not in drill("target not set", {"pattern_ias"}, "traffic_pattern")
    assert drill("target not set", {"ias"}, "glide") == GLIDING["target not set"]
    assert drill("target not set", {"ias"}, "descent") == DRILLS["target not set"]
    assert drill("decision", (), "glide") == GLIDING["decision"]
    assert "center line" in drill("wind", {""}, "landing")
    both = drill("decision", {""}, "traffic_pattern")  # said first of a steep bank and of a sink rate low down alike
    assert "bank" in both
    assert "sink" in both


def test_four_faults_of_one_root_have_four_drills() -> None:
    """Slow flight too fast or with the horn on, flaps out too fast, and any other speed: what ends each is its own."""
    slow = {drill("target not set", {q}, "slow_flight", {n}) for q, n in (("", "not slow"), ("ias", "too fast"))}
    assert slow == {drill("target not set", {"stall_warning"}, "slow_flight", {"near the stall"})} == {SLOWLY}
    flaps = drill("target not set", (), "straight_and_level", {"flap speed"})
    assert "White arc" in flaps
    assert "first notch" in drill("late", {""}, "go_around", {"flaps left out"}) != drill("late", {""}, "go_around")
    assert "ailerons" not in drill("feet", {"heading"}, "slow_flight", {"torque"})
    wing = drill("feet", {"heading"}, "slow_flight", {"turned away"})
    assert "wing tips" in wing != drill("feet", {"heading"}, "slow_flight", {"turned away", "torque"}) == DRILLS["feet"]
    assert "wings" in question("feet", "slow flight", "slow_flight", names={"turned away"})
    assert root_words("feet", {"heading"}, ["slow_flight"], names={"turned away"}) == "A wing was held low"


@pytest.mark.parametrize(("verdict", "seen"), [("held", False), ("not held", True)])
def test_what_is_told_first_is_nothing_to_polish_elsewhere(verdict: Verdict, seen: bool) -> None:
    """The pull held for 5 s in one stall is said first: 4 s in another is no news, unless that was missed too."""
    said = [
        Margin("The stall warning stayed on for 5 s.", 10.0, 15.0, 90.0, "late", "power_off_stall", name="nose late")
    ]
    other = Place("x", "power-off stall", 4.0, "late", 300.0, 304.0, 1, name="nose late", verdict=verdict)
    assert bool(pattern([other], said)[1]) is seen


def test_a_bounce_is_no_action_that_came_late() -> None:
    """Beside a roll-out begun late it makes no pattern; two bounces make one."""
    late, bounced = (Place("x", "y", 30.0, "late", 10.0, 11.0, 0, name=n) for n in ("roll-out late", "bounced"))
    assert pattern([late, replace(bounced, maneuver=1)], []) == ("late", [late])
    both = [replace(bounced, maneuver=k) for k in (1, 2)]
    assert pattern([late, *both], []) == ("late", both)


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
def test_a_sky_nobody_cleared_is_a_note_and_no_main_error(pushed: bool) -> None:
    """An otherwise good flight has none: clearing is common practice, no task of a standard. A push keeps its drill."""
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
    assert "main error" not in said
    assert any("No clearing turn" in note for note in found.notes)
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


def test_a_limit_passed_is_drilled_and_asked_beside_a_pattern_of_the_same_root() -> None:
    """What could break the airplane goes first, whatever else was set wrong."""
    text, kind = "104 kt with flaps 2; the limit is 89 kt.", "emergency_descent"
    flaps = Margin(text, 600.0, 650.0, 160.0, "target not set", kind, name="flap speed")
    wide = [Place("wide", "traffic pattern", 30.0, "target not set", 900.0, 950.0, 0, name="downwind wide")]
    drilled, asked = _next_time([flaps], "target not set", wide, ["traffic_pattern"])
    first, then = drilled.text.split(THEN)
    assert "flaps up" in first
    assert "one mark on the wing" in then
    assert "flap" in asked.text


@pytest.mark.parametrize(
    ("name", "kind", "drilled", "asked"),
    [("broken off low", "descent", "height to break off at", "which height"),
     ("bounced", "landing", "second bounce", "bounce"), ("", "landing", "gate", "300 ft"),
     ("near the stall", "go_around", "first sign of the stall", "how near the stall")],
)  # fmt: skip
def test_a_margin_is_drilled_and_asked_as_what_it_was(name: str, kind: str, drilled: str, asked: str) -> None:
    """A bounce, and a glide broken off low, are no unstable approach."""
    drills, asks = _next_time([Margin("So.", 10.0, 20.0, 150.0, "decision", kind, name=name)], "", [], [])
    assert drilled in drills.text
    assert asked in asks.text


def test_two_faults_of_one_drill_have_it_once() -> None:
    """Pulled with the bank on, and power left in with the nose low: one drill of unusual attitudes."""
    said = [Margin(f"{root}.", 10.0, 20.0, rank, cast(Root, root), "unusual_attitude")
            for root, rank in (("too big", 200.0), ("late", 150.0))]  # fmt: skip
    chosen = [at(20.0, "wind", 0)]
    (drilled, _) = _next_time(said, "wind", chosen, ["traffic_pattern"])
    assert drilled.text.count("Unusual attitudes") == 1
    assert THEN not in drilled.text


def test_how_many_series_were_not_cleared_for_is_noted() -> None:
    row = {"for": "steep_turn", "start_s": 1000.0, "cleared": False}
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
        "2,813 rpm; the limit is 2,700 (the worst of 3).",
        "Pushed to −0.2 g in the climb (the worst of 2).",
    ]
    assert (
        joined(one)
        == "2,813 rpm; the limit is 2,700 (the worst of 3). Also: pushed to −0.2 g in the climb (the worst of 2)."
    )
    places = [
        Place(m.short, "climb", 50.0, "too big", m.start_s, m.end_s, n, margin=alike(m.text))
        for n, m in enumerate((push, again))
    ]
    assert pattern(places, said_first(one)) == ("", [])
    other = Place("slow flight speed +12 kt (chased)", "slow flight", 40.0, "too big", 1500.0, 1520.0, 7, "ias")
    assert pattern([*places, other], said_first(one))[1] == [other]  # the news alone
    missed = Place("speed −47 mph (no power added)", "climb", 30.0, "too big", 1600.0, 1620.0, 0, "ias")
    assert pattern([*places, missed], said_first(one))[1] == [missed]  # what was not held there, besides


def test_a_limit_passed_for_long_and_for_a_moment_is_one_kind() -> None:
    """How long is said from ten seconds on; it makes no other kind of it."""
    texts = [f"123 mph with flaps 1{lasting}; the limit is 115 mph." for lasting in _LASTING.values()]
    assert [_lasting(10.0, 10.0 + s) for s in _LASTING] == list(_LASTING.values())
    assert len({alike(text) for text in texts}) == 1
    assert alike("9 mph above the stall for 4 s, with none meant.") != alike(texts[0])


_LASTING = {9.9: "", 35.0: " for 35 s", 120.0: " for 2 min", 155.0: " for 2 min 35 s"}


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


def test_places_left_out_are_counted() -> None:
    places = [Place(f"{word} +{n}° {IN} (late)", "steep turn", 9.0 - n, "late", n, n, n) for n, word in
              enumerate(("bank", "speed", "roll-out", "altitude", "heading"))]  # fmt: skip
    text = pattern_text(
        "Late", said_of([*places, replace(places[0], text=f"bank +9° {IN} (late)", maneuver=5)], ["steep_turn"] * 7), 6
    )
    assert text.startswith("Late, in 6 places: bank +0 to +9° in 2 of 7 steep turns (late); ")
    assert text.endswith("; and 1 more.")
    assert pattern_text("Late", said_of(places, ["steep_turn"] * 7), 9).endswith("; and 5 more.")


def test_the_one_thing_to_fix_is_one() -> None:
    """What else was thin stands in the lines below, not in the sentence taken home."""
    line = {
        "heading": "first",
        "text": "Pushed to −0.3 g. Also: final at 300 ft: 16° off. And 1 more.",
        "start_s": 9.0,
        "end_s": 9.0,
    }
    assert _three([line], ())[1].text == "Pushed to −0.3 g."


def test_a_maneuver_not_held_that_no_other_line_names_is_named() -> None:
    """Two steep turns failed, one of them the main error: the other's deviations stand in one line of their own."""
    two = [turn(0.0, altitude=(-182.0, "not held"), bank=(-120.0, "not held")),
           turn(60.0, rollout_heading=(28.0, "not held"))]  # fmt: skip
    line = _also_not_held(DESK, two, {(1, "rollout_heading")})
    assert line is not None
    assert line.text == "Altitude −182 ft, bank −120 ft in the steep turn."
    assert (line.start_s, line.end_s) == (14.0, 40.0)  # from where the altitude was first outside
    assert _also_not_held(DESK, two, {(0, "altitude"), (0, "bank"), (1, "rollout_heading")}) is None
    assert _also_not_held(DESK, [turn(0.0, altitude=(-40.0, "held"))], ()) is None
    rest = _also_not_held(DESK, two, {(0, "altitude"), (1, "rollout_heading")})  # a named turn's other deviation
    assert rest is not None
    assert rest.text == "Bank −120 ft in the steep turn."
    many = _also_not_held(DESK, [turn(60.0 * k, altitude=(-182.0 - k, "not held")) for k in range(5)], ())
    assert many is not None
    assert many.text == "Altitude −186 to −182 ft in the steep turn, 5 times."
    what = ("altitude", "bank", "heading", "rollout_heading", "ias")
    unlike = _also_not_held(DESK, [turn(60.0 * k, **{q: (-182.0, "not held")}) for k, q in enumerate(what)], ())
    assert unlike is not None
    assert unlike.text.endswith("; and 1 more maneuver.")


def test_what_stands_by_no_word_of_its_own_is_told_by_its_name_and_size() -> None:
    """A lazy eight's altitude and speed at 180° are deviations: their numbers, not a sentence within a sentence."""
    low = replace(off_by(-240.0, quantity="turn180_altitude"), name="altitude at 180°")
    fast = replace(off_by(14.0, quantity="turn180_ias"), name="airspeed at 180°", unit="kt")
    reason = Cause("186 ft were climbed, 428 lost.", "", 96.0, 120.0, 2.4, "halves unlike", explains=low.quantity)
    eight = replace(turn(0.0)[0], kind="lazy_eight"), replace(turn(0.0)[1], findings=(low, fast), causes=(reason,))
    line = _also_not_held(DESK, [eight], ())
    assert line is not None
    assert line.text == "Altitude at 180° −240 ft, airspeed at 180° +14 kt in the lazy eight."
    assert line.start_s == 14.0  # the earliest of them


def test_the_screen_opens_on_the_maneuver_the_first_line_belongs_to() -> None:
    """A final out of the gate at 10 s that was landed at 50 s is the landing's, begun at 30 s, not the pattern's."""
    rows = [
        cast(Row, SimpleNamespace(number=n, start_s=a, end_s=b, mark="held")) for n, a, b in ((1, 0, 30), (2, 30, 60))
    ]
    line = {"heading": "first", "text": "Final at 300 ft: 16° off.", "start_s": 10.0, "end_s": 50.0}
    assert [(s.start_s, s.opens_s) for s in _three([line], rows)] == [(None, None), (10.0, 30.0), (None, None)]


@pytest.mark.parametrize(("mark", "judged"), [("unknown", False), ("held", True)])
def test_page_and_paper_say_what_could_not_be_judged_as_the_terminal_does(mark: str, judged: bool) -> None:
    """A phone's track of stalls: nothing was seen to be well or badly flown, so neither is said."""
    row = Row(1, 0, "power_off_stall", "Stall", 0.0, 40.0, "0:00", "0:40", "70%", mark, "–", mark, "", "", "", False,
              True, "")  # fmt: skip
    line = {"heading": "not judged", "text": "The stall: not shown.", "start_s": None, "end_s": None}
    well, first, drilled = _three([line], (row,))
    assert (first.heading, first.text) == ("Not judged", "The stall: not shown.")
    assert ("could be judged" in well.text) is not judged
    assert ("not be judged" in drilled.text) is not judged
    assert _three([], (row,))[1].text == ("Nothing stood out that the recording can show." if judged else
                                          "Nothing could be judged.")  # fmt: skip


def test_what_lies_in_plain_flying_is_shown_in_full_where_it_is_said_first() -> None:
    """A stall warning in level flight: screen and sheet open there, not on the takeoff."""
    row = Row(1, 0, "straight_and_level", "Level", 100.0, 200.0, "1:40", "1:40", "90%", "held", "✓", "held",
              "", "", "", True, False, "")  # fmt: skip
    (told,) = _with_what_is_first((row,), 150.0)
    assert (told.plain, told.section, told.missed) == (False, True, "see what is said first")
    assert _with_what_is_first((row,), 250.0) == (row,)
    (out,) = _with_what_is_first((replace(row, mark="out", missed="heading"),), 150.0)
    assert (out.section, out.missed) == (True, "heading")


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


@pytest.mark.parametrize(
    ("planned", "said"),
    [({"power_off_stall": 2}, "Seen less often: power-off stall once, twice was asked for."),
     ({"power_off_stall": 1, "landing": 3}, ""), ({"landing": 4}, "Seen less often: landing 3 times, 4 times was"),
     ({"power_off_180": 1}, "Planned and not seen: power-off 180°."),
     ({"short_field_landing": 3}, "Not told apart: short-field landing"),
     ({"leaning": 1}, "Planned, and no recording shows it: leaning."),
     ({"takeoff": 3}, ""), ({"takeoff": 4}, "Seen less often: takeoff 3 times, 4 times was asked for.")],
)  # fmt: skip
def test_what_was_flown_less_often_than_planned_is_said(planned: dict[str, int], said: str) -> None:
    """Every touchdown is a landing; a power-off 180 is one at idle; nothing asked for is passed over."""
    flown = [
        ("takeoff", 0.0),
        ("power_off_stall", 0.0),
        ("touch_and_go", 90.0),
        ("touch_and_go", 90.0),
        ("landing", 90.0),
    ]
    episodes = [Episode(kind, 0.0, 10.0, 1.0, facts={"touch_s": touch}) for kind, touch in flown]
    evidence, _ = desk(approach())
    powered = replace(evidence, view=replace(evidence.view, power=np.full(evidence.view.n, 0.4)))
    assert not_flown(powered, episodes, planned).startswith(said)
    assert bool(not_flown(powered, episodes, planned)) is bool(said)
    idle = replace(evidence, view=replace(evidence.view, power=np.full(evidence.view.n, 0.04)))
    assert not_flown(idle, episodes, {"power_off_180": 3}) == ""


def test_every_thin_margin_can_be_found() -> None:
    """The worst in words, one more, the others by time and exercise; two of the same half minute are one place."""
    thin = [Margin(f"Thing {k}.", at_s, at_s + 2.0, 9.0 - k, kind=kind) for k, (at_s, kind) in enumerate(
        ((900.0, ""), (1360.0, ""), (1365.0, "power_on_stall"), (1380.0, "power_on_stall"), (2000.0, "")))]  # fmt: skip
    assert joined(thin) == "Thing 0. Also: thing 1. And 3 more: 22:45 in the power-on stall thing 2; 33:20 thing 4."


def test_what_stands_in_three_sentences_is_never_cut() -> None:
    """A long list loses places, not half a sentence; every drill fits whole."""
    places = [
        f"{word} +20° in the left steep turn (an error with a name of its own)"
        for word in ("bank", "speed", "roll-out")
    ]
    text = f"The next action came late, in 5 places: {'; '.join(places)}; and 2 more. Another sentence."
    assert _short(text) == f"The next action came late, in 5 places: {places[0]}; {places[1]}; and 3 more."
    every = [*DRILLS.values(), *IN_STALLS.values(), *SETTLED_DRILLS.values(), LEVEL_DRILL]
    assert all(_short(text) == text for text in every)
    whole = f"{'A sentence without any places, longer than there is room for, '.lower() * 5}."
    assert _short(whole) == whole


def test_a_gate_missed_by_speed_is_no_gate_missed_by_track() -> None:
    """Two off the line are one thing, the third was too fast: told as such, the rule once."""
    said = "Final at 300 ft above the field: {}. The brief: stable by 300 ft or go around. It was landed."
    off = (
        (0.0, "37° off the runway's track, 20° of bank"),
        (900.0, "17 kt fast"),
        (1800.0, "22° off the runway's track"),
    )
    gates = [Margin(said.format(x), t, t + 30.0, 100.0, "decision", "landing") for t, x in off]
    text = joined(grouped(gates))
    assert "37° off the runway's track, 20° of bank (the worst of 2). The brief" in text
    assert text.endswith("Also: final at 300 ft above the field: 17 kt fast.")


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


def off_by(worst: float | None, verdict: str = "not held", quantity: str = "altitude", unit: str = "ft",
           **more: object) -> Finding:  # fmt: skip
    """A criterion of ±100 ft and how far out it was."""
    side = {"low": -100.0, "high": 100.0, "first_excursion_s": 14.0, "quantity": quantity, **more}
    return Finding("criterion", "±100 ft", worst, unit, 0.5, verdict, "", **side)  # type: ignore[arg-type]


DESK = cast(Evidence, SimpleNamespace(has_airspeed=True, speed_text=lambda mps: f"{mps * 3600.0 / 1852.0:.0f} kt"))
OTHERWISE = "briefly out and corrected"


def turn(start_s: float, **worst_and_verdict: tuple[float, str]) -> tuple[Episode, Grade]:
    """A steep turn with these criteria of ±100 each."""
    findings = tuple(off_by(x, v, name) for name, (x, v) in worst_and_verdict.items())
    return Episode("steep_turn", start_s, start_s + 40.0, 1.0), Grade({}, "", {}, findings, ())


def test_praise_is_of_what_was_not_missed_elsewhere() -> None:
    """60 of 100 is well inside, 61 is not; the worst of two counts; nothing of a turn whose heading was not held."""
    both = [turn(0.0, altitude=(-40.0, "held"), bank=(10.0, "held")),
            turn(50.0, altitude=(60.0, "held"), bank=(61.0, "held"))]  # fmt: skip
    assert _went_well(DESK, both, []) == ["Both steep turns: altitude within 60 ft."]
    assert _went_well(DESK, [turn(0.0, altitude=(-40.0, "held"), heading=(90.0, "not held"))], []) == []
    whole = [turn(0.0, altitude=(-40.0, "held"), bank=(10.0, "held"))]
    assert _went_well(DESK, whole, []) == ["Steep turn: altitude within 40 ft, bank within 10 ft."]


@pytest.mark.parametrize(("source", "praised"), [(HANDBOOK, True), (FITTING, False), (SETTLED, False)])
def test_a_speed_right_for_one_weight_it_may_have_had_is_not_praised(source: str, praised: bool) -> None:
    """Within 3 kt of what the heaviest airplane wants: nobody told the weight, and for a lighter one it was fast;
    nor is a speed near the one it was itself taken for."""
    speed = off_by(3.0, "held", "ias", low=-5.0, high=10.0, unit="kt")
    flown = Episode("landing", 0.0, 40.0, 1.0), Grade({}, source, {}, (speed,), ())
    assert bool(_went_well(DESK, [flown], [])) is praised


@pytest.mark.parametrize(("speeds", "told"), [((65.0, 77.0), "2 finals flown at 65 to 77 kt"), ((65.0, 75.0), ""),
                                              ((65.0,), "")])  # fmt: skip
def test_finals_far_apart_are_told_where_no_speed_is_known(speeds: tuple[float, ...], told: str) -> None:
    """[ACS] lets a final be 10 kt fast: further apart one of them is wrong, and nobody knows which."""
    landings = [
        (Episode("landing", 0.0, 50.0, 1.0), Grade({}, "", {}, (replace(
            off_by(1.0, "held", "ias", judged="steadiness", aim=aim), unit="kt", low=-5.0, high=10.0),), ()))
        for aim in speeds
    ]  # fmt: skip
    assert _finals_apart(DESK, landings).startswith(told)
    assert bool(_finals_apart(DESK, landings)) == bool(told)


@pytest.mark.parametrize(
    ("off_kt", "final_kt", "within_s", "told"),
    [(59.0, 84.0, 1.0, True), (59.0, 70.0, 1.0, False), (59.0, 84.0, 3.0, False), (None, 84.0, 1.0, False)],
)  # fmt: skip
def test_a_final_is_fast_by_the_speed_it_had_lifted_off_at(
    off_kt: float | None, final_kt: float, within_s: float, told: bool
) -> None:
    """What lifts off at 59 kt stalls below it: 1.3 times the stall (FAA-S-ACS-6C, IV.B) is below 77 kt, whatever
    airplane; where the moment is known to 3 s, the speed was perhaps 12 kt more."""
    evidence = SimpleNamespace(touch_within_s=within_s)
    speed = replace(off_by(1.0, "held", "ias", judged="steadiness", aim=final_kt), unit="kt", low=-5.0, high=10.0)
    measured = {} if off_kt is None else {"lift_off_ias_kt": off_kt}
    flown = [(Episode("takeoff", 0.0, 30.0, 1.0), Grade({}, "", measured, (), ())),
             (Episode("landing", 300.0, 350.0, 1.0), Grade({}, "", {}, (speed,), ()))]  # fmt: skip
    assert bool(_fast_by_the_takeoff(evidence, flown)) is told  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("faster_kt", "way_deg", "told"), [(25.0, 0.0, True), (12.0, 0.0, False), (25.0, 180.0, False)]
)
def test_finals_far_apart_over_the_ground_are_told_where_no_airspeed_was_recorded(
    faster_kt: float, way_deg: float, told: bool
) -> None:
    """Onto one runway the wind hardly changes by 5 kt: 25 kt more over the ground was flown; else it's wind."""
    evidence, _ = desk(approach(groundspeed_mps=lambda t: (60.0 + faster_kt * (t > 60.0)) * KT_MPS,
                                track_deg=lambda t: way_deg * (t > 60.0)))  # fmt: skip
    evidence = replace(evidence, view=replace(evidence.view, speed_from="ground speed"))
    finals = [(Episode("landing", a, a + 40.0, 1.0), Grade({}, "", {}, (), (), (Stretch("final", a, a + 20.0),)))
              for a in (10.0, 65.0)]  # fmt: skip
    assert bool(_finals_apart(evidence, finals)) is told


def test_a_stall_is_not_praised_for_its_heading_where_nothing_else_was_seen() -> None:
    evidence, _ = desk(approach())
    e = Episode("power_off_stall", 0.0, 40.0, 1.0)
    straight = [(e, Grade({}, "", {}, (off_by(2.0, "held", "heading"),), ()))]
    assert _went_well(evidence, straight, [])
    blind = replace(evidence, view=replace(evidence.view, speed_from="ground speed and wind"))
    assert _went_well(blind, straight, []) == []


@pytest.mark.parametrize(
    ("finding", "cause", "rank"),
    [
        (off_by(150.0), {}, 45.0),  # 30 for a standard missed, times 1.5 tolerances
        (off_by(-150.0), {}, 45.0),
        (off_by(500.0), {}, 90.0),  # three times at the most
        (off_by(200.0), {"share": 0.5}, 30.0),  # explains half of it
        (off_by(200.0), {"share": 0.5, "weight": 1.2}, 36.0),
        (off_by(90.0, "held"), {}, 4.5),  # 5 for what the brief asks
        (off_by(80.0, "held"), {}, 4.0),
        (off_by(79.0, "held"), {}, None),
        (off_by(90.0, "held", judged="steadiness"), {}, None),
        (off_by(70.0, OTHERWISE), {}, 3.5),
        (off_by(64.0, OTHERWISE), {}, None),
        (off_by(200.0, source="us_private"), {}, 60.0),
        (off_by(200.0, source="airwork"), {}, 45.0),  # a tolerance of airwork's own: 1.5 at the most
        (off_by(150.0, shape="to and fro"), {}, 9.0),  # a fifth
        (off_by(150.0), {"name": "chased"}, 9.0),
        (off_by(100.0, "can't be judged"), {}, 5.0),  # so near the limit that the error of the column decides
        (off_by(140.0, "can't be judged"), {}, 42.0),
        (off_by(90.0, "can't be judged"), {}, 4.5),
        (off_by(50.0, high=None), {"weight": 1.1}, 33.0),  # no limit on that side: the cause's own
        (off_by(-50.0, low=0.0), {"weight": 1.1}, 33.0),
        (off_by(None, "can't be judged"), {"weight": 1.1}, 33.0),
        (None, {"weight": 1.2}, 36.0),
        (None, {"weight": 0.9}, 4.5),
        (None, {"weight": 2.5}, 45.0),
    ],
)
def test_a_places_rank_is_its_class_times_its_size(
    finding: Finding | None, cause: dict[str, object], rank: float | None
) -> None:
    """By hand from what the constants say: 30 or 5, times the tolerances, a fifth for swings, times the certainty."""
    explains = "altitude" if finding is not None else ""
    how = {"weight": 0.1, "name": "late", "explains": explains, **cause}
    given = Grade({}, "", {}, () if finding is None else (off_by(900.0, "held", "ias"), finding),
                  (Cause("It was let go. More.", "Next.", 20.0, 30.0, root="late", **how),))  # type: ignore[arg-type]  # fmt: skip
    for score in (1.0, 0.8):
        e = Episode("steep_turn", 10.0, 40.0, score, facts={"sign": -1.0})
        found = [p for p in places_of(DESK, [(e, given)], []) if p.root]
        assert [p.rank for p in found] == ([] if rank is None else [pytest.approx(rank * score)])
        assert all((p.where, p.maneuver, p.start_s, p.end_s) == ("left steep turn", 0, 20.0, 30.0) for p in found)


@pytest.mark.parametrize(
    ("score", "planned", "told"), [(0.75, (), True), (0.65, (), False), (0.65, ("steep_turn",), True)]
)
def test_what_may_well_be_another_maneuver_fails_nobody_first(
    score: float, planned: tuple[str, ...], told: bool
) -> None:
    """Under 70 % sure and not asked for: its table stands, no line said first rests on it."""
    e = Episode("steep_turn", 10.0, 40.0, score)
    cause = Cause("It was let go.", "Next.", 20.0, 30.0, 1.5, "late", "late", "altitude")
    grade = Grade({}, "", {}, (off_by(150.0),), (cause,))
    assert bool(places_of(DESK, [(e, grade)], [], planned)) is told
    assert (_also_not_held(DESK, [(e, grade)], set(), planned) is not None) is told


@pytest.mark.parametrize(
    ("kind", "other", "score", "told"),
    [("steep_turn", 0.9, 0.62, True), ("steep_turn", 0.9, 0.45, False), ("steep_turn", 0.65, 0.62, False),
     ("level_turn", 0.9, 0.62, False)],
)  # fmt: skip
def test_beside_a_sure_one_of_its_kind_a_poor_one_is_no_other_maneuver(
    kind: str, other: float, score: float, told: bool
) -> None:
    """The lesson is of steep turns: the one flown badly is the less sure. A turn any flight has is none."""
    sure = (Episode(kind, 60.0, 90.0, other), Grade({}, "", {}, (), ()))
    cause = Cause("It was let go.", "Next.", 20.0, 30.0, 1.5, "late", "late", "altitude")
    poor = (Episode(kind, 10.0, 40.0, score), Grade({}, "", {}, (off_by(150.0),), (cause,)))
    assert bool(places_of(DESK, [poor, sure], [])) is told


def test_on_the_way_somewhere_only_what_was_asked_is_an_error() -> None:
    """Of a climb between exercises a cause alone says nothing, nor one about the pilot's own choice; on a trip, where
    nothing is practiced, nobody asked for its altitude."""
    e, practiced = Episode("climb", 10.0, 40.0, 1.0), turn(60.0)
    cause = Cause("Let go.", "Next.", 20.0, 30.0, 1.5, "late", "late")
    for explains, finding, seen in (("", off_by(150.0), False), ("altitude", off_by(150.0), True),
                                    ("altitude", off_by(150.0, judged="steadiness"), False)):  # fmt: skip
        grade = Grade({}, "", {}, (finding,), (replace(cause, explains=explains),))
        assert bool([p for p in places_of(DESK, [(e, grade), practiced], []) if p.root]) is seen
        assert not places_of(DESK, [(e, grade)], [])


def test_a_thin_margin_is_of_the_maneuver_it_fell_in() -> None:
    """Of its kind, in its time, ends included; of none, it is that moment."""
    none = Grade({}, "", {}, (), ())
    flown = [
        (Episode(kind, start, end, 1.0), none)
        for kind, start, end in (
            ("climb", 0.0, 100.0),
            ("steep_turn", 0.0, 49.9),
            ("steep_turn", 60.0, 80.0),
            ("steep_turn", 61.0, 90.0),
        )
    ]
    thin = [Margin("Pushed.", a, b, 9.0 - n, "too big", kind) for n, (kind, a, b) in enumerate(
        (("steep_turn", 50.0, 60.0), ("steep_turn", 80.0, 85.0), ("steep_turn", 80.5, 85.0), ("glide", 10.0, 20.0),
         ("", 10.0, 20.0), ("chandelle", 10.0, 20.0)))]  # fmt: skip
    found = places_of(DESK, flown, [*thin, Margin("Over a limit.", 1.0, 2.0, 99.0)])  # which has no drill
    assert [p.maneuver for p in found] == [2, 2, 3, -1, -1, -1]
    assert [p.where for p in found] == ["steep turn", "steep turn", "steep turn", "glide", "that moment", "chandelle"]


@pytest.mark.parametrize(
    ("quantity", "unit", "worst", "text"),
    [
        ("altitude", "ft", 150.0, "altitude +150 ft {in} (late)"),
        ("bank", "deg", -8.0, "bank −8° {in} (late)"),
        ("ias", "kt", 0.3, "speed +1 kt {in} (late)"),  # no needle is read to less
        ("ground_radius", "%", 31.0, "radius +31 % {in} (late)"),
        ("turns", "turns", 1.25, "{in} it was let go"),
    ],
)
def test_a_place_says_the_number_that_was_off_and_why(quantity: str, unit: str, worst: float, text: str) -> None:
    finding = Finding("x", "", worst, unit, 0.5, "not held", "", low=-0.1, high=0.1, quantity=quantity)
    grade = Grade(
        {}, "", {}, (finding,), (Cause("It was let go. More.", "N.", 20.0, 30.0, 1.0, "late", "late", quantity),)
    )
    (place,) = places_of(DESK, [(Episode("steep_turn", 10.0, 40.0, 1.0), grade)], [])
    assert place.text == text


def test_what_was_settled_on_is_told_by_what_was_flown() -> None:
    """17° off at the worst, held 14° off: 14 is what the student flew, and what the reason says."""
    bank = replace(off_by(-17.0, quantity="bank"), unit="deg", high=5.0, low=-5.0)
    cause = Cause("Held at 31°.", "Next.", 20.0, 30.0, 2.8, "too shallow", "target not set", "bank", 14.0 / 17.0)
    (place,) = places_of(DESK, [(Episode("steep_turn", 0.0, 40.0, 1.0), Grade({}, "", {}, (bank,), (cause,)))], [])
    assert place.text == "bank −14° {in} (too shallow)"


def test_what_has_no_reason_ranks_half_and_is_told_once() -> None:
    """Half of 30 times the tolerances; none where a cause explains it or all, without a side. A speed of the pilot's
    own that was not held steady is out as well (53 to 103 kt in one spiral), unless for moments."""
    e = Episode("steep_turn", 10.0, 40.0, 0.5)
    for finding, rank in ((off_by(150.0), 11.25), (off_by(-500.0), 22.5), (off_by(150.0, judged="steadiness"), 11.25),
                          (replace(off_by(150.0, judged="steadiness"), within_fraction=0.94), None),
                          (off_by(150.0, high=None), None), (off_by(150.0, quantity="agl"), None),
                          (off_by(None), None)):  # fmt: skip
        found = list(_unexplained(DESK, e, Grade({}, "", {}, (finding,), ()), 3))
        assert [p.rank for p in found] == ([] if rank is None else [pytest.approx(rank)])
        assert all((p.maneuver, p.start_s, p.end_s, p.quantity) == (3, 14.0, 40.0, "altitude") for p in found)
    for explains, told in (("altitude", 0), ("*", 0), ("ias", 1)):
        grade = Grade({}, "", {}, (off_by(150.0),), (Cause("x", "y", 1.0, 2.0, 0.1, explains=explains),))
        assert len(list(_unexplained(DESK, e, grade, 0))) == told
    (late,) = _unexplained(DESK, e, Grade({}, "", {}, (off_by(150.0, first_excursion_s=None),), ()), 0)
    assert late.start_s == 10.0
    assert not list(_unexplained(DESK, Episode("climb", 0.0, 9.0, 1.0), Grade({}, "", {}, (off_by(150.0),), ()), 0))


def at(rank: float, root: str, maneuver: int, start_s: float = 0.0, margin: str = "") -> Place:
    return Place(f"a thing {IN}", "steep turn", rank, root, start_s, start_s + 1.0, maneuver, margin=margin)  # type: ignore[arg-type]


@pytest.mark.parametrize(("other", "root"), [(54.0, "late"), (56.0, "wind")])
def test_the_pattern_is_what_cost_most_with_half_of_each_further_maneuver(other: float, root: str) -> None:
    """40 and half of 30: 55. A second place in the same maneuver adds nothing."""
    places = [at(other, "wind", 5), at(40.0, "late", 0), at(39.0, "late", 0), at(30.0, "late", 1)]
    found, chosen = pattern(places, [])
    assert found == root
    assert [p.rank for p in chosen] == ([40.0, 30.0] if root == "late" else [other])


def test_a_speed_here_and_a_bank_there_are_no_pattern() -> None:
    """The bank of an emergency descent and the speed of a final have no more in common than that neither was set."""
    bank, speed, other = (
        replace(at(40.0, "target not set", n), quantity=q) for n, q in enumerate(("bank", "ias", "pattern_ias"))
    )
    assert pattern([bank, speed], [])[1] == [bank]
    assert pattern([bank, speed, other], [])[1] == [speed, other]
    late = [replace(at(40.0, "late", n), quantity=q) for n, q in enumerate(("altitude", "rollout_heading"))]
    assert pattern(late, [])[1] == late


def test_a_number_said_first_is_no_pattern_besides() -> None:
    """19 mph fast at the gate and 19 mph fast in the landing are one fact; the bank of the same landing is another."""
    thin = Margin("Final at 300 ft: 18 mph fast.", 100.0, 101.0, 60.0, "decision", "landing", about="ias")
    fast = replace(at(45.0, "target not set", 0, 101.0), quantity="ias")
    assert pattern([fast], [thin], {(0, "ias")}) == ("", [])
    assert pattern([fast], [thin], {(1, "ias")})[1] == [fast]
    steep = replace(fast, quantity="bank")
    assert pattern([fast, steep], [thin], {(0, "ias")})[1] == [steep]


def test_a_roll_too_long_is_drilled_and_asked_as_a_takeoff() -> None:
    """1,370 ft where the book has 806: no roll-out of a turn has to do with it."""
    assert "roll" in drill("late", {""}, "takeoff")
    assert "heading" not in drill("late", {""}, "takeoff")
    assert question("late", "takeoff", "takeoff") == ROLLING.format(place="the takeoff")
    assert question("late", "touch-and-go", "touch_and_go") == QUESTIONS["late"].format(place="the touch-and-go")


def test_a_descent_not_held_stands_in_a_line_of_a_lesson() -> None:
    """What the count says is not held can be found where exercises were flown, or it was asked for; on a trip with
    neither nobody asked for a heading or a speed."""
    e = Episode("descent", 0.0, 40.0, 1.0)
    missed = (e, Grade({}, "", {}, (off_by(200.0),), ()))
    beside = (Episode("steep_turn", 60.0, 90.0, 1.0), Grade({}, "", {}, (), ()))
    for graded, planned in (([missed, beside], ()), ([missed], ("descent",))):
        line = _also_not_held(DESK, graded, (), planned)
        assert line is not None
        assert line.text == "Altitude +200 ft in the descent."
    assert _also_not_held(DESK, [missed], ()) is None


@pytest.mark.parametrize(
    ("verdicts", "heading", "ends"),
    [(("not held", "held"), "pattern", "."), (("held", "held"), "to polish", "Inside the standard."),
     (("held", "briefly out and corrected"), "to polish", "Out of it for a moment and put right.")],
)  # fmt: skip
def test_what_passed_is_to_polish(verdicts: tuple[Verdict, Verdict], heading: str, ends: str) -> None:
    """Unsatisfactory is consistent exceedance or no prompt correction (FAA-S-ACS-6C, appendix 1): else no error."""
    two = [Place(f"bank +{k}° {IN}", "steep turn", 9.0, "late", 60.0 * k, 60.0 * k + 5.0, k, "bank", verdict=v)
           for k, v in enumerate(verdicts)]  # fmt: skip
    line = _pattern_line("late", two, ["steep_turn", "steep_turn"])
    assert line.heading == heading
    assert line.text.endswith(ends)
    if ends == "Inside the standard.":  # of a fault without a number nothing is inside
        bare = _pattern_line("late", [replace(p, quantity="") for p in two], ["steep_turn", "steep_turn"])
        assert bare.text.endswith("No tolerance is printed for it.")


@pytest.mark.parametrize(("root", "out"), [("wind", True), ("late", False)])
def test_the_wind_let_go_is_out_of_the_standard_by_whatever_number(root: str, out: bool) -> None:
    """FAA-S-ACS-6C, V.B asks for the wind to be corrected and prints no radius: briefly out by ours is no comfort."""
    radius = replace(off_by(140.0, "briefly out and corrected", "ground_radius"), source="airwork")
    cause = Cause("Bank was 27° downwind and 28° upwind.", "Next.", 0.0, 9.0, 1.4, "as flown", root, "ground_radius")  # type: ignore[arg-type]
    e = Episode("s_turns", 0.0, 90.0, 1.0)
    (place, *_) = places_of(DESK, [(e, Grade({}, "", {}, (radius,), (cause,)))], [])
    assert (place.rank >= 30.0) == out


def test_what_is_no_deviation_is_named_in_its_reasons_words() -> None:
    """Hardly banked at all in an emergency descent: the bank flown and the least asked for, not the word bank."""
    flat = replace(off_by(9.0, "not held", "bank"), low=30.0, high=45.0, unit="deg")
    cause = Cause("It was banked 9°, 30° is the least asked for.", "Next.", 0.0, 9.0, 1.0, "flat", "wind", "bank")
    e = Episode("emergency_descent", 0.0, 40.0, 1.0)
    for causes, text in (((cause,), "It was banked 9°, 30° is the least asked for"), ((), flat.name.capitalize())):
        line = _also_not_held(DESK, [(e, Grade({}, "", {}, (flat,), causes))], ())
        assert line is not None
        assert line.text == f"{text} in the emergency descent."


def test_what_was_said_first_is_no_news_within_two_minutes() -> None:
    """The same root 119 s after the thin margin is that event, 120 s after it another; one of another root counts."""
    thin = Margin("Pushed.", 100.0, 101.0, 60.0, "late")
    assert pattern([at(40.0, "late", 0, 219.0)], [thin]) == ("", [])
    assert pattern([at(40.0, "late", 0, 220.0)], [thin])[0] == "late"
    outside = replace(
        at(40.0, "late", 0, 110.0), quantity="ias"
    )  # 17 kt fast, and so far down the runway: both are told
    assert pattern([outside], [thin])[0] == "late"
    assert pattern([replace(outside, rank=14.0)], [thin]) == ("", [])
    assert pattern([at(40.0, "wind", 0, 101.0)], [thin])[0] == "wind"
    assert pattern([at(40.0, "late", 0, 101.0)], [replace(thin, root="")])[0] == "late"
    assert pattern([at(40.0, "", 0), at(39.0, "", 1)], []) == ("", [at(40.0, "", 0)])  # no root: only the dearest


@pytest.mark.parametrize(("at_s", "where"), [
    (-1.5, None), (-1.0, ""), (9.9, ""), (10.0, ", Climb"), (40.0, ", Steep turn"), (70.0, ", Steep turn"),
    (131.0, ", Steep turn"), (131.5, ""), (180.0, ", Steep turn"), (201.0, ", Steep turn"), (201.5, None),
])  # fmt: skip
def test_a_mark_is_of_the_maneuver_it_lies_in_or_follows_within_half_a_minute(at_s: float, where: str | None) -> None:
    """Recorded for 200 s. Of several the exercise, and of those the later; a moment before and after still counts."""

    def flown(*spans: tuple[str, float, float]) -> list[Episode]:
        return [Episode(kind, a, b, 1.0) for kind, a, b in spans]

    episodes = flown(("climb", 10.0, 100.0), ("steep_turn", 30.0, 40.0), ("steep_turn", 60.0, 101.0),
                     ("steep_turn", 170.0, 190.0))  # fmt: skip
    flight = cast(
        Flight,
        SimpleNamespace(
            source={"marks": [SimpleNamespace(utc_s=1000.0 + at_s, words="" if where == "" else "look")]},
            start_utc_s=1000.0,
            time_s=np.array([0.0, 200.0]),
        ),
    )
    said = marked(flight, episodes)
    assert [s.split(":")[-1] for s in said] == (
        [] if where is None else [" without words." if where == "" else " look."]
    )
    assert where is None or f"{where}:" in said[0]


def test_a_lesson_of_the_same_half_day_is_the_right_one() -> None:
    plan = LessonPlan(start_utc_s=1.75e9)
    for hours, told in ((-11.9, 0), (11.9, 0), (12.1, 1), (-12.1, 1), (np.nan, 0)):
        assert len(lesson_notes(plan, None, 1.75e9 + 3600.0 * hours)) == told


def test_what_left_its_limits_is_told_once_with_the_most() -> None:
    rows = [{"what": "below the area's floor", "during": "steep_turn", "by_ft": 120, "start_s": 10.0, "end_s": 14.0},
            {"what": "below the area's floor", "during": "slow_flight", "by_ft": 1240, "start_s": 60.0, "end_s": 80.0},
            {"what": "outside the practice area", "during": "s_turns", "start_s": 90.0, "end_s": 95.0}]  # fmt: skip
    assert _left(rows) == ["Below the area's floor for 24 s in steep turn, slow flight, by up to 1,240 ft.",
                           "Outside the practice area for 5 s in S-turns."]  # fmt: skip


def test_a_series_is_cleared_once_by_a_turn_that_ended_shortly_before() -> None:
    """Within 150 s of one another maneuvers are one series; three minutes after the turn it no longer counts."""
    still = SimpleNamespace(span=lambda _start, _end: slice(0, 0), time_s=np.zeros(0))
    evidence = cast(Evidence, SimpleNamespace(standard=load_standard("private"), heading_rad=np.zeros(0), flight=still))

    def rows(*flown: tuple[str, float, float]) -> list[tuple[float, bool, float | None]]:
        found = clearing_record(evidence, [Episode(kind, a, b, 1.0) for kind, a, b in flown])
        return [(row["start_s"], row["cleared"], row["seconds_before"]) for row in found]

    turn = ("clearing_turn", 0.0, 40.0)
    assert rows(turn, ("steep_turn", 220.0, 250.0)) == [(220.0, True, 180.0)]
    assert rows(turn, ("steep_turn", 221.0, 250.0)) == [(221.0, False, 181.0)]
    assert rows(turn, ("steep_turn", 25.0, 60.0)) == [(25.0, True, 0.0)]  # its end runs into the entry
    assert rows(turn, ("steep_turn", 24.0, 60.0)) == [(24.0, False, None)]
    assert rows(("steep_turn", 20.0, 60.0), ("climb", 70.0, 90.0)) == [(20.0, False, None)]
    first = ("steep_turn", 300.0, 340.0)
    assert len(rows(first, ("steep_turn", 490.0, 520.0))) == 1
    assert len(rows(first, ("steep_turn", 490.1, 520.0))) == 2
    assert (
        len(rows(("slow_flight", 300.0, 400.0), ("power_off_stall", 350.0, 380.0), ("steep_turn", 545.0, 560.0))) == 1
    )
    again = rows(turn, ("clearing_turn", 100.0, 140.04), ("steep_turn", 200.0, 230.0))
    assert again == [(200.0, True, 60.0)]


@pytest.mark.parametrize(("ago_s", "start_s", "name", "begin_s"), [
    (599.0, 1000.0, "cleared late", 401.0), (600.0, 1000.0, "not cleared", 820.0), (None, 180.0, "not cleared", 0.0),
    (None, 179.0, "", 0.0), (150.0, 100.0, "cleared late", 0.0),
])  # fmt: skip
def test_cleared_late_is_within_ten_minutes(ago_s: float | None, start_s: float, name: str, begin_s: float) -> None:
    """Before that it is none at all; a recording that begins within three minutes may have been cleared before it."""
    e = Episode("steep_turn", start_s, start_s + 30.0, 1.0)
    row = {"for": "steep_turn", "start_s": start_s + 0.05, "cleared": False, "seconds_before": ago_s}
    causes = with_clearing(Grade({}, "", {}, (), ()), e, [{**row, "for": "glide"}, row], 180.0).causes
    assert [(c.name, c.start_s, c.end_s) for c in causes] == ([(name, begin_s, start_s)] if name else [])
    if name == "not cleared":
        assert causes[0].text == "No clearing turn before it: the nose hardly turned in the 3 minutes before."
    assert with_clearing(Grade({}, "", {}, (), ()), e, [{**row, "start_s": start_s + 0.2}], 180.0).causes == ()


@pytest.mark.parametrize(
    ("rate_dps", "turned_deg", "seen"),
    [(3.0, 160.0, True), (3.0, 140.0, False), (1.7, 160.0, True), (1.3, 160.0, False)],
)
def test_a_nose_that_swept_a_hundred_and_fifty_degrees_has_seen_the_sky(
    rate_dps: float, turned_deg: float, seen: bool
) -> None:
    """At more than 1.5° a second: slower it wanders. Turned from 60 s on; the maneuver begins at 250 s."""
    time = np.arange(0.0, 300.0, 0.5)
    nose = np.radians(np.clip((time - 75.0) * rate_dps, 0.0, turned_deg))
    flight = SimpleNamespace(time_s=time, span=lambda a, b: slice(*np.searchsorted(time, [a, b])))
    evidence = cast(Evidence, SimpleNamespace(heading_rad=nose, flight=flight, step_s=0.5))
    ago = _turned(evidence, 250.0, 180.0)
    assert (ago is not None) is seen
    if ago is not None:
        assert ago == pytest.approx(250.0 - 75.0 - turned_deg / rate_dps, abs=2.1)
    left = replace_nose(evidence, -nose)
    assert (_turned(left, 250.0, 180.0) is not None) is seen
    assert _turned(replace_nose(evidence, np.full(time.size, np.nan)), 250.0, 180.0) is None
    assert _turned(evidence, 250.0, 60.0) is None  # longer ago than was asked
    fewer = slice(None, None, 8)  # a fix in four seconds
    flight = SimpleNamespace(time_s=time[fewer], span=lambda a, b: slice(*np.searchsorted(time[fewer], [a, b])))
    coarse = cast(Evidence, SimpleNamespace(heading_rad=nose[fewer], flight=flight, step_s=4.0))
    assert (_turned(coarse, 250.0, 180.0) is not None) is seen


def replace_nose(evidence: Evidence, nose: np.ndarray) -> Evidence:
    return cast(Evidence, SimpleNamespace(heading_rad=nose, flight=evidence.flight, step_s=evidence.step_s))


def test_each_root_has_its_drill_question_and_words_where_nothing_else_fits() -> None:
    """A glide has none of its own; the exceptions are those of what was off and where."""
    level = {"back pressure": LEVEL_DRILL}
    for root, usual in DRILLS.items():
        assert drill(root, {"agl", "bank"}, "glide") == level.get(root, usual)
        assert drill(root, {"agl", "bank"}, "steep_turn") == drill(root, {"agl", "bank"}, "") == usual
        off = {"target not set": SETTLED_DRILLS["altitude"], "back pressure": LEVEL_DRILL}
        assert drill(root, {"altitude"}, "glide") == off.get(root, usual)
        stalls = {**IN_STALLS, "target not set": SETTLED_DRILLS["power"], "back pressure": LEVEL_DRILL}
        assert drill(root, {"power", "bank"}, "power_on_stall") == stalls.get(root, usual)
        assert drill(root, {"power", "bank"}, "glide") == level.get(root, usual)
        words = {"back pressure": "The altitude was let slip"}
        assert root_words(root, {"bank", "agl"}, ["glide"]) == words.get(root, ROOTS[root])
        lone = {
            "target not set": "Less power was set than asked for",
            "late": "The next action did not come when it was due",
        }
        assert root_words(root, {"power"}, ["steep_turn"], early=True) == lone.get(root, ROOTS[root])
        assert question(root, "glide") == QUESTIONS[root].format(place="the glide")
        soon = (TOO_SOON if root == "late" else QUESTIONS[root]).format(place="level flight")
        assert question(root, "level flight", early=True) == soon
    assert root_words("", set(), []) == ""
    assert drill("late", {"bank"}, "traffic_pattern") == DRILLS["late"]
    assert drill("too big", {"bank"}, "go_around") == AROUND["too big"] != drill("too big", {"bank"}, "takeoff")
    assert drill("target not set", {"ias"}, "landing") == drill("target not set", {"ias", "bank"}, "landing")
    assert several("s_turns", 2, 2) == "S-turns, both times"
    assert several("straight_and_level", 3, 3) == "straight and level, all 3 times"


@pytest.mark.parametrize(
    ("right", "left", "seen"),
    [((-2.0, -5.0), (29.0, 28.0), True), ((-2.0, -5.0), (29.0, 12.0), False), ((-9.0, -12.0), (29.0, 28.0), False)],
)
def test_level_turns_past_the_quarters_to_one_side_alone(
    right: tuple[float, ...], left: tuple[float, ...], seen: bool
) -> None:
    """Nobody named the headings: right always at a quarter of a circle, left always as far past one, is no chance."""
    rows = [(1.0, x) for x in right] + [(-1.0, x) for x in left]
    graded = [
        (Episode("level_turn", 0.0, 1.0, 1.0, facts={"sign": s}), Grade({}, "", {"off_quarter_turn_deg": x}, (), ()))
        for s, x in rows
    ]
    assert bool(_one_sided(graded)) is seen


@pytest.mark.parametrize(("left", "seen"), [(1.9, True), (2.1, False)])
def test_eight_degrees_between_the_sides_are_a_gap(left: float, seen: bool) -> None:
    """Roll-outs 10° and 12° past to the right; to the left one at most 8° less than the nearer of them."""
    rows = [(1.0, 10.0), (1.0, 12.0), (-1.0, left), (-1.0, -1.0)]
    graded = [(Episode("steep_turn", 0.0, 1.0, 1.0, facts={"sign": s}), Grade({}, "", {"rollout_error_deg": x}, (), ()))
              for s, x in rows]  # fmt: skip
    assert bool(_one_sided(graded)) is seen


def test_a_fix_in_some_minutes_is_a_coarse_track() -> None:
    t = 300.0 * np.arange(20)
    columns = {"altitude_m": Column(0.0 * t, "measured"), "groundspeed_mps": Column(0.0 * t + 50.0, "measured")}
    (line,) = debrief(Flight(1.78e9, t, columns), standard=load_standard("private")).first
    assert line.text == "One fix in 5 minutes: a coarse track, in which no maneuver can be seen."


@pytest.mark.parametrize(("minutes", "told"), [(7.0, True), (2.0, False)])
def test_long_minutes_in_no_maneuver_are_told(minutes: float, told: bool) -> None:
    """Weaving to both sides through 50° (tracking a needle, say): nobody is left to think all of it was judged."""
    b = Builder(altitude_ft=4000.0, speed_kt=90.0)
    b.level_ft = 4000.0
    b.hold(90.0)
    until_s = b.t + 60.0 * minutes
    while b.t < until_s:
        for bank in (0.17, -0.17):
            begun_s = b.t
            b.until(lambda begun_s=begun_s: b.t > begun_s + 30.0, bank)
    b.hold(90.0)
    lines = [x for x in debrief(b.flight(), standard=load_standard("private")).first if "no exercise airwork" in x.text]
    assert len(lines) == told
    assert all("altitude 4,000 ft" in x.text and x.start_s is not None and x.start_s < 130.0 for x in lines)
