"""Distance and direction over the WGS-84 ellipsoid (Karney's geodesics, by the package geographiclib). Radians, metres.

A sphere errs by up to 0.5 %.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from airwork.airdata.angles import TWO_PI
from airwork.errors import InputError


class Leg(NamedTuple):
    """From one place to another."""

    distance_m: float
    course_rad: float  # true, at the start, in [0, 2π)
    arrival_course_rad: float  # true, at the end


class Place(NamedTuple):
    """A point, and the true course with which it was reached."""

    latitude_rad: float
    longitude_rad: float
    arrival_course_rad: float


def _positive(degrees: float) -> float:
    wrapped = math.fmod(math.radians(degrees), TWO_PI)
    return wrapped + TWO_PI if wrapped < 0.0 else wrapped


def _check(latitude_rad: float) -> None:
    if not abs(latitude_rad) <= math.pi / 2 + 1e-12:
        raise InputError(f"no such latitude: {math.degrees(latitude_rad):.4f}°.")


def leg(from_latitude_rad: float, from_longitude_rad: float, to_latitude_rad: float, to_longitude_rad: float) -> Leg:
    """Shortest way between two places: distance and true courses at both ends."""
    from geographiclib.geodesic import Geodesic

    _check(from_latitude_rad)
    _check(to_latitude_rad)
    places = (math.degrees(x) for x in (from_latitude_rad, from_longitude_rad, to_latitude_rad, to_longitude_rad))
    answer = Geodesic.WGS84.Inverse(*places)
    return Leg(answer["s12"], _positive(answer["azi1"]), _positive(answer["azi2"]))


def place(latitude_rad: float, longitude_rad: float, course_rad: float, distance_m: float) -> Place:
    """Where a distance along a true course from a place leads."""
    from geographiclib.geodesic import Geodesic

    _check(latitude_rad)
    answer = Geodesic.WGS84.Direct(
        math.degrees(latitude_rad), math.degrees(longitude_rad), math.degrees(course_rad), distance_m
    )
    return Place(math.radians(answer["lat2"]), math.radians(answer["lon2"]), _positive(answer["azi2"]))
