"""A lesson rehearsed in a chair: the ideal flight as one flight, in the day's wind, with its steps in their places."""

from __future__ import annotations

import json
import math
import pickle
from dataclasses import replace

import numpy as np
import pytest

from airwork.airplane.performance import performance
from airwork.jobs.files import load_airplane, load_lesson
from airwork.lesson.plan import build_briefing, ideals
from airwork.maneuvers.setup import At
from airwork.output.chair import chair_values
from airwork.output.chair_steps import APART_S, EARLY_S, due, events
from airwork.standards import load_standard


@pytest.fixture(scope="module")
def flown():
    lesson = load_lesson("demo")
    airplane = load_airplane(lesson.airplane_path)
    fitted = performance(airplane)
    briefing, traces = build_briefing(lesson, airplane, performance=fitted), ideals(lesson, airplane, fitted)
    values = chair_values(briefing, traces, fitted, load_standard(lesson.student.certificate))
    return briefing, traces, values, json.loads(values["data"]), json.loads(values["map_data"])


def test_every_exercise_of_the_briefing_is_flown_or_said_to_be_left_out(flown) -> None:
    briefing, _, values, blob, _ = flown
    assert len(blob["episodes"]) + len(values["left_out"]) == len(briefing.exercises)
    for episode in blob["episodes"]:
        assert episode["steps"][0][0] == pytest.approx(episode["start"], abs=0.06)
        moments = [t for t, _ in episode["steps"]]
        assert moments == sorted(moments)
        assert moments[-1] <= episode["end"] + 0.06


def test_the_samples_are_the_ideal_s_own(flown) -> None:
    briefing, traces, _, blob, _ = flown
    at = next(k for k, e in enumerate(blob["episodes"]) if e["title"] == "Steep turn")
    episode = blob["episodes"][at]
    number = [e.number for e in briefing.exercises if e.number in traces][at]
    inside = [k for k, t in enumerate(blob["series"]["t"]) if episode["start"] <= t <= episode["end"]]
    most = max(abs(blob["series"]["bank"][k]) for k in inside)
    assert most == pytest.approx(math.degrees(np.abs(traces[number].columns["bank_rad"]).max()), abs=0.1)
    assert briefing.dial_unit == "mph"  # and the scale is in it
    assert max(blob["series"]["speed"][k] for k in inside) == pytest.approx(
        traces[number].columns["ias_mps"].max() / 0.44704, abs=0.2
    )


def test_the_path_over_the_ground_is_the_one_flown_for_the_day_s_wind(flown) -> None:
    """Laid from heading, airspeed and wind: where the room's own simulation has it, for a maneuver tied to a mark."""
    _, traces, _, blob, track = flown
    k = next(k for k, e in enumerate(blob["episodes"]) if e["title"] == "Turns around a point")
    trace = traces[sorted(traces)[k]]
    start = blob["episodes"][k]["start"]
    t = np.array(blob["series"]["t"])
    lat, lon = (np.radians(np.array(track[n], dtype=float)) for n in ("lat", "lon"))
    inside = np.flatnonzero((t >= start + 0.5) & (t <= blob["episodes"][k]["end"] - 0.5))
    east = np.interp(t[inside] - start, trace.time_s, trace.columns["east_m"])
    north = np.interp(t[inside] - start, trace.time_s, trace.columns["north_m"])
    away = np.hypot(
        6.37e6 * (lat[inside] - lat[inside[0]]) - (north - north[0]),
        6.37e6 * (lon[inside] - lon[inside[0]]) * math.cos(lat[inside[0]]) - (east - east[0]),
    )
    assert np.ptp(east) > 500  # a circle, not a point
    assert away.max() < 40.0


def test_steps_stand_where_the_airplane_does_what_they_say() -> None:
    time = np.arange(0.0, 60.5, 0.5)
    bank = np.interp(time, [0, 20, 24, 44, 48, 60], [0, 0, 0.79, 0.79, 0, 0])
    steps = ("Level, trimmed", "Roll in smoothly to 45°", "Nose on the horizon", "Begin to roll out 22° before")
    moments = due(steps, time, {"bank_rad": bank})
    assert moments[0] == 0.0
    assert moments[1] == pytest.approx(18.5, abs=1.0)  # two seconds before the bank is more than a wobble
    assert moments[3] == pytest.approx(42.5, abs=1.0)
    assert moments[1] < moments[2] < moments[3]


def test_what_happens_at_one_moment_is_told_one_after_another() -> None:
    time = np.arange(0.0, 40.5, 0.5)
    ias = np.interp(time, [0, 10, 20, 40], [50, 45, 22, 45])
    moments = due(("Slow", "Recover at the full stall", "Recover at once: unload"), time, {"ias_mps": ias})
    assert moments[1] == pytest.approx(18.0, abs=0.6)
    assert moments[2] == pytest.approx(moments[1] + APART_S)
    assert (20.0, "slowest") in events(time, {"ias_mps": ias})


