"""Ground reference maneuvers of the driven flights."""

from __future__ import annotations

import math
from collections.abc import Callable

from flying.basic import ft, kt
from flying.kinematic import Driver
from flying.kinematic_air import cruise, late_rad, level, turned_by, turning
from flying.kinematic_show import abeam, circle_bank
from flying.simulator import G_MPS2


def downwind_rad(d: Driver) -> float:
    return d.day.wind.mean(d.agl_m)[0] + math.pi


def track_rad(d: Driver) -> float:
    return math.atan2(*d.ground_velocity())


def onto(d: Driver, course_rad: float, altitude_m: float) -> None:
    """Turn (unmarked) onto a heading, the shorter way."""
    left = math.remainder(course_rad - d.heading_rad, 2.0 * math.pi)
    sign = math.copysign(1.0, left)
    count = turning(d)
    if abs(left) > 0.15:
        d.drive(
            lambda: sign * count() >= abs(left) - 0.4 * abs(d.bank_rad),
            bank=sign * math.radians(22.0),
            climb=d.hold(altitude_m),
            ias=d.about(cruise(d)),
            at_most_s=90.0,
        )
    d.drive(10.0, bank=d.steer(d.heading_rad), climb=d.hold(altitude_m), ias=d.about(cruise(d)))


def along_line(
    d: Driver, east_m: float, north_m: float, course_rad: float, *, limit_rad: float = 0.4
) -> Callable[[], float]:
    """Bank onto and along a line over the ground."""
    seen = 1.0 - 0.8 * d.lack * float(d.rng.uniform(0.3, 1.0))

    def bank() -> float:
        right = (d.east_m - east_m) * math.cos(course_rad) - (d.north_m - north_m) * math.sin(course_rad)
        drift = math.remainder(track_rad(d) - d.heading_rad, 2.0 * math.pi)
        felt = d.heading_rad + seen * drift
        wanted = course_rad - max(-0.6, min(0.6, right / 350.0))
        return max(-limit_rad, min(limit_rad, 1.3 * math.remainder(wanted - felt, 2.0 * math.pi)))

    return bank


def _wings_level(d: Driver, altitude_m: float) -> None:
    d.drive(
        lambda: abs(d.bank_rad) < math.radians(5.0),
        bank=0.0,
        climb=d.hold(altitude_m),
        ias=d.about(cruise(d)),
        at_most_s=12.0,
    )


def turns_around_point(d: Driver, altitude_m: float, direction: float, turns: float) -> None:
    onto(d, downwind_rad(d), altitude_m)
    radius = float(d.rng.uniform(420.0, 650.0))
    with d.marking(
        "turns_around_point", {"altitude_ft": ft(altitude_m), "turns": turns * direction, "radius_ft": ft(radius)}
    ):
        center, count = abeam(d, radius, direction), turning(d)
        d.drive(
            lambda: direction * count() >= turns * 2.0 * math.pi - 0.2,
            bank=circle_bank(d, radius, direction, center),
            climb=d.hold(altitude_m),
            ias=d.about(cruise(d)),
        )
        _wings_level(d, altitude_m)
    level(d, 8.0, altitude_m)


def s_turns(d: Driver, altitude_m: float, first: float, halves: int) -> None:
    course = downwind_rad(d)
    onto(d, course, altitude_m)
    radius = float(d.rng.uniform(500.0, 700.0))
    with d.marking("s_turns", {"altitude_ft": ft(altitude_m), "half_circles": float(halves), "radius_ft": ft(radius)}):
        direction = first
        for _ in range(halves):
            past = turned_by(d, direction, math.pi + 0.5 * late_rad(d))
            d.drive(
                past,
                bank=circle_bank(d, radius, direction),
                climb=d.hold(altitude_m),
                ias=d.about(cruise(d)),
                at_most_s=150.0,
            )
            _wings_level(d, altitude_m)
            direction = -direction
    level(d, 8.0, altitude_m)


def _flown(d: Driver, length_m: float) -> Callable[[], bool]:
    """True once the airplane is so far from here."""
    east, north = d.east_m, d.north_m
    return lambda: math.hypot(d.east_m - east, d.north_m - north) > length_m


