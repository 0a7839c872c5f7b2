"""Positions in two columns, the number here and its side (N or S, E or W) there; degrees and minutes in one number.

A number without its side puts a flight into another hemisphere, mirrored: no check of speeds or turns finds that.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from airwork.recording.recorded import Array

if TYPE_CHECKING:
    import polars as pl

_SIDES = {
    "latitude": {"n": 1.0, "north": 1.0, "s": -1.0, "south": -1.0},
    "longitude": {"e": 1.0, "east": 1.0, "w": -1.0, "west": -1.0},
}
_NAMED = re.compile(r"(?i)\b(n[/_ ]?s|e[/_ ]?w)\b|hemi|side|lat|lon")
_MOST = {"latitude": 90.0, "longitude": 180.0}


_PLACE = r"^\s*(?:[Pp][Oo][Ii][Nn][Tt])?\s*[\[(]?\s*([-+]?\d{1,3}\.\d+)\s*[,; ]\s*([-+]?\d{1,3}\.\d+)\s*[\])]?\s*$"


def without_places(frame: pl.DataFrame, names: list[str]) -> tuple[int, pl.DataFrame] | None:
    """(column, frame) where a text column's cells hold a latitude and a longitude: it and a new last one hold these."""
    for i in range(len(names)):
        series = frame[str(i)]
        if series.dtype != pl.String:
            continue
        sample = series.drop_nulls().head(50)
        if not len(sample) or int(sample.str.contains(_PLACE).sum()) < 0.9 * len(sample):
            continue
        both = [series.str.extract(_PLACE, k).cast(pl.Float64, strict=False) for k in (1, 2)]
        if str(sample[0]).lstrip().upper().startswith("POINT"):  # well-known text puts the longitude first
            both.reverse()
        if not np.nanmax(np.abs(both[0].to_numpy()), initial=0.0) <= 90.0:
            continue
        return i, frame.with_columns(both[0].alias(str(i)), both[1].alias(str(len(names))))
    return None


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
    if not size.size or size.max() <= most or size.max() > most * 100.0 or (np.mod(size, 100.0) >= 60.0).any():
        return None
    if float(np.mean(size != np.round(size))) < 0.5:
        return None  # whole numbers are scaled degrees
    whole = np.floor(np.abs(values) / 100.0)
    degrees: Array = np.sign(values) * np.round(whole + (np.abs(values) - 100.0 * whole) / 60.0, 9)
    return degrees
