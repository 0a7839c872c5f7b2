"""Whole flights: lessons of several themes and flights without any training, all drawn from a seed."""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable

import numpy as np

from airwork.units import FT_M
from flying import basic, ground_reference, journey, pattern, performance, stalls
from flying.airplanes import MODELS
from flying.flight import Flown
from flying.ground import Point, field_of, moved
from flying.invented_flight import InventedSimulator
from flying.pilot import Pilot
from flying.plan import CLEARED, HEIGHTS, OTHER_THEMES, THEMES, Plan
from flying.sensors import Sensors, record
from flying.simulator import Crashed, Simulator
from flying.skill import Skill
from flying.truth import incidental


def _height(p: Pilot, agl_ft: float) -> float:
    return p.sim.day.elevation_m + agl_ft * FT_M


# --- exercises ---------------------------------------------------------------------------------------------------

Exercise = Callable[[Pilot, np.random.Generator], None]


def _side(rng: np.random.Generator) -> float:
    return -1.0 if rng.random() < 0.5 else 1.0


def _sized(p: Pilot, rng: np.random.Generator, low_m: float, high_m: float) -> float:
    """A size on the ground that suits the airplane's speed: as drawn at 90 kt, smaller for slower airplanes."""
    return float(rng.uniform(low_m, high_m)) * min(1.0, (p.sim.model.maneuvering_mps / 46.3) ** 2)


def _steep_pair(p: Pilot, rng: np.random.Generator) -> None:
    side = _side(rng)
    bank = 50.0 if rng.random() < 0.25 else 45.0
    performance.steep_turn(p, side, bank_deg=bank)
    if rng.random() < 0.85:
        p.fly(float(rng.uniform(0.0, 25.0)))
        performance.steep_turn(p, -side, bank_deg=bank)


def _slow(p: Pilot, rng: np.random.Generator) -> None:
    notches = len(p.sim.model.flap_deg)
    turns = ((90.0, -90.0), (-45.0, 60.0), (), (120.0,))[int(rng.integers(4))]
    notch = int(rng.integers(0, min(notches, 3)))
    basic.slow_flight(p, notch=notch, straight_s=float(rng.uniform(18.0, 40.0)), turns_deg=turns)


def _power_off(p: Pilot, rng: np.random.Generator) -> None:
    notch = int(rng.integers(0, len(p.sim.model.flap_deg)))
    stalls.power_off_stall(p, notch=notch, bank_deg=float(rng.choice([0.0, 0.0, 18.0, -18.0])))


def _power_on(p: Pilot, rng: np.random.Generator) -> None:
    stalls.power_on_stall(
        p, bank_deg=float(rng.choice([0.0, 0.0, 15.0, -15.0])), throttle=float(rng.uniform(0.75, 1.0))
    )


def _accelerated(p: Pilot, rng: np.random.Generator) -> None:
    stalls.accelerated_stall(p, _side(rng))


def _clearing(p: Pilot, rng: np.random.Generator) -> None:
    basic.clearing_turn(p, first=_side(rng), halves=bool(rng.random() < 0.75), bank_deg=float(rng.uniform(22.0, 32.0)))


def _level_turn(p: Pilot, rng: np.random.Generator) -> None:
    turn = _side(rng) * math.radians(float(rng.choice([90.0, 180.0, 270.0, 360.0])))
    basic.turn_level(p, turn, math.radians(float(rng.uniform(15.0, 32.0))))


def _straight(p: Pilot, rng: np.random.Generator) -> None:
    basic.straight_and_level(p, float(rng.uniform(60.0, 150.0)))


def _climb(p: Pilot, rng: np.random.Generator) -> None:
    basic.climb_to(p, p.altitude_m + float(rng.uniform(500.0, 1000.0)) * FT_M)


def _descent(p: Pilot, rng: np.random.Generator) -> None:
    basic.descend_to(p, p.altitude_m - float(rng.uniform(500.0, 1000.0)) * FT_M, sink_mps=float(rng.uniform(2.2, 3.2)))


def _glide(p: Pilot, rng: np.random.Generator) -> None:
    basic.glide(p, float(rng.uniform(800.0, 1400.0)) * FT_M, turn_deg=float(rng.choice([0.0, 90.0, -90.0])))


def _slip(p: Pilot, rng: np.random.Generator) -> None:
    basic.forward_slip(p, float(rng.uniform(350.0, 600.0)) * FT_M, direction=_side(rng))


def _spiral(p: Pilot, rng: np.random.Generator) -> None:
    performance.steep_spiral(p, _side(rng))


def _chandelle(p: Pilot, rng: np.random.Generator) -> None:
    performance.chandelle(p, _side(rng))


def _lazy(p: Pilot, rng: np.random.Generator) -> None:
    performance.lazy_eight(p, _side(rng), loops=int(rng.integers(1, 3)))


def _emergency(p: Pilot, rng: np.random.Generator) -> None:
    performance.emergency_descent(p, float(rng.uniform(1200.0, 1900.0)) * FT_M, _side(rng))


