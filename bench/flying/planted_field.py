"""Circuits by a precise pilot with one fault or none planted in each place: takeoff, pattern, go-around, landing.

Takeoff, pattern, a go-around or a touch-and-go, pattern, landing. The fault is put into the hands or the speed meant;
what was wanted stands in the mark's targets, the fault in its notes.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from airwork.units import FT_M, KT_MPS
from flying import pattern
from flying.airplanes import MODELS
from flying.basic import kt
from flying.flight import Flown
from flying.invented_flight import InventedSimulator
from flying.lessons import finish
from flying.plan import Plan, draw_plan
from flying.planted import Scripted, precise
from flying.simulator import TICK_S, Crashed, Simulator
from flying.skill import Skill
from flying.truth import Mark

DEG = math.radians(1.0)
AIRPLANES = ("c172p", "larkmoor_155", "wrenbrook_108")
CLEAN_SHARE, CLEAN_FLIGHTS = 0.25, 0.15
BASE_M = -1900.0  # so far out that the final is long enough to be stable on by 300 ft
FAULTS: dict[str, tuple[str, ...]] = {
    "takeoff": ("too_fast", "too_slow"),
    "traffic_pattern": ("too_fast", "sagged", "overshot"),
    "go_around": ("too_fast", "too_slow", "sank_on", "flaps_at_once"),
    "touch_and_go": ("too_fast", "too_slow"),
    "landing": ("too_fast", "too_slow", "high", "low", "late_flare", "balloon"),
}


def draw(seed: int) -> Plan:
    """A precise pilot's circuits."""
    plan = draw_plan(seed, "field", airplanes=AIRPLANES, skill=0.95)
    wind = replace(plan.day.wind, gust_mps=0.4 * plan.day.wind.gust_mps, thermal_mps=0.2 * plan.day.wind.thermal_mps,
                   speed_mps=min(plan.day.wind.speed_mps, 8.0))  # fmt: skip
    return replace(plan, name=f"field_{seed}", day=replace(plan.day, wind=wind))


def chosen(seed: int) -> list[tuple[str, str, float]]:
    """What is flown, place by place: (kind, fault or "", size 0 to 1)."""
    rng = np.random.default_rng([seed, 79])
    clean = rng.random() < CLEAN_FLIGHTS
    middle = "go_around" if rng.random() < 0.6 else "touch_and_go"
    out = []
    for kind in ("takeoff", "traffic_pattern", middle, "traffic_pattern", "landing"):
        planted = not clean and rng.random() > CLEAN_SHARE
        fault = FAULTS[kind][int(rng.integers(len(FAULTS[kind])))] if planted else ""
        out.append((kind, fault, float(rng.uniform(0.0, 1.0))))
    return out


def fly(plan: Plan) -> Flown:
    """Fly it; again by another hand when it ends badly."""
    for attempt in range(5):
        try:
            return finish(_fly(plan, attempt), plan)
        except Crashed:
            continue
    raise Crashed(plan.name)


class Circuit:
    """One flight's pilot, what is wanted (the model as it is) and the fault of the place being flown."""

    def __init__(self, p: Scripted) -> None:
        self.p, self.kind, self.fault, self.size = p, "", "", 0.0
        self.model = p.sim.model
        self.start = (0.0, 0.0)  # of the takeoff run; latitude, longitude [rad]

    def has(self, kind: str, fault: str) -> bool:
        return (kind, fault) == (self.kind, self.fault)

    def meant(self, **speeds: float) -> None:
        """Other speeds or another path in mind than those wanted; none: those wanted."""
        self.p.sim.model = replace(self.model, **speeds)

    def note(self, since: int, **targets: float) -> Mark:
        """Write what was wanted and what was planted into the last mark of this place's kind since then."""
        mark = next(m for m in reversed(self.p.marks[since:]) if m.kind == self.kind)
        mark.targets.update(targets)
        mark.notes |= {"fault": self.fault, "size": round(self.size, 3), "parts": [],
                       "fault_s": (mark.start_s, mark.end_s)}  # fmt: skip
        return mark


