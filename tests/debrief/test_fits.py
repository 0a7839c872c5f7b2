"""A recording held against the airplane it is judged by: another's is an alarm, the airplane's own never is."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import airwork
from airwork.debrief.fits import _say, misfits
from airwork.debrief.fits import _takeoffs as looked_at
from airwork.debrief.fits_model import _takeoffs, beyond_model
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
    assert any("gal/h in cruise" in one for one in said)
    assert all("another airplane, or a slip in its file?" in one for one in said)


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


def test_more_fuel_than_a_tank_holds_is_an_alarm_and_said_once() -> None:
    """16 gal in the left tank at the start; the Wrenbrook's holds 13."""
    said = misfits(*_flight("2025-08-14_slow_flight.csv.gz", "wrenbrook_108"))
    assert sum("holds 13 gal" in one for one in said) == 1
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    full = max(t.capacity_m3 for t in plane.tanks)
    for share, alarm in ((1.05, False), (1.2, True)):  # a gauge reads a little over when full
        value = np.full(flight.time_s.shape, share * full)
        assert any("holds" in s for s in misfits(_with(flight, "fuel_left_m3", value), plane)) is alarm


def test_a_takeoff_far_below_the_governed_rpm_is_no_constant_speed_airplane() -> None:
    said = misfits(*_flight("2025-08-14_slow_flight.csv.gz", "caldmere_200"))
    assert len(said) == 2  # its fuel flow in that climb says so too
    assert said[0].startswith("2,495 RPM at the most in a takeoff; the constant-speed propeller of Caldmere 200 turns")
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "caldmere_200")
    for least, alarm in ((0.96, False), (0.88, True)):
        rpm = np.minimum(np.array(flight["rpm"]), 0.0) + least * plane.limits.max_rpm
        assert any("in a takeoff" in s for s in misfits(_with(flight, "rpm", rpm), plane)) is alarm


def test_a_climb_from_the_runway_below_the_least_stall_speed_is_another_airplanes() -> None:
    """No airplane climbs away slower than it stalls at its lightest with all flaps: the lift equation."""
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    for scale, alarm in ((1.0, False), (0.8, False), (0.4, True)):
        cas = scale * np.array(flight["cas_mps"])
        assert any("lifted off" in s for s in misfits(_with(flight, "cas_mps", cas), plane)) is alarm, scale


def test_level_far_from_the_speed_that_goes_with_the_rpm_is_an_alarm() -> None:
    flight, plane = _flight("2025-09-16_commercial.csv.gz", "larkmoor_155")
    for scale, alarm in ((0.95, False), (1.05, False), (1.4, True), (0.7, True)):
        cas = scale * np.array(flight["cas_mps"])
        assert any("level at" in s for s in misfits(_with(flight, "cas_mps", cas), plane)) is alarm, scale


def test_nothing_is_said_without_an_airplane() -> None:
    flight, _ = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    assert misfits(flight, None) == ()


def _new(flight, plane) -> list[str]:
    return list(beyond_model(flight, plane))


def test_the_fuel_flow_of_a_takeoff_s_climb_is_the_engine_s_whatever_the_load() -> None:
    """The smaller airplane's flight held against the larger one: three quarters of its full-rich flow."""
    assert _new(*_flight("2025-07-08_first_hours.csv.gz", "wrenbrook_108")) == []
    said = _new(*_flight("2025-07-08_first_hours.csv.gz", "larkmoor_155"))
    assert len(said) == 1
    assert "in the climb after takeoff; Larkmoor 155 burns" in said[0]
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    for share, alarm in ((0.85, False), (1.2, False), (0.7, True), (1.35, True)):  # leaned; a meter that reads high
        flow = _with(flight, "fuel_flow_m3ps", share * np.array(flight["fuel_flow_m3ps"]))
        assert any("after takeoff" in s for s in _new(flow, plane)) is alarm, share


def test_more_rpm_than_full_throttle_gives_and_far_less_after_a_takeoff_are_alarms() -> None:
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    for share, words in (
        (1.03, ""),
        (0.97, ""),
        (1.09, "without descending"),
        (0.86, "RPM in the climb after takeoff"),
    ):
        said = _new(_with(flight, "rpm", share * np.array(flight["rpm"])), plane)
        assert ([words in s for s in said if "RPM" in s] == [True]) is bool(words), (share, said)
        assert bool(said) is bool(words)


