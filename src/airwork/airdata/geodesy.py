"""Distance and direction on the WGS-84 ellipsoid: from place to place, along the fixes of a track. Radians, meters.

Places by Karney's geodesics (the package geographiclib); many fixes by the ellipsoid's radii. A sphere errs by up to
0.5 %.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.airdata.angles import TWO_PI
from airwork.errors import InputError

Array = NDArray[np.float64]
WGS84_A_M, WGS84_F = 6_378_137.0, 1.0 / 298.257223563  # equatorial radius and flattening: they define WGS-84
_E2 = WGS84_F * (2.0 - WGS84_F)
EARTH_M = 6_371_000.0  # a sphere's radius, near enough over a step


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


@lru_cache(maxsize=256)  # one briefing asks the same ways again, and every change of it all of them
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


def places(
    latitude_rad: float, longitude_rad: float, course_rad: ArrayLike, distance_m: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where many true courses and distances from one place lead: (latitude, longitude). [rad]

    As `place`, for arrays (broadcast against each other): the direct problem in the series of T. Vincenty, "Direct and
    inverse solutions of geodesics on the ellipsoid with application of nested equations", Survey Review XXIII (176),
    1975. Within 0.1 mm of Karney's geodesics to 1,000 km; NaN in gives NaN.
    """
    _check(latitude_rad)
    course, distance = np.asarray(course_rad, dtype=float), np.asarray(distance_m, dtype=float)
    minor = WGS84_A_M * (1.0 - WGS84_F)
    tan_u = (1.0 - WGS84_F) * math.tan(latitude_rad)
    cos_u = 1.0 / math.hypot(1.0, tan_u)
    sin_u = tan_u * cos_u
    sin_c, cos_c = np.sin(course), np.cos(course)
    sigma_1 = np.arctan2(tan_u, cos_c)
    sin_a = cos_u * sin_c
    cos2_a = 1.0 - sin_a**2
    u2 = cos2_a * (WGS84_A_M**2 - minor**2) / minor**2
    big_a = 1.0 + u2 / 16384.0 * (4096.0 + u2 * (-768.0 + u2 * (320.0 - 175.0 * u2)))
    big_b = u2 / 1024.0 * (256.0 + u2 * (-128.0 + u2 * (74.0 - 47.0 * u2)))
    first = distance / (minor * big_a)
    sigma = first
    for _ in range(6):  # each round gains three digits and more
        middle = np.cos(2.0 * sigma_1 + sigma)
        sin_s, cos_s = np.sin(sigma), np.cos(sigma)
        inner = cos_s * (2.0 * middle**2 - 1.0)
        inner = inner - big_b / 6.0 * middle * (4.0 * sin_s**2 - 3.0) * (4.0 * middle**2 - 3.0)
        sigma = first + big_b * sin_s * (middle + big_b / 4.0 * inner)
    middle, sin_s, cos_s = np.cos(2.0 * sigma_1 + sigma), np.sin(sigma), np.cos(sigma)
    across = np.hypot(sin_a, sin_u * sin_s - cos_u * cos_s * cos_c)
    latitude = np.arctan2(sin_u * cos_s + cos_u * sin_s * cos_c, (1.0 - WGS84_F) * across)
    turned = np.arctan2(sin_s * sin_c, cos_u * cos_s - sin_u * sin_s * cos_c)
    big_c = WGS84_F / 16.0 * cos2_a * (4.0 + WGS84_F * (4.0 - 3.0 * cos2_a))
    series = sigma + big_c * sin_s * (middle + big_c * cos_s * (2.0 * middle**2 - 1.0))
    longitude = longitude_rad + turned - (1.0 - big_c) * WGS84_F * sin_a * series
    return latitude, np.remainder(longitude + math.pi, TWO_PI) - math.pi


def radii_m(latitude_rad: ArrayLike) -> tuple[Array, Array]:
    """(meridian radius, radius of the parallel) of the ellipsoid at a latitude. [m]

    M = a(1 − e²)/(1 − e²sin²φ)^1.5; p = a·cos φ/√(1 − e²sin²φ). Speed north = M·dφ/dt, speed east = p·dλ/dt.
    """
    phi = np.asarray(latitude_rad, dtype=float)
    w2 = 1.0 - _E2 * np.sin(phi) ** 2
    w = np.sqrt(w2)
    return WGS84_A_M * (1.0 - _E2) / (w2 * w), WGS84_A_M * np.cos(phi) / w


def east_north_m(latitude_rad: Array, longitude_rad: Array) -> tuple[Array, Array]:
    """Meters east and north of the first known fix, on the plane that touches the ellipsoid there. [m]

    e = ρ sin Δλ; n = (z − z0) cos φ0 − (ρ cos Δλ − ρ0) sin φ0, with ρ = N cos φ, z = N(1 − e²) sin φ.
    """
    known = np.flatnonzero(np.isfinite(latitude_rad) & np.isfinite(longitude_rad))
    if not known.size:
        return np.full_like(latitude_rad, np.nan), np.full_like(longitude_rad, np.nan)
    lat0, lon0 = float(latitude_rad[known[0]]), float(longitude_rad[known[0]])
    turn = longitude_rad - lon0
    if np.nanmax(np.abs(turn)) > np.pi:
        turn = turn - 2.0 * np.pi * np.round(turn / (2.0 * np.pi))
    sin_turn, cos_turn = _sine_cosine(turn)
    sin_up, cos_up = _sine_cosine(latitude_rad - lat0)
    sin_phi = np.sin(lat0) * cos_up + np.cos(lat0) * sin_up
    cos_phi = np.cos(lat0) * cos_up - np.sin(lat0) * sin_up
    across = WGS84_A_M / np.sqrt(1.0 - _E2 * sin_phi * sin_phi)
    rho, z = across * cos_phi, across * (1.0 - _E2) * sin_phi
    rho0, z0 = rho[known[0]], z[known[0]]
    return rho * sin_turn, (z - z0) * np.cos(lat0) - (rho * cos_turn - rho0) * np.sin(lat0)


def _sine_cosine(angle: Array) -> tuple[Array, Array]:
    """Sine and cosine; by their series for the small angles within one flight (exact to 1e-12 up to 3°)."""
    if np.nanmax(np.abs(angle)) > 0.05:
        return np.sin(angle), np.cos(angle)
    square = angle * angle
    return (
        angle * (1.0 - square * (1.0 / 6.0 - square * (1.0 / 120.0 - square / 5040.0))),
        1.0 - square * (0.5 - square * (1.0 / 24.0 - square / 720.0)),
    )


def way_m(latitude_rad: Array, longitude_rad: Array) -> Array:
    """From each fix to the next, one fewer. [m]"""
    meridian, parallel = radii_m(latitude_rad)
    turn = np.diff(longitude_rad)
    turn -= 2.0 * np.pi * np.round(turn / (2.0 * np.pi))
    return np.asarray(np.hypot(np.diff(latitude_rad) * meridian[1:], turn * parallel[1:]), dtype=np.float64)


def zone_at(latitude_rad: float, longitude_rad: float) -> str:
    """Name of the time zone that rules at a place (tz database, by tzfpy); "" where none does.

    >>> zone_at(*np.radians((41.12, -101.77)))
    'America/Denver'
    """
    from tzfpy import get_tz  # late: only who asks for a clock loads it

    return str(get_tz(math.degrees(longitude_rad), math.degrees(latitude_rad)))
