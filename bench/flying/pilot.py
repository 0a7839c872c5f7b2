"""A human-like pilot at the controls of a `Simulator`: delayed eyes, dead-bands, habits, lapses; skill from 1 to 0.

Hands (every 1/20 s): pitch attitude by elevator, bank by aileron, ball by rudder, all on what was seen a reaction
time ago. Head (every scan): altitude, speed and heading give the attitudes and the power to hold.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Literal

import numpy as np

from flying.simulator import G_MPS2, TICK_S, Simulator
from flying.skill import Skill
from flying.state import State
from flying.truth import Mark

Pitch = Literal["altitude", "speed", "attitude"]
Power = Literal["speed", "altitude", "fixed"]
Lateral = Literal["heading", "bank", "guide"]
LIFT_SLOPE = 5.0  # per rad, a light single's, for anticipating back pressure


def angle_from_rad(from_rad: float, to_rad: float) -> float:
    """Shortest turn from one direction to another, right positive. [rad]"""
    return math.remainder(to_rad - from_rad, 2.0 * math.pi)


def clip(value: float, limit: float) -> float:
    return max(-limit, min(limit, value))


class Pilot:
    """Flies targets. Set the targets, then `fly(seconds)` or `fly_until(test)`; maneuvers are built of these."""

    def __init__(self, sim: Simulator, skill: Skill, rng: np.random.Generator) -> None:
        self.sim, self.skill, self.rng = sim, skill, rng
        self.marks: list[Mark] = []
        state = sim.state
        self.pitch_mode: Pitch = "altitude"
        self.power_mode: Power = "speed"
        self.lateral_mode: Lateral = "heading"
        self.altitude_m = sim.indicated_altitude_m
        self.ias_mps = max(state.ias_mps, 1.0)
        self.heading_rad = state.heading_rad
        self.bank_rad = 0.0
        self.pitch_rad = state.pitch_rad
        self.throttle = sim.throttle
        self.vertical_speed_limit_mps = sim.model.easy_climb_mps
        self.heading_bank_limit_rad = math.radians(18.0)
        self.pitch_low_rad, self.pitch_high_rad = math.radians(-12.0), math.radians(14.0)
        self.rudder_hold: float | None = None  # set for slips
        self.biases = True
        self.guide: Callable[[], float] = lambda: 0.0  # bank to fly, looked at with every scan
        self.path: Callable[[], float] | None = None  # altitude to fly along, for an approach
        self.path_climb_mps = 0.0  # vertical speed along that path
        self.in_maneuver = False
        self.near_ground = sim.state.on_ground > 0.0  # taking off or landing; otherwise someone takes over when low
        self._elevator_hold: float | None = None
        self.pitch_error_rad = self.bank_error_rad = 0.0  # a fault planted in the hands (planted.py)
        self.last_sink_mps = 0.0  # vertical speed before this tick
        self.power_haste = 1.0  # throttle is looked at this many times more often
        # hands
        self._seen: deque[tuple[float, ...]] = deque(maxlen=max(1, round(skill.reaction_s / TICK_S)))
        self._bank_cmd = state.bank_rad
        self._elevator = sim.fdm["fcs/elevator-cmd-norm"]
        self._elevator_sum = self._elevator
        self._aileron_sum = 0.0
        self._rudder_sum = 0.0
        self._rudder = 0.0
        self._trim = sim.fdm["fcs/pitch-trim-cmd-norm"]
        self._throttle_now = self.throttle
        # head
        self._next_scan_s = self._next_power_s = state.time_s
        self._lapse_until_s = -1.0
        self._next_lapse_s = state.time_s + float(rng.exponential(skill.lapse_every_s))
        self._wander_bank = self._wander_pitch = 0.0
        self._last_ias_mps = state.ias_mps
        self._last_scan_s = state.time_s - 1.0
        self._ias_rate = 0.0
        self._noise: list[float] = []

    # --- what a maneuver uses -----------------------------------------------------------------------------------

    @property
    def state(self) -> State:
        return self.sim.state

    @property
    def time_s(self) -> float:
        return self.sim.state.time_s

    def fly(self, seconds: float) -> None:
        """Hold the targets for so long."""
        for _ in range(round(seconds / TICK_S)):
            self.tick()

    def fly_until(self, done: Callable[[], bool], *, at_most_s: float = 300.0) -> bool:
        """Hold the targets until `done()`; False when the time ran out first."""
        for _ in range(round(at_most_s / TICK_S)):
            if done():
                return True
            self.tick()
        return False

    @contextmanager
    def marking(self, kind: str, targets: dict[str, float] | None = None, *, intended: bool = True) -> Iterator[Mark]:
        """Note start and end of what is flown inside; targets with units in their names."""
        mark = Mark(kind=kind, start_s=self.time_s, end_s=math.nan, intended=intended, targets=targets or {})
        yield mark
        if math.isnan(mark.end_s):
            mark.end_s = self.time_s
        self.marks.append(mark)

    def level(self, *, altitude_m: float | None = None, ias_mps: float | None = None, heading_rad: float | None = None,
              power: Power = "speed") -> None:  # fmt: skip
        """Targets for straight and level flight; None keeps what is there now."""
        self.pitch_mode, self.power_mode, self.lateral_mode = "altitude", power, "heading"
        self.altitude_m = self.sim.indicated_altitude_m if altitude_m is None else altitude_m
        self.ias_mps = self.state.ias_mps if ias_mps is None else ias_mps
        self.heading_rad = self.state.heading_rad if heading_rad is None else heading_rad
        self.bank_rad = 0.0

    def power_for(self, ias_mps: float, *, notch: int | None = None, path_rad: float = 0.0) -> None:
        """Set the power this pilot believes holds a speed along a path."""
        notch = self.sim.flap_notch if notch is None else notch
        known = self.sim.known_throttle(ias_mps, notch=notch, path_rad=path_rad)
        self.throttle = max(0.0, min(1.0, known + 0.05 * (1.0 - self.skill.level) * float(self.rng.normal())))

    def by_speed(self, ias_mps: float, throttle: float, *, heading_rad: float | None = None) -> None:
        """Targets for a climb, descent or glide: speed by pitch, power fixed."""
        self.pitch_mode, self.power_mode = "speed", "fixed"
        self.ias_mps, self.throttle = ias_mps, throttle
        if heading_rad is not None:
            self.lateral_mode, self.heading_rad = "heading", heading_rad

    def bank(self, bank_rad: float) -> None:
        """Hold a bank, with this pilot's bias."""
        self.lateral_mode = "bank"
        self.bank_rad = bank_rad * (1.0 + (self.skill.bank_bias_share if self.biases else 0.0))

    def follow(self, guide: Callable[[], float]) -> None:
        """Hold the bank a guide asks for (a line or a circle on the ground)."""
        self.lateral_mode, self.guide = "guide", guide

    def busy_less(self) -> None:
        """No exercises today: the habits of maneuvers (bank bias, early quitting) play no part."""
        self.biases = False

    def look_away(self, seconds: float) -> None:
        """Look at no instrument for so long."""
        self._lapse_until_s = max(self._lapse_until_s, self.time_s + seconds)

    def hold_pitch(self, pitch_rad: float) -> None:
        self.pitch_mode, self.pitch_rad = "attitude", pitch_rad

    def turn(self, turn_rad: float, bank_rad: float, *, to_heading_rad: float | None = None) -> None:
        """Turn through an angle (right positive) at a bank, roll out with this pilot's lead error, hold the heading."""
        start_rad = self.state.heading_rad
        target_rad = start_rad + turn_rad if to_heading_rad is None else to_heading_rad
        sign = math.copysign(1.0, turn_rad)
        self.bank(sign * abs(bank_rad))
        turned, last = 0.0, start_rad
        short_rad = self.skill.quits_early_rad if abs(turn_rad) > 5.0 else 0.0

        def done() -> bool:
            nonlocal turned, last
            turned += angle_from_rad(last, self.state.heading_rad)
            last = self.state.heading_rad
            lead = 0.5 * abs(self.state.bank_rad)
            left = abs(turn_rad) - sign * turned
            return left <= lead + max(short_rad, 0.0) - (0.0 if short_rad else self.skill.rollout_error_rad)

        busy, self.in_maneuver = self.in_maneuver, self.in_maneuver or abs(bank_rad) > math.radians(35.0)
        self.fly_until(done, at_most_s=240.0)
        self.in_maneuver = busy
        self.lateral_mode, self.bank_rad, self._wander_bank = "bank", 0.0, 0.0
        self.fly_until(lambda: abs(self.state.bank_rad) < math.radians(4.0), at_most_s=12.0)
        self.lateral_mode = "heading"
        self.heading_rad = self.state.heading_rad if short_rad else target_rad

    # --- on and near the ground ---------------------------------------------------------------------------------

    def hold_elevator(self, share: float | None) -> None:
        """Hold the stick at a place (on the ground); None hands it back to the attitude loop."""
        self._elevator_hold = share
        if share is None:
            self._elevator_sum = self._elevator

    def set_trim(self, share: float) -> None:
        self._trim = share

    def fly_on_ground(self, seconds: float) -> None:
        """Stand with the stick free."""
        self.hold_elevator(0.0)
        self.fly(seconds)

    # --- one moment ---------------------------------------------------------------------------------------------

    def tick(self) -> State:
        """See, think, move, and let 1/20 s pass."""
        sim = self.sim
        state = sim.state
        self._seen.append((
            state.pitch_rad, state.bank_rad, state.roll_rate_radps, state.pitch_rate_radps, state.sideslip_rad,
            state.ias_mps, sim.indicated_altitude_m, state.vertical_speed_mps, state.heading_rad, state.tas_mps,
        ))  # fmt: skip
        seen = self._seen[0]
        now_s = state.time_s
        if now_s >= self._next_lapse_s:
            self._lapse_until_s = now_s + float(self.rng.exponential(self.skill.lapse_s))
            self._next_lapse_s = self._lapse_until_s + float(self.rng.exponential(self.skill.lapse_every_s))
        if now_s >= self._next_scan_s and now_s >= self._lapse_until_s:
            self._scan(seen, now_s)
        if now_s >= self._next_power_s and now_s >= self._lapse_until_s:
            self._set_power(seen, now_s)
        self._move(seen)
        self.last_sink_mps = state.vertical_speed_mps
        return sim.tick()

    def _random(self) -> float:
        if not self._noise:
            self._noise = self.rng.standard_normal(2000).tolist()
        return self._noise.pop()

    def _scan(self, seen: tuple[float, ...], now_s: float) -> None:
        skill = self.skill
        dt_s = max(now_s - self._last_scan_s, 0.05)
        self._last_scan_s = now_s
        pause_s = skill.scan_s * (0.6 + 0.8 * float(self.rng.random())) * (skill.busy if self.in_maneuver else 1.0)
        self._next_scan_s = now_s + min(pause_s, 1.5 if self.lateral_mode == "guide" else 12.0)
        keep = math.exp(-dt_s / 12.0)
        kick = math.sqrt(1.0 - keep * keep)
        self._wander_bank = keep * self._wander_bank + kick * skill.bank_wander_rad * self._random()
        self._wander_pitch = keep * self._wander_pitch + kick * skill.pitch_wander_rad * self._random()
        _, _, _, _, _, ias, altitude, climb, heading, tas = seen
        tas = max(tas, 20.0)
        rate = (ias - self._last_ias_mps) / dt_s
        self._ias_rate += 0.6 * (rate - self._ias_rate)
        self._last_ias_mps = ias
        share = min(dt_s, 2.0)
        if self.pitch_mode == "altitude":
            error = self.altitude_m + (skill.altimeter_bias_m if self.biases else 0.0) - altitude
            if abs(error) < skill.altitude_band_m:
                error *= 0.25
            wanted = clip(error / skill.altitude_time_s, self.vertical_speed_limit_mps)
            self.pitch_rad += skill.pitch_gain * share * (wanted - climb) / tas
            if self.power_mode == "speed" and ias < 1.25 * self.sim.model.stall_mps:
                self.pitch_rad -= math.radians(2.0)  # too slow for comfort: speed before altitude
                self.throttle = 1.0
        elif self.pitch_mode == "speed":
            error = ias - (self.ias_mps + (skill.speed_bias_mps if self.biases else 0.0))
            if abs(error) < skill.speed_band_mps:
                error *= 0.3
            self.pitch_rad += share * clip(0.006 * error + 0.03 * self._ias_rate, math.radians(2.0))
        if self.pitch_mode != "attitude":
            self.pitch_rad = max(self.pitch_low_rad, min(self.pitch_high_rad, self.pitch_rad))
        if self.lateral_mode == "heading":
            error = angle_from_rad(heading, self.heading_rad)
            if abs(error) < skill.heading_band_rad:
                error *= 0.3
            self.bank_rad = clip(1.1 * error, self.heading_bank_limit_rad)
        elif self.lateral_mode == "guide":
            self.bank_rad = self.guide()

    def _set_power(self, seen: tuple[float, ...], now_s: float) -> None:
        skill = self.skill
        pause = skill.power_scan_s * (0.6 + 0.8 * float(self.rng.random())) / self.power_haste
        self._next_power_s = now_s + pause
        ias, altitude, climb = seen[5], seen[6], seen[7]
        if self.power_mode == "speed":
            error = self.ias_mps + (skill.speed_bias_mps if self.biases else 0.0) - ias
            if abs(error) < skill.speed_band_mps:
                error *= 0.2
            self.throttle += clip(0.02 * error - 0.06 * self._ias_rate, 0.3) * min(pause, 4.0) / 3.0
        elif self.power_mode == "altitude":
            meant = self.altitude_m if self.path is None else self.path()
            error = meant + (skill.altimeter_bias_m if self.biases and self.path is None else 0.0) - altitude
            if abs(error) < skill.altitude_band_m and self.path is None:
                error *= 0.25
            wanted = clip(error / 9.0, 1.8) + (self.path_climb_mps if self.path is not None else 0.0)
            self.throttle += clip(0.06 * (wanted - climb), 0.2) * min(pause, 4.0) / 3.0
        self.throttle = max(0.0, min(1.0, self.throttle))

    def _move(self, seen: tuple[float, ...]) -> None:
        pitch, bank, roll_rate, pitch_rate, sideslip, ias, _, _, _, tas = seen
        skill = self.skill
        tas = max(tas, 15.0)
        state_on_ground = self.sim.state.on_ground > 0.0
        soft = min(
            1.9, max(0.6, 49.0 / max(ias, 20.0))
        )  # slow air needs more stick; the slipstream keeps the tail alive
        rescue = self.sim.state.agl_m < 120.0 and not self.near_ground
        # bank
        target = self.bank_rad + self._wander_bank + self.bank_error_rad
        if rescue:
            target = clip(target, math.radians(15.0))
        self._bank_cmd += clip(target - self._bank_cmd, skill.roll_rate_radps * TICK_S)
        error = self._bank_cmd - bank
        wanted = clip(1.8 * error, 0.45)
        self._aileron_sum = clip(self._aileron_sum + 0.10 * error * TICK_S, 0.3)
        aileron = clip((0.75 * wanted - 0.10 * (roll_rate - wanted)) * soft + self._aileron_sum, 1.0)
        # ball
        self._rudder_sum = clip(self._rudder_sum - 0.35 * skill.rudder * sideslip * TICK_S, 0.8)
        if state_on_ground:
            self._rudder_sum = 0.0
        if self.rudder_hold is None:
            rudder = clip(-1.3 * skill.rudder * sideslip + self._rudder_sum - 0.08 * aileron * skill.rudder, 1.0)
        else:
            rudder, self._rudder_sum = self.rudder_hold, 0.0
        self._rudder += clip(rudder - self._rudder, 1.2 * TICK_S)
        # pitch: what the bank needs is anticipated in part
        steep = min(abs(bank), math.radians(65.0))
        needed = self._back_pressure(ias, steep)
        # the nose wanders more the steeper the bank: the horizon is no longer where it is looked for
        reference = self.pitch_rad + self._wander_pitch * (1.0 + 2.5 * min(1.0, steep / 0.8)) + self.pitch_error_rad
        if self.pitch_mode == "altitude":
            reference += skill.anticipation * needed
        if rescue:
            reference = max(reference, math.radians(6.0))
        turn_rate = G_MPS2 / tas * math.tan(steep) * math.sin(steep)
        error = reference - pitch
        self._elevator_sum = clip(self._elevator_sum - 0.8 * error * TICK_S * soft, 1.0)
        elevator = self._elevator_sum - (1.5 * error - 0.35 * (pitch_rate - turn_rate)) * soft
        elevator += 0.004 * (1.2 - skill.level) * self._random()
        elevator = clip(elevator, 1.0)
        if self._elevator_hold is not None:
            elevator = self._elevator_hold
        self._elevator += (elevator - self._elevator) * 0.45
        # trim away what the hand holds
        moved = clip(0.10 * self._elevator * TICK_S, 0.05 * TICK_S)
        if self._elevator_hold is None and abs(self._elevator) > 0.03 and abs(bank) < math.radians(25.0):
            self._trim = clip(self._trim + moved, 0.9)
            self._elevator_sum -= moved
            self._elevator -= moved
        self._throttle_now += clip((1.0 if rescue else self.throttle) - self._throttle_now, 0.5 * TICK_S)
        self.sim.control(
            elevator=self._elevator, aileron=aileron, rudder=self._rudder, trim=self._trim, throttle=self._throttle_now
        )

    def _back_pressure(self, ias: float, bank: float) -> float:
        """Extra angle of attack a level turn at this bank needs. [rad]"""
        dynamic_pa = 0.5 * 1.225 * max(ias, 20.0) ** 2
        return (1.0 / math.cos(bank) - 1.0) * self.sim.wing_loading_pa / (dynamic_pa * LIFT_SLOPE)
