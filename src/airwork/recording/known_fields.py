"""What known aerodromes say of a height: nothing flies far below a field it is over, or stands above it.

Published elevations are from the tables of `airwork.aerodromes`; how far heights stray is our own choice, wide on
purpose: altimeters not set to the day, heights above the ellipsoid. A height above the field lies as far below its
elevation in every unit, and tells nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.aerodromes import fields_in
from airwork.airdata.geodesy import radii_m
from airwork.recording.recorded import Array
from airwork.recording.unit_choice import misfit
from airwork.recording.unit_words import BY_NAME

_NEAR_M, _FEW = 1_500.0, 5  # of its middle; readings there
_STANDS_S, _LEAST_S = 10.0, 4.0  # over so long, of a short piece less
_STANDS_MPS, _STILL_MPS = 6.0, 0.5  # moved no faster: it stands or taxies; it stands
_BELOW_M, _ABOVE_M = {"gps_altitude": 70.0}, 150.0  # one standard error, of other heights below:
_ALTIMETER_M = 110.0
_MOST, _MOST_ABOVE = 6.0, 3.0  # of cost; soaring craft stand in the wind
_UNDER_M, _LOW_OVER_M = 30.0, 150.0  # a satellite's height strays; higher, it passes over
_ROWS = 4_000
_REGION_M = 100_000.0
_UNIT, _UNIT_OFF, _APART_M = math.log(BY_NAME["ft"].factor), 0.08, 120.0  # no altimeter is set so badly


@dataclass(frozen=True, slots=True)
class Visit:
    """A known field flown over: its elevation, the lowest reading and, slow on it (NaN: never), the middle one.

    still : it didn't move at all then.
    """

    ident: str
    elevation_m: float
    low: float
    stood: float
    latitude_rad: float
    longitude_rad: float
    still: bool = False


def visits(time_s: Array, latitude_rad: Array, longitude_rad: Array, heights: Array) -> tuple[Visit, ...]:
    """The known fields that the positions come by, rows in the order of time, with what a height reads there.

    heights : in numbers of any unit; those of a `Visit` are in the same.
    """
    good = np.flatnonzero(np.isfinite(heights) & np.isfinite(latitude_rad) & np.isfinite(longitude_rad))
    good = good[:: max(good.size // _ROWS, 1)]
    if good.size < _FEW:
        return ()
    t, raw, lat, lon = time_s[good], heights[good], latitude_rad[good], longitude_rad[good]
    meridian, parallel = (float(r) for r in radii_m(float(np.median(lat))))
    up, across = _NEAR_M / meridian, _NEAR_M / max(parallel, 1.0)
    known = fields_in(lat.min() - up, lon.min() - across, lat.max() + up, lon.max() + across)
    flown = np.column_stack((lat * meridian, lon * parallel))
    middles = np.column_stack((known.latitude_rad * meridian, known.longitude_rad * parallel))
    moves = _moves_mps(t, flown)
    out = []
    for field, near in _near(flown, middles):
        slow = near[moves[near] < _STANDS_MPS]
        stood = float(np.median(raw[slow])) if slow.size >= _FEW else math.nan
        still = slow.size >= _FEW and float(np.median(moves[slow])) < _STILL_MPS
        place = float(known.latitude_rad[field]), float(known.longitude_rad[field])
        low = float(np.percentile(raw[near], 5.0))
        out.append(Visit(known.ident[field], float(known.elevation_m[field]), low, stood, *place, still))
    return tuple(out)


def _near(flown: Array, middles: Array) -> Iterator[tuple[int, NDArray[np.intp]]]:
    """Each place come by, and the rows near it; shape (n, 2) both. [m north and east]

    By rows in the order of north: a tree of places finds them no sooner, and takes a third of a second to import.
    """
    order = np.argsort(flown[:, 0])
    north = flown[order, 0]
    first = np.searchsorted(north, middles[:, 0] - _NEAR_M, "left")
    end = np.searchsorted(north, middles[:, 0] + _NEAR_M, "right")
    for field in np.flatnonzero(end - first >= _FEW).tolist():
        rows = order[first[field] : end[field]]
        near = rows[np.sum((flown[rows] - middles[field]) ** 2, axis=1) <= _NEAR_M**2]
        if near.size >= _FEW:
            yield field, near


def _moves_mps(t: Array, flown: Array) -> Array:
    """How fast it moves from row to row, in the mean of some seconds; at the end, since so long before. [m/s]"""
    span_s = min(_STANDS_S, float(t[-1] - t[0]))
    if span_s < _LEAST_S:
        return np.full(t.size, np.inf)
    at = np.clip(t, t[0], t[-1] - span_s)
    way = [np.interp(at + span_s, t, x) - np.interp(at, t, x) for x in flown.T]
    return np.asarray(np.hypot(*way) / span_s)


def elevations_near(latitude_rad: float, longitude_rad: float, within_m: float) -> Array | None:
    """Elevations [m] of the known fields within so far of a place; None where the tables know none in the region."""
    meridian, parallel = (float(r) for r in radii_m(latitude_rad))
    up, across = (max(within_m, _REGION_M) / max(r, 1.0) for r in (meridian, parallel))
    known = fields_in(latitude_rad - up, longitude_rad - across, latitude_rad + up, longitude_rad + across)
    if not known.ident:
        return None
    north, east = (known.latitude_rad - latitude_rad) * meridian, (known.longitude_rad - longitude_rad) * parallel
    return known.elevation_m[np.hypot(north, east) < within_m]


@dataclass(frozen=True, slots=True)
class FieldBelow:
    """The known field a flight comes low over: its elevation, and how far from its middle each sample is. [m]"""

    ident: str
    elevation_m: float
    away_m: Array


def field_below(time_s: Array, latitude_rad: Array, longitude_rad: Array, altitude_m: Array) -> FieldBelow | None:
    """The field whose elevation the altitude comes nearest to, low over it; None where it comes low over none."""
    found = visits(time_s, latitude_rad, longitude_rad, altitude_m)
    low = [v for v in found if -_UNDER_M < v.low - v.elevation_m < _LOW_OVER_M]
    if not low:
        return None
    field = min(low, key=lambda v: abs(v.low - v.elevation_m))
    meridian, parallel = (float(r) for r in radii_m(field.latitude_rad))
    north, east = (latitude_rad - field.latitude_rad) * meridian, (longitude_rad - field.longitude_rad) * parallel
    return FieldBelow(field.ident, field.elevation_m, np.hypot(north, east))


def visits_cost(found: tuple[Visit, ...], quantity: str, factor: float) -> float:
    """How badly this unit [m] of the height fits the fields come by, in the cost of `unit_choice`."""
    if not found:
        return 0.0
    below_m = _BELOW_M.get(quantity, _ALTIMETER_M)
    costs = []
    for visit in found:
        cost = misfit(max(visit.elevation_m - visit.low * factor, 0.0), below_m, _MOST)
        if math.isfinite(visit.stood):
            above = misfit(max(visit.stood * factor - visit.elevation_m, 0.0), _ABOVE_M, _MOST)
            cost = max(cost, above if visit.still else min(above, _MOST_ABOVE))
        costs.append(cost)
    return float(np.mean(costs))


def in_another_unit(visit: Visit) -> bool:
    """Standing there its height [m] reads as the field's elevation would in feet taken for meters, or the reverse."""
    if not (visit.stood > 0.0 and visit.elevation_m > 0.0) or abs(visit.stood - visit.elevation_m) < _APART_M:
        return False
    return abs(abs(math.log(visit.stood / visit.elevation_m)) + _UNIT) < _UNIT_OFF
