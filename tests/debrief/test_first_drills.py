"""Drill, question and words: of the thing that went wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.debrief.first import THEN, _also_not_held, _next_time
from airwork.debrief.first_places import (
    Place,
)
from airwork.debrief.first_words import (
    AROUND,
    DRILLS,
    GLIDING,
    IN_STALLS,
    LEVEL_DRILL,
    QUESTIONS,
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
from airwork.debrief.margin import Margin
from airwork.jobs.files import load_airplane
from airwork.maneuvers.episode import Cause, Episode, Grade, Root
from airwork.output.debrief_doc import make_debrief_doc
from airwork.recording.flight import Column
from airwork.standards import load_standard
from debrief.made_grades import DESK, at, off_by
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
    spoken = [drill("late", {""}, k) for k in ("landing", "go_around", "power_off_stall")]
    assert len(set(spoken)) == 3
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


def test_a_root_is_said_of_what_it_was() -> None:
    """One thing beside its target is named alone; a sag in level flight had no bank to go with."""
    assert root_words("target not set", {"ias", "pattern_ias"}, ["climb"]) == "It settled beside the speed wanted"
    assert "bank or altitude" in root_words("target not set", {"ias", "bank"}, ["steep_turn"])
    assert root_words("back pressure", {"altitude"}, ["traffic_pattern"]) == "The altitude was let slip"
    assert "bank" in root_words("back pressure", {"altitude"}, ["steep_turn", "slow_flight"])
    assert [with_article(x) for x in ("slow flight", "left steep turn")] == ["slow flight", "the left steep turn"]


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


def test_what_is_no_deviation_is_named_in_its_reasons_words() -> None:
    """Hardly banked at all in an emergency descent: the bank flown and the least asked for, not the word bank."""
    flat = replace(off_by(9.0, "not held", "bank"), low=30.0, high=45.0, unit="deg")
    cause = Cause("It was banked 9°, 30° is the least asked for.", "Next.", 0.0, 9.0, 1.0, "flat", "wind", "bank")
    e = Episode("emergency_descent", 0.0, 40.0, 1.0)
    for causes, text in (((cause,), "It was banked 9°, 30° is the least asked for"), ((), flat.name.capitalize())):
        line = _also_not_held(DESK, [(e, Grade({}, "", {}, (flat,), causes))], ())
        assert line is not None
        assert line.text == f"{text} in the emergency descent."


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


def test_the_wind_is_drilled_in_the_figure_it_was_missed_in() -> None:
    """Not one circle round a point for a rectangular course or S-turns."""
    for kind in ("rectangular_course", "s_turns", "turns_around_point"):
        assert drill("wind", {""}, kind).startswith("The same figure again")