def _fly(plan: Plan, attempt: int) -> Scripted:
    model = MODELS[plan.airplane]
    rng = np.random.default_rng([plan.seed, 80, attempt])
    maker = InventedSimulator if model.invented else Simulator
    sim = maker(model, plan.day, seed=plan.seed + 5000 * attempt, payload_kg=model.payload_kg * plan.payload_share)
    sim.start_on_runway()
    p = Scripted(sim, Skill.draw(plan.skill, rng), rng)
    precise(p)
    c = Circuit(p)
    side = -1.0 if rng.random() < 0.7 else 1.0
    places = {"takeoff": _takeoff, "traffic_pattern": lambda c: _pattern(c, side), "go_around": _go_around,
              "touch_and_go": _touch_and_go, "landing": _landing}  # fmt: skip
    for c.kind, c.fault, c.size in chosen(plan.seed):
        places[c.kind](c)
    return p


def _touch_and_go(c: Circuit) -> None:
    since = len(c.p.marks)
    _approach(c)
    pattern.final(c.p, until_m=pattern.EDGE_M)
    pattern.touch_and_go(c.p)
    c.meant()
    c.note(since, ias_kt=kt(c.model.approach_mps))


def _takeoff(c: Circuit) -> None:
    p, since = c.p, len(c.p.marks)
    off = {"too_fast": 9.0 + 13.0 * c.size, "too_slow": -(6.0 + 5.0 * c.size)}.get(c.fault, 0.0) * KT_MPS
    c.meant(climb_mps=max(c.model.climb_mps + off, 1.1 * c.model.stall_mps))
    c.start = (p.state.latitude_rad, p.state.longitude_rad)
    pattern.takeoff(p)
    c.note(since, ias_kt=kt(c.model.climb_mps)).notes["rotate_mps"] = c.model.rotate_mps


def _pattern(c: Circuit, side: float) -> None:
    p, since = c.p, len(c.p.marks)
    if c.has("traffic_pattern", "too_fast"):
        c.meant(downwind_mps=c.model.downwind_mps + (9.0 + 12.0 * c.size) * KT_MPS)
    late_m = 90.0 + 110.0 * c.size if c.has("traffic_pattern", "overshot") else 0.0
    if c.has("traffic_pattern", "sagged"):
        sag = [False]
        field = pattern.Field.of(p)

        def drop() -> None:
            p.look_away(14.0 + 6.0 * c.size)
            p.pitch_error_rad = -(1.8 + 1.2 * c.size) * DEG
            p.after(14.0 + 6.0 * c.size, lambda: setattr(p, "pitch_error_rad", 0.0))
            sag[0] = True

        p.when(
            lambda: bool(
                not sag[0] and side * field.where()[1] > 1200.0 and 500.0 < field.where()[0] < 1400.0
                and math.cos(p.state.heading_rad - field.course_rad) < -0.98 and abs(p.state.bank_rad) < 4.0 * DEG
            ),
            drop,
        )  # fmt: skip
    c.meant(climb_mps=p.sim.model.climb_mps, downwind_mps=p.sim.model.downwind_mps)
    pattern.fly_pattern(p, side=side, base_m=BASE_M, late_final_m=late_m)
    p.no_more()
    c.meant()
    mark = c.note(since, ias_kt=kt(c.model.downwind_mps))
    mark.notes["course_rad"], mark.notes["side"] = pattern.Field.of(p).course_rad, side
    mark.notes["runway_start_rad"] = c.start


def _approach(c: Circuit) -> None:
    """Speed and path of a landing's approach as this pilot means them."""
    off = {"too_fast": 9.0 + 11.0 * c.size, "too_slow": -(5.5 + 3.0 * c.size)}.get(c.fault, 0.0) * KT_MPS
    path = {"high": 8.0 + 2.0 * c.size, "low": 1.3}.get(c.fault, c.model.approach_path_deg)
    approach = max(c.model.approach_mps + off, 1.12 * c.model.stall_flaps_mps)
    c.meant(approach_mps=approach, approach_path_deg=path)


