"""Positions in two columns, the number here and its side (N or S, E or W) there; degrees and minutes in one number.

A number without its side puts a flight into another hemisphere, mirrored: no check of speeds or turns finds that.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

import numpy as np
import polars as pl

from airwork.airdata.geodesy import zone_at
from airwork.recording.recorded import Array
from airwork.recording.unit_choice import SPEED_NAMES
from airwork.recording.unit_evidence import Stretches, ratio_of
from airwork.recording.unit_words import BY_NAME

_SEMICIRCLE = 180.0 / 2.0**31 / 1e-7  # degrees of one, where the number was taken for 10⁻⁷ degrees
_PLAIN_MPS = [BY_NAME[n].factor for n in SPEED_NAMES]
_SURE, _DOUBT = 0.02, 4.0  # how well positions and speed agree where they are right; this much likelier, to be moved
_SIDES = {
    "latitude": {"n": 1.0, "north": 1.0, "s": -1.0, "south": -1.0},
    "longitude": {"e": 1.0, "east": 1.0, "w": -1.0, "west": -1.0},
}
_NAMED = re.compile(r"(?i)\b(n[/_ ]?s|e[/_ ]?w)\b|hemi|side|lat|lon")
_MOST = {"latitude": 90.0, "longitude": 180.0}


_PLACE = r"^\s*(?:[Pp][Oo][Ii][Nn][Tt])?\s*[\[(]?\s*([-+]?\d{1,3}[.,]\d+)\s*[,; ]\s*([-+]?\d{1,3}[.,]\d+)\s*[\])]?\s*$"


# 47.12N 8.12E, N47 07.4 E008 07.4
_SIDED = r"^\s*([NSns][^NSEWnsew]+\d\D?|[^NSEWnsew]*\d\D?\s?[NSns])[\s,;/]+([EWew][^NSEWnsew]+|[^NSEWnsew]+[EWew])\s*$"


# S343600.0W0605400.0
_PACKED = r"^\s*([NSns])(\d{2})(\d{2})(\d{2}(?:\.\d+)?)\s*/?([EWew])(\d{3})(\d{2})(\d{2}(?:\.\d+)?)\s*$"


def without_places(frame: pl.DataFrame, names: list[str]) -> tuple[int, pl.DataFrame] | None:
    """(column, frame) where a text column's cells hold a latitude and a longitude: it and a new last one hold these."""
    for i in range(len(names)):
        series = frame[str(i)]
        if series.dtype != pl.String:
            continue
        sample = series.drop_nulls().head(50)
        if len(sample) and sample.str.contains(_PACKED).all():
            parts = [series.str.extract(_PACKED, k) for k in range(1, 9)]
            both = [parts[b] + parts[b + 1] + "°" + parts[b + 2] + "'" + parts[b + 3] for b in (0, 4)]
            return i, frame.with_columns(both[0].alias(str(i)), both[1].alias(str(len(names))))
        if len(sample) and int(sample.str.contains(_SIDED).sum()) >= 0.9 * len(sample):
            both = [series.str.extract(_SIDED, k) for k in (1, 2)]
            return i, frame.with_columns(both[0].alias(str(i)), both[1].alias(str(len(names))))
        if not len(sample) or int(sample.str.contains(_PLACE).sum()) < 0.9 * len(sample):
            continue
        texts = [series.str.extract(_PLACE, k).str.replace(",", ".", literal=True) for k in (1, 2)]
        both = [text.cast(pl.Float64, strict=False) for text in texts]
        tops = [float(np.nanmax(np.abs(x.to_numpy()), initial=0.0)) for x in both]
        # well-known text puts the longitude first, and no latitude is above 90
        if str(sample[0]).lstrip().upper().startswith("POINT") or tops[0] > 90.0 >= tops[1]:
            both.reverse()
            tops.reverse()
        if not tops[0] <= 90.0:
            continue
        return i, frame.with_columns(both[0].alias(str(i)), both[1].alias(str(len(names))))
    return None


def axes(frame: pl.DataFrame, names: list[str]) -> dict[int, str]:
    """Columns x, y and z that hold longitude, latitude and height, as geographers export them, or, in a file without
    names, two of which latitude stands first; {} where none do.
    """
    at = {m[1].lower(): i for i, n in enumerate(names) if (m := re.fullmatch(_AXIS, n.strip()))}
    pairs = [(at["y"], at["x"], at.get("z"))] if {"x", "y"} <= at.keys() else []
    if names and all(re.fullmatch(_NUMBERED, n) for n in names):
        last = len(names) - 1
        pairs = [(i + back, i + 1 - back, None) for back in (0, 1) for i in range(last)]
    for latitude, longitude, height in pairs:
        if are_places(frame[str(latitude)], frame[str(longitude)]):
            turned = height is None and _only_so_over_land(frame[str(longitude)], frame[str(latitude)])
            found = dict(zip((latitude, longitude), _ORDER[::-1] if turned else _ORDER, strict=True))
            return found if height is None else {**found, height: "altitude"}
    return {}


