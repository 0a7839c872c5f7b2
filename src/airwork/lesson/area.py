"""The practice area as a flat map: east and north meters about its middle, distances to its edge. SI.

The map is the azimuthal equidistant one on the ellipsoid: exact in distance and direction from the middle, and within
0.01 % elsewhere in an area of 50 km.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.airdata.geodesy import leg, place, places
from airwork.errors import InputError, Where
from airwork.lesson.lesson import AreaWanted, Lesson
from airwork.units import DEG_RAD, NM_M

Array = NDArray[np.float64]

IN_LESSON = Where("", "area", dotted=True)
MARGIN_M = 0.25 * NM_M  # distance kept from the edge, where the lesson names none: airwork's own choice
CIRCLE_CORNERS = 90  # inscribed: at most 0.06 % of the radius is given away


@dataclass(frozen=True, slots=True)
class FlatMap:
    """Latitude and longitude to meters about a middle point, and back."""

    latitude_rad: float
    longitude_rad: float

    def east_north_m(self, latitude_rad: float, longitude_rad: float) -> tuple[float, float]:
        """Position east and north of the middle. [m]"""
        way = leg(self.latitude_rad, self.longitude_rad, latitude_rad, longitude_rad)
        return way.distance_m * math.sin(way.course_rad), way.distance_m * math.cos(way.course_rad)

    def lat_lon_rad(self, east_m: float, north_m: float) -> tuple[float, float]:
        """Latitude and longitude of a point of the map. [rad]"""
        found = place(self.latitude_rad, self.longitude_rad, math.atan2(east_m, north_m), math.hypot(east_m, north_m))
        return found.latitude_rad, found.longitude_rad

    def lat_lon_all_rad(self, east_m: Array, north_m: Array) -> tuple[Array, Array]:
        """As `lat_lon_rad` for many points. [rad]"""
        return places(self.latitude_rad, self.longitude_rad, np.arctan2(east_m, north_m), np.hypot(east_m, north_m))


@dataclass(frozen=True, eq=False)
class Area:
    """A practice area on its map. Made once for what was wanted: equality is identity.

    corners_m : shape (n, 2), in order around, not closed. shape : the same as a shapely polygon.
    """

    wanted: AreaWanted
    map: FlatMap
    corners_m: Array
    shape: Any

    @property
    def margin_m(self) -> float:
        """Distance to be kept from the edge. [m]"""
        return MARGIN_M if self.wanted.margin_m is None else self.wanted.margin_m

    def inside_m(self, east_m: ArrayLike, north_m: ArrayLike) -> Array:
        """Distance to the edge: positive inside, negative outside. [m]"""
        import shapely

        east, north = np.broadcast_arrays(np.asarray(east_m, dtype=float), np.asarray(north_m, dtype=float))
        if self.wanted.radius_m is not None:
            return self.wanted.radius_m - np.hypot(east, north)
        points = shapely.points(east, north)
        distance = np.asarray(shapely.distance(self.shape.exterior, points))
        return np.where(shapely.contains_xy(self.shape, east, north), distance, -distance)


@lru_cache(maxsize=8)
def make_area(wanted: AreaWanted, *, where: Where = IN_LESSON) -> Area:
    """The area of a lesson on its map.

    Raises
    ------
    InputError : the polygon crosses itself, or has no room inside.
    """
    import shapely

    if wanted.center_rad is not None and wanted.radius_m is not None:
        flat = FlatMap(*wanted.center_rad)
        angle = np.arange(CIRCLE_CORNERS) * (2.0 * np.pi / CIRCLE_CORNERS)
        corners = wanted.radius_m * np.column_stack([np.sin(angle), np.cos(angle)])
        return Area(wanted, flat, corners, shapely.Polygon(corners))
    first = wanted.corners_rad[0]
    rough = FlatMap(*first)
    # middle of the corners on a first map: an area across the 180th meridian has no mean longitude
    around = np.array([rough.east_north_m(*corner) for corner in wanted.corners_rad])
    flat = FlatMap(*rough.lat_lon_rad(*around.mean(axis=0)))
    corners = np.array([flat.east_north_m(*corner) for corner in wanted.corners_rad])
    if len(corners) > 3 and np.hypot(*(corners[0] - corners[-1])) < 1.0:
        corners = corners[:-1]  # the first corner written again at the end
    shape = shapely.Polygon(corners)
    if not shape.is_valid:
        reason = str(shapely.is_valid_reason(shape))
        spot = _spot(flat, reason)
        raise InputError(
            f"the polygon crosses itself{spot}; list the corners in order around the area.",
            where=where.at("polygon"),
        )
    if shape.area < 1e4:
        raise InputError("the polygon has no room inside; check the corners.", where=where.at("polygon"))
    if np.abs(corners).max() > 400e3:
        raise InputError("the polygon is hundreds of miles wide; check the corners.", where=where.at("polygon"))
    return Area(wanted, flat, corners, shape)


def _spot(flat: FlatMap, reason: str) -> str:
    """ " near [lat, lon]" out of shapely's "Self-intersection[x y]"."""
    inside = reason.partition("[")[2].rstrip("]").split()
    if len(inside) != 2:
        return ""
    latitude, longitude = flat.lat_lon_rad(float(inside[0]), float(inside[1]))
    return f" near [{latitude / DEG_RAD:.3f}, {longitude / DEG_RAD:.3f}]"


def farthest_m(lesson: Lesson) -> float:
    """Straight distance from the field to the farthest corner of the area; 0 without one. [m]"""
    if lesson.area is None:
        return 0.0
    here = lesson.place.latitude_rad, lesson.place.longitude_rad
    if lesson.area.center_rad is not None:
        return leg(*here, *lesson.area.center_rad).distance_m + (lesson.area.radius_m or 0.0)
    return max(leg(*here, *corner).distance_m for corner in lesson.area.corners_rad)
