"""Positions over the ground and the banks that hold a line or a circle there, as a pilot looking out would fly them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from flying.pilot import Pilot, angle_from_rad, clip
from flying.simulator import G_MPS2

EARTH_M = 6_371_000.0
Point = tuple[float, float]  # east, north of the reference [m]


@dataclass(frozen=True, slots=True)
class Place:
    """A local plane: east and north of a reference position. Good for a few tens of kilometers."""

    latitude_rad: float
    longitude_rad: float

    def of(self, latitude_rad: float, longitude_rad: float) -> Point:
        east = (longitude_rad - self.longitude_rad) * EARTH_M * math.cos(self.latitude_rad)
        return east, (latitude_rad - self.latitude_rad) * EARTH_M

    def here(self, p: Pilot) -> Point:
        return self.of(p.state.latitude_rad, p.state.longitude_rad)


def field_of(p: Pilot) -> Place:
    """The local plane of the flight, centered on the runway's start."""
    return Place(p.sim.day.latitude_rad, p.sim.day.longitude_rad)


def moved(point: Point, course_rad: float, along_m: float, right_m: float = 0.0) -> Point:
    """A point so far along a course and to the right of it."""
    s, c = math.sin(course_rad), math.cos(course_rad)
    return point[0] + along_m * s + right_m * c, point[1] + along_m * c - right_m * s


def along_right(point: Point, origin: Point, course_rad: float) -> Point:
    """Distance along a course from its origin and to the right of it. [m, m]"""
    east, north = point[0] - origin[0], point[1] - origin[1]
    s, c = math.sin(course_rad), math.cos(course_rad)
    return east * s + north * c, east * c - north * s


def _felt_track_rad(p: Pilot) -> float:
    """Where the pilot thinks the airplane goes: heading plus the share of the drift that is noticed. [rad]"""
    state = p.state
    track = math.atan2(state.east_mps, state.north_mps)
    return state.heading_rad + p.skill.wind_share * angle_from_rad(state.heading_rad, track)


def line_guide(p: Pilot, origin: Point, course_rad: float, *, limit_rad: float = math.radians(22.0),
               close_m: float = 400.0) -> Callable[[], float]:  # fmt: skip
    """Bank to get onto a line over the ground and stay there."""
    place = field_of(p)

    def bank() -> float:
        _, right_m = along_right(place.here(p), origin, course_rad)
        wanted = course_rad - clip(right_m / close_m, 0.7)
        return clip(1.2 * angle_from_rad(_felt_track_rad(p), wanted), limit_rad)

    return bank


def circle_guide(p: Pilot, center: Point, radius_m: float, direction: float, *,
                 limit_rad: float = math.radians(55.0)) -> Callable[[], float]:  # fmt: skip
    """Bank to circle a point; direction +1 right. A poor pilot notices less of the wind and of the widening."""
    place = field_of(p)
    radius_m = radius_m * (1.0 + p.skill.radius_error_share)
    care = 0.3 + 0.7 * p.skill.wind_share

    def bank() -> float:
        state = p.state
        east, north = place.here(p)
        away = math.hypot(east - center[0], north - center[1]) or 1.0
        out_east, out_north = (east - center[0]) / away, (north - center[1]) / away
        opening_mps = state.east_mps * out_east + state.north_mps * out_north
        ground = math.hypot(state.east_mps, state.north_mps)
        felt = state.tas_mps + p.skill.wind_share * (ground - state.tas_mps)
        base = math.atan(felt**2 / (G_MPS2 * radius_m))
        correction = care * (0.5 * (away - radius_m) / radius_m + 1.0 * opening_mps / max(ground, 15.0))
        return direction * max(0.0, min(limit_rad, base + clip(correction, 0.5)))

    return bank


def turned(p: Pilot) -> Callable[[], float]:
    """A counter of the heading change since now, right positive; call it every tick. [rad]"""
    total, last = 0.0, p.state.heading_rad

    def count() -> float:
        nonlocal total, last
        now = p.state.heading_rad
        total += angle_from_rad(last, now)
        last = now
        return total

    return count
