"""The simulator wrapper flies, records what it says, and repeats itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from flying.airplanes import C172P
from flying.columns import standard_altitude_m
from flying.pilot import Pilot
from flying.simulator import Simulator
from flying.skill import Skill
from flying.state import Day
from flying.wind import Wind

from airwork.units import FT_M, KT_MPS
from flying import basic


def in_the_air(day: Day, *, skill: float = 1.0, seed: int = 1) -> Pilot:
    sim = Simulator(C172P, day, seed=seed, payload_kg=150.0)
    sim.start_airborne(day.elevation_m + 900.0, 95.0 * KT_MPS, 0.5)
    rng = np.random.default_rng(seed)
    pilot = Pilot(sim, Skill.draw(skill, rng), rng)
    basic.settle(pilot, pilot.altitude_m, 95.0 * KT_MPS)
    sim.recording = True
    return pilot


def test_a_precise_pilot_holds_level_flight_within_fifty_feet() -> None:
    pilot = in_the_air(Day(wind=Wind(math.radians(240.0), 8.0, gust_mps=0.3)))
    pilot.fly(90.0)
    columns = pilot.sim.columns()
    assert np.ptp(columns["indicated_altitude_m"]) < 50.0 * FT_M
    assert np.abs(columns["ias_mps"] - 95.0 * KT_MPS).max() < 6.0 * KT_MPS
    assert np.abs(columns["bank_rad"]).max() < math.radians(6.0)


def test_groundspeed_and_track_are_air_vector_plus_wind() -> None:
    """The recorded wind is the wind the airplane felt: checked against the vector sum."""
    pilot = in_the_air(Day(wind=Wind(math.radians(200.0), 10.0)))
    pilot.fly(20.0)
    c = pilot.sim.columns()
    flat = np.sqrt(c["tas_mps"] ** 2 - c["vertical_speed_mps"] ** 2)
    course = c["heading_rad"] + c["sideslip_rad"]
    np.testing.assert_allclose(c["north_mps"], flat * np.cos(course) + c["wind_north_mps"], atol=0.3)
    np.testing.assert_allclose(c["east_mps"], flat * np.sin(course) + c["wind_east_mps"], atol=0.3)


def test_the_altimeter_reads_the_elevation_on_the_field() -> None:
    day = Day(elevation_m=900.0, isa_deviation_k=15.0, sea_level_pressure_pa=100400.0)
    sim = Simulator(C172P, day)
    sim.start_on_runway()
    assert sim.indicated_altitude_m == pytest.approx(900.0, abs=3.0)


def test_standard_altitude_published() -> None:
    """ISO 2533 / U.S. Standard Atmosphere 1976 tables: 5000 m is 54 019.9 Pa, 1000 m is 89 874.6 Pa. [M]"""
    assert standard_altitude_m(54019.9) == pytest.approx(5000.0, abs=0.5)
    assert standard_altitude_m(89874.6) == pytest.approx(1000.0, abs=0.5)


def test_the_same_seed_flies_the_same_flight_and_another_seed_does_not() -> None:
    day = Day(wind=Wind(math.radians(240.0), 8.0, gust_mps=0.8))
    flights = []
    for seed in (3, 3, 4):
        pilot = in_the_air(day, skill=0.4, seed=seed)
        basic.turn_level(pilot, math.pi / 2.0, math.radians(30.0))
        flights.append(pilot.sim.columns()["bank_rad"])
    np.testing.assert_array_equal(flights[0], flights[1])
    assert flights[0].size != flights[2].size or not np.array_equal(flights[0], flights[2])


def test_only_the_tank_selected_runs_down() -> None:
    pilot = in_the_air(Day())
    pilot.sim.select_tank(2)
    pilot.fly(60.0)
    c = pilot.sim.columns()
    assert c["fuel_left_kg"][-1] == pytest.approx(c["fuel_left_kg"][0], abs=0.02)
    assert c["fuel_right_kg"][0] - c["fuel_right_kg"][-1] > 0.1
