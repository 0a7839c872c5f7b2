"""Stalls and performance maneuvers of the driven flights: schedules of bank, climb and speed with errors laid on."""

from __future__ import annotations

import math
from collections.abc import Callable

from airwork.units import KT_MPS
from flying.basic import ft, kt
from flying.kinematic import Driver
from flying.kinematic_air import FPM, climb_rate, cruise, late_rad, level, speed, turning
from flying.simulator import G_MPS2
from flying.truth import Mark


def _break(d: Driver, altitude_m: float, bank: float, stall_ias: float, mark: Mark) -> None:
    """The wing lets go: the nose drops, height is lost, speed comes back, then a climb at a safe speed."""
    drop = bank + math.radians(float(d.rng.normal(0.0, 3.0 + 14.0 * d.lack)))
    sink = float(d.rng.uniform(700.0, 1200.0)) * FPM * (0.8 + 0.6 * d.lack)
    d.drive(2.0 + 2.5 * d.lack, bank=drop, climb=-sink, ias=stall_ias - 0.5, climb_lag_s=1.0)
    mark.phases["recovery"] = d.time_s
    mark.notes["stall_ias_kt"] = kt(speed(d, "stall_flaps_up"))
    d.idle = False
    safe = speed(d, "best_rate_of_climb")
    d.drive(
        lambda: d.ias_mps > stall_ias * 1.25,
        bank=0.0,
        climb=-0.8 * sink,
        ias=safe + 4.0,
        speed_lag_s=3.5,
        at_most_s=12.0,
    )
    while d.flap_notch > 1:
        d.flap_notch -= 1
    d.drive(lambda: d.climb_mps > 0.5, bank=0.0, climb=300.0 * FPM, ias=safe, climb_lag_s=2.0, at_most_s=15.0)
    d.flap_notch = 0
    d.drive(6.0, bank=0.0, climb=climb_rate(d) * 0.8, ias=safe, speed_lag_s=4.0)


def power_off_stall(d: Driver, altitude_m: float, notch: int, bank_deg: float) -> None:
    full = len(d.airplane.flap_deg) - 1
    stall = speed(d, "stall_flaps_up") + (speed(d, "stall_flaps_full") - speed(d, "stall_flaps_up")) * notch / full
    approach = speed(d, "stall_flaps_full") * 1.4
    heading = d.heading_rad
    with d.marking(
        "power_off_stall", {"altitude_ft": ft(altitude_m), "flap_notch": float(notch), "bank_deg": bank_deg}
    ) as mark:
        d.drive(
            lambda: d.ias_mps < approach + 4.0,
            bank=d.steer(heading),
            climb=d.hold(altitude_m),
            ias=approach,
            speed_lag_s=14.0,
            at_most_s=60.0,
        )
        for _ in range(notch):
            d.flap_notch += 1
            d.drive(2.5, bank=d.steer(heading), climb=-200.0 * FPM, ias=approach)
        d.drive(float(d.rng.uniform(6.0, 15.0)), bank=d.steer(heading), climb=-500.0 * FPM, ias=d.about(approach))
        mark.phases["established"] = d.time_s
        d.idle = True
        bank = d.steer(heading) if not bank_deg else math.radians(bank_deg)
        lag = float(d.rng.uniform(7.0, 11.0))
        d.drive(
            lambda: d.ias_mps < stall, bank=bank, climb=-150.0 * FPM, ias=stall - 3.0, speed_lag_s=lag, at_most_s=40.0
        )
        _break(d, altitude_m, math.radians(bank_deg), stall, mark)


def power_on_stall(d: Driver, altitude_m: float, bank_deg: float) -> None:
    stall = speed(d, "stall_flaps_up") - 2.0 * KT_MPS
    slow = speed(d, "stall_flaps_up") + 9.0 * KT_MPS
    heading = d.heading_rad
    with d.marking("power_on_stall", {"altitude_ft": ft(altitude_m), "bank_deg": bank_deg}) as mark:
        d.drive(
            lambda: d.ias_mps < slow + 1.5,
            bank=d.steer(heading),
            climb=d.hold(altitude_m),
            ias=slow,
            speed_lag_s=14.0,
            at_most_s=60.0,
        )
        mark.phases["established"] = d.time_s
        bank = d.steer(heading) if not bank_deg else math.radians(bank_deg)
        rise = climb_rate(d) * 1.3
        d.drive(
            lambda: d.ias_mps < stall,
            bank=bank,
            climb=rise,
            ias=stall - 3.0,
            speed_lag_s=9.0,
            climb_lag_s=3.0,
            at_most_s=40.0,
        )
        _break(d, altitude_m, math.radians(bank_deg), stall, mark)