def test_a_climb_no_loading_explains_a_height_and_a_slow_flight_beyond_it_are_alarms() -> None:
    flight, plane = _flight("2025-08-14_slow_flight.csv.gz", "larkmoor_155")
    low = float(np.nanmin(flight["altitude_m"]))
    # four times as high in the same time, as a turbine would; half as high, a day of much sink, is none
    for times, alarm in ((4.0, True), (1.2, False)):
        high = low + times * (np.array(flight["altitude_m"]) - low)
        said = _new(_with(flight, "altitude_m", high), plane)
        assert any("light and at full throttle" in s for s in said) is alarm, (times, said)
    for more, alarm in ((7500.0, True), (500.0, False)):
        said = _new(_with(flight, "pressure_altitude_m", np.array(flight["pressure_altitude_m"]) + more), plane)
        assert any("climbs no more" in s for s in said) is alarm, (more, said)
    least = float(np.nanmin(plane.stall_cas_by_notch_mps(0.65 * plane.max_takeoff_mass_kg)))
    level = (flight["agl_m"] > 300.0) & (np.abs(flight["vertical_speed_mps"]) < 1.0)
    for share, alarm in ((0.8, True), (0.95, False)):
        cas = np.where(level, share * least, np.array(flight["cas_mps"]))
        assert any("steady at" in s for s in _new(_with(flight, "cas_mps", cas), plane)) is alarm, share


def test_without_airspeed_or_engine_data_nothing_is_contradicted() -> None:
    flight, plane = _flight("2025-09-18_pattern.gpx", "larkmoor_155")
    assert _new(flight, plane) == []


def test_a_climb_begun_in_the_air_is_no_takeoff_s() -> None:
    """Of two climbs at 2,000 RPM, where full throttle gives 2,400, only the one that leaves the ground is judged."""
    plane = load_airplane("larkmoor_155")
    nothing = np.full(60, np.nan)

    def said(ground: slice) -> list[str]:
        height = np.full(60, 150.0)
        height[ground] = 0.0
        height[30:36] += np.arange(6) * 15.0
        climb = np.where(np.isin(np.arange(60), range(30, 36)), 3.0, 0.0)
        means = SimpleNamespace(height=height, climb=climb, rpm=np.full(60, 2000.0), flow=nothing)
        return list(_takeoffs(means, plane, np.full(60, 2400.0), nothing, nothing))  # type: ignore[arg-type]

    assert [s.split(" RPM")[0] for s in said(slice(20, 30))] == ["2,000"]
    assert said(slice(0, 10)) == []


def test_a_takeoff_is_looked_at_from_half_a_minute_before_to_two_minutes_after() -> None:
    """Off the ground (15 m) at 60 s and up to more than 150 m; a hop to less is none."""
    time = np.arange(0.0, 400.0, 1.0)
    for top_m, seen in ((151.0, 1), (150.0, 0)):
        height = np.interp(time, [60.0, 61.0, 120.0, 400.0], [0.0, 15.0, top_m, top_m])
        flight = SimpleNamespace(time_s=time, get=lambda _, height=height: height)
        found = list(looked_at(flight))  # type: ignore[arg-type]
        assert len(found) == seen
        assert all((time[one].min(), time[one].max()) == (30.0, 180.0) for one in found)
    assert list(looked_at(SimpleNamespace(time_s=time, get=lambda _: None))) == []  # type: ignore[arg-type]


@pytest.mark.parametrize(("seconds", "step_s", "said"), [(60, 1.0, ["7 for 1 min; told"]), (59, 1.0, []),
                                                         (6, 20.0, ["7 for 1 min; told"]), (5, 20.0, [])])  # fmt: skip
def test_what_lasts_a_minute_is_said_and_a_gap_is_no_time(seconds: int, step_s: float, said: list[str]) -> None:
    """A sample counts ten seconds at the most."""
    time = np.arange(200.0) * step_s
    value = np.where(np.arange(200) < 100, 7.0, np.nan)
    beyond = (np.arange(200) >= 20) & (np.arange(200) < 20 + seconds)
    assert list(_say(SimpleNamespace(time_s=time), beyond, value, "{:.0f}", "told")) == said  # type: ignore[arg-type]
