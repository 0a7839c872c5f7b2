"""Speeds as on this dial and power settings for the card: today's weight, today's air."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress

from airwork import units
from airwork.airplane import Airplane
from airwork.airplane.performance import Condition
from airwork.airplane.performance.level import level_flight
from airwork.errors import AirworkError, NotPossible
from airwork.lesson.briefing import PowerLine, SpeedLine
from airwork.lesson.cruise import flow_at
from airwork.lesson.legs import Leg, Planner

# The card's speeds in the order they are wanted in flight: (name on the card, name in the airplane).
SPEEDS = (
    ("stall, flaps up", "stall_flaps_up"),
    ("stall, full flaps", "stall_flaps_full"),
    ("best angle", "best_angle_of_climb"),
    ("best rate", "best_rate_of_climb"),
    ("best glide", "best_glide"),
    ("maneuvering", "maneuvering"),
    ("approach, full flaps", "approach_flaps_full"),
)
PATTERN_STALLS = 1.7  # level in the pattern: clear of the stall with room for a 30° turn (common practice)


def speed_lines(airplane: Airplane, mass_kg: float, density_altitude_m: float) -> tuple[SpeedLine, ...]:
    """The V-speeds for today's weight, indicated; what the airplane file can't answer is left out."""
    out = []
    for name, key in SPEEDS:
        try:
            answer = airplane.speed_answer(key, mass_kg, density_altitude_m)
            ias = airplane.ias_from_cas_mps(answer.value, airplane.speed_notch(key))
        except AirworkError:
            continue
        out.append(_line(airplane, name, ias, answer.how, answer.source))
    for notch in airplane.flap_notches:
        if notch.notch > 0 and notch.max_ias_mps is not None:
            words = f"flaps {notch.name or notch.notch}"
            out.append(_line(airplane, f"{words} at most", notch.max_ias_mps, "handbook table", "airplane file, flaps"))
    top = airplane.limits.never_exceed_ias_mps
    if top is not None:
        out.append(_line(airplane, "never exceed", top, "handbook table", "airplane file, limitations"))
    return tuple(out)


def _line(airplane: Airplane, name: str, ias_mps: float, how: str, source: str) -> SpeedLine:
    short = f"{units.to_unit(ias_mps, airplane.dial_unit):.0f}"
    return SpeedLine(name, ias_mps, airplane.dial(ias_mps), short, how, source)


def power_lines(planner: Planner, legs: Sequence[Leg]) -> tuple[PowerLine, ...]:
    """Cruise at the height of the lesson, and level in the pattern."""
    out = []
    high = max(max(leg.altitude_from_m, leg.altitude_to_m) for leg in legs)
    with suppress(AirworkError):
        c = planner.cruise(high, planner.mass_kg)
        power = c.power_ratio, c.fuel_flow_m3ps, c.mixture, c.note
        out.append(PowerLine("cruise", c.ias_mps, high, c.rpm, c.rpm_90, c.manifold_pressure_pa, *power))
    with suppress(AirworkError):
        out.append(_pattern(planner))
    return tuple(out)


def _pattern(planner: Planner) -> PowerLine:
    airplane, air, altitude = planner.airplane, planner.air, planner.pattern_m
    cas = PATTERN_STALLS * float(airplane.stall_cas_mps(planner.mass_kg))
    pressure_altitude, temperature = float(air.pressure_altitude_m(altitude)), float(air.temperature_at_k(altitude))
    level = level_flight(planner.performance, cas, Condition(planner.mass_kg, pressure_altitude, temperature))
    if not bool(level.possible):
        raise NotPossible("No level flight at that speed in the pattern today.")
    ratio, rpm, spread = (float(v) for v in (level.power_ratio, level.rpm, level.rpm_90))
    pressure = None if airplane.fixed_pitch else float(level.manifold_pressure_pa)
    flow = flow_at(airplane, ratio, "full_rich")
    ias = float(airplane.ias_from_cas_mps(cas))
    return PowerLine("pattern, level", ias, altitude, rpm, spread, pressure, ratio, flow, "full_rich")
