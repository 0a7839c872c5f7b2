"""Performance maneuvers: steep turn, steep spiral, chandelle, lazy eight, emergency descent. Entry: level flight."""

from __future__ import annotations

import math

from airwork.units import KT_MPS
from flying.basic import ft, kt, level_off
from flying.ground import circle_guide, field_of, moved, turned
from flying.pilot import Pilot
from flying.simulator import G_MPS2, TICK_S


def steep_turn(p: Pilot, direction: float, *, bank_deg: float = 45.0, ias_mps: float | None = None) -> None:
    """One 360° turn; direction +1 right, −1 left."""
    ias = p.sim.model.maneuvering_mps if ias_mps is None else ias_mps
    altitude = p.altitude_m
    p.level(altitude_m=altitude, ias_mps=ias, heading_rad=p.heading_rad)
    heading = p.heading_rad
    targets = {"altitude_ft": ft(altitude), "ias_kt": kt(ias), "bank_deg": bank_deg, "turn_deg": 360.0 * direction}
    with p.marking("steep_turn", targets) as mark:
        p.throttle += 0.1 * p.skill.level
        p.turn(direction * 2.0 * math.pi, math.radians(bank_deg), to_heading_rad=heading)
        mark.notes["direction"] = "right" if direction > 0 else "left"
    p.fly(6.0)


def steep_spiral(p: Pilot, direction: float, *, turns: float = 3.0) -> None:
    """Power off round a point on the ground with a constant radius."""
    model = p.sim.model
    ias = model.glide_mps + 8.0 * KT_MPS
    p.level(altitude_m=p.altitude_m, ias_mps=ias, heading_rad=p.heading_rad)
    p.throttle = 0.4
    p.fly_until(lambda: p.state.ias_mps < ias + 6.0 * KT_MPS, at_most_s=30.0)
    fastest = p.state.tas_mps + p.sim.day.wind.speed_mps
    radius = max(p.state.tas_mps**2 / (G_MPS2 * math.tan(0.65)), fastest**2 / (G_MPS2 * math.tan(math.radians(50.0))))
    track = math.atan2(p.state.east_mps, p.state.north_mps)
    center = moved(field_of(p).here(p), track, 2.5 * p.state.tas_mps, direction * radius)
    targets = {"altitude_ft": ft(p.altitude_m), "ias_kt": kt(ias), "turns": turns * direction, "radius_ft": ft(radius)}
    with p.marking("steep_spiral", targets) as mark:
        mark.notes["direction"] = "right" if direction > 0 else "left"
        p.by_speed(ias, 0.0)
        p.follow(circle_guide(p, center, radius, direction, limit_rad=math.radians(58.0)))
        p.pitch_rad -= 0.04
        count = turned(p)
        p.fly_until(lambda: direction * count() >= turns * 2.0 * math.pi, at_most_s=400.0)
        mark.phases["recovery"] = p.time_s
        p.bank(0.0)
        p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(5.0), at_most_s=15.0)
        p.heading_rad = p.state.heading_rad
    level_off(p)


