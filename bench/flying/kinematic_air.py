"""Basic air work of the driven flights: schedules of bank, climb and speed with errors laid on."""

from __future__ import annotations

import math
from collections.abc import Callable

from airwork.units import FT_M, KT_MPS
from flying.basic import deg, ft, kt
from flying.kinematic import Driver

FPM = FT_M / 60.0


def cruise(d: Driver) -> float:
    """Speed of the exercises. [m/s]"""
    return {"larkmoor_155": 90.0, "wrenbrook_108": 84.0, "caldmere_200": 105.0}[d.airplane.id] * KT_MPS


def speed(d: Driver, name: str) -> float:
    """A named speed of the airplane file at this mass. [m/s]"""
    return d.airplane.speed_kias(name, d.mass_kg / 0.45359237) * KT_MPS


def climb_rate(d: Driver) -> float:
    """About what the airplane climbs at full power here. [m/s]"""
    best = {"larkmoor_155": 800.0, "wrenbrook_108": 650.0, "caldmere_200": 1050.0}[d.airplane.id]
    return max(150.0, best * (1.0 - d.height_m / 5200.0)) * FPM


def turning(d: Driver) -> Callable[[], float]:
    """Counter of the heading change since now (right positive); the heading is not wrapped while driving."""
    start = d.heading_rad
    return lambda: d.heading_rad - start


def turned_by(d: Driver, direction: float, angle_rad: float, lead: float = 0.5) -> Callable[[], bool]:
    """True once the heading has changed by an angle from now, less a share of the bank for rolling out."""
    start = d.heading_rad
    return lambda: direction * (d.heading_rad - start) >= angle_rad - lead * abs(d.bank_rad)


def late_rad(d: Driver) -> float:
    """How far past the heading this roll-out ends. [rad]"""
    return math.radians(float(d.rng.normal(4.0 * d.lack, 1.0 + 9.0 * d.lack)))


def level(d: Driver, seconds: float, altitude_m: float, ias_mps: float | None = None) -> None:
    """Straight and level, unmarked."""
    heading = d.heading_rad
    d.idle = False
    d.drive(seconds, bank=d.steer(heading), climb=d.hold(altitude_m), ias=d.about(ias_mps or cruise(d)))


def straight_and_level(d: Driver, altitude_m: float, seconds: float) -> None:
    with d.marking("straight_and_level", {"altitude_ft": ft(altitude_m), "ias_kt": kt(cruise(d))}):
        level(d, seconds, altitude_m)


def turn(d: Driver, altitude_m: float, turn_rad: float, bank_rad: float, *, ias_mps: float | None = None) -> None:
    """A level turn, unmarked: roll in, hold, roll out."""
    sign = math.copysign(1.0, turn_rad)
    count, late = turning(d), late_rad(d)
    d.drive(
        lambda: sign * count() >= abs(turn_rad) - 0.5 * abs(d.bank_rad) + late,
        bank=sign * bank_rad,
        climb=d.hold(altitude_m),
        ias=d.about(ias_mps or cruise(d)),
        at_most_s=300.0,
    )
    d.drive(
        lambda: abs(d.bank_rad) < math.radians(4.0),
        bank=0.0,
        climb=d.hold(altitude_m),
        ias=d.about(ias_mps or cruise(d)),
        at_most_s=15.0,
    )


def level_turn(d: Driver, altitude_m: float, turn_rad: float, bank_rad: float) -> None:
    targets = {"altitude_ft": ft(altitude_m), "bank_deg": deg(bank_rad), "turn_deg": deg(turn_rad)}
    with d.marking("level_turn", targets):
        turn(d, altitude_m, turn_rad, bank_rad)


def clearing_turn(d: Driver, altitude_m: float, first: float) -> None:
    """90° and 90° back, or one half circle."""
    bank = math.radians(float(d.rng.uniform(20.0, 32.0)))
    with d.marking("clearing_turn", {"altitude_ft": ft(altitude_m), "bank_deg": deg(bank)}):
        if d.rng.random() < 0.7:
            turn(d, altitude_m, first * math.pi / 2.0, bank)
            d.drive(float(d.rng.uniform(0.0, 5.0)), bank=0.0, climb=d.hold(altitude_m), ias=d.about(cruise(d)))
            turn(d, altitude_m, -first * math.pi / 2.0, bank)
        else:
            turn(d, altitude_m, first * math.pi, bank)
    level(d, 5.0, altitude_m)


