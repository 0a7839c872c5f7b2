"""Work at the field of the driven flights: takeoff, traffic pattern, landing, touch-and-go, go-around."""

from __future__ import annotations

import math
from collections.abc import Callable

from airwork.units import FT_M, KT_MPS
from flying.basic import ft, kt
from flying.kinematic import Driver
from flying.kinematic_air import FPM, climb_rate, cruise, speed, turning
from flying.kinematic_ground import along_line
from flying.simulator import G_MPS2
from flying.truth import Mark

EDGE_M = 200.0 * FT_M
PATTERN_M = 1000.0 * FT_M


def _runway(d: Driver) -> Callable[[], float]:
    return along_line(d, 0.0, 0.0, d.day.runway_heading_rad, limit_rad=0.25)


def along_m(d: Driver) -> float:
    """Distance along the runway from its start. [m]"""
    course = d.day.runway_heading_rad
    return d.east_m * math.sin(course) + d.north_m * math.cos(course)


def takeoff_roll(d: Driver) -> None:
    lift_off = speed(d, "stall_flaps_up") + 7.0 * KT_MPS
    d.idle, d.flap_notch = False, 0
    d.drive(lambda: d.ias_mps > lift_off, ias=lift_off + 12.0, speed_lag_s=8.0, at_most_s=60.0)
    d.ground = False
    best = speed(d, "best_rate_of_climb")
    d.drive(
        lambda: d.agl_m > EDGE_M,
        bank=_runway(d),
        climb=lambda: climb_rate(d),
        ias=d.about(best),
        climb_lag_s=3.0,
        at_most_s=60.0,
    )


def takeoff(d: Driver) -> None:
    d.idle = True
    d.drive(float(d.rng.uniform(5.0, 15.0)), ias=0.0)
    d.heading_rad = d.day.runway_heading_rad
    with d.marking("takeoff"):
        takeoff_roll(d)


def climb_out(d: Driver, agl_m: float) -> None:
    best = speed(d, "best_rate_of_climb")
    d.drive(lambda: d.agl_m > agl_m, bank=_runway(d), climb=lambda: climb_rate(d), ias=d.about(best), at_most_s=200.0)


def pattern(d: Driver, side: float, *, from_upwind: bool = True) -> None:
    """Crosswind, downwind, base, onto final. Call on the upwind leg or on the 45° leg to downwind."""
    top = d.day.elevation_m + PATTERN_M
    runway, quarter = d.day.runway_heading_rad, side * math.pi / 2.0
    wide = float(d.rng.uniform(1200.0, 1700.0))
    slow = cruise(d) - 10.0 * KT_MPS
    best, bank = speed(d, "best_rate_of_climb"), math.radians(float(d.rng.uniform(20.0, 28.0)))
    climbing = lambda: min(climb_rate(d), max(-3.0, (top - d.altitude_m) / 6.0))  # noqa: E731

    def corner(to_rad: float, climb: float | Callable[[], float], ias: float) -> None:
        left = side * math.remainder(to_rad - d.heading_rad, 2.0 * math.pi)
        count = turning(d)
        d.drive(
            lambda: side * count() >= left - 0.5 * abs(d.bank_rad),
            bank=side * bank,
            climb=climb,
            ias=d.about(ias),
            at_most_s=60.0,
        )

    def out_m() -> float:
        """Distance from the runway's line towards the pattern's side."""
        return side * (d.east_m * math.cos(runway) - d.north_m * math.sin(runway))

    if from_upwind:
        climb_out(d, 0.7 * PATTERN_M)
        d.drive(lambda: along_m(d) > 1300.0, bank=_runway(d), climb=climbing, ias=d.about(best), at_most_s=60.0)
    with d.marking("traffic_pattern", {"altitude_ft": ft(top), "ias_kt": kt(slow)}) as mark:
        if from_upwind:
            corner(runway + quarter, climbing, best)
            d.drive(
                lambda: out_m() > wide - 450.0,
                bank=d.steer(d.heading_rad),
                climb=climbing,
                ias=d.about(slow),
                at_most_s=90.0,
            )
        corner(runway + 2.0 * quarter, climbing, slow)
        east, north = wide * side * math.cos(runway), -wide * side * math.sin(runway)
        d.drive(
            lambda: along_m(d) < 200.0,
            bank=along_line(d, east, north, runway + math.pi),
            climb=d.hold(top),
            ias=d.about(slow),
            at_most_s=180.0,
        )
        mark.phases["abeam"] = d.time_s
        approach = _approach_mps(d)
        d.flap_notch = min(1, len(d.airplane.flap_deg) - 1)
        d.drive(
            lambda: along_m(d) < -1000.0,
            bank=along_line(d, east, north, runway + math.pi),
            climb=-450.0 * FPM,
            ias=d.about(approach + 5.0),
            at_most_s=60.0,
        )
        mark.phases["base"] = d.time_s
        corner(runway - quarter, -500.0 * FPM, approach + 4.0)
        lead = d.tas_mps**2 / (G_MPS2 * math.tan(bank))
        d.drive(
            lambda: out_m() < lead * 1.1,
            bank=d.steer(runway - quarter),
            climb=lambda: _path_climb(d, out_m()),
            ias=d.about(approach + 2.0),
            at_most_s=60.0,
        )
        mark.phases["final"] = d.time_s
        corner(runway, -500.0 * FPM, approach)


