"""Stamps that jump to and fro between rows written evenly: a recorder whose parts of a second are not its clock's.

By such stamps the airplane makes three times its speed for one row and less for the next, which nothing flies; by rows
evenly spread it flies on. Then the rows are spread. (Limits are our own, wide: a lost row or a burst isn't touched.)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.geodesy import way_m
from airwork.recording.recorded import Array

_LEAST, _FLYING_MPS = 60, 15.0  # rows in flight
_GAP = 3.0  # steps: a row or more is lost
_OFF_S = 1.0  # the part of a second is wrong, not the second
_JUMPS, _OFTEN, _SELDOM = 3.0, 0.05, 0.002  # times the usual speed; of the rows in flight by stamps, evenly
_SMOOTH = 0.1  # from row to row, evenly spread


def even_stamps(time_s: Array, latitude_rad: Array | None, longitude_rad: Array | None) -> tuple[Array, str] | None:
    """(the rows' times spread evenly [s], what is said of it); None where the stamps may be right."""
    if latitude_rad is None or longitude_rad is None or time_s.size < _LEAST:
        return None
    steps = np.diff(time_s)
    if not (np.isfinite(steps).all() and (steps > 0.0).all()):
        return None
    even = _spread(time_s, steps)
    off = float(np.abs(time_s - even).max())
    way = way_m(latitude_rad, longitude_rad)
    evenly = way / np.diff(even)
    flying = np.isfinite(way) & (np.nan_to_num(evenly) > _FLYING_MPS)
    if off > _OFF_S or flying.sum() < _LEAST:
        return None
    apart = np.abs(np.diff(np.log(np.where(flying, evenly, np.nan))))
    jumps = (_share_of_jumps(x[flying]) for x in (way / steps, evenly))
    if next(jumps) < _OFTEN or next(jumps) > _SELDOM or not float(np.nanpercentile(apart, 90.0)) < _SMOOTH:
        return None
    return even, f"stamps jump by up to {off:.1f} s where the positions move on evenly: rows spread evenly"


def _spread(time_s: Array, steps: Array) -> Array:
    """Straight lines through the stamps between gaps."""
    out = np.empty(time_s.size)
    cuts: NDArray[np.intp] = np.flatnonzero(steps > _GAP * float(np.mean(steps))) + 1
    for rows in np.split(np.arange(time_s.size), cuts):
        at = rows - rows.mean()
        middle = float(time_s[rows].mean())
        slope = float(at @ (time_s[rows] - middle) / (at @ at)) if rows.size > 1 else 0.0
        out[rows] = middle + slope * at
    return out


def _share_of_jumps(speed: Array) -> float:
    return float(np.mean(speed > _JUMPS * float(np.median(speed))))