def accelerated_stall(d: Driver, altitude_m: float, direction: float) -> None:
    stall = speed(d, "stall_flaps_up") * 1.19  # at 45° of bank
    heading = d.heading_rad
    with d.marking("accelerated_stall", {"altitude_ft": ft(altitude_m), "bank_deg": 45.0}) as mark:
        d.drive(
            lambda: d.ias_mps < stall * 1.2,
            bank=d.steer(heading),
            climb=d.hold(altitude_m),
            ias=stall * 1.05,
            speed_lag_s=12.0,
            at_most_s=60.0,
        )
        bank = direction * math.radians(45.0 + float(d.rng.normal(0.0, 2.0 + 4.0 * d.lack)))
        mark.phases["established"] = d.time_s
        d.drive(
            lambda: d.ias_mps < stall, bank=bank, climb=-100.0 * FPM, ias=stall - 4.0, speed_lag_s=4.0, at_most_s=25.0
        )
        d.drive(1.0 + d.lack, bank=bank, climb=-500.0 * FPM, ias=stall - 1.0)
        mark.phases["recovery"] = d.time_s
        mark.notes["stall_ias_kt"] = kt(speed(d, "stall_flaps_up"))
        safe = speed(d, "best_rate_of_climb")
        d.drive(lambda: abs(d.bank_rad) < 0.1, bank=0.0, climb=-500.0 * FPM, ias=safe, speed_lag_s=3.0, at_most_s=10.0)
        d.drive(lambda: d.ias_mps > safe - 2.0, bank=0.0, climb=0.0, ias=safe + 3.0, at_most_s=15.0)


def steep_spiral(d: Driver, direction: float, turns: float = 3.0) -> None:
    """Round a point with the bank worked out from the wind of the moment."""
    ias = speed(d, "best_glide") + 8.0 * KT_MPS
    heading, top = d.heading_rad, d.altitude_m
    d.drive(
        lambda: d.ias_mps < ias + 3.0,
        bank=d.steer(heading),
        climb=d.hold(top),
        ias=ias,
        speed_lag_s=10.0,
        at_most_s=40.0,
    )
    fastest = d.tas_mps + d.day.wind.speed_mps
    radius = max(d.tas_mps**2 / (G_MPS2 * math.tan(0.62)), fastest**2 / (G_MPS2 * math.tan(math.radians(50.0))))
    with d.marking("steep_spiral", {"altitude_ft": ft(top), "ias_kt": kt(ias), "turns": turns * direction}) as mark:
        mark.notes["direction"] = "right" if direction > 0 else "left"
        d.idle = True
        center = abeam(d, radius, direction)
        count = turning(d)
        d.drive(
            lambda: direction * count() >= turns * 2.0 * math.pi - 0.4,
            bank=circle_bank(d, radius, direction, center),
            climb=lambda: -d.tas_mps / 9.3 / max(0.5, math.cos(d.bank_rad) ** 1.5),
            ias=d.about(ias),
            climb_lag_s=3.0,
        )
        d.drive(lambda: abs(d.bank_rad) < math.radians(5.0), bank=0.0, climb=-4.0, ias=d.about(ias), at_most_s=12.0)
    bottom = d.altitude_m - 12.0
    d.idle = False
    d.drive(lambda: d.climb_mps > -0.5, bank=0.0, climb=d.hold(bottom), ias=cruise(d), at_most_s=25.0)
    level(d, 10.0, bottom)


def abeam(d: Driver, aside_m: float, direction: float, ahead_m: float = 60.0) -> tuple[float, float]:
    """A point abeam the track, right for direction +1. [east, north]"""
    track = math.atan2(*d.ground_velocity())
    east = d.east_m + ahead_m * math.sin(track) + direction * aside_m * math.cos(track)
    return east, d.north_m + ahead_m * math.cos(track) - direction * aside_m * math.sin(track)


def circle_bank(
    d: Driver, radius_m: float, direction: float, center: tuple[float, float] | None = None
) -> Callable[[], float]:
    """Bank for a constant radius over the ground at each moment's groundspeed; a poor flight sees part of the wind.

    With a center (east, north) the distance from it is corrected too, with as much care as the flight has.
    """
    seen = 1.0 - 0.7 * d.lack * float(d.rng.uniform(0.5, 1.0))
    radius = radius_m * (1.0 + 0.12 * d.lack * float(d.rng.normal()))
    care = 1.0 - 0.8 * d.lack

    def bank() -> float:
        east, north = d.ground_velocity()
        ground, tas = math.hypot(east, north), d.tas_mps
        felt = tas + seen * (ground - tas)
        drift = math.remainder(math.atan2(east, north) - d.heading_rad, 2.0 * math.pi)
        # the turn rate of the track wanted, turned into one of the heading
        needed = math.atan(felt**2 / radius / max(math.cos(seen * drift), 0.5) / G_MPS2)
        if center is not None:
            away_e, away_n = d.east_m - center[0], d.north_m - center[1]
            away = math.hypot(away_e, away_n) or 1.0
            opening = (east * away_e + north * away_n) / away
            needed += max(-0.4, min(0.4, care * (0.5 * (away - radius) / radius + opening / max(ground, 15.0))))
        return direction * max(0.0, min(needed, math.radians(58.0)))

    return bank


