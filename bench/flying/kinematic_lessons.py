"""Whole driven flights from the same plans as the simulator's lessons."""

from __future__ import annotations

import math
import zlib
from dataclasses import replace

import numpy as np

from airwork.units import FT_M
from flying import kinematic_air as air
from flying import kinematic_broken as broken
from flying import kinematic_field as at_field
from flying import kinematic_ground as ground
from flying import kinematic_show as show
from flying.faults import spoil
from flying.flight import Flown
from flying.kinematic import Driver
from flying.kinematic_columns import columns
from flying.plan import (
    CLEARED,
    HEIGHTS,
    LONE_THEME,
    NEGATIVE_THEMES,
    ON_ANY_WAY,
    OTHER_THEMES,
    THEMES,
    Plan,
    draw_plan,
)
from flying.sensors import Sensors, record
from flying.truth import incidental

AIRPLANES = {"larkmoor_155": 1950.0, "wrenbrook_108": 1500.0, "caldmere_200": 2250.0}  # id -> mass [lb]


def draw_kinematic_plan(seed: int, theme: str, make: str = "waves", skill: float | None = None) -> Plan:
    """A plan for the driven flights: other names, other airplanes than a simulator plan of the same seed.

    make : whose hands, and which recorder (`hands`, `faults`). skill : None draws one.
    """
    plan = draw_plan(seed, theme, airplanes=tuple(AIRPLANES), skill=skill)
    name = f"k_{plan.name}" if make == "waves" else f"{make}_{plan.name}"
    return replace(plan, name=name, generator="kinematic", about={**plan.about, "make": make})


def fly(plan: Plan, *, sensors: Sensors | None = None) -> Flown:
    """Drive a plan and hand back truth and recording."""
    make = str(plan.about.get("make", "waves"))
    d = Driver(
        plan.airplane,
        plan.day,
        plan.seed,
        1.0 - plan.skill,
        AIRPLANES[plan.airplane] * (0.95 + 0.05 * plan.payload_share),
        make,
    )
    rng = np.random.default_rng([plan.seed, 8, zlib.crc32(plan.theme.encode())])
    at_field.takeoff(d)
    if plan.theme in (*OTHER_THEMES, *NEGATIVE_THEMES, LONE_THEME):
        _no_training(d, plan, rng)
        _home(d, rng)
        at_field.landing(d)
    else:
        _train(d, plan, rng)
    table = columns(d)
    d.marks += incidental(table, d.marks)
    kept = spoil(record(table, sensors if sensors is not None else Sensors(), plan.seed), make, plan.seed)
    return Flown(
        plan.name,
        "kinematic",
        plan.airplane,
        plan.day,
        d.setting_pa,
        10.0,
        table,
        kept,
        d.marks,
        plan.skill,
        plan.seed,
        {**plan.about, "theme": plan.theme},
    )


def _side(rng: np.random.Generator) -> float:
    return -1.0 if rng.random() < 0.5 else 1.0


def _above(d: Driver, agl_ft: float) -> float:
    return d.day.elevation_m + agl_ft * FT_M


def _train(d: Driver, plan: Plan, rng: np.random.Generator) -> None:
    high, low, patterns = THEMES[plan.theme]
    side = _side(rng)
    if high or low:
        chosen = list(rng.permutation(list(high)))[:7]
        _depart(d, rng, HEIGHTS[chosen[0]] if chosen else 2500.0)
        for name in [*chosen, *list(rng.permutation(list(low)))[:3]]:
            _exercise(d, str(name), rng)
        _home(d, rng)
    else:
        at_field.pattern(d, side)
    for lap in range(patterns):
        if lap == patterns - 1:
            at_field.landing(d)
            return
        if rng.random() < 0.25:
            at_field.go_around(d, float(rng.uniform(12.0, 60.0)))
        else:
            at_field.touch_and_go(d)
        at_field.pattern(d, side)


def _depart(d: Driver, rng: np.random.Generator, agl_ft: float) -> None:
    at_field.climb_out(d, 500.0 * FT_M)
    air.turn(d, d.altitude_m, _side(rng) * float(rng.uniform(0.2, 1.4)), math.radians(18.0))
    air.to_altitude(d, _above(d, agl_ft))
    air.level(d, float(rng.uniform(60.0, 200.0)), d.altitude_m)


