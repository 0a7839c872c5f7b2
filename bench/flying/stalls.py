"""Stalls: power off, power on, accelerated. Entry: level flight at the pilot's altitude."""

from __future__ import annotations

import math

from airwork.units import KT_MPS
from flying.basic import ft, kt, set_flaps
from flying.pilot import Pilot
from flying.simulator import TICK_S


def _stalled(p: Pilot) -> bool:
    return p.state.angle_of_attack_rad > p.sim.stall_alpha_rad


def _pull_to_stall(p: Pilot, rate_radps: float, high_rad: float, *, warning_only: bool = False) -> bool:
    """Raise the nose until it stalls (or the warning comes); False when it only mushes with the stick fully back."""
    p.hold_pitch(p.state.pitch_rad)
    full_back_s = 0.0
    for _ in range(round(60.0 / TICK_S)):
        p.pitch_rad = min(high_rad, p.pitch_rad + rate_radps * TICK_S)
        p.tick()
        if warning_only and p.state.angle_of_attack_rad > p.sim.warning_alpha_rad:
            return True
        if _stalled(p):
            return True
        full_back_s = full_back_s + TICK_S if p.sim.stick_back else 0.0
        if full_back_s > 1.5:
            return False
    return False


def _recover(p: Pilot, *, notch_to: int = 0, low_rad: float = -0.09) -> None:
    """Nose down, wings level, full power, flaps in steps, climb away at the best-rate speed."""
    model = p.sim.model
    p.fly(p.skill.recovery_delay_s * 0.6)
    p.bank(0.0)
    p.hold_pitch(low_rad * (1.0 + 0.8 * (1.0 - p.skill.level) * abs(p.rng.normal())))
    p.throttle = 1.0
    p.fly_until(lambda: p.state.ias_mps > 1.2 * model.stall_mps, at_most_s=15.0)
    p.fly(p.skill.recovery_delay_s * 0.5)
    p.heading_rad = p.state.heading_rad
    p.by_speed(model.climb_mps, 1.0, heading_rad=p.state.heading_rad)
    p.pitch_rad = 0.08
    if p.sim.flap_notch > notch_to:
        p.sim.set_flaps(max(notch_to, min(p.sim.flap_notch - 1, 1)))
        p.fly(3.0)
    p.fly_until(lambda: p.state.vertical_speed_mps > 0.5, at_most_s=20.0)
    set_flaps(p, notch_to, pause_s=3.0)
    p.fly_until(
        lambda: p.state.vertical_speed_mps > 0.5 and p.state.ias_mps > model.climb_mps - 4.0 * KT_MPS, at_most_s=20.0
    )


def _after_stall(p: Pilot, altitude_m: float) -> None:
    p.level(altitude_m=altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.heading_rad)
    p.pitch_rad, p.throttle = 0.06, 1.0
    p.power_mode = "fixed"
    p.fly_until(lambda: abs(p.sim.indicated_altitude_m - altitude_m) < 15.0, at_most_s=120.0)
    p.power_mode = "speed"
    p.power_for(p.sim.model.maneuvering_mps)
    p.fly(10.0)


def power_off_stall(p: Pilot, *, notch: int | None = None, bank_deg: float = 0.0) -> None:
    """From a stabilised descent in the landing configuration, power idle, to the stall and back to a climb."""
    model = p.sim.model
    notch = len(model.flap_deg) - 1 if notch is None else notch
    altitude, heading = p.altitude_m, p.heading_rad
    with p.marking(
        "power_off_stall", {"altitude_ft": ft(altitude), "flap_notch": float(notch), "bank_deg": bank_deg}
    ) as mark:
        p.level(altitude_m=altitude, ias_mps=model.approach_mps, heading_rad=heading, power="fixed")
        p.throttle = 0.3
        p.fly_until(lambda: p.state.ias_mps < model.flaps_max_mps - 2.0, at_most_s=40.0)
        if notch:
            set_flaps(p, notch, pause_s=3.0)
        p.by_speed(model.approach_mps, 0.3, heading_rad=heading)
        p.fly(12.0)
        mark.phases["established"] = p.time_s
        if bank_deg:
            p.bank(math.radians(bank_deg))
            p.fly(4.0)
        p.throttle = 0.0
        p.fly(2.0)
        mark.notes["full_break"] = _pull_to_stall(p, math.radians(2.0), math.radians(26.0))
        mark.phases["recovery"] = p.time_s
        mark.notes["stall_ias_kt"] = kt(model.stall_mps)
        _recover(p)
    _after_stall(p, altitude)


def power_on_stall(p: Pilot, *, bank_deg: float = 0.0, throttle: float = 0.9) -> None:
    """Slow to the lift-off speed, take-off power, nose up to the stall, recover."""
    model = p.sim.model
    altitude, heading = p.altitude_m, p.heading_rad
    with p.marking("power_on_stall", {"altitude_ft": ft(altitude), "bank_deg": bank_deg}) as mark:
        slow = model.stall_mps + 8.0 * KT_MPS
        p.level(altitude_m=altitude, ias_mps=slow, heading_rad=heading, power="fixed")
        p.throttle = 0.25
        p.fly_until(lambda: p.state.ias_mps < slow, at_most_s=40.0)
        mark.phases["established"] = p.time_s
        p.throttle = throttle
        if bank_deg:
            p.bank(math.radians(bank_deg))
        mark.notes["full_break"] = _pull_to_stall(p, math.radians(2.6), math.radians(34.0))
        mark.phases["recovery"] = p.time_s
        mark.notes["stall_ias_kt"] = kt(model.stall_mps)
        _recover(p)
    _after_stall(p, altitude)


def accelerated_stall(p: Pilot, direction: float = 1.0, *, bank_deg: float = 45.0) -> None:
    """In a 45° turn at reduced power, back pressure to the first warning of a stall, recover at once."""
    model = p.sim.model
    altitude, heading = p.altitude_m, p.heading_rad
    with p.marking("accelerated_stall", {"altitude_ft": ft(altitude), "bank_deg": bank_deg}) as mark:
        p.level(altitude_m=altitude, ias_mps=model.stall_mps * 1.35, heading_rad=heading, power="fixed")
        p.throttle = 0.4
        p.fly_until(lambda: p.state.ias_mps < model.stall_mps * 1.5, at_most_s=40.0)
        p.bank(direction * math.radians(bank_deg))
        p.fly_until(lambda: abs(p.state.bank_rad) > math.radians(0.85 * bank_deg), at_most_s=8.0)
        mark.phases["established"] = p.time_s
        p.throttle = 0.3
        mark.notes["full_break"] = _pull_to_stall(p, math.radians(3.5), math.radians(30.0), warning_only=True)
        mark.phases["recovery"] = p.time_s
        mark.notes["stall_ias_kt"] = kt(model.stall_mps)
        _recover(p, low_rad=-0.03)
    _after_stall(p, altitude)