def steep_turn(d: Driver, altitude_m: float, direction: float) -> None:
    """The bank held is 45° for a precise flight, 30 to 52° for a poor one; the nose drops as the bank grows."""
    bank = math.radians(45.0 + float(d.rng.normal(-5.0 * d.lack, 1.0 + 5.0 * d.lack)))
    short = math.radians(float(d.rng.uniform(20.0, 60.0))) if d.rng.random() < 0.3 * d.lack else 0.0
    loss_m = float(d.rng.normal(60.0, 90.0)) * d.lack * FT_M
    entry = d.altitude_m
    with d.marking(
        "steep_turn", {"altitude_ft": ft(altitude_m), "bank_deg": 45.0, "turn_deg": 360.0 * direction}
    ) as mark:
        mark.notes["direction"] = "right" if direction > 0 else "left"
        count, start, late = turning(d), d.time_s, late_rad(d)
        total = 2.0 * math.pi - short + (0.0 if short else late)

        def climb() -> float:
            done = min(1.0, abs(count()) / 6.3)
            meant = (
                entry
                - loss_m * math.sin(math.pi * min(1.0, done * 1.3))
                + 0.5 * d.height_size_m * d.height_wave(d.time_s)
            )
            return max(-5.0, min(5.0, (meant - d.altitude_m) / 3.0))

        bleed = (2.0 + 7.0 * d.lack * float(d.rng.uniform(0.2, 1.0))) * KT_MPS

        def ias() -> float:
            return cruise(d) - bleed * min(1.0, (d.time_s - start) / 12.0) + d.speed_size_mps * d.speed_wave(d.time_s)

        d.drive(
            lambda: direction * count() >= total - 0.5 * abs(d.bank_rad), bank=direction * bank, climb=climb, ias=ias
        )
        d.drive(lambda: abs(d.bank_rad) < math.radians(4.0), bank=0.0, climb=climb, ias=ias, at_most_s=15.0)
    level(d, float(d.rng.uniform(3.0, 20.0)), altitude_m)


def slow_flight(d: Driver, altitude_m: float, notch: int, turns_deg: tuple[float, ...]) -> None:
    full = len(d.airplane.flap_deg) - 1
    stall = speed(d, "stall_flaps_up") + (speed(d, "stall_flaps_full") - speed(d, "stall_flaps_up")) * notch / full
    ias = stall + (5.0 + 4.0 * float(d.rng.random())) * KT_MPS
    targets = {"altitude_ft": ft(altitude_m), "ias_kt": kt(ias), "flap_notch": float(notch), "bank_deg": 15.0}
    heading = d.heading_rad
    with d.marking("slow_flight", targets) as mark:
        d.drive(
            lambda: d.ias_mps < 75.0 * KT_MPS,
            bank=d.steer(heading),
            climb=d.hold(altitude_m),
            ias=ias - 3.0,
            speed_lag_s=22.0,
            at_most_s=60.0,
        )
        for _ in range(notch):
            d.flap_notch += 1
            d.drive(3.0, bank=d.steer(heading), climb=d.hold(altitude_m), ias=ias - 2.0, speed_lag_s=22.0)
        d.drive(
            lambda: d.ias_mps < ias + 3.0 * KT_MPS,
            bank=d.steer(heading),
            climb=d.hold(altitude_m),
            ias=ias - 2.0,
            speed_lag_s=20.0,
            at_most_s=60.0,
        )
        mark.phases["established"] = d.time_s
        held = d.about(ias)
        d.drive(float(d.rng.uniform(15.0, 40.0)), bank=d.steer(heading), climb=d.hold(altitude_m), ias=held)
        for angle in turns_deg:
            turn(d, altitude_m, math.radians(angle), math.radians(float(d.rng.uniform(12.0, 20.0))), ias_mps=ias)
            d.drive(float(d.rng.uniform(8.0, 25.0)), bank=d.steer(d.heading_rad), climb=d.hold(altitude_m), ias=held)
        mark.phases["recovery"] = d.time_s
        heading = d.heading_rad
        d.drive(3.0, bank=d.steer(heading), climb=d.hold(altitude_m), ias=cruise(d), speed_lag_s=14.0)
        while d.flap_notch:
            d.flap_notch -= 1
            d.drive(3.0, bank=d.steer(heading), climb=d.hold(altitude_m), ias=cruise(d), speed_lag_s=14.0)
        d.drive(
            lambda: d.ias_mps > cruise(d) - 8.0 * KT_MPS,
            bank=d.steer(heading),
            climb=d.hold(altitude_m),
            ias=cruise(d) + 2.0,
            speed_lag_s=14.0,
            at_most_s=60.0,
        )
    level(d, 10.0, altitude_m)


def climb(d: Driver, altitude_m: float) -> None:
    heading = d.heading_rad
    best = speed(d, "best_rate_of_climb")
    with d.marking("climb", {"ias_kt": kt(best), "altitude_ft": ft(altitude_m)}):
        _climb(d, altitude_m, d.steer(heading))
    level(d, 8.0, altitude_m)