def _exercise(d: Driver, name: str, rng: np.random.Generator) -> None:
    lowest = HEIGHTS[name]
    agl_ft = d.agl_m / FT_M
    if lowest < 1500.0 or not lowest - 100.0 < agl_ft < lowest + 2500.0:
        air.to_altitude(d, _above(d, lowest + float(rng.uniform(0.0, 400.0 if lowest > 1500.0 else 60.0))))
    h = round(d.altitude_m / (100.0 * FT_M)) * 100.0 * FT_M if lowest > 1500.0 else d.altitude_m
    air.level(d, float(rng.uniform(12.0, 60.0)), h)
    if name in CLEARED and rng.random() < 0.7:
        air.clearing_turn(d, h, _side(rng))
    if d.time_s > 1500.0 and d.tank == 1 and d.airplane.id != "wrenbrook_108" and rng.random() < 0.6:
        with d.marking("tank_change", {"tank": 2.0}) as mark:
            mark.start_s = d.time_s - 5.0
            d.tank = 2
            air.level(d, 5.0, h)
    side = _side(rng)
    notches = len(d.airplane.flap_deg)
    bank = float(rng.choice([0.0, 0.0, 17.0, -17.0]))
    match name:
        case "steep_turn":
            air.steep_turn(d, h, side)
            if rng.random() < 0.85:
                air.steep_turn(d, h, -side)
        case "slow_flight":
            turns = ((90.0, -90.0), (-60.0, 45.0), (), (150.0,))[int(rng.integers(4))]
            air.slow_flight(d, h, int(rng.integers(0, notches)), turns)
        case "power_off_stall":
            show.power_off_stall(d, h, int(rng.integers(0, notches)), bank)
        case "power_on_stall":
            show.power_on_stall(d, h, bank)
        case "accelerated_stall":
            show.accelerated_stall(d, h, side)
        case "level_turn":
            angle = math.radians(float(rng.choice([90.0, 180.0, 270.0, 360.0])))
            air.level_turn(d, h, side * angle, math.radians(float(rng.uniform(15.0, 32.0))))
        case "straight_and_level":
            air.straight_and_level(d, h, float(rng.uniform(60.0, 150.0)))
        case "climb":
            air.climb(d, h + float(rng.uniform(500.0, 1200.0)) * FT_M)
        case "descent":
            air.descent(d, h - float(rng.uniform(500.0, 1000.0)) * FT_M, float(rng.uniform(2.2, 3.4)))
        case "glide":
            air.glide(d, float(rng.uniform(700.0, 1400.0)) * FT_M)
        case "forward_slip":
            air.forward_slip(d, float(rng.uniform(400.0, 800.0)) * FT_M, side)
        case "steep_spiral":
            show.steep_spiral(d, side)
        case "chandelle":
            show.chandelle(d, h, side)
        case "lazy_eight":
            show.lazy_eight(d, h, side, int(rng.integers(1, 3)))
        case "emergency_descent":
            show.emergency_descent(d, float(rng.uniform(1200.0, 2000.0)) * FT_M, side)
        case "turns_around_point":
            ground.turns_around_point(d, h, side, float(rng.choice([2.0, 2.0, 3.0])))
        case "s_turns":
            ground.s_turns(d, h, side, int(rng.choice([2, 4, 4, 6])))
        case "rectangular_course":
            ground.rectangular_course(d, h, side, int(rng.choice([4, 5, 8])))
        case "eights_on_pylons":
            ground.eights_on_pylons(d, int(rng.integers(1, 3)))


def _home(d: Driver, rng: np.random.Generator) -> None:
    """To the downwind leg by way of a point well outside it."""
    side = _side(rng)
    runway = d.day.runway_heading_rad
    h = _above(d, 1000.0)
    wide = 1500.0 * side
    middle = (900.0 * math.sin(runway) + wide * math.cos(runway), 900.0 * math.cos(runway) - wide * math.sin(runway))
    entry = runway + math.pi + side * math.pi / 4.0
    start = (middle[0] - 4500.0 * math.sin(entry), middle[1] - 4500.0 * math.cos(entry))
    _to_point(d, start, 9000.0)
    air.to_altitude(d, h)
    _to_point(d, start, 900.0)
    d.drive(
        lambda: math.hypot(d.east_m - middle[0], d.north_m - middle[1]) < 700.0,
        bank=ground.along_line(d, *middle, entry),
        climb=d.hold(h),
        ias=d.about(air.cruise(d) - 5.0),
        at_most_s=240.0,
    )
    at_field.pattern(d, side, from_upwind=False)


def _to_point(d: Driver, point: tuple[float, float], within_m: float) -> None:
    h = d.altitude_m

    def bank() -> float:
        bearing = math.atan2(point[0] - d.east_m, point[1] - d.north_m)
        return max(-0.35, min(0.35, math.remainder(bearing - ground.track_rad(d), 2.0 * math.pi)))

    d.drive(
        lambda: math.hypot(d.east_m - point[0], d.north_m - point[1]) < within_m,
        bank=bank,
        climb=d.hold(h),
        ias=d.about(air.cruise(d)),
        at_most_s=1800.0,
    )


