"""Getting about between exercises: to a point, to an altitude, back to the field, onto the downwind leg."""

from __future__ import annotations

import math

from airwork.units import FT_M
from flying.basic import climb_to, descend_to
from flying.ground import Point, along_right, field_of, line_guide, moved
from flying.pattern import Field, fly_pattern
from flying.pilot import Pilot, angle_from_rad, clip


def bearing_rad(here: Point, there: Point) -> float:
    return math.atan2(there[0] - here[0], there[1] - here[1])


def distance_m(here: Point, there: Point) -> float:
    return math.hypot(there[0] - here[0], there[1] - here[1])


def fly_to(p: Pilot, point: Point, *, within_m: float = 800.0, at_most_s: float = 1500.0) -> None:
    """Straight to a point at ordinary banks, keeping the altitude and speed targets."""
    place = field_of(p)

    def bank() -> float:
        state = p.state
        track = math.atan2(state.east_mps, state.north_mps)
        felt = state.heading_rad + p.skill.wind_share * angle_from_rad(state.heading_rad, track)
        return clip(1.1 * angle_from_rad(felt, bearing_rad(place.here(p), point)), math.radians(20.0))

    p.follow(bank)
    p.fly_until(lambda: distance_m(place.here(p), point) < within_m, at_most_s=at_most_s)
    p.heading_rad = p.state.heading_rad
    p.lateral_mode = "heading"


def to_altitude(p: Pilot, altitude_m: float, *, intended: bool = False) -> None:
    """Climb or descend when it is worth it (more than 150 ft)."""
    p.heading_rad = p.state.heading_rad
    gap_m = altitude_m - p.sim.indicated_altitude_m
    if gap_m > 150.0 * FT_M:
        climb_to(p, altitude_m, intended=intended)
    elif gap_m < -150.0 * FT_M:
        sink_mps = 2.5 if gap_m > -500.0 else 3.6
        descend_to(p, altitude_m, ias_mps=p.sim.model.maneuvering_mps, sink_mps=sink_mps, intended=intended)
    else:
        p.level(altitude_m=altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.heading_rad)
        p.power_for(p.sim.model.maneuvering_mps)
        p.fly(6.0)


def back_to_area(p: Pilot, center: Point, radius_m: float) -> None:
    """Turn back when the wind and the exercises have carried the airplane out of the practice area."""
    place = field_of(p)
    here = place.here(p)
    if distance_m(here, center) < radius_m:
        return
    turn = angle_from_rad(p.state.heading_rad, bearing_rad(here, center))
    p.turn(turn, math.radians(20.0), to_heading_rad=bearing_rad(here, center))
    fly_to(p, center, within_m=0.6 * radius_m)


def home(p: Pilot, *, side: float = -1.0, wide_m: float = 1500.0, height_m: float = 1000.0 * FT_M) -> None:
    """Back to the field, 45° onto the downwind leg at pattern altitude, round to final."""
    field = Field.of(p)
    altitude = p.sim.day.elevation_m + height_m
    middle = moved(field.origin, field.course_rad, 900.0, side * wide_m)
    # the 45° leg comes from outside the pattern
    entry_course = field.course_rad + math.pi - side * -math.pi / 4.0
    start = moved(middle, entry_course, -4500.0)
    p.level(altitude_m=p.sim.indicated_altitude_m, ias_mps=p.sim.model.maneuvering_mps, heading_rad=p.state.heading_rad)
    away = distance_m(field_of(p).here(p), start)
    if away > 9000.0:
        fly_to(p, start, within_m=9000.0)
    turn = angle_from_rad(p.state.heading_rad, bearing_rad(field_of(p).here(p), start))
    if abs(turn) > 0.2:
        p.turn(turn, math.radians(20.0))
    to_altitude(p, altitude)
    p.altitude_m = altitude
    fly_to(p, start, within_m=900.0)
    p.altitude_m = altitude
    p.ias_mps = p.sim.model.downwind_mps
    p.power_for(p.ias_mps)
    place = field_of(p)
    p.follow(line_guide(p, start, entry_course))
    # late enough to roll out on the downwind line
    p.fly_until(lambda: along_right(place.here(p), start, entry_course)[0] > 4500.0 - 350.0, at_most_s=240.0)
    fly_pattern(p, side=side, from_upwind=False, wide_m=wide_m, height_m=height_m)
