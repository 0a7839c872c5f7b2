"""Wind: components on a runway, the wind triangle. Directions in radians, wind FROM, right positive. SI."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.atmosphere import Array


def headwind_mps(wind_from_rad: ArrayLike, wind_mps: ArrayLike, course_rad: ArrayLike) -> Array:
    """Component of the wind against the course; negative is a tailwind. [m/s]"""
    return np.asarray(wind_mps, dtype=float) * np.cos(np.asarray(wind_from_rad, dtype=float) - np.asarray(course_rad))


def crosswind_mps(wind_from_rad: ArrayLike, wind_mps: ArrayLike, course_rad: ArrayLike) -> Array:
    """Component of the wind across the course, positive from the right. [m/s]"""
    return np.asarray(wind_mps, dtype=float) * np.sin(np.asarray(wind_from_rad, dtype=float) - np.asarray(course_rad))


class WindTriangle(NamedTuple):
    """Answer of the wind triangle."""

    correction_rad: Array  # wind-correction angle, right positive
    heading_rad: Array
    groundspeed_mps: Array


def wind_triangle(
    course_rad: ArrayLike, tas_mps: ArrayLike, wind_from_rad: ArrayLike, wind_mps: ArrayLike
) -> WindTriangle:
    """Heading and ground speed that keep a course.

    WCA = asin(W·sin(wd − TC)/TAS); GS = TAS·cos(WCA) − W·cos(wd − TC). NaN where the course can't be flown: the wind
    across it exceeds the airspeed, or the wind against it leaves no ground speed.

    >>> deg, kt = np.pi / 180, 1852 / 3600
    >>> t = wind_triangle(90 * deg, 120 * kt, 45 * deg, 40 * kt)
    >>> round(float(t.correction_rad) / deg, 2), round(float(t.groundspeed_mps) / kt, 2)
    (-13.63, 88.33)

    References
    ----------
    [PHAK] chapter 16.
    """
    course, tas = np.asarray(course_rad, dtype=float), np.asarray(tas_mps, dtype=float)
    angle, wind = np.asarray(wind_from_rad, dtype=float) - course, np.asarray(wind_mps, dtype=float)
    with np.errstate(invalid="ignore", divide="ignore"):
        sine = wind * np.sin(angle) / tas
        along = tas * np.sqrt(1.0 - np.square(sine))  # TAS·cos(WCA); NaN when the sine passes 1
    speed = along - wind * np.cos(angle)
    possible = speed > 0.0
    if not np.all(possible):
        sine, speed = np.where(possible, sine, np.nan), np.where(possible, speed, np.nan)
    correction = np.arcsin(sine)
    return WindTriangle(correction, wrap_positive_rad(course + correction), speed)


def wind_vector_mps(wind_from_rad: ArrayLike, wind_mps: ArrayLike) -> tuple[Array, Array]:
    """Velocity of the air over the ground, (east, north). [m/s]"""
    d, w = np.asarray(wind_from_rad, dtype=float), np.asarray(wind_mps, dtype=float)
    return -w * np.sin(d), -w * np.cos(d)


def wind_from_vector(east_mps: ArrayLike, north_mps: ArrayLike) -> tuple[Array, Array]:
    """(direction from [rad], speed [m/s]) of an air velocity over the ground."""
    e, n = np.asarray(east_mps, dtype=float), np.asarray(north_mps, dtype=float)
    return wrap_positive_rad(np.arctan2(-e, -n)), np.hypot(e, n)
