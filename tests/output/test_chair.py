"""A lesson rehearsed in a chair: the ideal flight as one flight, in the day's wind, with its steps in their places."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from airwork.jobs.files import load_airplane, load_lesson
from airwork.jobs.rehearsing import rehearse_lesson
from airwork.lesson.plan import plan_lesson
from airwork.output.chair import chair_values
from airwork.standards import load_standard


@pytest.fixture(scope="module")
def flown():
    lesson = load_lesson("demo")
    airplane = load_airplane(lesson.airplane_path)
    rehearsal, traces = rehearse_lesson(lesson, airplane), plan_lesson(lesson, airplane).ideals
    values = chair_values(rehearsal, load_standard(lesson.student.certificate))
    return rehearsal.briefing, traces, values, json.loads(values["data"]), json.loads(values["map_data"])


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


def test_limits_lie_round_what_is_aimed_at_where_the_ideal_keeps_them(flown) -> None:
    """[FAA-S-ACS-6C] steep turns: ±100 ft, 45° ±5°."""
    turn = next(e for e in flown[3]["episodes"] if e["title"] == "Steep turn")
    assert {(abs(b["aim"]), b["high"] - b["low"]) for b in turn["bands"]["bank"]} == {(45.0, 10.0)}
    (altitude,) = turn["bands"]["altitude"]
    assert altitude["high"] - altitude["low"] == pytest.approx(200.0, abs=0.2)
    assert {b["aim"] > 0 for b in turn["bands"]["bank"]} == {True, False}  # one turn each way