def _point(p: Pilot, rng: np.random.Generator) -> None:
    ground_reference.turns_around_point(
        p, _side(rng), turns=float(rng.choice([2.0, 2.0, 3.0])), radius_m=_sized(p, rng, 400.0, 620.0)
    )


def _s_turns(p: Pilot, rng: np.random.Generator) -> None:
    ground_reference.s_turns(p, _side(rng), halves=int(rng.choice([2, 4, 4, 6])), radius_m=_sized(p, rng, 520.0, 700.0))


def _rectangle(p: Pilot, rng: np.random.Generator) -> None:
    ground_reference.rectangular_course(
        p, _side(rng), long_m=_sized(p, rng, 2000.0, 2800.0), legs=int(rng.choice([4, 5, 8]))
    )


def _pylons(p: Pilot, rng: np.random.Generator) -> None:
    ground_reference.eights_on_pylons(p, eights=int(rng.integers(1, 3)))


EXERCISES: dict[str, Exercise] = {
    "steep_turn": _steep_pair, "slow_flight": _slow, "power_off_stall": _power_off,
    "power_on_stall": _power_on, "accelerated_stall": _accelerated,
    "level_turn": _level_turn, "straight_and_level": _straight, "climb": _climb,
    "descent": _descent, "glide": _glide, "forward_slip": _slip,
    "steep_spiral": _spiral, "chandelle": _chandelle, "lazy_eight": _lazy,
    "emergency_descent": _emergency,
    "turns_around_point": _point, "s_turns": _s_turns, "rectangular_course": _rectangle,
    "eights_on_pylons": _pylons,
}  # fmt: skip


def begin(plan: Plan, *, record_hz: float = 10.0, attempt: int = 0, fuel_kg: float | None = None) -> Pilot:
    """A pilot ready to go: on the runway, or settled in the air for airplanes flown from there only."""
    model = MODELS[plan.airplane]
    rng = np.random.default_rng([plan.seed, 5 + 100 * attempt, zlib.crc32(plan.theme.encode())])
    kind = InventedSimulator if model.invented else Simulator
    payload_kg = model.payload_kg * plan.payload_share
    sim = kind(
        model, plan.day, seed=plan.seed + 5000 * attempt, payload_kg=payload_kg, fuel_kg=fuel_kg, record_hz=record_hz
    )
    skill = Skill.draw(plan.skill, rng)
    if model.from_runway:
        sim.start_on_runway()
        return Pilot(sim, skill, rng)
    sim.start_airborne(plan.day.elevation_m + 900.0, model.maneuvering_mps, float(rng.uniform(0.0, 6.2)))
    p = Pilot(sim, skill, rng)
    basic.settle(p, p.altitude_m, model.maneuvering_mps)
    sim.recording = True
    return p


def finish(p: Pilot, plan: Plan, *, sensors: Sensors | None = None) -> Flown:
    """What was flown: truth and recording."""
    columns = p.sim.columns()
    p.marks += incidental(columns, p.marks)
    kept = record(columns, sensors if sensors is not None else Sensors(), plan.seed)
    return Flown(
        plan.name, "jsbsim", plan.airplane, plan.day, p.sim.setting_pa, p.sim.record_hz, columns, kept, p.marks,
        plan.skill, plan.seed, {**plan.about, "theme": plan.theme},
    )  # fmt: skip


def fly(plan: Plan, *, sensors: Sensors | None = None, record_hz: float = 10.0) -> Flown:
    """Fly a plan and hand back truth and recording. A flight that ends in a crash is flown again, by another hand."""
    for attempt in range(4):
        try:
            return finish(_fly_once(plan, record_hz, attempt), plan, sensors=sensors)
        except Crashed:
            continue
    raise Crashed(f"{plan.name}: four times")


def _fly_once(plan: Plan, record_hz: float, attempt: int) -> Pilot:
    p = begin(plan, record_hz=record_hz, attempt=attempt)
    choose = np.random.default_rng([plan.seed, 6, zlib.crc32(plan.theme.encode())])
    model = p.sim.model
    if model.tank_count == 2 and (choose.random() < 0.6 or not model.selector_both):
        p.sim.select_tank(1)
    if plan.theme in OTHER_THEMES:
        _no_training(p, plan, choose)
    else:
        _train(p, plan, choose)
    return p


def _train(p: Pilot, plan: Plan, rng: np.random.Generator) -> None:
    high, low, patterns = THEMES[plan.theme]
    side = _side(rng)
    center = moved((0.0, 0.0), float(rng.uniform(0.0, 2.0 * math.pi)), float(rng.uniform(7000.0, 14000.0)))
    if p.sim.model.from_runway:
        pattern.takeoff(p)
    if high or low:
        chosen = list(rng.permutation(list(high)))[: 7 if plan.theme != "mixed" else 6]
        _to_the_area(p, center, _height(p, HEIGHTS[chosen[0]] if chosen else 2500.0))
        for name in chosen:
            _exercise(p, name, center, plan, rng)
        wanted = list(rng.permutation(list(low)))[:3]
        for name in wanted:
            _exercise(p, name, center, plan, rng)
        if not p.sim.model.from_runway:
            return
        journey.home(p, side=side)
    elif p.sim.model.from_runway:
        pattern.fly_pattern(p, side=side)
    else:
        raise ValueError(f"{p.sim.model.name} flies from and to the air only: no {plan.theme} flight")
    for lap in range(patterns):
        last = lap == patterns - 1
        if last:
            pattern.landing(p)
        else:
            if rng.random() < 0.22:
                pattern.go_around(p, at_height_m=float(rng.uniform(15.0, 70.0)))
            else:
                pattern.touch_and_go(p)
            pattern.fly_pattern(p, side=side)


