"""The invented airplanes fly as their handbook tables say: the simulator against the printed tables."""

from __future__ import annotations

import math

import numpy as np
import pytest
from flying.airplanes import LARKMOOR_155, WRENBROOK_108, Model
from flying.invented import load
from flying.invented_flight import InventedSimulator
from flying.pilot import Pilot
from flying.skill import Skill
from flying.state import Day

from airwork.units import FT_M, KT_MPS, LB_KG


def flight(model: Model, mass_lb: float, altitude_ft: float, kias: float) -> Pilot:
    empty_lb = load(model.name).file["weight_and_balance"]["empty_weight_lb"]
    day = Day(elevation_m=300.0)  # standard day
    payload_kg = (mass_lb - empty_lb) * LB_KG - 60.0
    sim = InventedSimulator(model, day, payload_kg=payload_kg, fuel_kg=60.0)
    sim.start_airborne(altitude_ft * FT_M, kias * KT_MPS, 0.5)
    pilot = Pilot(sim, Skill.draw(1.0, np.random.default_rng(1)), np.random.default_rng(1))
    pilot.biases = False
    return pilot


def steady_at(pilot: Pilot, rpm: float) -> None:
    """Level flight with the throttle moved until the tachometer shows `rpm`."""
    pilot.level(power="fixed")
    for _ in range(120):
        pilot.fly(1.0)
        pilot.throttle += (rpm - pilot.state.rpm) * 0.0002


CRUISE = [(LARKMOOR_155, 2200), (LARKMOOR_155, 2400), (WRENBROOK_108, 2300)]


@pytest.mark.parametrize(("model", "rpm"), CRUISE, ids=lambda v: getattr(v, "name", v))
def test_level_speed_power_and_fuel_at_an_rpm_are_the_cruise_table_s_published(model: Model, rpm: int) -> None:
    """Source: the airplane file's cruise table, 4000 ft, standard day (invented handbook). Half of the last digit
    printed (0.5 kt, 0.5 %, 0.05 gal/h), doubled for what the pilot still moves."""
    file = load(model.name).file
    table = file["performance"]["cruise"]
    row = next(
        r for r in table["rows"] if (r["pressure_altitude_ft"], r["isa_deviation_c"], r["rpm"]) == (4000, 0, rpm)
    )
    pilot = flight(model, table["weight_lb"], 4000.0, 90.0)
    steady_at(pilot, rpm)
    speeds = []
    for _ in range(600):
        speeds.append(pilot.tick().tas_mps / KT_MPS)
    engine = pilot.sim.engine  # type: ignore[attr-defined]
    assert float(np.mean(speeds)) == pytest.approx(row["ktas"], abs=1.0)
    assert 100.0 * engine.power_hp.value / file["engine"]["rated_power_hp"] == pytest.approx(
        row["percent_power"], abs=1.0
    )
    assert engine.flow_lbps.value * 600.0 == pytest.approx(row["gph_full_rich"], abs=0.1)


def test_full_throttle_climb_is_the_climb_table_s_published() -> None:
    """Source: the airplane file's climb table (invented handbook), 2300 lb, 4000 ft, between the rows for 0 and 20 °C.

    Printed to 5 ft/min; the rows lie 110 ft/min apart and the pilot's speed wanders by a knot: 30 ft/min.
    """
    table = load("larkmoor_155").file["performance"]["climb"]["rows"]
    rows = sorted(
        (r["oat_c"], r["rate_of_climb_fpm"], r["climb_speed_kias"])
        for r in table
        if r["weight_lb"] == 2300 and r["pressure_altitude_ft"] == 4000
    )
    oat, rate, kias = (list(column) for column in zip(*rows, strict=True))
    standard_c = 15.0 - 0.0065 * 4000.0 * FT_M
    pilot = flight(LARKMOOR_155, 2300.0, 3300.0, 80.0)
    pilot.by_speed(kias[0] * KT_MPS, 1.0, heading_rad=0.5)
    pilot.fly_until(lambda: pilot.sim.indicated_altitude_m > 3700.0 * FT_M, at_most_s=120.0)
    start_s, start_m = pilot.time_s, pilot.state.altitude_m
    pilot.fly_until(lambda: pilot.sim.indicated_altitude_m > 4300.0 * FT_M, at_most_s=120.0)
    rate_fpm = (pilot.state.altitude_m - start_m) / FT_M / (pilot.time_s - start_s) * 60.0
    assert rate_fpm == pytest.approx(float(np.interp(standard_c, oat, rate)), abs=30.0)


def test_it_stalls_at_the_handbook_s_speed_published() -> None:
    """Source: the airplane file's stall table, 2000 lb, flaps up, power idle (invented handbook): 50 kcas.

    Taken where the wing gives its most, the load factor of that moment taken out; printed to 1 kt.
    """
    pilot = flight(LARKMOOR_155, 2000.0, 4000.0, 80.0)
    pilot.level(power="fixed")
    pilot.throttle = 0.0
    pilot.fly_until(lambda: pilot.state.ias_mps < 55.0 * KT_MPS, at_most_s=60.0)
    pilot.hold_pitch(pilot.state.pitch_rad)

    def stalled() -> bool:
        pilot.pitch_rad = min(pilot.pitch_rad + math.radians(0.8) / 20.0, 0.5)
        return pilot.state.angle_of_attack_rad > load("larkmoor_155").stall_rad(0) - 0.01

    assert pilot.fly_until(stalled, at_most_s=40.0)
    assert pilot.state.cas_mps / KT_MPS / math.sqrt(pilot.state.load_factor) == pytest.approx(50.0, abs=1.0)
