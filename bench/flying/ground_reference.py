"""Ground reference maneuvers, each one episode however many turns. Entry: level flight at the maneuver's height."""

from __future__ import annotations

import math
from collections.abc import Callable

from flying.basic import ft, kt
from flying.ground import Point, along_right, circle_guide, field_of, line_guide, moved, turned
from flying.pilot import Pilot, angle_from_rad
from flying.simulator import G_MPS2


def _wind_from_rad(p: Pilot) -> float:
    return p.sim.day.wind.mean(p.state.agl_m)[0]


def _set(p: Pilot, ias_mps: float) -> None:
    p.level(altitude_m=p.altitude_m, ias_mps=ias_mps, heading_rad=p.heading_rad)


def _head_for(p: Pilot, course_rad: float) -> None:
    """Turn (unmarked) onto a course, wind allowed for by the track flown afterwards."""
    turn = angle_from_rad(p.state.heading_rad, course_rad)
    if abs(turn) > math.radians(10.0):
        p.turn(turn, math.radians(25.0), to_heading_rad=course_rad)
    p.heading_rad = course_rad
    p.fly(8.0)


def turns_around_point(p: Pilot, direction: float, *, turns: float = 2.0, radius_m: float = 420.0) -> None:
    """Enter downwind abeam the point, circle it."""
    model = p.sim.model
    _set(p, model.maneuvering_mps * 0.97)
    _head_for(p, _wind_from_rad(p) + math.pi)
    state = p.state
    track = math.atan2(state.east_mps, state.north_mps)
    center = moved(field_of(p).here(p), track, 2.0 * p.state.tas_mps, direction * radius_m)
    targets = {
        "altitude_ft": ft(p.altitude_m),
        "ias_kt": kt(p.ias_mps),
        "turns": turns * direction,
        "radius_ft": ft(radius_m),
    }
    with p.marking("turns_around_point", targets):
        count = turned(p)
        p.follow(circle_guide(p, center, radius_m, direction))
        p.fly_until(lambda: direction * count() >= turns * 2.0 * math.pi, at_most_s=400.0)
        p.bank(0.0)
        p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(5.0), at_most_s=10.0)
    p.heading_rad = p.state.heading_rad
    p.lateral_mode = "heading"
    p.fly(8.0)


def s_turns(p: Pilot, first: float = -1.0, *, halves: int = 4, radius_m: float = 560.0) -> None:
    """Half circles either side of a road that lies across the wind."""
    _set(p, p.sim.model.maneuvering_mps * 0.97)
    course = _wind_from_rad(p) + math.pi
    _head_for(p, course)
    place = field_of(p)
    state = p.state
    track = math.atan2(state.east_mps, state.north_mps)
    road = moved(place.here(p), track, 250.0)
    p.fly_until(lambda: along_right(place.here(p), road, course)[0] > 0.0, at_most_s=60.0)
    targets = {
        "altitude_ft": ft(p.altitude_m),
        "ias_kt": kt(p.ias_mps),
        "half_circles": float(halves),
        "radius_ft": ft(radius_m),
    }
    with p.marking("s_turns", targets):
        direction, ahead = first, 1.0
        for half in range(halves):
            center = moved(road, course, 0.0, first * radius_m * (2 * half + 1))
            p.follow(circle_guide(p, center, radius_m, direction, limit_rad=math.radians(48.0)))
            p.fly(8.0)

            def near_road(side: float = ahead) -> bool:
                """Time to roll level before the road, as this pilot judges it."""
                state = p.state
                closing = -side * (state.east_mps * math.sin(course) + state.north_mps * math.cos(course))
                roll_s = abs(state.bank_rad) / p.skill.roll_rate_radps + 0.7
                left_m = side * along_right(place.here(p), road, course)[0]
                return closing > 5.0 and left_m < closing * roll_s * (0.3 + 0.4 * p.skill.wind_share)

            p.fly_until(near_road, at_most_s=90.0)
            p.bank(0.0)
            p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(8.0), at_most_s=5.0)
            direction, ahead = -direction, -ahead
        p.bank(0.0)
        p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(5.0), at_most_s=10.0)
    p.heading_rad = p.state.heading_rad
    p.lateral_mode = "heading"
    p.fly(8.0)


def rectangular_course(p: Pilot, direction: float = -1.0, *, long_m: float = 2200.0, short_m: float = 1500.0,
                       legs: int = 5) -> None:  # fmt: skip
    """Round a field, the long sides along the wind, beginning with the downwind leg; direction +1 right turns."""
    _set(p, p.sim.model.maneuvering_mps * 0.97)
    place = field_of(p)
    downwind = _wind_from_rad(p) + math.pi
    entry = downwind - direction * math.radians(45.0)
    _head_for(p, entry)
    corner = moved(place.here(p), math.atan2(p.state.east_mps, p.state.north_mps), 700.0)
    p.follow(line_guide(p, moved(corner, downwind, 300.0), entry))
    p.fly_until(lambda: direction * along_right(place.here(p), corner, downwind)[1] > -250.0, at_most_s=60.0)
    targets = {"altitude_ft": ft(p.altitude_m), "ias_kt": kt(p.ias_mps), "legs": float(legs)}
    targets["turn_deg"] = 90.0 * direction
    with p.marking("rectangular_course", targets):
        start, course = moved(corner, downwind, -200.0), downwind
        for leg in range(legs):
            length = long_m if leg % 2 == 0 else short_m
            _fly_leg(p, start, course, length, direction, last=leg == legs - 1)
            start, course = moved(start, course, length), course + direction * math.pi / 2.0
    p.heading_rad = p.state.heading_rad
    p.lateral_mode = "heading"
    p.fly(5.0)