def _to_the_area(p: Pilot, center: Point, altitude_m: float) -> None:
    place = field_of(p)
    if p.sim.model.from_runway:
        pattern.depart(p, altitude_m, journey.bearing_rad(place.here(p), center))
    else:
        journey.to_altitude(p, altitude_m)
    journey.fly_to(p, center, within_m=4000.0)


def _exercise(p: Pilot, name: str, center: Point, plan: Plan, rng: np.random.Generator) -> None:
    lowest_ft, what = HEIGHTS[name], EXERCISES[name]
    journey.back_to_area(p, center, plan.area_m)
    low = lowest_ft < 1500.0
    now_ft = (p.sim.indicated_altitude_m - p.sim.day.elevation_m) / FT_M
    if low or now_ft < lowest_ft - 100.0 or now_ft > lowest_ft + 2500.0:
        wanted_ft = lowest_ft + float(rng.uniform(0.0, 100.0 if low else 600.0))
        journey.to_altitude(p, _height(p, round(wanted_ft / 100.0) * 100.0))
    p.level(altitude_m=p.altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.state.heading_rad)
    p.power_for(p.sim.model.maneuvering_mps)
    p.fly(float(rng.uniform(8.0, 30.0)))
    if name in CLEARED and rng.random() < 0.75:
        _clearing(p, rng)
    if p.sim.tank == 1 and p.time_s > 1500.0 and p.sim.model.name != "wrenbrook_108" and rng.random() < 0.6:
        basic.tank_change(p, 2)
    what(p, rng)


# --- flights without training ------------------------------------------------------------------------------------


def _no_training(p: Pilot, plan: Plan, rng: np.random.Generator) -> None:
    p.busy_less()
    side = _side(rng)
    if p.sim.model.from_runway:
        pattern.takeoff(p)
        pattern.depart(p, _height(p, float(rng.uniform(1500.0, 3500.0))), float(rng.uniform(0.0, 2.0 * math.pi)))
    p.heading_bank_limit_rad = math.radians(18.0)
    {"cross_country": _cross_country, "sightseeing": _sightseeing, "lake": _lake}[plan.theme](p, rng)
    if p.sim.model.from_runway:
        journey.home(p, side=side)
        pattern.landing(p)


def _cross_country(p: Pilot, rng: np.random.Generator) -> None:
    """Three or four legs with changes of heading and level, cruise speed."""
    here = field_of(p).here(p)
    course = float(rng.uniform(0.0, 2.0 * math.pi))
    for leg in range(int(rng.integers(3, 5))):
        if leg and rng.random() < 0.5:
            journey.to_altitude(p, _height(p, float(rng.uniform(2000.0, 5500.0))))
        p.ias_mps = p.sim.model.cruise_mps
        p.power_for(p.ias_mps)
        here = moved(here, course, float(rng.uniform(12000.0, 22000.0)))
        journey.fly_to(p, here)
        course += math.radians(float(rng.uniform(40.0, 120.0)))


def _sightseeing(p: Pilot, rng: np.random.Generator) -> None:
    """Wandering about at gentle banks, circling now and then, speed and height never quite the same."""
    place = field_of(p)
    for _ in range(int(rng.integers(14, 24))):
        p.ias_mps = p.sim.model.maneuvering_mps * float(rng.uniform(0.82, 1.03))
        p.power_for(p.ias_mps)
        p.altitude_m = min(max(p.altitude_m + float(rng.normal(0.0, 60.0)), _height(p, 1200.0)), _height(p, 3500.0))
        turn = math.radians(float(rng.normal(0.0, 70.0)))
        if abs(turn) > 0.15:
            p.turn(turn, math.radians(float(rng.uniform(8.0, 24.0))))
        p.fly(float(rng.uniform(15.0, 80.0)))
        if journey.distance_m(place.here(p), (0.0, 0.0)) > 20000.0:
            journey.fly_to(p, (0.0, 0.0), within_m=12000.0)


def _lake(p: Pilot, rng: np.random.Generator) -> None:
    """Once and a half round a lake, wide and uneven, then along its shore."""
    center = moved(field_of(p).here(p), p.state.heading_rad, 6000.0, 2500.0)
    side = _side(rng)
    for corner in range(int(rng.integers(9, 14))):
        point = moved(center, side * math.radians(45.0 * corner), float(rng.uniform(2200.0, 4200.0)))
        p.altitude_m = _height(p, float(rng.uniform(1400.0, 1800.0)))
        journey.fly_to(p, point, within_m=900.0, at_most_s=300.0)