def chandelle(d: Driver, altitude_m: float, direction: float) -> None:
    steepest = math.radians(30.0 + float(d.rng.normal(0.0, 1.0 + 5.0 * d.lack)))
    slowest = speed(d, "stall_flaps_up") + float(d.rng.uniform(3.0, 6.0 + 8.0 * d.lack)) * KT_MPS
    fast = cruise(d)
    with d.marking(
        "chandelle",
        {"altitude_ft": ft(altitude_m), "ias_kt": kt(fast), "bank_deg": 30.0, "turn_deg": 180.0 * direction},
    ) as mark:
        mark.notes["direction"] = "right" if direction > 0 else "left"
        count, late = turning(d), late_rad(d)

        def done() -> float:
            return max(0.0, min(1.0, direction * count() / math.pi))

        def bank() -> float:
            left = 1.0 if done() < 0.5 else max(0.12, 2.0 * (1.0 - done()))
            return direction * steepest * left

        def ias() -> float:
            return fast - (fast - slowest) * min(1.0, done() * 1.05)

        def rise() -> float:
            return climb_rate(d) * (0.3 + 2.0 * math.sin(math.pi * min(1.0, 0.15 + 0.75 * done())))

        d.drive(
            lambda: direction * count() >= math.pi - 0.05 + 0.5 * late,
            bank=bank,
            climb=rise,
            ias=ias,
            speed_lag_s=2.0,
            climb_lag_s=2.5,
            at_most_s=90.0,
        )
        d.drive(lambda: abs(d.bank_rad) < math.radians(4.0), bank=0.0, climb=1.0, ias=slowest, at_most_s=8.0)
        mark.phases["recovery"] = d.time_s
        top = d.altitude_m
        d.drive(4.0, bank=0.0, climb=d.hold(top), ias=cruise(d))
    level(d, 12.0, top)


def lazy_eight(d: Driver, altitude_m: float, first: float, loops: int) -> None:
    fast, heights = cruise(d), float(d.rng.uniform(0.42, 0.6)) * cruise(d) ** 2 / (2.0 * G_MPS2)
    drift = float(d.rng.normal(0.0, 60.0)) * d.lack
    with d.marking("lazy_eight", {"altitude_ft": ft(altitude_m), "ias_kt": kt(fast), "bank_deg": 30.0}) as mark:
        mark.notes["first"] = "right" if first > 0 else "left"
        entry = d.altitude_m
        for half in range(2 * loops):
            direction = first if half % 2 == 0 else -first
            steepest = math.radians(30.0 + float(d.rng.normal(0.0, 1.0 + 4.0 * d.lack)))
            count, start, seconds = turning(d), d.time_s, float(d.rng.uniform(32.0, 40.0))
            base = entry + drift * half / 2.0

            def progress(start: float = start, seconds: float = seconds) -> float:
                return min(1.0, (d.time_s - start) / seconds)

            def bank(
                direction: float = direction, steepest: float = steepest, count: Callable[[], float] = count,
                progress: Callable[[], float] = progress,
            ) -> float:  # fmt: skip
                short = progress() - direction * count() / math.pi
                return direction * max(0.0, steepest * math.sin(math.pi * progress()) + 0.6 * short)

            def height(base: float = base, progress: Callable[[], float] = progress) -> float:
                meant = base + heights * math.sin(math.pi * progress()) ** 2
                return max(-9.0, min(9.0, (meant - d.altitude_m) / 1.2))

            def over(progress: Callable[[], float] = progress) -> bool:
                return progress() >= 1.0

            def ias(base: float = base) -> float:
                left = 1.0 - 2.0 * G_MPS2 * 0.95 * max(d.altitude_m - base, 0.0) / fast**2  # height for speed
                return fast * math.sqrt(max(left, 0.3))

            d.drive(over, bank=bank, climb=height, ias=ias, speed_lag_s=1.0, climb_lag_s=0.9, at_most_s=90.0)
        d.drive(lambda: abs(d.bank_rad) < math.radians(4.0), bank=0.0, climb=0.0, ias=fast, at_most_s=8.0)
    level(d, 12.0, altitude_m)


def emergency_descent(d: Driver, lose_m: float, direction: float) -> None:
    fast = cruise(d) + 22.0 * KT_MPS
    bottom = d.altitude_m - lose_m
    with d.marking("emergency_descent", {"ias_kt": kt(fast), "altitude_ft": ft(bottom)}) as mark:
        d.idle = True
        bank = direction * math.radians(float(d.rng.uniform(32.0, 43.0)))
        sink = float(d.rng.uniform(1900.0, 2600.0)) * FPM
        d.drive(
            lambda: d.altitude_m < bottom + 0.35 * lose_m, bank=bank, climb=-sink, ias=d.about(fast), climb_lag_s=3.0
        )
        d.drive(lambda: d.altitude_m < bottom + 60.0, bank=0.0, climb=-0.85 * sink, ias=d.about(fast))
        mark.phases["recovery"] = d.time_s
        d.drive(
            lambda: d.climb_mps > -0.7,
            bank=0.0,
            climb=d.hold(bottom, quick_s=4.0, limit_mps=12.0),
            ias=cruise(d),
            climb_lag_s=2.0,
            at_most_s=30.0,
        )
    d.idle = False
    level(d, 25.0, bottom)
