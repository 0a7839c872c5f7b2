"""A lesson begun from an earlier one: what is of the day is asked anew, people and airplane stay."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path

import pytest

import airwork
from airwork.errors import InputError
from airwork.lesson.again import lesson_again

TEXT = (Path(airwork.__file__).parent / "demo_files" / "lessons" / "stalls_over_the_lake.toml").read_text()
DAY = dt.date(2026, 5, 4)


def test_weather_runway_and_fuel_of_the_other_day_are_gone_and_the_rest_stays() -> None:
    old, new = tomllib.loads(TEXT), tomllib.loads(lesson_again(TEXT, day=DAY, time="14:00"))
    assert (new["date"], new["time"]) == (DAY, "14:00")
    assert "weather" not in new
    assert "runway" not in new["place"]
    assert set(new["fuel"].values()) == {"FILL IN"}
    for table in ("people", "bags", "area", "student", "instructor", "plan", "exercises", "signals", "airplane"):
        assert new[table] == old[table], table
    assert "# from the offline airport data" in lesson_again(TEXT, day=DAY)


def test_another_student_brings_no_weight_and_no_limits_of_the_one_before() -> None:
    new = tomllib.loads(lesson_again(TEXT, day=DAY, student="Jan Ruiz"))
    other = tomllib.loads(lesson_again(TEXT, day=DAY, instructor="Petra Holm"))
    assert other["instructor"] == {"name": "Petra Holm"}
    assert (other["people"][1]["name"], other["people"][1]["weight"]) == ("Petra Holm", "FILL IN")
    assert new["people"][0] == {"name": "Jan Ruiz", "role": "student", "station": "front seats", "weight": "FILL IN"}
    assert new["student"] == {"name": "Jan Ruiz", "certificate": "private"}
    assert new["people"][1]["weight"] == "181 lb"
    same = tomllib.loads(lesson_again(TEXT, day=DAY, student="nora whitlock"))
    assert same["student"]["limits"]
    assert same["people"][0]["weight"] == "148 lb"


def test_other_exercises_keep_the_values_of_those_flown_before() -> None:
    new = tomllib.loads(lesson_again(TEXT, day=DAY, exercises=("chandelle", "steep_turn")))
    assert new["exercises"] == [
        {"kind": "chandelle"},
        {"kind": "steep_turn", "altitude": "6,500 ft", "target": {"bank": "45 deg", "direction": "both"}},
    ]


def test_a_text_that_is_no_lesson_is_said_plainly() -> None:
    with pytest.raises(InputError, match="not valid TOML"):
        lesson_again("people = [", day=DAY)