def chandelle(p: Pilot, direction: float) -> None:
    """180° climbing turn: bank held to 90° while the pitch rises, then pitch held while the bank comes off."""
    model, skill = p.sim.model, p.skill
    p.level(altitude_m=p.altitude_m, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
    p.fly_until(lambda: abs(p.state.ias_mps - model.maneuvering_mps) < 4.0 * KT_MPS, at_most_s=25.0)
    steepest = math.radians(30.0) * (1.0 + (skill.bank_bias_share if p.biases else 0.0))
    high = model.chandelle_pitch_rad * (1.0 + 0.25 * (1.0 - skill.level) * float(p.rng.normal()))
    entry = {"altitude_ft": ft(p.altitude_m), "ias_kt": kt(model.maneuvering_mps), "bank_deg": 30.0}
    with p.marking("chandelle", {**entry, "turn_deg": 180.0 * direction}) as mark:
        mark.notes["direction"] = "right" if direction > 0 else "left"
        count = turned(p)
        flat = p.state.pitch_rad
        p.in_maneuver = True
        p.bank(direction * math.radians(30.0))
        p.fly_until(lambda: abs(count()) > math.radians(8.0), at_most_s=8.0)
        p.throttle = 1.0
        p.hold_pitch(flat)
        for _ in range(round(60.0 / TICK_S)):
            done = direction * count() + skill.rollout_error_rad * -0.5
            if done >= math.radians(174.0):
                break
            p.pitch_rad = flat + (high - flat) * min(1.0, done / (0.5 * math.pi))
            left = min(1.0, max(0.0, (math.pi - done) / (0.5 * math.pi)))
            p.bank_rad = direction * max(math.radians(3.0), steepest * left)
            if p.state.angle_of_attack_rad > p.sim.warning_alpha_rad * 1.15:
                p.pitch_rad -= 0.03
            p.tick()
        p.bank(0.0)
        p.heading_rad = p.state.heading_rad
        p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(4.0), at_most_s=6.0)
        p.in_maneuver = False
        mark.phases["recovery"] = p.time_s
        top = p.sim.indicated_altitude_m
        p.level(altitude_m=top, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad, power="fixed")
        p.fly(4.0)
    p.fly_until(lambda: p.state.ias_mps > model.climb_mps - 5.0 * KT_MPS, at_most_s=20.0)
    p.level(altitude_m=top, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
    p.fly(12.0)


def lazy_eight(p: Pilot, first: float = -1.0, *, loops: int = 1) -> None:
    """Two 180° turns each way with pitch, bank and speed always changing."""
    model, skill = p.sim.model, p.skill
    p.level(altitude_m=p.altitude_m, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
    p.fly_until(lambda: abs(p.state.ias_mps - model.maneuvering_mps) < 4.0 * KT_MPS, at_most_s=25.0)
    p.power_for(model.maneuvering_mps)
    p.fly(2.0)
    with p.marking(
        "lazy_eight", {"altitude_ft": ft(p.altitude_m), "ias_kt": kt(model.maneuvering_mps), "bank_deg": 30.0}
    ) as mark:
        mark.notes["first"] = "right" if first > 0 else "left"
        entry = p.sim.indicated_altitude_m
        flat = p.state.pitch_rad
        p.power_mode = "fixed"
        p.in_maneuver = True
        swing = math.radians(11.0) * (1.0 + 0.3 * (1.0 - skill.level) * float(p.rng.normal()))
        steepest = math.radians(30.0) * (1.0 + skill.bank_bias_share)
        for half in range(2 * loops):
            _half_eight(p, first if half % 2 == 0 else -first, flat, swing, steepest, entry)
        p.in_maneuver = False
        p.bank(0.0)
        p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(4.0), at_most_s=8.0)
    p.level(altitude_m=entry, ias_mps=model.maneuvering_mps, heading_rad=p.state.heading_rad)
    p.fly(12.0)


def _half_eight(p: Pilot, direction: float, flat: float, swing: float, steepest: float, entry_m: float) -> None:
    count = turned(p)
    progress, seconds = 0.0, 36.0
    p.hold_pitch(flat)
    p.bank(0.0)
    while progress < 1.0:
        done = direction * count() / math.pi
        progress += TICK_S / seconds * max(0.5, min(1.6, 1.0 + 2.0 * (done - progress)))
        # on the way down the nose is placed so as to meet the entry altitude at the end
        left_s = max(3.0, seconds * (1.0 - progress))
        meant = -swing * 30.0 * math.sin(math.pi * (1.0 - progress)) ** 2  # sink that the plain schedule would give
        short = ((p.sim.indicated_altitude_m - entry_m) / left_s + 0.5 * meant) / 45.0
        high = max(-0.12, min(0.12, 0.8 * short)) if progress > 0.6 else 0.0
        p.pitch_rad = flat + swing * math.sin(2.0 * math.pi * progress) - high * max(p.skill.level, 0.6)
        bank = steepest * math.sin(math.pi * progress) + 0.5 * max(-0.3, min(0.3, progress - done))
        p.bank_rad = direction * max(0.0, bank)
        p.tick()
    p.pitch_rad = flat


def emergency_descent(p: Pilot, lose_m: float, direction: float = -1.0, *, ias_mps: float | None = None) -> None:
    """Idle, bank 30 to 45°, nose down to a high speed, level off at the bottom."""
    model = p.sim.model
    ias = model.emergency_mps if ias_mps is None else ias_mps
    bottom = p.sim.indicated_altitude_m - lose_m
    with p.marking("emergency_descent", {"ias_kt": kt(ias), "altitude_ft": ft(bottom), "bank_deg": 38.0}) as mark:
        p.by_speed(ias, 0.0)
        keep = p.pitch_low_rad
        p.pitch_low_rad = math.radians(-22.0)
        p.pitch_rad = math.radians(-11.0)
        p.bank(direction * math.radians(38.0))
        until = min(0.35 * lose_m, 150.0)
        p.fly_until(lambda: p.sim.indicated_altitude_m < bottom + until, at_most_s=240.0)
        p.bank(0.0)
        p.heading_rad = p.state.heading_rad
        p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(6.0), at_most_s=10.0)
        p.heading_rad = p.state.heading_rad
        p.by_speed(ias, 0.0, heading_rad=p.heading_rad)
        lead = 5.0 + 3.0 * p.skill.level
        p.fly_until(
            lambda: p.sim.indicated_altitude_m < bottom - lead * p.state.vertical_speed_mps * 0.6, at_most_s=90.0
        )
        mark.phases["recovery"] = p.time_s
        p.pitch_low_rad = keep
        p.level(altitude_m=bottom, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad, power="fixed")
        p.vertical_speed_limit_mps = 6.0
        p.pitch_rad = 0.0
        p.fly_until(lambda: abs(p.state.vertical_speed_mps) < 0.7, at_most_s=30.0)
        p.vertical_speed_limit_mps = p.sim.model.easy_climb_mps
    p.level(altitude_m=bottom, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
    p.fly_until(lambda: p.state.ias_mps < model.maneuvering_mps + 6.0 * KT_MPS, at_most_s=40.0)
    p.power_for(model.maneuvering_mps)
    p.fly(10.0)