def _approach_mps(d: Driver) -> float:
    return max(1.35 * speed(d, "stall_flaps_full"), 54.0 * KT_MPS)


def _path_climb(d: Driver, aside_m: float = 0.0) -> float:
    """Vertical speed for a path to a point 200 m down the runway. [m/s]"""
    to_go = max(40.0, 200.0 - along_m(d) + 0.8 * abs(aside_m))
    seconds = to_go / max(20.0, math.hypot(*d.ground_velocity()))
    return max(-6.0, min(0.0, -d.agl_m / seconds + 0.3 * d.lack * d.height_wave(d.time_s)))


def final(d: Driver, agl_m: float) -> None:
    d.flap_notch = len(d.airplane.flap_deg) - 1
    d.idle = False
    d.drive(
        lambda: d.agl_m < agl_m,
        bank=_runway(d),
        climb=lambda: _path_climb(d),
        ias=d.about(_approach_mps(d)),
        at_most_s=150.0,
    )


def _touch(d: Driver, mark: Mark) -> None:
    final(d, 5.0)
    d.idle = True
    stall = speed(d, "stall_flaps_full")
    d.drive(
        lambda: d.agl_m < 0.05,
        bank=_runway(d),
        climb=lambda: -max(0.5 + 0.7 * d.lack, 0.35 * d.agl_m),
        ias=stall + 3.0 * KT_MPS,
        speed_lag_s=5.0,
        climb_lag_s=0.8,
        at_most_s=40.0,
    )
    mark.notes["touchdown_s"] = round(d.time_s, 2)
    mark.notes["touchdown_sink_fpm"] = round(-d.climb_mps / FPM)
    mark.notes["touchdown_along_m"] = round(along_m(d), 1)
    d.ground = True
    d.heading_rad = d.day.runway_heading_rad + 2.0 * math.pi * round(
        (d.heading_rad - d.day.runway_heading_rad) / (2 * math.pi)
    )


def landing(d: Driver) -> None:
    final(d, EDGE_M)
    with d.marking("landing", {"ias_kt": kt(_approach_mps(d))}) as mark:
        _touch(d, mark)
        d.drive(lambda: math.hypot(*d.rows[-1][6:8]) < 8.0, ias=0.0, speed_lag_s=10.0, at_most_s=60.0)
    d.drive(15.0, ias=0.0)


def touch_and_go(d: Driver) -> None:
    final(d, EDGE_M)
    with d.marking("touch_and_go", {"ias_kt": kt(_approach_mps(d))}) as mark:
        _touch(d, mark)
        d.drive(float(d.rng.uniform(3.0, 6.0)), ias=0.0, speed_lag_s=12.0)
        takeoff_roll(d)


def go_around(d: Driver, agl_m: float) -> None:
    final(d, agl_m)
    low = d.agl_m
    with d.marking("go_around"):
        d.drive(1.0 + 2.0 * d.lack, bank=_runway(d), climb=-1.0, ias=_approach_mps(d), climb_lag_s=1.5)
        d.flap_notch = min(1, d.flap_notch)
        best = speed(d, "best_rate_of_climb")
        d.drive(
            lambda: d.agl_m > low + 60.0,
            bank=_runway(d),
            climb=lambda: 0.7 * climb_rate(d),
            ias=best,
            climb_lag_s=2.5,
            at_most_s=60.0,
        )
        d.flap_notch = 0
        d.drive(
            lambda: d.agl_m > low + 400.0 * FT_M,
            bank=_runway(d),
            climb=lambda: climb_rate(d),
            ias=d.about(best),
            at_most_s=90.0,
        )
