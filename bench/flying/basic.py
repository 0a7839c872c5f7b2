"""The basic kinds: level flight, climb, descent, glide, turns, clearing turn, slow flight, tank change."""

from __future__ import annotations

import math

from airwork.units import DEG_RAD, FT_M, KT_MPS
from flying.pilot import Pilot, angle_from_rad


def ft(value_m: float) -> float:
    return round(value_m / FT_M, 1)


def kt(value_mps: float) -> float:
    return round(value_mps / KT_MPS, 1)


def deg(value_rad: float) -> float:
    return round(value_rad / DEG_RAD, 1)


def settle(
    p: Pilot, altitude_m: float, ias_mps: float, heading_rad: float | None = None, seconds: float = 40.0
) -> None:
    """Get into level flight at an altitude, speed and heading."""
    p.level(altitude_m=altitude_m, ias_mps=ias_mps, heading_rad=heading_rad)
    p.fly(5.0)
    p.power_for(ias_mps)
    p.fly_until(
        lambda: abs(p.state.ias_mps - ias_mps) < 3.0 * KT_MPS and abs(p.state.vertical_speed_mps) < 0.8,
        at_most_s=seconds,
    )


def straight_and_level(p: Pilot, seconds: float = 60.0, *, ias_mps: float | None = None, intended: bool = True) -> None:
    ias = p.ias_mps if ias_mps is None else ias_mps
    altitude = p.altitude_m
    p.level(altitude_m=altitude, ias_mps=ias, heading_rad=p.heading_rad)
    targets = {"altitude_ft": ft(altitude), "ias_kt": kt(ias), "heading_true_deg": deg(p.heading_rad)}
    with p.marking("straight_and_level", targets, intended=intended):
        p.fly(seconds)


def climb_to(p: Pilot, altitude_m: float, *, ias_mps: float | None = None, intended: bool = True) -> None:
    """Full-power climb, straight ahead, level off at the top."""
    model = p.sim.model
    ias = model.climb_mps if ias_mps is None else ias_mps
    cruise = model.maneuvering_mps
    with p.marking("climb", {"ias_kt": kt(ias), "altitude_ft": ft(altitude_m)}, intended=intended):
        p.by_speed(ias, 1.0, heading_rad=p.heading_rad)
        p.fly_until(
            lambda: p.sim.indicated_altitude_m >= altitude_m - 10.0 * max(p.state.vertical_speed_mps, 0.0)
            * (0.6 if p.skill.level > 0.5 else 0.3),
            at_most_s=1500.0,
        )  # fmt: skip
        p.level(altitude_m=altitude_m, ias_mps=cruise, heading_rad=p.heading_rad, power="fixed")
        p.fly_until(lambda: abs(p.state.vertical_speed_mps) < 0.5, at_most_s=40.0)
    p.level(altitude_m=altitude_m, ias_mps=cruise, heading_rad=p.heading_rad)
    p.power_for(model.maneuvering_mps)
    p.fly(10.0)


def descend_to(p: Pilot, altitude_m: float, *, ias_mps: float | None = None, sink_mps: float = 2.5,
               intended: bool = True) -> None:  # fmt: skip
    """Powered descent at a speed, level off at the bottom."""
    ias = p.ias_mps if ias_mps is None else ias_mps
    with p.marking(
        "descent",
        {"ias_kt": kt(ias), "altitude_ft": ft(altitude_m), "sink_fpm": sink_mps / FT_M * 60},
        intended=intended,
    ):
        p.level(altitude_m=altitude_m, ias_mps=ias, heading_rad=p.heading_rad)
        p.power_for(ias, path_rad=-sink_mps / (1.1 * ias))
        keep = p.vertical_speed_limit_mps
        p.vertical_speed_limit_mps = sink_mps
        # what this pilot takes for there: biased, and content with a small rest
        content_m = 12.0 + (max(0.0, p.skill.altimeter_bias_m) if p.biases else 0.0) + 0.6 * p.skill.altitude_band_m
        p.fly_until(lambda: p.sim.indicated_altitude_m < altitude_m + content_m, at_most_s=1500.0)
        p.fly_until(lambda: abs(p.state.vertical_speed_mps) < 0.5, at_most_s=40.0)
        p.vertical_speed_limit_mps = keep
    p.fly(8.0)