def _steps(kind, side):
    """(moment, step), time and bank of the demo airplane's ideal, turning that way."""
    lesson = load_lesson("demo")
    wish = {} if side == "both" else {"direction": side}
    lesson = replace(lesson, exercises=(replace(lesson.exercises[0], kind=kind, target=wish, altitude_m=None),))
    airplane = load_airplane(lesson.airplane_path)
    fitted = performance(airplane)
    (exercise,) = build_briefing(lesson, airplane, performance=fitted).exercises
    (trace,) = ideals(lesson, airplane, fitted).values()
    moments = due(exercise.set_up.steps, trace.time_s, trace.columns)
    named = dict(zip(exercise.set_up.steps, moments, strict=True))

    def when(words):
        return next(t for step, t in named.items() if words in step)

    return when, np.asarray(trace.time_s), trace.columns


@pytest.mark.parametrize("side", ["both", "left", "right"])
def test_steps_of_a_steep_turn_run_with_its_first_turn(side) -> None:
    """They stood through the first of two turns; "Roll in" came for the second only."""
    when, time, columns = _steps("steep_turn", side)
    turning = time[np.abs(columns["bank_rad"]) > math.radians(40.0)]
    first = turning[: int(np.argmax(np.append(np.diff(turning), 99.0) > 5.0)) + 1]
    assert when("Level at 110 mph") < when("Roll in smoothly") < first[0]
    assert first[0] < when("Hold the nose") < first[-1]
    assert first[-1] - 5.0 < when("Begin to roll out") <= first[-1]
    assert first[-1] < when("Level at the same altitude") < first[-1] + 5.0


@pytest.mark.parametrize("side", ["left", "right"])
def test_turns_around_a_point_are_shallowed_before_the_first_upwind_side(side) -> None:
    """It was asked flying downwind, half of the turns later."""
    when, time, columns = _steps("turns_around_point", side)
    asked = when("Shallow it")
    against = np.cos(columns["heading_rad"] - columns["wind_from_rad"])  # 1: straight into the wind
    upwind = time[np.flatnonzero(against > 0.95)[0]]
    bank = np.abs(np.interp([asked, upwind], time, columns["bank_rad"]))
    assert when("Enter downwind") < asked < upwind
    assert bank[0] > bank[1] + math.radians(5.0)  # the steep part is still flown
    assert when("roll out on the entry heading") > time[-1] - 15.0


def test_points_of_a_turn_and_heights_are_where_the_step_says() -> None:
    when, time, columns = _steps("lazy_eight", "left")
    turned = np.degrees(np.abs(np.unwrap(columns["heading_rad"]) - columns["heading_rad"][0]))
    for point in (90.0, 135.0, 180.0):
        assert np.interp(when(f"{point:.0f}° point") + EARLY_S, time, turned) == pytest.approx(point, abs=8.0)
    time = np.arange(0.0, 200.5, 0.5)
    altitude = np.interp(time, [0, 200], [1000.0, 0.0])  # 5 m/s down: 300 ft in 18.3 s
    steps = ("Checks", "By 300 ft above the field: stable", "Look")
    landed = due(steps, time, {"altitude_m": altitude, "tas_mps": np.where(time > 195.0, 5.0, 30.0)})
    assert landed[1] == pytest.approx(200.0 - 91.44 / 5.0 - EARLY_S, abs=0.6)
    missed = due(steps, time, {"altitude_m": altitude, "tas_mps": np.full(time.shape, 30.0)})  # no field is known
    assert missed[1] == pytest.approx(200.0 / 3.0)


def test_a_room_s_own_event_counts_before_the_words() -> None:
    time = np.arange(0.0, 60.5, 0.5)
    columns = {"bank_rad": np.interp(time, [0, 20, 24, 44, 48, 60], [0, 0, 0.79, 0.79, 0, 0])}
    assert due(("Look", At("Roll out of it", "bank")), time, columns)[1] == pytest.approx(18.5, abs=1.0)
    assert due(("Look", "Roll out of it"), time, columns)[1] == pytest.approx(42.5, abs=1.0)
    assert pickle.loads(pickle.dumps(At("a", "bank", "end"))).events == ("bank", "end")


def test_limits_lie_round_what_is_aimed_at_where_the_ideal_keeps_them(flown) -> None:
    """[FAA-S-ACS-6C] steep turns: ±100 ft, 45° ±5°."""
    turn = next(e for e in flown[3]["episodes"] if e["title"] == "Steep turn")
    assert {(abs(b["aim"]), b["high"] - b["low"]) for b in turn["bands"]["bank"]} == {(45.0, 10.0)}
    (altitude,) = turn["bands"]["altitude"]
    assert altitude["high"] - altitude["low"] == pytest.approx(200.0, abs=0.2)
    assert {b["aim"] > 0 for b in turn["bands"]["bank"]} == {True, False}  # one turn each way
