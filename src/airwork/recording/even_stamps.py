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
# Stamps that an exporter repeats: rows, stamps, the share of rows that share one, rows to a second against the others'.
_FEWEST, _STAMPS, _SHARED, _MANY_TIMES = 15, 4, 0.3, 5.0
# Of the way by the speed: how even (as logarithms), as long as the stamps say to so many seconds and times.
_MOVES_MPS, _EVEN, _TICK_S, _AS_LONG = 5.0, 0.35, 1.0, 1.6


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


def stamps_by_speed(
    time_s: Array, latitude_rad: Array | None, longitude_rad: Array | None, speed_mps: Array
) -> tuple[Array, str] | None:
    """(the rows' times by way and recorded speed [s], what is said of it) of stamps that are repeated unevenly.

    None where the stamps may be right, few rows share one, or way and speed don't make even rows as long as the stamps.
    """
    if latitude_rad is None or longitude_rad is None or time_s.size < _FEWEST or not np.isfinite(time_s).all():
        return None
    steps = np.diff(time_s)
    way, speed = way_m(latitude_rad, longitude_rad), 0.5 * (speed_mps[1:] + speed_mps[:-1])
    if (steps < 0.0).any() or (steps == 0.0).mean() < _SHARED or not (steps > 0.0).any():
        return None
    if not _uneven(time_s) or not (np.isfinite(way) & (np.nan_to_num(speed) > _MOVES_MPS)).all():
        return None
    own = way / speed
    usual = float(np.median(own))
    apart = np.abs(np.log(np.maximum(own, 1e-9) / usual)) if usual > 0.0 else np.full(own.size, np.inf)
    took, stamped = float(own.sum()), float(time_s[-1] - time_s[0])
    alike = abs(took - stamped) <= max(float(steps.max()), _TICK_S) and 1.0 / _AS_LONG < took / stamped < _AS_LONG
    if float(np.percentile(apart, 90.0)) > _EVEN or not alike:
        return None
    times = time_s[0] + np.concatenate(([0.0], np.cumsum(own)))
    shared = f"{int((steps == 0.0).sum())} rows shared their time with the row before, unevenly"
    return times, f"{shared}: spread by their way and recorded speed"


def _uneven(time_s: Array) -> bool:
    """Some stamps stand for many times as many rows a second as others: no clock that only shows whole seconds."""
    stamps, counts = np.unique(time_s, return_counts=True)
    if stamps.size < _STAMPS:
        return False
    rate = counts[:-1] / np.diff(stamps)
    return float(rate.max()) > _MANY_TIMES * float(np.median(rate))


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