def turn_level(p: Pilot, turn_rad: float, bank_rad: float, *, intended: bool = True) -> None:
    """Level turn through an angle at an ordinary bank."""
    targets = {"altitude_ft": ft(p.altitude_m), "bank_deg": deg(bank_rad), "turn_deg": deg(turn_rad)}
    with p.marking("level_turn", targets, intended=intended):
        p.turn(turn_rad, bank_rad)
    p.fly(3.0)


def set_flaps(p: Pilot, notch: int, *, pause_s: float = 3.0) -> None:
    """Notch by notch, with a pause after each."""
    while p.sim.flap_notch != notch:
        p.sim.set_flaps(p.sim.flap_notch + (1 if notch > p.sim.flap_notch else -1))
        p.fly(pause_s)


def slow_flight(p: Pilot, *, notch: int = 0, margin_kt: float = 7.0, straight_s: float = 25.0,
                turns_deg: tuple[float, ...] = (90.0, -90.0),
                ias_mps: float | None = None) -> None:  # fmt: skip
    """Slow down, hold a speed a little over the stall with turns, recover to the maneuvering speed."""
    model = p.sim.model
    share = notch / max(1, len(model.flap_deg) - 1)
    stall = model.stall_mps + (model.stall_flaps_mps - model.stall_mps) * share
    ias = stall + margin_kt * KT_MPS if ias_mps is None else ias_mps
    altitude, heading = p.altitude_m, p.heading_rad
    targets = {"altitude_ft": ft(altitude), "ias_kt": kt(ias), "flap_notch": float(notch), "bank_deg": 15.0}
    with p.marking("slow_flight", targets) as mark:
        p.level(altitude_m=altitude, ias_mps=ias, heading_rad=heading, power="fixed")
        p.throttle = 0.35
        p.fly_until(lambda: p.state.ias_mps < model.flaps_max_mps - 2.0, at_most_s=40.0)
        if notch:
            set_flaps(p, notch, pause_s=4.0)
        p.fly_until(lambda: p.state.ias_mps < ias + 5.0 * KT_MPS, at_most_s=40.0)
        p.power_for(ias, notch=notch)
        p.pitch_mode, p.power_mode = "speed", "altitude"
        p.fly(8.0)
        mark.phases["established"] = p.time_s
        p.fly(straight_s)
        for turn in turns_deg:
            p.throttle += 0.03
            p.turn(math.radians(turn), math.radians(15.0))
            p.fly(straight_s * 0.6)
        mark.phases["recovery"] = p.time_s
        p.level(altitude_m=altitude, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad, power="fixed")
        p.throttle = 1.0
        p.fly(2.0)
        set_flaps(p, 0, pause_s=5.0)
        p.fly_until(lambda: p.state.ias_mps > model.maneuvering_mps - 8.0 * KT_MPS, at_most_s=60.0)
    p.level(altitude_m=altitude, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
    p.power_for(model.maneuvering_mps)
    p.fly(10.0)


def clearing_turn(p: Pilot, *, first: float = -1.0, bank_deg: float = 30.0, halves: bool = True) -> None:
    """90° one way and 90° back, or one half circle; the whole pattern is one maneuver."""
    with p.marking("clearing_turn", {"altitude_ft": ft(p.altitude_m), "bank_deg": bank_deg}):
        heading = p.state.heading_rad
        if halves:
            p.turn(first * math.pi / 2.0, math.radians(bank_deg))
            p.fly(1.0 + 2.0 * float(p.rng.random()))
            p.turn(-first * math.pi / 2.0, math.radians(bank_deg), to_heading_rad=heading)
        else:
            p.turn(first * math.pi, math.radians(bank_deg))
    p.fly(5.0)


def glide(p: Pilot, lose_m: float, *, ias_mps: float | None = None, turn_deg: float = 0.0) -> None:
    """Power off at the best glide speed, until so much height is lost; then level."""
    model = p.sim.model
    ias = model.glide_mps if ias_mps is None else ias_mps
    top = p.sim.indicated_altitude_m
    with p.marking("glide", {"ias_kt": kt(ias)}) as mark:
        # a pilot first holds the altitude until the speed is down, then lowers the nose
        p.level(altitude_m=top, ias_mps=ias, heading_rad=p.heading_rad, power="fixed")
        p.throttle = 0.0
        p.fly_until(lambda: p.state.ias_mps < ias + 4.0 * KT_MPS, at_most_s=30.0)
        p.by_speed(ias, 0.0, heading_rad=p.heading_rad)
        p.fly(8.0)
        mark.phases["established"] = p.time_s
        if turn_deg:
            p.turn(math.radians(turn_deg), math.radians(20.0))
        p.fly_until(lambda: p.sim.indicated_altitude_m < top - lose_m, at_most_s=900.0)
        bottom = p.sim.indicated_altitude_m - 10.0
        p.level(altitude_m=bottom, ias_mps=model.maneuvering_mps, heading_rad=p.heading_rad)
        p.power_for(model.maneuvering_mps)
        p.fly_until(lambda: p.state.vertical_speed_mps > -0.5, at_most_s=20.0)
    p.fly(12.0)


def forward_slip(p: Pilot, lose_m: float, *, direction: float = 1.0) -> None:
    """Idle, one wing low with opposite rudder, the path over the ground kept straight; direction: the low wing."""
    model = p.sim.model
    ias = model.glide_mps + 3.0 * KT_MPS
    settle_glide(p, ias)
    state = p.state
    track = math.atan2(state.east_mps, state.north_mps)
    top = p.sim.indicated_altitude_m
    with p.marking("forward_slip", {"ias_kt": kt(ias)}) as mark:
        mark.notes["low_wing"] = "right" if direction > 0 else "left"
        lean = math.radians(12.0 + 5.0 * p.skill.level)

        def bank() -> float:
            drift = angle_from_rad(track, math.atan2(p.state.east_mps, p.state.north_mps))
            return direction * lean - max(-0.25, min(0.25, 1.2 * drift))

        p.rudder_hold = direction * model.slip_rudder  # a positive rudder command yaws left
        p.follow(bank)
        p.fly_until(lambda: p.sim.indicated_altitude_m < top - lose_m, at_most_s=90.0)
        p.rudder_hold = None
        p.heading_rad = track
        p.by_speed(ias, 0.0, heading_rad=track)
        p.fly_until(lambda: abs(p.state.sideslip_rad) < 0.04 and abs(p.state.bank_rad) < 0.1, at_most_s=10.0)
    level_off(p)


def settle_glide(p: Pilot, ias_mps: float) -> None:
    p.level(altitude_m=p.altitude_m, ias_mps=ias_mps, heading_rad=p.heading_rad, power="fixed")
    p.throttle = 0.0
    p.fly_until(lambda: p.state.ias_mps < ias_mps + 4.0 * KT_MPS, at_most_s=30.0)
    p.by_speed(ias_mps, 0.0, heading_rad=p.heading_rad)
    p.fly(8.0)


def level_off(p: Pilot) -> None:
    """Back to level flight just below where it is now."""
    p.level(
        altitude_m=p.sim.indicated_altitude_m - 15.0, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.heading_rad
    )
    p.power_for(p.sim.model.maneuvering_mps)
    p.fly_until(lambda: abs(p.state.vertical_speed_mps) < 0.6, at_most_s=30.0)
    p.fly(10.0)


def tank_change(p: Pilot, tank: int) -> None:
    """Move the selector; the maneuver is the five seconds either side."""
    with p.marking("tank_change", {"tank": float(tank)}) as mark:
        mark.start_s = p.time_s - 5.0
        p.sim.select_tank(tank)
        p.fly(5.0)
