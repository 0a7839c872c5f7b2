"""Exercises flown by a precise pilot with one fault planted in each, or none: kind, size and time are known exactly.

Faults are put into hands, eyes or plan (a nose let down for some seconds, a throttle left alone, a speed chosen wrong);
what comes of it is the airplane's own doing. Climbs, descents and turns inside slow flight are commanded: no faults.
Each mark's notes carry `fault` ("" for none), `fault_s` (from, to) and `parts`: what was commanded, stretch by stretch.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from airwork.units import FT_M, KT_MPS
from flying.basic import ft, kt, set_flaps, settle
from flying.ground import circle_guide, field_of, moved, turned
from flying.pilot import Pilot, angle_from_rad
from flying.simulator import G_MPS2
from flying.skill import Skill
from flying.state import State
from flying.truth import Mark

DEG = math.radians(1.0)
FAULTS: dict[str, tuple[str, ...]] = {
    "steep_turn": (
        "too_steep", "too_shallow", "late_back_pressure", "nose_dropped", "kept_back_pressure", "no_power",
        "late_roll_out", "early_roll_out", "bank_grew", "feet_off",
    ),
    "slow_flight": ("power_left", "chasing", "too_fast", "too_slow", "altitude_bias", "feet_off"),
    "climb": ("late_level_off", "too_slow", "too_fast", "chasing"),
    "descent": ("late_level_off", "too_fast", "too_slow"),
    "level_turn": ("nose_dropped", "late_back_pressure", "feet_off"),
    "power_off_stall": ("late_nose", "late_power", "again", "dived", "heading_let_go"),
    "power_on_stall": ("late_nose", "again", "dived", "heading_let_go"),
    "turns_around_point": ("wind_neglected", "altitude_drift"),
}  # fmt: skip


class Scripted(Pilot):
    """A pilot with appointments: things done when a condition comes true."""

    waiting: list[tuple[Callable[[], bool], Callable[[], None]]]

    def when(self, condition: Callable[[], bool], action: Callable[[], None]) -> None:
        """Do something once, as soon as the condition holds."""
        self.__dict__.setdefault("waiting", []).append((condition, action))

    def after(self, seconds: float, action: Callable[[], None]) -> None:
        """Do something so many seconds from now."""
        due = self.time_s + seconds
        self.when(lambda: self.time_s >= due, action)

    def tick(self) -> State:
        due = [pair for pair in self.__dict__.get("waiting", []) if pair[0]()]
        for pair in due:
            self.waiting.remove(pair)
            pair[1]()
        return super().tick()

    def mended(self, skill: Skill) -> None:
        """The fault is over."""
        self.pitch_error_rad = self.bank_error_rad = 0.0
        self.skill = skill

    def no_more(self) -> None:
        """Forget what was planned, take the fault out of the hands."""
        self.__dict__["waiting"] = []
        self.pitch_error_rad = self.bank_error_rad = 0.0
        self.rudder_hold = None


def precise(p: Scripted) -> None:
    """No fault but the one planted: habits of a poor pilot taken out."""
    p.skill = replace(
        p.skill, quits_early_rad=0.0, rollout_error_rad=0.0, anticipation=1.0, rudder=0.95, altimeter_bias_m=0.0,
        speed_bias_mps=0.0, bank_bias_share=0.0, lapse_every_s=1e9, recovery_delay_s=0.3, wind_share=0.98,
        radius_error_share=0.0, busy=min(p.skill.busy, 2.0),
    )  # fmt: skip
    p._next_lapse_s = 1e12


def _note(mark: Mark, fault: str, size: float) -> None:
    mark.notes |= {"fault": fault, "size": round(size, 3), "parts": []}


def _fault_time(mark: Mark, start_s: float, end_s: float) -> None:
    mark.notes["fault_s"] = (start_s, end_s)


def _part(mark: Mark, name: str, start_s: float, end_s: float, **commanded: float) -> None:
    parts: Any = mark.notes["parts"]
    parts.append({"name": name, "start_s": start_s, "end_s": end_s, **commanded})


def _nose(p: Scripted, mark: Mark, error_rad: float, seconds: float) -> None:
    """The nose goes up or down and nobody looks."""
    p.look_away(seconds)
    p.pitch_error_rad = error_rad
    _fault_time(mark, p.time_s, p.time_s + seconds)

    def stop() -> None:
        p.pitch_error_rad = 0.0

    p.after(seconds, stop)


def steep_turn(p: Scripted, side: float, fault: str, rng: np.random.Generator, first: Mark | None = None) -> Mark:
    """360° at 45°; `first`: the turn to the other side this one is the pair of."""
    model = p.sim.model
    ias, altitude, heading = model.maneuvering_mps, p.altitude_m, p.heading_rad
    p.level(altitude_m=altitude, ias_mps=ias, heading_rad=heading)
    p.fly(float(rng.uniform(6.0, 14.0)))
    keep, bank = p.skill, 45.0
    size = float(rng.uniform(0.0, 1.0))
    if fault in ("too_steep", "too_shallow"):
        bank += (6.5 + 8.0 * size) * (1.0 if fault == "too_steep" else -1.0)
    if fault in ("late_roll_out", "early_roll_out"):
        p.skill = replace(keep, rollout_error_rad=(8.0 + 18.0 * size) * DEG * (1.0 if "late" in fault else -1.0))
    targets = {"altitude_ft": ft(altitude), "ias_kt": kt(ias), "bank_deg": 45.0, "turn_deg": 360.0 * side}
    with p.marking("steep_turn", targets) as mark:
        _note(mark, fault, size)
        _fault_time(mark, p.time_s, p.time_s)
        count = turned(p)
        if fault == "late_back_pressure":
            p.skill = replace(keep, anticipation=0.25 - 0.25 * size)
            seconds = 5.0 + 5.0 * size
            p.look_away(seconds)
            _fault_time(mark, p.time_s, p.time_s + seconds)
            p.after(seconds, lambda: setattr(p, "skill", keep))
        if fault == "nose_dropped":
            at = float(rng.uniform(110.0, 210.0)) * DEG
            p.when(lambda: side * count() > at, lambda: _nose(p, mark, -(2.0 + 2.5 * size) * DEG, 6.0 + 3.0 * size))
        if fault == "kept_back_pressure":
            p.when(
                lambda: side * count() > 330.0 * DEG, lambda: _nose(p, mark, (4.0 + 4.0 * size) * DEG, 8.0 + 2.0 * size)
            )
        if fault == "bank_grew":

            def grow() -> None:
                p.look_away(10.0)
                p.skill = replace(keep, anticipation=0.3)
                p.pitch_error_rad = 0.7 * p._back_pressure(p.state.ias_mps, 45.0 * DEG)
                p.bank_error_rad = side * (7.0 + 7.0 * size) * DEG
                _fault_time(mark, p.time_s, p.time_s + 10.0)
                p.after(9.0, lambda: p.mended(keep))

            p.when(lambda: side * count() > 120.0 * DEG, grow)
        if fault == "no_power":
            p.power_mode = "fixed"
        else:
            p.throttle += 0.1
        if fault == "feet_off":
            p.when(lambda: side * count() > 40.0 * DEG, lambda: setattr(p, "rudder_hold", side * (0.22 + 0.2 * size)))
        p.turn(side * 2.0 * math.pi, bank * DEG, to_heading_rad=heading)
    _part(mark, "turn", mark.start_s, mark.end_s, bank_rad=45.0 * DEG)
    p.fly(2.0)
    p.no_more()
    p.skill = keep
    p.fly(10.0)
    if first is not None:
        mark.notes["first_start_s"] = first.start_s
    return mark


def level_turn(p: Scripted, side: float, fault: str, rng: np.random.Generator) -> None:
    """A level turn at 30°."""
    altitude, ias = p.altitude_m, p.sim.model.maneuvering_mps
    p.level(altitude_m=altitude, ias_mps=ias, heading_rad=p.heading_rad)
    p.fly(10.0)
    keep, size = p.skill, float(rng.uniform(0.0, 1.0))
    turn = side * float(rng.choice([180.0, 270.0, 360.0])) * DEG
    with p.marking("level_turn", {"altitude_ft": ft(altitude), "ias_kt": kt(ias), "bank_deg": 30.0}) as mark:
        _note(mark, fault, size)
        _fault_time(mark, p.time_s, p.time_s)
        count = turned(p)
        if fault == "nose_dropped":
            p.when(
                lambda: side * count() > 70.0 * DEG, lambda: _nose(p, mark, -(2.0 + 2.0 * size) * DEG, 7.0 + 4.0 * size)
            )
        if fault == "late_back_pressure":
            p.skill = replace(keep, anticipation=0.0)
            p.look_away(9.0 + 6.0 * size)
            p.pitch_error_rad = -1.0 * DEG
            _fault_time(mark, p.time_s, p.time_s + 9.0 + 6.0 * size)
            p.after(9.0 + 6.0 * size, lambda: p.mended(keep))
        if fault == "feet_off":
            p.rudder_hold = side * (0.2 + 0.2 * size)
        p.turn(turn, 30.0 * DEG)
    p.no_more()
    p.skill = keep
    p.fly(10.0)


def slow_flight(p: Scripted, fault: str, rng: np.random.Generator, *, notch: int) -> None:
    """Slowed down, commanded through level flight, turns, climbs and descents, recovered."""
    model = p.sim.model
    share = notch / max(1, len(model.flap_deg) - 1)
    stall = model.stall_mps + (model.stall_flaps_mps - model.stall_mps) * share
    ias = stall + 9.0 * KT_MPS
    size = float(rng.uniform(0.0, 1.0))
    altitude, heading = p.altitude_m, p.heading_rad
    flown = ias + 4.0 * KT_MPS
    if fault == "too_fast":
        flown = ias + (12.0 + 6.0 * size) * KT_MPS
    if fault == "too_slow":
        flown = ias - (2.0 + 3.0 * size) * KT_MPS
    targets = {"altitude_ft": ft(altitude), "ias_kt": kt(ias), "flap_notch": float(notch), "bank_deg": 15.0}
    with p.marking("slow_flight", targets) as mark:
        _note(mark, fault, size)
        p.level(altitude_m=altitude, ias_mps=flown, heading_rad=heading, power="fixed")
        p.throttle = 0.35
        p.fly_until(lambda: p.state.ias_mps < model.flaps_max_mps - 2.0, at_most_s=40.0)
        if notch:
            set_flaps(p, notch, pause_s=4.0)
        p.fly_until(lambda: p.state.ias_mps < flown + 3.0 * KT_MPS, at_most_s=40.0)
        p.power_for(flown, notch=notch)
        p.pitch_mode, p.power_mode = "speed", "altitude"
        if fault == "altitude_bias":
            p.altitude_m = altitude + float(rng.choice([-1.0, 1.0])) * (45.0 + 45.0 * size) * FT_M
        p.fly(12.0)
        mark.phases["established"] = p.time_s
        _fault_time(mark, p.time_s, p.time_s)
        stages = list(rng.permutation(["level", "turn", "climb", "descent", "turn"]))[: int(rng.integers(3, 6))]
        if fault and fault != "altitude_bias":
            stages = [s for s in stages if s == "turn"]
        hurt = int(rng.integers(0, 2)) if fault else -1
        for k, stage in enumerate(["level", *stages, "level"]):
            began = p.time_s
            if stage == "level":
                if k == hurt or (fault and k == 0 and fault in ("power_left", "chasing", "feet_off")):
                    _slow_fault(p, mark, fault, size, rng)
                p.fly(float(rng.uniform(20.0, 40.0)))
                _part(mark, "level", began, p.time_s, altitude_m=altitude, heading_rad=p.heading_rad)
            elif stage == "turn":
                turn = float(rng.choice([-90.0, 90.0, 120.0, -60.0])) * DEG
                p.throttle += 0.03
                p.turn(turn, 15.0 * DEG)
                _part(mark, "turn", began, p.time_s, altitude_m=altitude, bank_rad=15.0 * DEG)
                p.fly(6.0)
            else:
                altitude = _change(p, altitude, stage, rng)
                _part(mark, stage, began, p.time_s)
                p.fly(12.0)
        mark.phases["recovery"] = p.time_s
        p.no_more()
        p.level(altitude_m=altitude, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad, power="fixed")
        p.throttle = 1.0
        p.fly(2.0)
        set_flaps(p, 0, pause_s=5.0)
        p.fly_until(lambda: p.state.ias_mps > model.maneuvering_mps - 8.0 * KT_MPS, at_most_s=60.0)
    settle(p, altitude, model.maneuvering_mps)


def _change(p: Scripted, altitude_m: float, stage: str, rng: np.random.Generator) -> float:
    """A commanded climb or descent at the slow speed; the altitude wanted then."""
    by = float(rng.uniform(200.0, 450.0)) * FT_M * (1.0 if stage == "climb" else -1.0)
    wanted = altitude_m + by
    p.power_mode = "fixed"
    p.power_for(p.ias_mps)  # not from where the hand happens to be just now
    p.throttle = 1.0 if stage == "climb" else max(0.0, p.throttle - 0.25)
    sign = math.copysign(1.0, by)
    began = p.time_s
    p.fly_until(lambda: sign * (wanted - p.sim.indicated_altitude_m) < 8.0, at_most_s=90.0)
    if p.time_s - began >= 89.0:
        wanted = p.sim.indicated_altitude_m  # it climbs no more than that today: level off here
    p.altitude_m = wanted
    p.power_for(p.ias_mps)
    p.power_mode = "altitude"
    p.fly(8.0)
    return wanted


def _slow_fault(p: Scripted, mark: Mark, fault: str, size: float, rng: np.random.Generator) -> None:
    began = p.time_s
    if fault == "power_left":
        p.power_mode = "fixed"
        p.throttle += float(rng.choice([-1.0, -1.0, 0.7])) * (0.07 + 0.08 * size)
        p.fly(35.0)
        p.power_mode = "altitude"
        p.power_haste = 1.0
        p.fly(15.0)
    if fault == "chasing":
        _chase(p, mark, size)
    if fault == "feet_off":
        p.rudder_hold = 0.0
        p.fly(30.0)
    _fault_time(mark, began, p.time_s)


def climb(p: Scripted, fault: str, rng: np.random.Generator) -> None:
    """Full power, 600 to 1,000 ft, level off."""
    model, size = p.sim.model, float(rng.uniform(0.0, 1.0))
    wanted = p.altitude_m + (float(rng.uniform(600.0, 900.0)) + (900.0 if fault == "chasing" else 0.0)) * FT_M
    ias = model.climb_mps
    off = {"too_slow": -(7.0 + 4.0 * size), "too_fast": 12.0 + 6.0 * size}.get(fault, 0.0) * KT_MPS
    with p.marking("climb", {"ias_kt": kt(ias), "altitude_ft": ft(wanted)}) as mark:
        _note(mark, fault, size)
        p.by_speed(max(ias + off, 1.12 * model.stall_mps), 1.0, heading_rad=p.heading_rad)
        p.fly_until(lambda: p.state.ias_mps < ias + off + 2.0, at_most_s=30.0)
        mark.phases["established"] = p.time_s
        began = p.time_s
        _fault_time(mark, began, began)
        if fault == "chasing":
            _chase(p, mark, size)
        over = (120.0 + 130.0 * size) * FT_M if fault == "late_level_off" else 0.0
        lead_s = 0.0 if over else 6.0
        p.fly_until(
            lambda: p.sim.indicated_altitude_m >= wanted + over - lead_s * max(p.state.vertical_speed_mps, 0.0),
            at_most_s=600.0,
        )
        mark.phases["recovery"] = p.time_s
        if over:
            _fault_time(mark, p.time_s - 15.0, p.time_s)
        p.level(altitude_m=wanted, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad, power="fixed")
        p.fly_until(lambda: abs(p.state.vertical_speed_mps) < 0.5, at_most_s=40.0)
    _part(mark, "climb", mark.phases["established"], mark.phases["recovery"], ias_mps=ias)
    p.no_more()
    p.level(altitude_m=wanted, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
    p.power_for(model.maneuvering_mps)
    p.fly(30.0)


def _chase(p: Scripted, mark: Mark, size: float) -> None:
    """The nose goes after the needle, seen late and answered too strongly, until the speed swings."""
    begun, middle = p.time_s, p.state.pitch_rad
    seen = deque([p.state.ias_mps] * 30, maxlen=30)
    p.hold_pitch(middle)
    p.pitch_rad += 4.0 * DEG
    for _ in range(round(75.0 / 0.05)):
        seen.append(p.state.ias_mps)
        p.pitch_rad += (0.006 + 0.006 * size) * (seen[0] - p.ias_mps) * 0.05
        p.pitch_rad = min(max(p.pitch_rad, middle - 6.0 * DEG), middle + 6.0 * DEG)
        p.tick()
    p.pitch_mode = "speed"
    _fault_time(mark, begun, p.time_s)


def descent(p: Scripted, fault: str, rng: np.random.Generator) -> None:
    """Power back to some 500 fpm at the level speed, 600 to 1,000 ft, level off."""
    model, size = p.sim.model, float(rng.uniform(0.0, 1.0))
    wanted = p.altitude_m - float(rng.uniform(600.0, 900.0)) * FT_M
    ias = model.maneuvering_mps - 8.0 * KT_MPS
    off = {"too_fast": 12.0 + 8.0 * size, "too_slow": -(12.0 + 4.0 * size)}.get(fault, 0.0) * KT_MPS
    with p.marking("descent", {"ias_kt": kt(ias), "altitude_ft": ft(wanted)}) as mark:
        _note(mark, fault, size)
        _fault_time(mark, p.time_s, p.time_s)
        p.level(altitude_m=p.altitude_m, ias_mps=ias, heading_rad=p.heading_rad)
        p.power_for(ias + off, path_rad=-2.6 / (1.1 * ias))
        p.by_speed(ias + off, p.throttle, heading_rad=p.heading_rad)
        p.fly_until(
            lambda: abs(p.state.ias_mps - ias - off) < 2.0 and p.state.vertical_speed_mps < -1.0, at_most_s=40.0
        )
        mark.phases["established"] = p.time_s
        over = (120.0 + 130.0 * size) * FT_M if fault == "late_level_off" else 0.0
        lead_s = 0.0 if over else 6.0
        p.fly_until(
            lambda: p.sim.indicated_altitude_m <= wanted - over - lead_s * min(p.state.vertical_speed_mps, 0.0),
            at_most_s=600.0,
        )
        mark.phases["recovery"] = p.time_s
        if over:
            _fault_time(mark, p.time_s - 15.0, p.time_s)
        p.level(altitude_m=wanted, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
        p.power_for(model.maneuvering_mps)
        p.fly_until(lambda: abs(p.state.vertical_speed_mps) < 0.5, at_most_s=40.0)
    _part(mark, "descent", mark.phases["established"], mark.phases["recovery"], ias_mps=ias)
    p.no_more()
    p.fly(30.0)


def stall(p: Scripted, kind: str, fault: str, rng: np.random.Generator, *, notch: int) -> None:
    """A straight power-off or power-on stall, recovered well or with one fault."""
    model, size = p.sim.model, float(rng.uniform(0.0, 1.0))
    altitude, heading = p.altitude_m, p.heading_rad
    power_on = kind == "power_on_stall"
    with p.marking(kind, {"altitude_ft": ft(altitude), "bank_deg": 0.0}) as mark:
        _note(mark, fault, size)
        slow = model.stall_mps + 8.0 * KT_MPS if power_on else model.approach_mps
        p.level(altitude_m=altitude, ias_mps=slow, heading_rad=heading, power="fixed")
        p.throttle = 0.25
        if notch and not power_on:
            p.fly_until(lambda: p.state.ias_mps < model.flaps_max_mps - 2.0, at_most_s=40.0)
            set_flaps(p, notch, pause_s=3.0)
        p.fly_until(lambda: p.state.ias_mps < slow + 1.0, at_most_s=40.0)
        if not power_on:
            p.by_speed(slow, 0.3, heading_rad=heading)
            p.fly(10.0)
        mark.phases["established"] = p.time_s
        p.throttle = 0.9 if power_on else 0.0
        if fault == "heading_let_go":
            p.lateral_mode, p.bank_rad = "bank", (2.5 + 3.0 * size) * DEG * float(rng.choice([-1.0, 1.0]))
            _fault_time(mark, p.time_s, p.time_s + 12.0)
        p.hold_pitch(p.state.pitch_rad)
        broke = False
        for _ in range(1200):
            p.pitch_rad = min(p.pitch_rad + 2.2 * DEG * 0.05, 34.0 * DEG)
            p.tick()
            if p.state.angle_of_attack_rad > p.sim.stall_alpha_rad:
                broke = True
                break
        mark.notes["full_break"] = broke
        mark.phases["recovery"] = p.time_s
        _recover(p, mark, fault, size)
    p.no_more()
    p.level(altitude_m=altitude, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad, power="fixed")
    p.throttle = 1.0
    p.fly_until(lambda: abs(p.sim.indicated_altitude_m - altitude) < 15.0, at_most_s=120.0)
    settle(p, altitude, model.maneuvering_mps)


def _recover(p: Scripted, mark: Mark, fault: str, size: float) -> None:
    model, began = p.sim.model, p.time_s
    if "fault_s" not in mark.notes:
        _fault_time(mark, began, began + 8.0)
    if fault == "late_nose":
        p.throttle = 1.0 if p.throttle < 0.5 and size > 0.8 else p.throttle
        p.fly(4.0 + 3.0 * size)
    p.bank(0.0)
    low = -(24.0 + 10.0 * size) * DEG if fault == "dived" else -5.0 * DEG
    p.hold_pitch(low)
    if fault == "late_power":
        p.after(7.0 + 4.0 * size, lambda: setattr(p, "throttle", 1.0))
    else:
        p.throttle = 1.0
    enough = 1.06 if fault == "again" else 1.22
    p.fly_until(lambda: p.state.ias_mps > enough * model.stall_mps, at_most_s=15.0)
    if fault == "dived":
        p.fly(1.0 + size)
    if fault == "again":
        for _ in range(120):
            p.pitch_rad = min(p.pitch_rad + 7.0 * DEG * 0.05, 24.0 * DEG)
            p.tick()
            if p.state.angle_of_attack_rad > p.sim.warning_alpha_rad + 0.02:
                break
        p.fly(1.0)
        p.hold_pitch(-4.0 * DEG)
        p.fly_until(lambda: p.state.ias_mps > 1.22 * model.stall_mps, at_most_s=15.0)
    p.heading_rad = p.state.heading_rad
    p.by_speed(model.climb_mps, 1.0, heading_rad=p.state.heading_rad)
    p.pitch_rad = 0.05
    p.fly_until(lambda: p.state.vertical_speed_mps > 0.5, at_most_s=25.0)
    set_flaps(p, 0, pause_s=3.0)
    p.fly_until(
        lambda: p.state.vertical_speed_mps > 0.5 and p.state.ias_mps > model.climb_mps - 4.0 * KT_MPS, at_most_s=25.0
    )


def turns_around_point(p: Scripted, side: float, fault: str, rng: np.random.Generator) -> None:
    """Two turns round a point."""
    size, keep = float(rng.uniform(0.0, 1.0)), p.skill
    ias = p.sim.model.maneuvering_mps * 0.97
    p.level(altitude_m=p.altitude_m, ias_mps=ias, heading_rad=p.heading_rad)
    downwind = p.sim.day.wind.mean(p.state.agl_m)[0] + math.pi
    turn = angle_from_rad(p.state.heading_rad, downwind)
    if abs(turn) > 10.0 * DEG:
        p.turn(turn, 25.0 * DEG, to_heading_rad=downwind)
    p.heading_rad = downwind
    p.fly(8.0)
    radius = 520.0 * min(1.0, (p.sim.model.maneuvering_mps / 46.3) ** 2)
    track = math.atan2(p.state.east_mps, p.state.north_mps)
    center = moved(field_of(p).here(p), track, 2.0 * p.state.tas_mps, side * radius)
    targets = {"altitude_ft": ft(p.altitude_m), "ias_kt": kt(ias), "turns": 2.0 * side, "radius_ft": ft(radius)}
    with p.marking("turns_around_point", targets) as mark:
        _note(mark, fault, size)
        _fault_time(mark, p.time_s, p.time_s)
        count = turned(p)
        if fault == "altitude_drift":
            p.when(lambda: side * count() > 200.0 * DEG, lambda: _nose(p, mark, -(1.6 + 1.5 * size) * DEG, 16.0))
        if fault == "wind_neglected":
            bank = math.atan(p.state.tas_mps**2 / (G_MPS2 * radius))
            p.bank(side * bank)
        else:
            p.follow(circle_guide(p, center, radius, side))
        p.fly_until(lambda: side * count() >= 4.0 * math.pi, at_most_s=400.0)
        p.bank(0.0)
        p.fly_until(lambda: abs(p.state.bank_rad) < 5.0 * DEG, at_most_s=10.0)
    _part(mark, "turn", mark.start_s, mark.end_s, altitude_m=p.altitude_m)
    p.no_more()
    p.skill = keep
    p.heading_rad = p.state.heading_rad
    p.lateral_mode = "heading"
    p.fly(8.0)