def _landing(c: Circuit) -> None:
    p, since = c.p, len(c.p.marks)
    _approach(c)
    pattern.final(p, until_m=pattern.EDGE_M)
    with p.marking("landing", {}) as mark:
        pattern.final(p, until_m=4.0 if c.has("landing", "late_flare") else 7.0)
        if c.has("landing", "late_flare"):
            _late_flare(p, c.size)
        elif c.has("landing", "balloon"):
            _balloon(p, c.size)
            pattern.flare(p)
        else:
            pattern.flare(p)
        p.pitch_low_rad = math.radians(-12.0)
        mark.notes["touchdown_s"] = p.time_s
        p.hold_elevator(-0.15)
        pattern.roll(p, lambda: False, at_most_s=2.5)
        p.sim.set_brakes(0.35)
        p.hold_elevator(-0.25)
        ground: Any = lambda: math.hypot(p.state.east_mps, p.state.north_mps)  # noqa: E731
        pattern.roll(p, lambda: ground() < 8.0, at_most_s=60.0)
    c.meant()
    c.note(since, ias_kt=kt(c.model.approach_mps))
    pattern.roll(p, lambda: ground() < 0.5, at_most_s=30.0)


def _late_flare(p: Scripted, size: float) -> None:
    """Power off and little of a flare, from 4 m."""
    pattern._stop_path(p)
    p.hold_pitch(p.state.pitch_rad)
    for _ in range(round(20.0 / TICK_S)):
        if p.state.on_ground:
            break
        p.throttle = max(0.0, p.throttle - 0.2 * TICK_S)
        p.pitch_rad = min(p.pitch_rad + (0.9 - 0.5 * size) * DEG * TICK_S, 2.0 * DEG)
        p.bank_rad, p.lateral_mode = 0.0, "bank"
        p.tick()
    p.throttle = 0.0


def _balloon(p: Scripted, size: float) -> None:
    """Too much of a pull at 5 to 7 m: up again, then a flare from there."""
    pattern._stop_path(p)
    p.hold_pitch(p.state.pitch_rad + (6.0 + 3.0 * size) * DEG)
    p.fly(1.6)
    p.fly_until(lambda: p.state.vertical_speed_mps > 0.9, at_most_s=2.0)
    p.hold_pitch(2.0 * DEG)
    p.fly(0.8)


def _go_around(c: Circuit) -> None:
    p, since, height = c.p, len(c.p.marks), 45.0
    pattern.final(p, until_m=height)
    off = {"too_fast": 9.0 + 13.0 * c.size, "too_slow": -(6.0 + 6.0 * c.size)}.get(c.fault, 0.0) * KT_MPS
    c.meant(climb_mps=max(c.model.climb_mps + off, 1.1 * c.model.stall_mps))
    low = pattern._height_m(p)
    with p.marking("go_around", {}) as mark:
        mark.phases["power"] = p.time_s
        p.pitch_low_rad = math.radians(-12.0)
        pattern._stop_path(p)
        p.throttle = 1.0
        pattern.Field.of(p).line(0.0, 0.0)
        if c.has("go_around", "sank_on"):
            p.hold_pitch(-(3.5 + 1.5 * c.size) * DEG)
            down = p.sim.indicated_altitude_m - (70.0 + 30.0 * c.size) * FT_M
            p.fly_until(lambda: p.sim.indicated_altitude_m < down or pattern._height_m(p) < 12.0, at_most_s=10.0)
        p.hold_pitch(math.radians(5.0))
        p.fly(2.5)
        if c.has("go_around", "flaps_at_once"):
            while p.sim.flap_notch:
                p.sim.set_flaps(p.sim.flap_notch - 1)
            p.fly(2.0)
        p.sim.set_flaps(max(0, min(p.sim.flap_notch, 1)))
        p.fly(1.5)  # the flaps on their way up, some ballooning over
        p.fly_until(lambda: p.state.vertical_speed_mps > 0.7, at_most_s=12.0)
        p.by_speed(p.sim.model.climb_mps, 1.0)
        p.fly(4.0)
        p.fly_until(lambda: p.state.vertical_speed_mps > 1.0 and not p.sim.flaps_move, at_most_s=20.0)
        p.fly(4.0)
        p.sim.set_flaps(0)
        p.fly_until(lambda: pattern._height_m(p) > low + 400.0 * FT_M, at_most_s=120.0)
    c.note(since, ias_kt=kt(c.model.climb_mps))
