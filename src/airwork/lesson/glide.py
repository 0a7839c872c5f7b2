"""Glide reach: how high above each of the user's landing places the airplane would arrive, engine out, in the wind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.airdata.column import AirColumn

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Field:
    """A landing place on the map, elevation above sea level."""

    name: str
    east_m: float
    north_m: float
    elevation_m: float


def arrival_height_m(
    east_m: ArrayLike,
    north_m: ArrayLike,
    altitude_m: ArrayLike,
    field: Field,
    glide_ratio: float,
    glide_tas_mps: float,
    air: AirColumn,
) -> Array:
    """Height above a landing place on arriving there in a straight glide from each point. [m]

    Height lost = time under way · V/(L/D), with the ground speed toward the place from the wind triangle; the wind is
    that halfway down. Negative: out of reach. −∞ where the wind across or against is stronger than the glide.

    Parameters
    ----------
    glide_tas_mps : true airspeed of the best glide at the height halfway.

    References
    ----------
    [AFH] chapter 3, glide ratio; [PHAK] chapter 16, wind triangle.
    """
    east, north = field.east_m - np.asarray(east_m, dtype=float), field.north_m - np.asarray(north_m, dtype=float)
    altitude = np.asarray(altitude_m, dtype=float)
    distance = np.sqrt(east * east + north * north)
    wind = air.wind_vector_at(0.5 * (altitude + field.elevation_m))
    with np.errstate(invalid="ignore", divide="ignore"):  # the wind triangle in components: no angle is asked for
        along, across = ((a * east + b * north) / distance for a, b in (wind, (wind[1], -wind[0])))
        groundspeed = along + np.sqrt(glide_tas_mps**2 - across * across)  # NaN: more wind across than airspeed
        lost = np.where(groundspeed > 0.5, distance / groundspeed * glide_tas_mps / glide_ratio, np.inf)
    lost = np.where(distance < 1.0, 0.0, lost)
    return altitude - field.elevation_m - lost


def best_place(
    east_m: Array, north_m: Array, altitude_m: Array, fields: tuple[Field, ...], glide_ratio: float,
    glide_tas_mps: float, air: AirColumn,
) -> tuple[Array, NDArray[np.int64]]:  # fmt: skip
    """(arrival height [m], index of the place) of the best landing place for each point; −∞, −1 without places."""
    shape = np.broadcast(east_m, north_m, altitude_m).shape
    if not fields:
        return np.full(shape, -np.inf), np.full(shape, -1)
    heights = np.stack(
        [arrival_height_m(east_m, north_m, altitude_m, f, glide_ratio, glide_tas_mps, air) for f in fields]
    )
    best = heights.argmax(axis=0)
    return np.take_along_axis(heights, best[None], axis=0)[0], best
