"""Where on a runway the wheels touched: beyond the landing threshold, beside the center line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from airwork.airdata.angles import turn_from_to_rad

ALONG_RAD = math.radians(20.0)  # the roll goes along the runway within this
BESIDE_M, BEFORE_M = 60.0, 1000.0  # a touch farther off belongs to another runway, or to none
METERS_PER_RAD = 6_371_000.0  # a runway is short: a plane is right within a thousandth
DATA_M = 15.0  # published ends and a fix are good to this; our own choice


@dataclass(frozen=True, slots=True)
class RunwayEnd:
    """One landing direction of a runway: its landing threshold, as published. length_m : from there to the end."""

    airport: str
    name: str
    latitude_rad: float
    longitude_rad: float
    heading_rad: float
    length_m: float
    width_m: float | None = None


@dataclass(frozen=True, slots=True)
class Touch:
    """Where it touched. beyond_m : past the landing threshold (negative short of it); right_m : of the center line."""

    end: RunwayEnd
    beyond_m: float
    right_m: float


def nearest_m(ends: Sequence[RunwayEnd], latitude_rad: float, longitude_rad: float) -> float:
    """How far the nearest published threshold is; infinite without one. [m]"""
    north_east = (
        (latitude_rad - e.latitude_rad, (longitude_rad - e.longitude_rad) * math.cos(e.latitude_rad)) for e in ends
    )
    return min((METERS_PER_RAD * math.hypot(*apart) for apart in north_east), default=math.inf)


def touched(
    ends: Sequence[RunwayEnd], latitude_rad: float, longitude_rad: float, track_rad: float
) -> Touch | None:  # fmt: skip
    """The touch on the runway it belongs to; None where no published runway fits.

    track_rad : true, of the roll after the touch.

    >>> end = RunwayEnd("X", "36", 0.8, 0.1, 0.0, 900.0)
    >>> found = touched([end], 0.8 + 200.0 / 6_371_000.0, 0.1, 0.02)
    >>> round(found.beyond_m), round(found.right_m)
    (200, 0)
    """
    fits: list[Touch] = []
    for end in ends:
        if abs(float(turn_from_to_rad(end.heading_rad, track_rad))) > ALONG_RAD:
            continue
        north = (latitude_rad - end.latitude_rad) * METERS_PER_RAD
        east = (longitude_rad - end.longitude_rad) * METERS_PER_RAD * math.cos(end.latitude_rad)
        sin, cos = math.sin(end.heading_rad), math.cos(end.heading_rad)
        one = Touch(end, north * cos + east * sin, east * cos - north * sin)
        if abs(one.right_m) <= BESIDE_M and -BEFORE_M <= one.beyond_m <= end.length_m and np.isfinite(one.beyond_m):
            fits.append(one)
    return min(fits, key=lambda one: abs(one.right_m), default=None)
