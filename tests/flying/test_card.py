"""A number from the card, flown: the RPM airwork gives for level flight holds level in the simulator.

Independent of airwork's fit: the simulator integrates the equations of motion with the airplane's true drag and
propeller; airwork has only the handbook tables.
"""

from __future__ import annotations

import numpy as np
import pytest
from flying.airplanes import LARKMOOR_155
from flying.invented import FILES
from flying.invented_flight import InventedSimulator
from flying.pilot import Pilot
from flying.skill import Skill
from flying.state import Day

from airwork.airplane import load_airplane
from airwork.airplane.performance import Condition, performance
from airwork.airplane.performance.level import level_flight
from airwork.units import FPM_MPS, FT_M, KT_MPS

CASES = [(0, 90.0), (0, 60.0), (3, 48.0)]  # flap notch, indicated airspeed [kt]


@pytest.mark.parametrize(("notch", "kias"), CASES)
def test_the_rpm_for_level_flight_holds_level(notch: int, kias: float) -> None:
    """Within 60 ft/min of level: about what the stated 90 % band (26 to 33 rpm) costs at these speeds."""
    day = Day(elevation_m=1000.0, isa_deviation_k=8.0)
    sim = InventedSimulator(LARKMOOR_155, day, payload_kg=160.0, fuel_kg=90.0)
    sim.start_airborne(6500.0 * FT_M, 90.0 * KT_MPS, 0.5)
    pilot = Pilot(sim, Skill.draw(1.0, np.random.default_rng(2)), np.random.default_rng(2))
    pilot.biases = False
    pilot.level(ias_mps=kias * KT_MPS, power="fixed")
    pilot.throttle = 0.4
    pilot.fly_until(lambda: pilot.state.ias_mps < max(kias + 4.0, 80.0) * KT_MPS, at_most_s=40.0)
    sim.set_flaps(notch)
    pilot.fly_until(lambda: pilot.state.ias_mps < (kias + 2.0) * KT_MPS, at_most_s=60.0)

    airplane = load_airplane(FILES / "larkmoor_155.toml")
    mass_kg = sim.fdm["inertia/weight-lbs"] * 0.45359237
    density = sim.density_kgpm3()
    air = Condition(mass_kg, sim.indicated_altitude_m, sim.state.pressure_pa / (287.05287 * density), notch)
    asked = level_flight(performance(airplane), airplane.cas_from_ias_mps(kias * KT_MPS, notch), air)
    pilot.by_speed(kias * KT_MPS, pilot.throttle, heading_rad=0.5)
    for _ in range(60):
        pilot.fly(1.0)
        pilot.throttle += (float(asked.rpm) - pilot.state.rpm) * 0.0004
    start_s, start_m = pilot.time_s, pilot.state.altitude_m
    pilot.fly(60.0)
    climb_mps = (pilot.state.altitude_m - start_m) / (pilot.time_s - start_s)
    assert pilot.state.rpm == pytest.approx(float(asked.rpm), abs=25.0)
    assert abs(climb_mps) < 60.0 * FPM_MPS, f"{climb_mps / FPM_MPS:.0f} ft/min at {float(asked.rpm):.0f} rpm"