def _fly_leg(p: Pilot, start: Point, course_rad: float, length_m: float, direction: float, *, last: bool) -> None:
    place = field_of(p)
    p.follow(line_guide(p, start, course_rad, close_m=250.0))
    state = p.state

    def at_corner() -> bool:
        ground = math.hypot(state.east_mps, state.north_mps)
        lead = ground**2 / (G_MPS2 * math.tan(math.radians(28.0)))
        return along_right(place.here(p), start, course_rad)[0] > length_m - lead

    p.fly_until(at_corner, at_most_s=150.0)
    if not last:
        # steeper where the airplane is fast over the ground, as far as this pilot sees it
        ground = math.hypot(state.east_mps, state.north_mps)
        felt = state.tas_mps + p.skill.wind_share * (ground - state.tas_mps)
        bank = math.atan(felt**2 / (state.tas_mps**2) * math.tan(math.radians(26.0)))
        turn = direction * math.pi / 2.0 + angle_from_rad(state.heading_rad, course_rad) * p.skill.wind_share
        p.turn(turn, min(bank, math.radians(38.0)))


def eights_on_pylons(p: Pilot, *, eights: int = 2, bank_deg: float = 30.0) -> None:
    """Round two pylons across the wind, at the pivotal altitude for the groundspeed of the moment."""
    _set(p, p.sim.model.maneuvering_mps * 0.98)
    place = field_of(p)
    wind_from = _wind_from_rad(p)
    radius = p.state.tas_mps**2 / (G_MPS2 * math.tan(math.radians(bank_deg)))
    apart = 4.2 * radius
    _head_for(p, wind_from + math.pi + math.radians(35.0))
    half_angle = math.asin(min(0.95, 2.0 * radius / apart))
    straight = math.sqrt(apart**2 - 4.0 * radius**2)
    entry_course = math.atan2(p.state.east_mps, p.state.north_mps)
    entry = moved(place.here(p), entry_course, 150.0)
    # first pylon on the left of the entry course
    direction = -1.0
    first = moved(entry, entry_course, 0.0, direction * radius)
    second = moved(first, entry_course + math.radians(180.0) + 1.0 * half_angle + math.radians(35.0), apart)
    pylons = (first, second)
    p.power_mode = "fixed"
    p.power_for(p.ias_mps)
    p.vertical_speed_limit_mps = 4.0
    elevation_m = p.sim.day.elevation_m
    top_m = p.altitude_m + 250.0

    def pivot() -> None:
        ground2 = p.state.east_mps**2 + p.state.north_mps**2
        wanted = p.sim.day.elevation_m + ground2 / G_MPS2
        p.altitude_m += 0.15 * (min(max(wanted, elevation_m + 130.0), top_m) - p.altitude_m)

    targets = {"ias_kt": kt(p.ias_mps), "bank_deg": bank_deg, "eights": float(eights), "altitude_ft": ft(p.altitude_m)}
    with p.marking("eights_on_pylons", targets):
        for loop in range(2 * eights):
            center, other = pylons[loop % 2], pylons[(loop + 1) % 2]
            guide = circle_guide(p, center, radius, direction, limit_rad=math.radians(40.0))

            def both(guide: Callable[[], float] = guide) -> float:
                pivot()
                return guide()

            p.follow(both)
            between = math.atan2(other[0] - center[0], other[1] - center[1])
            leave = between + direction * half_angle
            p.fly(12.0)

            def facing(leave: float = leave, direction: float = direction) -> bool:
                track = math.atan2(p.state.east_mps, p.state.north_mps)
                left = direction * angle_from_rad(track, leave)
                return -0.3 < left < 0.5 * abs(p.state.bank_rad)

            p.fly_until(facing, at_most_s=120.0)
            if loop == 2 * eights - 1:
                break
            tangent = moved(center, leave, 0.0, -direction * radius)
            line = line_guide(p, tangent, leave, limit_rad=math.radians(25.0), close_m=200.0)
            p.follow(line)

            def arrived(tangent: Point = tangent, leave: float = leave) -> bool:
                return along_right(place.here(p), tangent, leave)[0] > straight - 40.0

            p.fly_until(arrived, at_most_s=60.0)
            direction = -direction
        p.bank(0.0)
        p.fly_until(lambda: abs(p.state.bank_rad) < math.radians(5.0), at_most_s=10.0)
    p.vertical_speed_limit_mps = p.sim.model.easy_climb_mps
    p.level(altitude_m=p.sim.indicated_altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.state.heading_rad)
    p.throttle = max(p.throttle, 0.65)
    p.fly(8.0)
