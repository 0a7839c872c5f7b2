"""Latitude and longitude, and seconds that only count, by their cells: no name tells, the way flown does.

In the right reading the way is covered steadily, at a speed that is flown, through all turns. A wrong pair stands still
on some courses; a wrong order is too fast along the parallels or along the meridians.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from airwork.recording.positions import from_minutes, over_land
from airwork.recording.recorded import Array
from airwork.recording.unit_choice import misfit
from airwork.recording.unit_evidence import Stretches
from airwork.recording.unit_words import BY_NAME, Unit

_USUAL_MPS, _USUAL_OFF = 48.0, 0.5  # common practice, as in the families of units
_SPEEDS_MPS = (4.0, 400.0)
_UNSTEADY = 0.12  # usual change of the speed between one stretch of 10 s and the next: no way flown
_CLEAR, _TIE = 1.15, 2.0  # steadier by this much: settled; costs this near: alike
_SAME_DEG = 1e-3
_HOW = "by its cells: the way is covered steadily, at a speed that is flown"
_BY_ORDER = "is only assumed from their order"
_MOST = 14  # columns tried with each other
_SIZES = ((1e-7, 2e7), (1e-6, 2e6), (1e-5, 2e5))  # of a degree, and what two degrees are then


@dataclass(frozen=True, slots=True)
class Places:
    """Two columns that are a place: their numbers, units and how they were known."""

    latitude: int
    longitude: int
    unit: Unit
    why: str
    cost: float


def _units(x: Array, speed: Array) -> Iterator[Unit]:
    """Units of angle in which a column moves as fast as an aircraft at most, and somewhere as fast at least."""
    known = x[np.isfinite(x)]
    top = float(np.abs(known).max())
    plain = np.array_equal(known, np.round(known))
    options = [(BY_NAME["deg"], top <= 360.0 and not plain), (BY_NAME["rad"], top <= 2.0 * math.pi and not plain)]
    options += [
        (Unit(f"{s:g} deg", "angle", s * BY_NAME["deg"].factor), plain and least <= top <= 360.0 / s)
        for s, least in _SIZES
    ]
    options.append((BY_NAME["semicircles"], plain and 2e7 <= top <= 2.0**31))
    for unit, fits in options:
        fast = float(np.nanpercentile(np.abs(speed), 95.0)) * unit.factor * 6.37e6
        if fits and 0.2 * _SPEEDS_MPS[0] < fast < _SPEEDS_MPS[1] * 6.0:
            yield unit


def places(time_s: Array, numbers: Mapping[int, Array], named: frozenset[int] = frozenset()) -> Places | None:
    """The pair of columns that moves as an aircraft does; None where none does.

    Parameters
    ----------
    numbers : column → its numbers, of columns whose name says nothing.
    named : those of them that are a latitude by name (the other one isn't).
    """
    stretches = Stretches(time_s)
    able: list[tuple[int, Array, list[Unit]]] = []
    for i, raw in numbers.items():
        x = raw
        for quantity in ("latitude", "longitude") if np.nanmax(np.abs(raw), initial=0.0) > 360.0 else ():
            if (degrees := from_minutes(raw, quantity)) is not None:
                x = degrees
                break
        rate = stretches.change(x, 10.0)[2]
        if rate.size < 20 or not np.any(rate != 0.0) or len(able) >= _MOST:
            continue
        if units := list(_units(x, rate)):
            able.append((i, x, units))
    tried: list[Places] = []
    for (i, x, of_x), (j, y, of_y) in permutations(able, 2):
        if named and i not in named:
            continue
        for unit in of_x:
            if unit not in of_y or float(np.nanmax(np.abs(x))) * unit.factor > 0.5 * math.pi + 0.01:
                continue
            tried += (
                []
                if (cost := _cost(stretches, x * unit.factor, y * unit.factor)) is None
                else [Places(i, j, unit, "", cost)]
            )
    if not tried:
        return None
    best = min(tried, key=lambda p: (p.cost, p.latitude))
    turned = next((p for p in tried if (p.latitude, p.longitude) == (best.longitude, best.latitude)), None)
    if turned is not None and turned.unit == best.unit and turned.cost < _CLEAR * best.cost + 0.05:
        return _of_alike(best, turned, numbers)
    return Places(best.latitude, best.longitude, best.unit, _HOW, best.cost)


def _of_alike(one: Places, other: Places, numbers: Mapping[int, Array]) -> Places:
    """Of a pair that is flown as well the other way round the one over land; else in the usual order."""

    def near_land(place: Places) -> bool:
        at = [float(np.nanmedian(numbers[i])) * place.unit.factor for i in (place.latitude, place.longitude)]
        return over_land(at[0], at[1])

    near = [p for p in (one, other) if near_land(p)]
    if len(near) == 1:
        best, why = near[0], "; the other way round it would be out at sea"
    else:
        best, why = min((one, other), key=lambda p: p.latitude), f"; which is the latitude {_BY_ORDER}"
    return Places(best.latitude, best.longitude, best.unit, _HOW + why, best.cost)


def _cost(stretches: Stretches, latitude: Array, longitude: Array) -> float | None:
    """How unsteady and unusual the way is; None where it is no aircraft's."""
    begin, _, along = stretches.way(latitude, longitude)
    if along.size < 20:
        return None
    fast = along > 0.4 * float(np.percentile(along, 90.0))
    usual = float(np.median(along[fast]))
    near = np.diff(begin) < 30.0
    if near.sum() < 10 or not _SPEEDS_MPS[0] < usual < _SPEEDS_MPS[1]:
        return None
    logs = np.log(np.maximum(along, 1.0))  # slow stretches count: a wrong pair stands still on some courses
    unsteady = float(np.percentile(np.abs(np.diff(logs))[near], 70.0))
    if unsteady > _UNSTEADY or fast.mean() < 0.3:
        return None
    return 10.0 * unsteady + 3.0 * float(np.std(logs)) + misfit(math.log(usual / _USUAL_MPS), _USUAL_OFF, 8.0)


def counted(numbers: Mapping[int, Array], latitude_rad: Array, longitude_rad: Array) -> tuple[int, Array, str] | None:
    """(column, seconds, why) of a column that only counts: in the unit in which the positions move as flown.

    None where no column counts on, or where two readings stay alike: the number of a row is not its second.
    """
    tried: list[tuple[float, int, Array, str]] = []
    for i, x in numbers.items():
        known = x[np.isfinite(x)]
        steps = np.diff(known)
        if known.size < 0.9 * x.size or known.size < 30 or not steps.size or (steps < 0.0).mean() > 0.01:
            continue
        if (steps > 0.0).mean() < 0.5 or _a_place(x, latitude_rad) or _a_place(x, longitude_rad):
            continue
        for name, factor in (("seconds", 1.0), ("milliseconds", 1e-3), ("microseconds", 1e-6), ("nanoseconds", 1e-9),
                             ("minutes", 60.0), ("hours", 3_600.0), ("days", 86_400.0)):  # fmt: skip
            if not 0.005 < float(np.median(steps[steps > 0.0])) * factor < 40.0:
                continue
            _, _, along = Stretches(x * factor).way(latitude_rad, longitude_rad)
            if along.size < 10:
                continue
            usual = float(np.median(along[along > 0.4 * np.percentile(along, 90.0)]))
            cost = misfit(math.log(max(usual, 1e-3) / _USUAL_MPS), _USUAL_OFF)
            row = np.array_equal(steps, np.ones(steps.size)) and known[0] in (0.0, 1.0)
            if cost < _TIE:
                words = f"by its cells: it counts on, and in {name} the positions move at {usual:.0f} m/s"
                tried.append((cost + 0.5 * row, i, x * factor, words))
    if not tried:
        return None
    best = min(tried, key=lambda t: (round(t[0], 1), t[1]))
    return best[1:]


def _a_place(x: Array, place_rad: Array) -> bool:
    """The same place once more, in degrees and minutes (3858.77), which move at a minute of arc in a minute."""
    degrees = from_minutes(x, "longitude")
    off = np.zeros(0) if degrees is None else np.abs(np.abs(degrees) - np.abs(np.degrees(place_rad)))
    return bool(off.size) and float(np.nanmedian(off)) < _SAME_DEG