def over_land(latitude_rad: float, longitude_rad: float) -> bool:
    """Whether the clocks of some country rule at a place: over the open sea a light airplane is seldom flown."""
    return not zone_at(latitude_rad, longitude_rad).startswith("Etc/")


def steps_back(values: Array) -> float:
    """Share of the moves of a column that go back on the one before: of noise half and more, of a way few."""
    steps = np.diff(values)
    steps = steps[steps != 0.0]
    return float(np.mean(steps[1:] * steps[:-1] < 0.0)) if steps.size > 1 else 0.0


def _only_so_over_land(latitude: pl.Series, longitude: pl.Series) -> bool:
    """Degrees of places near land that are at sea, or nowhere, the other way round."""
    if not are_places(latitude, longitude):
        return False
    middle = [math.radians(float(x.cast(pl.Float64, strict=False).median() or 0.0)) for x in (latitude, longitude)]  # type: ignore[arg-type]
    return over_land(*middle) and not (abs(middle[1]) <= 0.5 * math.pi and over_land(*middle[::-1]))


def either_way_round(frame: pl.DataFrame, names: list[str], placed: Mapping[int, str]) -> str:
    """A question where columns without names are places by their order alone; "" where names or their size tell."""
    at = {quantity: i for i, quantity in placed.items()}
    if not at or not all(re.fullmatch(_NUMBERED, names[i]) for i in placed):
        return ""
    latitude, longitude = at["latitude"], at["longitude"]
    if not are_places(frame[str(longitude)], frame[str(latitude)]):
        return ""
    if latitude < longitude and _only_so_over_land(frame[str(latitude)], frame[str(longitude)]):
        return ""
    return other_way_round(names[latitude], names[longitude])


def other_way_round(latitude: str, longitude: str) -> str:
    """The question which of two columns is the latitude, and how to settle it."""
    return (
        f"{latitude!r} is taken as the latitude, {longitude!r} as the longitude, for they stand so: if they are the "
        f"other way round, settle it with airwork recording map FILE --set '{latitude}=longitude:deg' --set "
        f"'{longitude}=latitude:deg'"
    )


def are_places(latitude: pl.Series, longitude: pl.Series) -> bool:
    """Degrees changing by steps of a flight: x and y of an accelerometer shake, those of an attitude stay below 1."""
    top = 0.0
    for column, most in ((longitude, 180.0), (latitude, 90.0)):
        values = column.cast(pl.Float64, strict=False).drop_nulls().to_numpy()
        steps = np.abs(np.diff(values))
        if values.size < 20 or not np.abs(values).max() <= most or float(np.percentile(steps, 90.0)) > 0.02:
            return False
        if float(np.ptp(values)) == 0.0 or np.array_equal(values, np.round(values)):
            return False
        if steps_back(values) > _TO_AND_FRO:
            return False
        top = max(top, float(np.abs(values).max()))
    return top > 2.0


_TO_AND_FRO = 0.4
_ORDER = ("latitude", "longitude")
_NUMBERED = r"column \d+"  # what a file without names is given
_AXIS = r"(?i)(?:point|coord|pos|geo)?[_. ]?([xyz])(?:[_. ]?(?:coord|pos))?"


def as_speed_says(
    time_s: Array, latitude_rad: Array, longitude_rad: Array, speed: Array, *, whole: bool, named: bool
) -> tuple[str, tuple[Array, Array]]:
    """How positions are meant that a recorded speed of any unit contradicts as they are: (words for it or "", places).

    In the right reading speed and way have one ratio on all courses, near a plain unit. As they are, unless another
    reading is far likelier.

    Parameters
    ----------
    named : their names say which is which; only their scale is open.
    whole : large whole numbers taken for 10⁻⁷ degrees, which may be 2³¹ parts of half a turn.
    """
    places = {"": (latitude_rad, longitude_rad)}
    if whole:
        places["in parts of 2³¹ to half a turn"] = latitude_rad * _SEMICIRCLE, longitude_rad * _SEMICIRCLE
    if not named and float(np.nanmax(np.abs(longitude_rad), initial=0.0)) <= np.pi / 2:
        places["longitude before latitude"] = longitude_rad, latitude_rad
        flat = latitude_rad - np.nanmedian(latitude_rad), longitude_rad  # a speed made of degrees all alike
        places["as on a flat earth"] = flat
    stretches, costs = Stretches(time_s), []
    for place in places.values():
        begin, end, along = stretches.way(*place)
        fast = along > 0.4 * float(np.percentile(along, 90.0)) if along.size else np.zeros(0, bool)
        ratio = ratio_of(along, stretches.mean(speed, begin, end), fast)
        if ratio is None:
            return "", places[""]
        off = min(abs(np.log(ratio.middle / (unit * 10.0**-k))) for unit in _PLAIN_MPS for k in range(4))
        costs.append(0.5 * (ratio.scatter / _SURE) ** 2 + 0.5 * (min(off, 0.1) / _SURE) ** 2)
    best = int(np.argmin(costs))
    why = list(places)[best] if costs[best] + _DOUBT < costs[0] else ""
    if "flat" in why or ("before" in why and costs[-1] < costs[best] + _DOUBT):
        return "", places[""]  # the speed is wrong, not the places
    return (f"{why}: so they agree with the speed" if why else ""), places[why]


