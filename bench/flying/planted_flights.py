"""Whole flights of planted exercises, in the air from the first sample to the last, drawn from a seed."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from airwork.units import FT_M
from flying import basic, journey, planted
from flying.airplanes import MODELS
from flying.flight import Flown
from flying.invented_flight import InventedSimulator
from flying.lessons import finish
from flying.plan import HEIGHTS, Plan, draw_plan
from flying.planted import FAULTS, Scripted, precise
from flying.simulator import Crashed, Simulator
from flying.skill import Skill

AIRPLANES = ("c172p", "larkmoor_155", "wrenbrook_108", "j3cub")
CLEAN_SHARE = 0.35  # of the exercises carry no fault: a reason given there is a false one
SHARES = {"steep_turn": 5, "slow_flight": 5, "climb": 2, "descent": 2, "level_turn": 2, "power_off_stall": 2,
          "power_on_stall": 2, "turns_around_point": 2}  # fmt: skip
EXERCISES = 9


def draw(seed: int) -> Plan:
    """A precise pilot's flight with faults planted in it."""
    plan = draw_plan(seed, "planted", airplanes=AIRPLANES, skill=0.93)
    calm = replace(plan.day.wind, gust_mps=0.5 * plan.day.wind.gust_mps, thermal_mps=0.4 * plan.day.wind.thermal_mps)
    return replace(plan, name=f"planted_{seed}", day=replace(plan.day, wind=calm))


def chosen(seed: int) -> list[tuple[str, str]]:
    """What is flown: (kind, fault) in order."""
    rng = np.random.default_rng([seed, 77])
    kinds = list(SHARES)
    weights = np.array([SHARES[k] for k in kinds], dtype=float)
    out = []
    for kind in rng.choice(kinds, EXERCISES, p=weights / weights.sum()):
        fault = "" if rng.random() < CLEAN_SHARE else str(rng.choice(FAULTS[str(kind)]))
        out.append((str(kind), fault))
    return out


def fly(plan: Plan) -> Flown:
    """Fly it; again by another hand when it ends badly."""
    for attempt in range(4):
        try:
            return finish(_fly(plan, attempt), plan)
        except Crashed:
            continue
    raise Crashed(plan.name)


def _fly(plan: Plan, attempt: int) -> Scripted:
    model = MODELS[plan.airplane]
    rng = np.random.default_rng([plan.seed, 78, attempt])
    kind = InventedSimulator if model.invented else Simulator
    sim = kind(model, plan.day, seed=plan.seed + 5000 * attempt, payload_kg=model.payload_kg * plan.payload_share)
    sim.start_airborne(plan.day.elevation_m + 900.0, model.maneuvering_mps, float(rng.uniform(0.0, 6.2)))
    p = Scripted(sim, Skill.draw(plan.skill, rng), rng)
    precise(p)
    basic.settle(p, p.altitude_m, model.maneuvering_mps)
    sim.recording = True
    notch = int(rng.integers(0, min(len(model.flap_deg), 3)))
    for what, fault in chosen(plan.seed):
        _exercise(p, what, fault, rng, notch)
    return p


def _exercise(p: Scripted, kind: str, fault: str, rng: np.random.Generator, notch: int) -> None:
    lowest = HEIGHTS[kind] + (700.0 if kind in ("slow_flight", "descent") else 0.0)
    low = lowest < 1500.0
    now = (p.sim.indicated_altitude_m - p.sim.day.elevation_m) / FT_M
    if low or not lowest - 100.0 < now < lowest + 2000.0:
        wanted = round((lowest + float(rng.uniform(0.0, 100.0 if low else 500.0))) / 100.0) * 100.0
        journey.to_altitude(p, p.sim.day.elevation_m + wanted * FT_M)
    p.level(altitude_m=p.altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.state.heading_rad)
    p.power_for(p.sim.model.maneuvering_mps)
    p.fly_until(
        lambda: abs(p.state.vertical_speed_mps) < 0.4 and abs(p.state.bank_rad) < math.radians(2.0), at_most_s=30.0
    )
    p.fly(float(rng.uniform(12.0, 30.0)))
    side = -1.0 if rng.random() < 0.5 else 1.0
    if kind == "steep_turn":
        first = planted.steep_turn(p, side, fault, rng)
        if rng.random() < 0.5:
            planted.steep_turn(p, -side, "" if rng.random() < 0.6 else fault, rng, first)
    elif kind == "level_turn":
        planted.level_turn(p, side, fault, rng)
    elif kind == "slow_flight":
        planted.slow_flight(p, fault, rng, notch=notch)
    elif kind == "climb":
        planted.climb(p, fault, rng)
    elif kind == "descent":
        planted.descent(p, fault, rng)
    elif kind == "turns_around_point":
        planted.turns_around_point(p, side, fault, rng)
    else:
        planted.stall(p, kind, fault, rng, notch=notch)
