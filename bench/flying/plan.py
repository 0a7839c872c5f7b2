"""What a flight is made from, and how one is drawn from a seed. Both generators fly the same kind of plan."""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass, field

import numpy as np
from pygeomag import GeoMag

from airwork.units import KT_MPS
from flying.state import Day
from flying.wind import Wind

FIRST_DAY_S = 1_777_593_600.0  # 2026-05-01 00:00 UTC


@dataclass(frozen=True, slots=True)
class Plan:
    """What a flight is made from; the same plan always gives the same flight."""

    name: str
    theme: str
    airplane: str
    skill: float
    day: Day
    seed: int
    payload_share: float = 1.0
    area_m: float = 9000.0
    generator: str = "jsbsim"  # or "kinematic"
    about: dict[str, object] = field(default_factory=dict)


# Lowest start of each exercise, feet above the ground.
HEIGHTS: dict[str, float] = {
    "steep_turn": 2500.0,
    "slow_flight": 2500.0,
    "power_off_stall": 3500.0,
    "power_on_stall": 3000.0,
    "accelerated_stall": 3800.0,
    "level_turn": 2000.0,
    "straight_and_level": 2000.0,
    "climb": 2000.0,
    "descent": 2800.0,
    "glide": 3200.0,
    "forward_slip": 3000.0,
    "steep_spiral": 5200.0,
    "chandelle": 2500.0,
    "lazy_eight": 2800.0,
    "emergency_descent": 4000.0,
    "turns_around_point": 850.0,
    "s_turns": 850.0,
    "rectangular_course": 850.0,
    "eights_on_pylons": 800.0,
}
LOW = tuple(name for name, height in HEIGHTS.items() if height < 1500.0)
HIGH = tuple(name for name in HEIGHTS if name not in LOW)
CLEARED = {"steep_turn", "slow_flight", "power_off_stall", "power_on_stall", "accelerated_stall", "chandelle",
           "lazy_eight", "steep_spiral"}  # fmt: skip

THEMES: dict[str, tuple[tuple[str, ...], tuple[str, ...], int]] = {
    # theme: high exercises to draw from, low ones, full patterns at the end
    "first_hours": (
        ("straight_and_level", "level_turn", "climb", "descent", "level_turn", "glide", "straight_and_level"), (), 1,
    ),
    "stalls": (
        ("slow_flight", "power_off_stall", "power_on_stall", "slow_flight", "steep_turn", "power_off_stall"), (), 1,
    ),
    "ground_reference": (
        ("level_turn", "slow_flight"), ("turns_around_point", "s_turns", "rectangular_course"), 1,
    ),
    "private_test": (
        ("steep_turn", "slow_flight", "power_off_stall", "power_on_stall", "emergency_descent", "forward_slip"),
        ("turns_around_point", "s_turns"), 2,
    ),
    "commercial": (
        ("steep_turn", "chandelle", "lazy_eight", "steep_spiral", "accelerated_stall", "chandelle", "slow_flight",
         "lazy_eight"), ("eights_on_pylons",), 1,
    ),
    "pattern": ((), (), 6),
    "mixed": (HIGH, LOW, 2),
}  # fmt: skip
TRAINING_THEMES = tuple(THEMES)
OTHER_THEMES = ("cross_country", "sightseeing", "lake")
NEGATIVE_THEMES = ("soaring", "transit", "broken_off")  # nothing is practiced whole; by the driven makes alone
LONE_THEME = "one_exercise"  # a trip with a single exercise on the way; by the driven makes alone
ON_ANY_WAY = {"level_turn", "straight_and_level", "climb", "descent"}  # alone on a trip nobody can tell them from it


def variation_rad(latitude_deg: float, longitude_deg: float) -> float:
    """Magnetic variation in mid-2026 by the World Magnetic Model, east positive. [rad]"""
    found = GeoMag().calculate(glat=latitude_deg, glon=longitude_deg, alt=0.3, time=2026.5)
    return math.radians(float(found.d))


def draw_plan(seed: int, theme: str, *, airplanes: tuple[str, ...] = ("c172p",), skill: float | None = None) -> Plan:
    """A plan from a seed: airplane, wind 0 to 25 kt, gusts, temperature, pressure, elevation, skill."""
    rng = np.random.default_rng([seed, 4, zlib.crc32(theme.encode())])
    airplane = str(rng.choice(list(airplanes)))
    speed_kt = float(rng.choice([0.0, rng.uniform(3.0, 12.0), rng.uniform(8.0, 18.0), rng.uniform(15.0, 25.0)]))
    rough = float(rng.uniform(0.0, 1.0)) * (0.15 + speed_kt / 25.0)
    wind_from = float(rng.uniform(0.0, 2.0 * math.pi))
    wind = Wind(
        from_rad=wind_from, speed_mps=speed_kt * KT_MPS, veer_rad_per_km=float(rng.uniform(0.0, 0.25)),
        growth_per_km=float(rng.uniform(0.0, 0.2)), gust_mps=0.9 * rough, thermal_mps=0.7 * rough * float(rng.random()),
    )  # fmt: skip
    off_rad = math.radians(float(rng.uniform(-25.0, 25.0)))  # the runway in use lies roughly into the wind
    south = rng.random() < 0.2
    latitude_deg = float(rng.uniform(-42.0, -20.0) if south else rng.uniform(30.0, 52.0))
    longitude_deg = float(rng.uniform(116.0, 176.0) if south else rng.uniform(-120.0, 20.0))
    days, local_h = int(rng.integers(0, 120)), float(rng.uniform(7.5, 17.0))
    day = Day(
        wind=wind, isa_deviation_k=float(rng.uniform(-10.0, 20.0)),
        sea_level_pressure_pa=float(rng.uniform(100000.0, 102800.0)),
        elevation_m=float(rng.choice([10.0, 250.0, 600.0, 950.0])),
        latitude_rad=math.radians(latitude_deg), longitude_rad=math.radians(longitude_deg),
        runway_heading_rad=(wind_from + off_rad) % (2 * math.pi),
        variation_rad=variation_rad(latitude_deg, longitude_deg),
        start_utc_s=math.floor(FIRST_DAY_S + 86400.0 * days + 3600.0 * (local_h - longitude_deg / 15.0)),
    )  # fmt: skip
    level = float(rng.uniform(0.05, 1.0)) if skill is None else skill
    return Plan(
        f"{theme}_{seed:03d}", theme, airplane, round(level, 3), day, seed, float(rng.uniform(0.5, 1.1)),
        about={"wind_kt": round(speed_kt, 1)},
    )  # fmt: skip