def side_columns(frame: pl.DataFrame, free: Mapping[int, str], at: Mapping[str, int]) -> dict[str, int]:
    """Quantity → number of the text column that holds nothing but its sides, beside its number or named as such.

    Parameters
    ----------
    free : the columns that mean nothing else, with their names.
    at : numbers of the latitude's and the longitude's column.

    >>> import polars as pl
    >>> frame = pl.DataFrame({"0": ["41.5", "41.6"], "1": ["N", "N"], "2": ["W", None], "3": ["N", "N"]})
    >>> side_columns(frame, {1: "", 2: "E/W", 3: "alert"}, {"latitude": 0})
    {'latitude': 1, 'longitude': 2}
    """
    out: dict[str, int] = {}
    for i, name in free.items():
        series = frame[str(i)]
        if series.dtype != pl.String:
            continue
        few = {v.strip().lower() for v in series.head(50).drop_nulls().to_list()} - {""}
        for quantity, words in _SIDES.items():
            beside = abs(i - at.get(quantity, -9)) == 1
            if not few or quantity in out or not few <= words.keys() or not (beside or _NAMED.search(name)):
                continue
            seen = {v.strip().lower() for v in series.drop_nulls().unique().to_list()[:20]}
            if seen - {""} <= words.keys():
                out[quantity] = i
    return out


def with_side(values: Array, side: pl.Series, quantity: str) -> Array:
    """The numbers with the sign their side gives; where no side is written the number is left as it is.

    Numbers that carry signs of their own need no side.
    """
    if float(np.nanmin(values, initial=0.0)) < 0.0:
        return values
    words = _SIDES[quantity]
    text = side.str.strip_chars().str.to_lowercase()
    sign = np.array([words.get(v, np.nan) if v else np.nan for v in text.to_list()])
    return np.where(np.isnan(sign), values, np.abs(values) * sign)


def from_minutes(values: Array, quantity: str) -> Array | None:
    """Degrees from numbers like 4807.038 (48° 07.038'); None when they can't be of that form.

    The form is known by numbers too large for degrees, with a fraction, whose last two whole digits stay below 60.

    >>> float(from_minutes(np.array([4807.038, 4807.5]), "latitude")[0])
    48.1173
    >>> from_minutes(np.array([48.07, 48.08]), "latitude") is None
    True
    """
    size = np.abs(values[np.isfinite(values)])
    most = _MOST[quantity]
    if not size.size or float(np.mean(size > most)) < 0.05 or size.max() > most * 100.0:
        return None
    if (np.mod(size, 100.0) >= 60.0).any():
        return None
    if float(np.mean(size != np.round(size))) < 0.5:
        return None  # whole numbers are scaled degrees
    whole = np.floor(np.abs(values) / 100.0)
    degrees: Array = np.sign(values) * np.round(whole + (np.abs(values) - 100.0 * whole) / 60.0, 9)
    return degrees


def at_row_times(time_s: Array, told_s: Array, latitude_rad: Array, longitude_rad: Array) -> tuple[Array, Array] | None:
    """Places at their rows' times, where each row has the last one heard and when that was; None where it doesn't.

    A receiver's network writes a row a second however old the last place is: between two of them it was flown straight.

    told_s : since 1970 UTC, as the rows' own times. [s]
    """
    late = time_s - told_s
    known = np.isfinite(late) & np.isfinite(latitude_rad) & np.isfinite(longitude_rad)
    if known.sum() < _PLACES or not (np.mean((late[known] > -_AHEAD_S) & (late[known] < _OLD_S)) > _MOSTLY):
        return None
    again = np.diff(told_s[known]) == 0.0
    moved = (np.diff(latitude_rad[known]) != 0.0) | (np.diff(longitude_rad[known]) != 0.0)
    if not again.any() or np.mean(moved[again]) > 1.0 - _MOSTLY:  # not the time of the place
        return None
    told, first = np.unique(told_s[known], return_index=True)
    if told.size < _PLACES // 2:
        return None
    nearest = np.clip(np.searchsorted(told, time_s), 1, told.size - 1)
    apart = np.minimum(np.abs(time_s - told[nearest - 1]), np.abs(told[nearest] - time_s))
    out = []
    for values in (latitude_rad[known], np.unwrap(longitude_rad[known])):
        line = np.interp(time_s, told, values[first])
        out.append(np.where(apart < _OLD_S, line, np.nan))
    return out[0], out[1]


_PLACES, _AHEAD_S, _OLD_S, _MOSTLY = 20, 2.0, 20.0, 0.9