def _no_training(d: Driver, plan: Plan, rng: np.random.Generator) -> None:
    _depart(d, rng, float(rng.uniform(1500.0, 3500.0)))
    if plan.theme == "cross_country":
        _legs(d, rng, int(rng.integers(3, 6)))
    elif plan.theme == LONE_THEME:
        _legs(d, rng, int(rng.integers(1, 3)))
        _exercise(d, str(rng.choice([name for name in HEIGHTS if name not in ON_ANY_WAY])), rng)
        _legs(d, rng, 1)
    elif plan.theme == "sightseeing":
        for _ in range(int(rng.integers(14, 24))):
            air.turn(
                d,
                d.altitude_m,
                float(rng.normal(0.0, 1.3)),
                math.radians(float(rng.uniform(8.0, 24.0))),
                ias_mps=air.cruise(d) * float(rng.uniform(0.85, 1.03)),
            )
            air.level(d, float(rng.uniform(10.0, 80.0)), d.altitude_m, air.cruise(d) * float(rng.uniform(0.85, 1.03)))
    elif plan.theme == "soaring":
        _soar(d, rng)
    elif plan.theme == "transit":
        _transit(d, rng)
    elif plan.theme == "broken_off":
        broken.several(d, rng)
    else:
        center = (d.east_m + 3000.0, d.north_m + 3000.0)
        for corner in range(int(rng.integers(9, 14))):
            angle, away = math.radians(45.0 * corner), float(rng.uniform(2200.0, 4200.0))
            _to_point(d, (center[0] + away * math.sin(angle), center[1] + away * math.cos(angle)), 900.0)


def _legs(d: Driver, rng: np.random.Generator, count: int) -> None:
    """From place to place, now and then at another height."""
    for _ in range(count):
        course = float(rng.uniform(0.0, 6.2))
        _to_point(d, (d.east_m + 15000.0 * math.sin(course), d.north_m + 15000.0 * math.cos(course)), 1500.0)
        if rng.random() < 0.4:
            air.to_altitude(d, _above(d, float(rng.uniform(2000.0, 5500.0))))


def _soar(d: Driver, rng: np.random.Generator) -> None:
    """Circles in rising air, one way and again another, glides between: what looks like turns, spirals, slow flight."""
    for _ in range(int(rng.integers(4, 8))):
        side, rise, bank = _side(rng), float(rng.uniform(0.5, 3.0)), math.radians(float(rng.uniform(22.0, 47.0)))
        slow = air.speed(d, "best_glide") * float(rng.uniform(0.92, 1.05))
        left = float(rng.uniform(1.5, 9.0)) * 2.0 * math.pi
        d.drive(
            air.turned_by(d, side, left), bank=side * bank,
            climb=lambda rise=rise: rise + 1.2 * d.height_wave(d.time_s), ias=d.about(slow), at_most_s=400.0,
        )  # fmt: skip
        low = d.day.elevation_m + 500.0
        course = float(rng.uniform(0.0, 6.2))
        d.drive(
            lambda low=low: d.height_m < low, bank=d.steer(course), climb=float(rng.uniform(-2.5, -1.0)),
            ias=d.about(slow * float(rng.uniform(1.0, 1.35))), at_most_s=float(rng.uniform(60.0, 240.0)),
        )  # fmt: skip
        if d.height_m < low + 50.0:
            air.to_altitude(d, d.altitude_m + float(rng.uniform(300.0, 700.0)))


def _transit(d: Driver, rng: np.random.Generator) -> None:
    """On the way, playfully: zooms, dives, turns back at much bank, wide orbits, a slow look at something."""
    for _ in range(int(rng.integers(8, 14))):
        air.level(d, float(rng.uniform(20.0, 120.0)), d.altitude_m)
        what, h = str(rng.choice(["zoom", "dive", "back", "orbit", "look", "weave"])), d.altitude_m
        side, fast = _side(rng), air.cruise(d)
        if what == "zoom":
            slow = fast * float(rng.uniform(0.65, 0.85))
            d.drive(float(rng.uniform(6.0, 14.0)), bank=side * 0.2, climb=float(rng.uniform(4.0, 8.0)), ias=slow)
        elif what == "dive":
            d.drive(
                float(rng.uniform(8.0, 25.0)), bank=side * 0.15, climb=-float(rng.uniform(4.0, 8.0)), ias=fast * 1.15
            )
        elif what == "back":
            air.turn(d, h, side * float(rng.uniform(2.4, 3.6)), math.radians(float(rng.uniform(28.0, 50.0))))
        elif what == "orbit":
            air.turn(d, h, side * float(rng.uniform(4.5, 8.0)), math.radians(float(rng.uniform(12.0, 26.0))))
        elif what == "look":
            air.level(d, float(rng.uniform(20.0, 60.0)), h, fast * float(rng.uniform(0.7, 0.9)))
        else:
            for k in range(int(rng.integers(2, 5))):
                air.turn(
                    d,
                    h,
                    side * (-1.0) ** k * float(rng.uniform(0.5, 1.7)),
                    math.radians(float(rng.uniform(15.0, 35.0))),
                )
        air.to_altitude(d, max(h + float(rng.uniform(-200.0, 200.0)), _above(d, 1000.0)))
