"""Cells of a text column → numbers: words for switches and tanks, degrees and minutes, thousands, units in the cell."""

from __future__ import annotations

import re
from collections.abc import Mapping

import numpy as np
import polars as pl
from numpy.typing import NDArray

from airwork.masks import runs
from airwork.recording.recorded import Array

_YES = {"1", "true", "t", "yes", "y", "on", "down", "active", "warn", "ground", "gnd"}
_NO = {"0", "false", "f", "no", "n", "off", "up", "none", "ok", "air", "inactive"}
_NOTCH = re.compile(r"(?:cran|stufe|raste|notch|detent|stage|step)s? ?([0-9])")
_FLAPS_UP = frozenset(["up", "in", "retracted", "rentrés", "rentres", "rentrées", "ein", "eingefahren"])
_FLAPS_FULL = frozenset(["full", "voll", "sortis", "sortie", "sorties", "aus", "ausgefahren"])
_TANKS = {"off": 0, "left": 1, "l": 1, "right": 2, "r": 2, "both": 3, "b": 3, "all": 3}


def numbers_of(series: pl.Series, dimension: str, quantity: str) -> Array:
    """A column as numbers; text is read for what it says ("LEFT", "on", "1,234", "N50 27.51"), NaN where it is none."""
    if series.dtype == pl.Boolean:
        return series.cast(pl.Float64).to_numpy().astype(np.float64)
    if series.dtype != pl.String:
        values = series.cast(pl.Float64, strict=False).to_numpy()
        return values if values.dtype == np.float64 else values.astype(np.float64)
    text = series.str.strip_chars().str.to_lowercase()
    if dimension == "code":
        words = _TANKS if quantity == "tank" else {**dict.fromkeys(_YES, 1), **dict.fromkeys(_NO, 0)}
        words = notches(text) or words if quantity == "flap_notch" else words
        seen = {v: _code(v, words) for v in text.unique().to_list()[:1000]}
        return np.array([seen.get(v, np.nan) for v in text.to_list()], dtype=np.float64)
    if quantity in {"latitude", "longitude"}:
        return np.array([_degrees(v) for v in _undotted(text).to_list()], dtype=np.float64)
    if text.head(1000).str.contains(r"^[-+]?\d{1,3}(\.\d{3})+,\d+$").any():  # 1.234,5: the points part thousands
        text = text.str.replace_all(".", "", literal=True)
    plain = text.str.replace_all(r"(\d)['’\s\x{00a0}\x{202f}\x{2009}](\d{3})", "$1$2")
    plain = plain.str.replace_all(r"(\d),(\d{3})", "$1$2").str.replace(",", ".", literal=True)
    return (
        plain.str.extract(r"([-+]?\d*\.?\d+(?:e[-+]?\d+)?)")
        .cast(pl.Float64, strict=False)
        .to_numpy()
        .astype(np.float64)
    )


def notches(cells: pl.Series) -> dict[str, int]:
    """The flap notch that each of a column's words means; nothing unless each is one and some carry their number.

    What is only called out or full stands one above the highest number: the last notch.

    >>> notches(pl.Series(["Stufe 1", "ein", "Stufe 2", "aus"])), notches(pl.Series(["ein", "10", "20"]))
    ({'stufe 1': 1, 'ein': 0, 'stufe 2': 2, 'aus': 3}, {})
    """
    words = [w for w in cells.str.strip_chars().str.to_lowercase().unique(maintain_order=True).to_list() if w]
    numbered = {w: int(m[1]) for w in words[:_MOST_NOTCHES] if (m := _NOTCH.fullmatch(w))}
    if not numbered or len(words) > _MOST_NOTCHES or not {*words} <= {*numbered, *_FLAPS_UP, *_FLAPS_FULL}:
        return {}
    full = max(numbered.values()) + 1
    return {w: numbered.get(w, 0 if w in _FLAPS_UP else full) for w in words}


_MOST_NOTCHES = 12


