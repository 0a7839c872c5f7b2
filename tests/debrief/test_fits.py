"""A recording held against the airplane it is judged by: another's is an alarm, the airplane's own never is."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

import airwork
from airwork.debrief.fits import misfits
from airwork.jobs.debriefing import read_flight
from airwork.jobs.files import load_airplane

DEMO = Path(airwork.__file__).parent / "demo_files"
OWN = {"2025-07-08_first_hours.csv.gz": "wrenbrook_108", "2025-08-14_slow_flight.csv.gz": "larkmoor_155",
       "2025-09-18_pattern.gpx": "wrenbrook_108"}  # fmt: skip


@lru_cache(maxsize=8)
def _flight(name: str, airplane: str):
    plane = load_airplane(DEMO / "airplanes" / f"{airplane}.toml")
    return read_flight(DEMO / "recordings" / name, airplane=plane), plane


def _with(flight, name: str, values):
    return flight.with_columns({name: replace(flight.columns[name], values=values)})


@pytest.mark.parametrize(("name", "airplane"), OWN.items())
def test_its_own_flights_raise_no_alarm(name: str, airplane: str) -> None:
    assert misfits(*_flight(name, airplane)) == ()


def test_another_airplane_s_fuel_flow_for_that_power_is_an_alarm() -> None:
    said = misfits(*_flight("2025-08-14_slow_flight.csv.gz", "wrenbrook_108"))
    assert len(said) == 1
    assert "gal/h in cruise" in said[0]
    assert "another airplane, or a slip in its file?" in said[0]


def test_minutes_of_115_percent_power_are_an_alarm_and_a_moment_is_none() -> None:
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    for seconds, alarm in ((300.0, True), (20.0, False)):
        power = np.array(flight["power_ratio"])
        power[(flight.time_s > 900.0) & (flight.time_s < 900.0 + seconds)] = 1.15
        said = [s for s in misfits(_with(flight, "power_ratio", power), plane) if "power" in s.split(";")[0]]
        assert bool(said) is alarm
        if alarm:
            assert said[0].startswith("115 % power for 5 min; by the power chart of Larkmoor 155")


def test_minutes_beyond_never_exceed_or_the_rpm_limit_or_far_below_the_stall_are_alarms() -> None:
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    late = flight.time_s > flight.time_s[-1] - 900.0
    air = (flight["agl_m"] > 150.0) & late if np.any((flight["agl_m"] > 150.0) & late) else flight["agl_m"] > 150.0
    for name, value, words in (
        ("ias_mps", 95.0, "never-exceed"),
        ("rpm", 2950.0, "the limit"),
        ("ias_mps", 9.0, "stalls"),
    ):
        column = np.array(flight[name])
        column[air] = value
        assert any(words in s for s in misfits(_with(flight, name, column), plane)), words


def test_nothing_is_said_without_an_airplane() -> None:
    flight, _ = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    assert misfits(flight, None) == ()
