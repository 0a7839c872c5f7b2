"""When the steps of a set-up are due in its ideal: where the airplane does what they say."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest

from airwork.jobs.files import load_airplane, load_lesson
from airwork.lesson.plan import plan_lesson
from airwork.maneuvers.paths.step_times import APART_S, EARLY_S, due_s, events
from airwork.maneuvers.setup import At


def test_steps_stand_where_the_airplane_does_what_they_say() -> None:
    time = np.arange(0.0, 60.5, 0.5)
    bank = np.interp(time, [0, 20, 24, 44, 48, 60], [0, 0, 0.79, 0.79, 0, 0])
    steps = ("Level, trimmed", "Roll in smoothly to 45°", "Nose on the horizon", "Begin to roll out 22° before")
    moments = due_s(steps, time, {"bank_rad": bank})
    assert moments[0] == 0.0
    assert moments[1] == pytest.approx(18.5, abs=1.0)  # two seconds before the bank is more than a wobble
    assert moments[3] == pytest.approx(42.5, abs=1.0)
    assert moments[1] < moments[2] < moments[3]


def test_what_happens_at_one_moment_is_told_one_after_another() -> None:
    time = np.arange(0.0, 40.5, 0.5)
    ias = np.interp(time, [0, 10, 20, 40], [50, 45, 22, 45])
    moments = due_s(("Slow", "Recover at the full stall", "Recover at once: unload"), time, {"ias_mps": ias})
    assert moments[1] == pytest.approx(18.0, abs=0.6)
    assert moments[2] == pytest.approx(moments[1] + APART_S)
    assert (20.0, "slowest") in events(time, {"ias_mps": ias})


def _steps(kind, side):
    """(moment, step), time and bank of the demo airplane's ideal, turning that way."""
    lesson = load_lesson("demo")
    wish = {} if side == "both" else {"direction": side}
    lesson = replace(lesson, exercises=(replace(lesson.exercises[0], kind=kind, target=wish, altitude_m=None),))
    airplane = load_airplane(lesson.airplane_path)
    plan = plan_lesson(lesson, airplane)
    briefing, traces = plan.briefing, plan.ideals
    (exercise,), (trace,) = briefing.exercises, traces.values()
    moments = due_s(exercise.set_up.steps, trace.time_s, trace.columns)
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
    landed = due_s(steps, time, {"altitude_m": altitude, "tas_mps": np.where(time > 195.0, 5.0, 30.0)})
    assert landed[1] == pytest.approx(200.0 - 91.44 / 5.0 - EARLY_S, abs=0.6)
    missed = due_s(steps, time, {"altitude_m": altitude, "tas_mps": np.full(time.shape, 30.0)})  # no field is known
    assert missed[1] == pytest.approx(200.0 / 3.0)


def test_a_room_s_own_event_counts_before_the_words() -> None:
    time = np.arange(0.0, 60.5, 0.5)
    columns = {"bank_rad": np.interp(time, [0, 20, 24, 44, 48, 60], [0, 0, 0.79, 0.79, 0, 0])}
    assert due_s(("Look", At("Roll out of it", "bank")), time, columns)[1] == pytest.approx(18.5, abs=1.0)
    assert due_s(("Look", "Roll out of it"), time, columns)[1] == pytest.approx(42.5, abs=1.0)
    assert pickle.loads(pickle.dumps(At("a", "bank", "end"))).events == ("bank", "end")