def _climb(d: Driver, altitude_m: float, bank: Callable[[], float]) -> None:
    best = speed(d, "best_rate_of_climb")
    d.drive(
        lambda: d.altitude_m > altitude_m - 15.0,
        bank=bank,
        climb=lambda: climb_rate(d),
        ias=d.about(best),
        climb_lag_s=3.0,
    )
    d.drive(lambda: d.climb_mps < 0.5, bank=bank, climb=d.hold(altitude_m), ias=d.about(best), at_most_s=30.0)


def descent(d: Driver, altitude_m: float, sink_mps: float) -> None:
    heading = d.heading_rad
    with d.marking("descent", {"altitude_ft": ft(altitude_m), "sink_fpm": round(sink_mps / FPM)}):
        _descend(d, altitude_m, sink_mps, d.steer(heading))
    level(d, 8.0, altitude_m)


def _descend(d: Driver, altitude_m: float, sink_mps: float, bank: Callable[[], float]) -> None:
    d.drive(
        lambda: d.altitude_m < altitude_m + 15.0, bank=bank, climb=-sink_mps, ias=d.about(cruise(d)), climb_lag_s=2.5
    )
    d.drive(lambda: d.climb_mps > -0.5, bank=bank, climb=d.hold(altitude_m), ias=d.about(cruise(d)), at_most_s=30.0)


def to_altitude(d: Driver, altitude_m: float) -> None:
    """Climb or descend on the way, unmarked."""
    heading = d.heading_rad
    d.idle = False
    if altitude_m - d.altitude_m > 45.0:
        _climb(d, altitude_m, d.steer(heading))
    elif d.altitude_m - altitude_m > 45.0:
        _descend(d, altitude_m, 600.0 * FPM, d.steer(heading))
    level(d, 12.0, altitude_m)


def glide(d: Driver, lose_m: float) -> None:
    best = speed(d, "best_glide")
    top, heading = d.altitude_m, d.heading_rad
    with d.marking("glide", {"ias_kt": kt(best)}) as mark:
        d.idle = True
        d.drive(
            lambda: d.ias_mps < best + 2.0,
            bank=d.steer(heading),
            climb=d.hold(top),
            ias=best,
            speed_lag_s=12.0,
            at_most_s=40.0,
        )
        mark.phases["established"] = d.time_s
        d.drive(
            lambda: d.altitude_m < top - lose_m,
            bank=d.steer(heading),
            climb=lambda: -d.tas_mps / 9.3,
            ias=d.about(best),
        )
        d.idle = False
        bottom = d.altitude_m - 10.0
        d.drive(
            lambda: d.climb_mps > -0.5,
            bank=d.steer(heading),
            climb=d.hold(bottom),
            ias=cruise(d),
            speed_lag_s=9.0,
            at_most_s=20.0,
        )
    level(d, 10.0, bottom)


def forward_slip(d: Driver, lose_m: float, direction: float) -> None:
    """Low wing one way, nose the other: the track keeps straight while the heading is off by the slip."""
    best = speed(d, "best_glide") + 3.0
    top, heading = d.altitude_m, d.heading_rad
    d.idle = True
    d.drive(
        lambda: d.ias_mps < best + 2.0, bank=d.steer(heading), climb=-1.5, ias=best, speed_lag_s=10.0, at_most_s=40.0
    )
    d.drive(6.0, bank=d.steer(heading), climb=-3.2, ias=best)
    with d.marking("forward_slip", {"ias_kt": kt(best)}) as mark:
        mark.notes["low_wing"] = "right" if direction > 0 else "left"
        slip = math.radians(float(d.rng.uniform(9.0, 15.0)))
        lean = math.radians(float(d.rng.uniform(9.0, 16.0)))
        d.straight = True
        _slip_to(d, -direction * slip, direction * lean, best)
        d.drive(
            lambda: d.altitude_m < top - lose_m,
            bank=direction * lean,
            climb=-1250.0 * FPM,
            ias=d.about(best),
            at_most_s=90.0,
        )
        _slip_to(d, 0.0, 0.0, best)
        d.straight = False
    bottom = d.altitude_m - 10.0
    d.idle = False
    d.drive(
        lambda: d.climb_mps > -0.5, bank=d.steer(d.heading_rad), climb=d.hold(bottom), ias=cruise(d), at_most_s=25.0
    )
    level(d, 10.0, bottom)


def _slip_to(d: Driver, slip_rad: float, bank_rad: float, ias: float) -> None:
    """Yaw and bank together over three seconds; the course through the air stays."""
    start, course = d.slip_rad, d.heading_rad - d.slip_rad
    for i in range(30):
        d.slip_rad = start + (slip_rad - start) * (i + 1) / 30.0
        d.heading_rad = course + d.slip_rad
        d.drive(0.1, bank=bank_rad, climb=-1000.0 * FPM, ias=ias)
