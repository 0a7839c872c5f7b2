"""Notes beside the first lines: the sky cleared, what was marked, what wasn't flown or can't be known."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from airwork.debrief import debrief
from airwork.debrief.debrief import evidence_of
from airwork.debrief.first import _noted_each_time, _went_well, not_known
from airwork.debrief.first_places import (
    IN,
    Place,
    pattern_text,
    said_of,
)
from airwork.debrief.first_words import (
    DRILLS,
)
from airwork.debrief.not_flown import not_flown
from airwork.debrief.not_judged import _fast_by_the_takeoff, _finals_apart
from airwork.debrief.notes import _clearing, _left, lesson_notes, marked
from airwork.debrief.plan import LessonPlan
from airwork.debrief.record import _turned, clearing_record, with_clearing
from airwork.maneuvers.episode import Cause, Episode, Grade, Stretch
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.grading.sheet import FITTING, HANDBOOK, SETTLED
from airwork.output.debrief_doc import Row, _three
from airwork.recording.flight import Column, Flight
from airwork.standards import load_standard
from airwork.units import KT_MPS
from approaches import approach, desk
from debrief.made_grades import DESK, off_by, turn
from flightbuilder import Builder


@pytest.mark.parametrize(("before_s", "name"), [(None, "not cleared"), (400.0, "cleared late"), (60.0, "")])
def test_a_clearing_turn_late_or_none_is_a_cause_of_the_first_of_a_series(before_s: float | None, name: str) -> None:
    """None, 400 s before, 60 s before; put on once however often it is worked out, and taken off when it isn't so."""
    e = Episode("steep_turn", 1000.0, 1030.0, 1.0)
    row = {"for": "steep_turn", "start_s": 1000.0, "cleared": before_s == 60.0, "seconds_before": before_s}
    grade = Grade({}, "", {}, (), ())
    told = with_clearing(with_clearing(grade, e, [row], 180.0), e, [row], 180.0)
    assert [c.name for c in told.causes] == ([name] if name else [])
    assert with_clearing(told, e, [{**row, "cleared": True}], 180.0).causes == ()


@pytest.mark.parametrize(("noted", "told"), [((1, 1), True), ((1, 0), False), ((1,), False)])
def test_what_is_noted_of_every_stall_is_told_in_the_head(noted: tuple[int, ...], told: bool) -> None:
    """Entered from level flight both times: the task begins with a stabilized descent (FAA-S-ACS-6C, VII.B)."""
    cause = Cause("It was entered from level flight, no descent.", "Next.", 10.0, 20.0, 0.5, "no descent first")
    stalls = [
        (Episode("power_off_stall", 100.0 * k, 100.0 * k + 40.0, 1.0), Grade({}, "", {}, (), (cause,) * n))
        for k, n in enumerate(noted)
    ]
    found = [(line.heading, line.text) for line in _noted_each_time(stalls)]
    assert found == (
        [("to polish", "Both power-off stalls were entered from level flight, no descent.")] if told else []
    )


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


def test_places_left_out_are_counted() -> None:
    places = [Place(f"{word} +{n}° {IN} (late)", "steep turn", 9.0 - n, "late", n, n, n) for n, word in
              enumerate(("bank", "speed", "roll-out", "altitude", "heading"))]  # fmt: skip
    text = pattern_text(
        "Late", said_of([*places, replace(places[0], text=f"bank +9° {IN} (late)", maneuver=5)], ["steep_turn"] * 7), 6
    )
    assert text.startswith("Late, in 6 places: bank +0 to +9° in 2 of 7 steep turns (late); ")
    assert text.endswith("; and 1 more.")
    assert pattern_text("Late", said_of(places, ["steep_turn"] * 7), 9).endswith("; and 5 more.")


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