def nought_on_the_ground(raw: Array) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(heights of 0 that stand for none, those of them on the ground): next to 0 comes another number, between nothing.

    On the ground: before the first and after the last other height, or between two alike.

    >>> nought_on_the_ground(np.array([0.0, 0.0, 0.0, 1275.0, 1300.0, 1350.0, 0.0]))[0].tolist()
    [True, True, True, False, False, False, True]
    """
    zero = raw == 0.0
    bounds = runs(zero)
    beside = [tuple(abs(float(raw[k])) for k in (a - 1, b) if 0 <= k < raw.size) for a, b in bounds]
    heights = np.array([h for pair in beside for h in pair if np.isfinite(h)])
    others = np.abs(raw[np.isfinite(raw) & ~zero])
    steps = np.abs(np.diff(others))
    least = float(heights.min(initial=np.inf))
    if not (zero.sum() > 1 and steps.any() and np.inf > least > max(_JUMP, 4.0 * float(np.percentile(steps, 90.0)))):
        return np.zeros_like(zero), np.zeros_like(zero)
    if others.min() < 0.5 * least:
        return np.zeros_like(zero), np.zeros_like(zero)
    ground = np.zeros_like(zero)
    for (a, b), pair in zip(bounds, beside, strict=True):
        ground[a:b] = len(pair) < 2 or abs(pair[0] - pair[1]) < _JUMP
    return zero, ground


_JUMP = 150.0  # feet or meters: less is no harm
_FULL = (32_767.0, 32_768.0, 65_535.0, 2_147_483_647.0, 2_147_483_648.0, 4_294_967_295.0)  # of a whole number


def stands_for_nothing(raw: Array) -> NDArray[np.bool_]:
    """Which readings are a number that stands for none: nines alone or the most a whole number holds, of either sign.

    Such a number comes more than once and out of nowhere: its neighbors are a fifth of it away and more.

    >>> stands_for_nothing(np.array([812.0, 9999.0, 815.0, 818.0, 9999.0, 820.0])).tolist()
    [False, True, False, False, True, False]
    >>> bool(stands_for_nothing(np.array([9990.0, 9995.0, 9999.0, 9999.0, 9999.0, 9998.0])).any())
    False
    """
    size = np.abs(raw)
    out = np.zeros(raw.shape, dtype=bool)
    if not np.nanmax(size, initial=0.0) > 99.0:
        return out
    for value in (*(10.0**k - 1.0 for k in (3, 4, 5, 6, 7)), 999.9, 9_999.9, *_FULL):
        here = size == value
        if (count := int(here.sum())) < 2:
            continue
        others = np.flatnonzero(np.isfinite(raw) & ~here & ~out)
        if not others.size:
            continue
        place = np.clip(np.searchsorted(others, np.flatnonzero(here)), 1, others.size - 1)
        beside = np.stack([size[others[place - 1]], size[others[place]]])
        near = np.abs(beside - value).min(axis=0) < 0.2 * value
        out |= here if near.sum() < 0.1 * count else False
    return out


def unknown_as_less(raw: Array) -> NDArray[np.bool_]:
    """The -1 of a phone that doesn't know its speed or course: the one number below nought, far from those about it."""
    out = raw == -1.0
    known = np.flatnonzero(np.isfinite(raw) & ~out)
    if not out.any() or not known.size or float(raw[known].min()) < 0.0:
        return out & (known.size == 0)
    beside = np.interp(np.arange(raw.size), known, raw[known])
    return out & (np.minimum(np.abs(beside), np.abs(beside - 360.0)) > _FAR)


_FAR = 3.0  # from nought: a direction that wavers about north, a speed that wavers about none


def _code(text: str | None, words: Mapping[str, int]) -> float:
    if text is None:
        return float("nan")
    if text in words:
        return float(words[text])
    try:
        return float(text)
    except ValueError:
        return float("nan")


_DOTTED = r"^(\D*\d{1,3})\.([0-5]\d)\.(\d+)(\D*)$"


def _undotted(text: pl.Series) -> pl.Series:
    """34.36.120 as 34 36.120, minutes with decimals; 34.36.12 as 34 36 12, unless as seconds a row would have over 59.

    >>> _undotted(pl.Series(["n34.36.120", "n34.36000"])).to_list()
    ['n34 36.120', 'n34.36000']
    """
    last = text.str.extract(_DOTTED, 3).drop_nulls()
    if not last.len():
        return text
    seconds = bool((last.str.len_chars() == 2).all() and (last <= "59").all())
    return text.str.replace(_DOTTED, "${1} ${2} ${3}${4}" if seconds else "${1} ${2}.${3}${4}")


_DEGREES = re.compile(
    r"^([nsew])?\s*([-+]?\d+(?:[.,]\d+)?)[°\s:-]*(?:(\d+(?:[.,]\d+)?)['′\s:]*)?(?:(\d+(?:[.,]\d+)?)[\"″\s]*)?([nsew])?$"
)


def _degrees(text: str | None) -> float:
    """50°27.51'N, N50 27.51, 50 27 30.6 N, -50.4585 → degrees; NaN where it isn't one."""
    match = _DEGREES.match(text) if text else None
    if match is None:
        return float("nan")
    number = [float(part.replace(",", ".")) if part else 0.0 for part in match.group(2, 3, 4)]
    size = abs(number[0]) + number[1] / 60.0 + number[2] / 3600.0
    side = match[1] or match[5] or ""
    return -size if side in {"s", "w"} or (number[0] < 0 and not side) else size