def rectangular_course(d: Driver, altitude_m: float, direction: float, legs: int) -> None:
    course = downwind_rad(d)
    onto(d, course - direction * math.radians(45.0), altitude_m)
    sides = (float(d.rng.uniform(1900.0, 2700.0)), float(d.rng.uniform(1300.0, 1800.0)))
    bank_in = math.radians(float(d.rng.uniform(24.0, 32.0)))
    with d.marking("rectangular_course", {"altitude_ft": ft(altitude_m), "legs": float(legs)}):
        count = turning(d)
        d.drive(
            lambda: direction * count() > math.radians(45.0) - 0.2,
            bank=direction * bank_in,
            climb=d.hold(altitude_m),
            ias=d.about(cruise(d)),
            at_most_s=30.0,
        )
        east, north = d.east_m, d.north_m
        for leg in range(legs):
            length = sides[leg % 2]
            d.drive(
                _flown(d, length - 350.0),
                bank=along_line(d, east, north, course),
                climb=d.hold(altitude_m),
                ias=d.about(cruise(d)),
                at_most_s=150.0,
            )
            east, north = east + length * math.sin(course), north + length * math.cos(course)
            course += direction * math.pi / 2.0
            if leg < legs - 1:
                left = direction * math.remainder(course - d.heading_rad, 2.0 * math.pi)
                steep = bank_in * (math.hypot(*d.ground_velocity()) / d.tas_mps) ** 1.5
                d.drive(
                    turned_by(d, direction, left, 0.45),
                    bank=direction * min(steep, 0.65),
                    climb=d.hold(altitude_m),
                    ias=d.about(cruise(d)),
                    at_most_s=60.0,
                )
    level(d, 8.0, altitude_m)


def eights_on_pylons(d: Driver, eights: int) -> None:
    """The height follows the square of the groundspeed, lagging; about 250° round each pylon."""
    radius = d.tas_mps**2 / (G_MPS2 * math.tan(math.radians(float(d.rng.uniform(26.0, 34.0)))))
    base = d.altitude_m
    onto(d, downwind_rad(d) + math.radians(40.0), base)
    mean = d.tas_mps**2 / G_MPS2

    def pivot() -> float:
        east, north = d.ground_velocity()
        wanted = d.day.elevation_m + min(max((east**2 + north**2) / G_MPS2, 0.75 * mean), 1.4 * mean)
        return max(-4.0, min(4.0, (wanted + 0.4 * d.height_size_m * d.height_wave(d.time_s) - d.height_m) / 8.0))

    d.drive(20.0, bank=d.steer(d.heading_rad), climb=pivot, ias=d.about(cruise(d)))
    apart = float(d.rng.uniform(3.6, 4.6)) * radius
    half_angle, straight = math.asin(2.0 * radius / apart), math.sqrt(apart**2 - 4.0 * radius**2)
    with d.marking("eights_on_pylons", {"ias_kt": kt(cruise(d)), "eights": float(eights)}):
        direction = -1.0
        first = abeam(d, radius, direction)
        between = track_rad(d) + math.pi + half_angle + math.radians(float(d.rng.uniform(20.0, 50.0)))
        second = (first[0] + apart * math.sin(between), first[1] + apart * math.cos(between))
        for half in range(2 * eights):
            center, other = (first, second) if half % 2 == 0 else (second, first)
            leave = math.atan2(other[0] - center[0], other[1] - center[1]) + direction * half_angle
            bank = circle_bank(d, radius, direction, center)
            d.drive(12.0, bank=bank, climb=pivot, ias=d.about(cruise(d)))

            def facing(leave: float = leave, direction: float = direction) -> bool:
                left = direction * math.remainder(leave - track_rad(d), 2.0 * math.pi)
                return -0.3 < left < 0.5 * abs(d.bank_rad)

            d.drive(facing, bank=bank, climb=pivot, ias=d.about(cruise(d)), at_most_s=150.0)
            if half < 2 * eights - 1:
                east = center[0] - direction * radius * math.cos(leave)
                north = center[1] + direction * radius * math.sin(leave)

                def gone(leave: float = leave, east: float = east, north: float = north) -> bool:
                    along = (d.east_m - east) * math.sin(leave) + (d.north_m - north) * math.cos(leave)
                    return along > straight - 40.0

                d.drive(
                    gone, bank=along_line(d, east, north, leave), climb=pivot, ias=d.about(cruise(d)), at_most_s=60.0
                )
            direction = -direction
        d.drive(
            lambda: abs(d.bank_rad) < math.radians(5.0), bank=0.0, climb=pivot, ias=d.about(cruise(d)), at_most_s=12.0
        )
    level(d, 8.0, d.altitude_m)
