"""Stamps of any form, by their groups of digits: which of them is the second shows by how it counts and wraps."""

from __future__ import annotations

import re
from collections import Counter
from typing import Literal

import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
DAY_S = 86_400.0
_GROUPS = re.compile(r"\d+|[^\W\d_]+")
# Three letters that begin a month in English, German, French, Spanish, Italian, Portuguese, Dutch, Swedish.
_BEGIN = ("jan ene gen", "feb fév fev fevr", "mar mär maa mrt", "apr avr abr", "may mai mag mei maj", "jun jui giu",
          "jul lug", "aug aoû aou ago", "sep set", "oct okt ott out", "nov", "dec dez déc dic")  # fmt: skip
_MONTHS = {word: k + 1 for k, words in enumerate(_BEGIN) for word in words.split()}
_MOST_CELLS = 400


def seconds_of_groups(
    text: pl.Series, *, day_first: bool
) -> tuple[Array, Literal["moment", "date", "time of day", "elapsed"], str] | None:
    """(seconds, what they count from, remark) of stamps such as 14h40m05, 20. sept 2025 2:40:05 p. m.; None where none.

    A clock is three groups below 24, 60 and 60, with what follows a point as a fraction; a date is three groups with a
    year, or a month's name.

    >>> import polars as pl
    >>> seconds_of_groups(pl.Series(["03h20m05 p. m.", "03h20m06 p. m."]), day_first=False)[0] / 3600
    array([15.33472222, 15.335     ])
    """
    cells = text.to_list()
    probe = [c for c in cells[:_MOST_CELLS] if c]
    shapes = Counter(tuple(g.isdecimal() for g in _GROUPS.findall(c)) for c in probe)
    if not shapes or shapes.most_common(1)[0][1] < 0.8 * len(probe):
        return None
    shape = shapes.most_common(1)[0][0]
    if sum(shape) not in {2, 3, 4, 5, 6, 7}:
        return None
    rows = [_GROUPS.findall(c) if c else [] for c in cells]
    good = np.array([tuple(g.isdecimal() for g in row) == shape for row in rows])
    kept = [row for row, ok in zip(rows, good, strict=True) if ok]
    numbers = np.array([[float(g) for g in row if g.isdecimal()] for row in kept])
    widths = [max(len(row[k]) for row in kept[:_MOST_CELLS]) for k, digit in enumerate(shape) if digit]
    words = [[g.lower() for g in row if not g.isdecimal()] for row in kept]
    month = np.array([next((float(_MONTHS[w[:3]]) for w in row if w[:3] in _MONTHS), np.nan) for row in words])
    named = bool(np.isfinite(month).mean() > 0.9)
    dated = named or (int(shape.count(True)) >= 6 or _year_at(numbers) is not None)
    parts = 0 if not dated else 2 if named else 3
    if numbers.shape[1] < max(parts, 2):
        return None
    if (days := _days(numbers[:, :parts], month, day_first) if parts else np.zeros(len(kept))) is None:
        return None
    clock = numbers[:, parts:]
    if clock.shape[1] == 0:
        return _spread(days, good), "date", ""
    if clock.shape[1] not in {3, 4} or (clock[:, 0] > 24).any() or (clock[:, 1:3] >= 61).any():
        return None
    hour = clock[:, 0]
    afternoon = np.array([any(w in {"pm", "p"} for w in row) for row in words])
    if afternoon.any() or any("am" in row or "a" in row for row in words):
        hour = np.mod(hour, 12.0) + 12.0 * afternoon
    fraction = clock[:, 3] / 10.0 ** widths[-1] if clock.shape[1] == 4 else 0.0
    seconds = hour * 3_600.0 + clock[:, 1] * 60.0 + clock[:, 2] + fraction
    return _spread(days + seconds, good), "moment" if parts else "time of day", "by groups of digits"


def _year_at(numbers: Array) -> int | None:
    """Which of the first three groups is a year of four digits."""
    found = [
        k for k in range(min(3, numbers.shape[1])) if (numbers[:, k] >= 1980).all() and (numbers[:, k] < 2100).all()
    ]
    return found[0] if found else None


def days_s(
    year: ArrayLike, month: ArrayLike, day: ArrayLike, *, of_year: bool = False, years: tuple[int, int] = (1980, 2100)
) -> Array:
    """The day's beginning since 1970; NaN of what is none. A year of two digits is one from 1980 on.

    of_year : the day is counted through the year, from month 1.
    """
    year, month, day = (np.asarray(x, dtype=np.float64) for x in (year, month, day))
    year = year + np.where(year < 80.0, 2_000.0, np.where(year < 100.0, 1_900.0, 0.0))
    good = (month >= 1) & (month <= 12) & (year >= years[0]) & (year < years[1])
    months = np.where(good, (year - 1970.0) * 12.0 + month - 1.0, 0.0).astype("datetime64[M]")
    first, then = (m.astype("datetime64[D]").astype(np.float64) for m in (months, months + (12 if of_year else 1)))
    return np.where(good & (day >= 1) & (day <= then - first), (first + day - 1.0) * DAY_S, np.nan)


def _days(numbers: Array, month: Array, day_first: bool) -> Array | None:
    """Days since 1970 (in seconds) of a year, a month and a day in one of the usual orders."""
    at = _year_at(numbers)
    year = numbers[:, -1] if at is None else numbers[:, at]
    rest = [numbers[:, k] for k in range(numbers.shape[1]) if k != (numbers.shape[1] - 1 if at is None else at)]
    if len(rest) == 1:
        day = rest[0]
    else:
        swap = at != 0 and (day_first or (rest[0] > 12).any()) and not (rest[1] > 12).any()
        month, day = (rest[1], rest[0]) if swap else (rest[0], rest[1])
    days = days_s(year, month, day)
    return days if np.isfinite(days).all() else None


def _spread(values: Array, good: NDArray[np.bool_]) -> Array:
    out = np.full(good.shape, np.nan)
    out[good] = values
    return out
