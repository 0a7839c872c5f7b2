"""Times whose columns' names don't say so: known by their cells, or a date and a clock cut into their parts."""

from __future__ import annotations

import re

import numpy as np
import polars as pl

from airwork.recording.clock import NOW_S, Kind, dates_of_numbers, seconds_of_numbers, seconds_of_text
from airwork.recording.names import words_of
from airwork.recording.recorded import Array, Clock, Recorded
from airwork.recording.stamps import days_s
from airwork.recording.table import RawTable

_PARTS = {
    **dict.fromkeys(("year", "yr", "yyyy", "yy"), ("year",)), **dict.fromkeys(("month", "mon", "mo"), ("month",)),
    **dict.fromkeys(("day", "dd", "dy"), ("day",)), **dict.fromkeys(("hour", "hr", "hh"), ("hour",)),
    **dict.fromkeys(("minute", "min", "mi"), ("minute",)), **dict.fromkeys(("second", "sec", "ss"), ("second",)),
    **dict.fromkeys(("doy", "yday", "jday"), ("doy",)), "sod": ("sod",), "mm": ("month", "minute"),
}  # fmt: skip
_IDENTITIES = frozenset(["id", "ids", "uid", "fid", "ref", "key", "osm"])  # such numbers count on as clocks do
_FORWARD, _FEW, _MANY = 0.97, 4, 10
_WEEK_S, _GPS_S, _LEAP_S = 604_800.0, 315_964_800.0, 18.0  # GPS counts from 1980-01-06; leap seconds since 2017


def by_parts(table: RawTable) -> tuple[Array, list[str], bool, bool] | None:
    """(seconds, the columns, whether local, whether since 1970) of year to second in a column each.

    The day may also be counted through the year, the clock in seconds of the day; without a day, of hour to second.
    """
    found, local = _parts(table)
    clock = {"hour", "minute"} <= found.keys() or "sod" in found
    days = days_by_parts(table)
    if not clock or (days is None and not {"hour", "minute", "second"} <= found.keys()):
        return None
    dated = days is not None
    found = found if dated else {p: found[p] for p in ("hour", "minute", "second", "ms") if p in found}
    days = days if days is not None else np.zeros(table.frame.height)
    values = {p: _numbers(table.frame[str(i)]) for p, i in found.items()}
    if "sod" in found:
        seconds = days + values["sod"]
    else:
        seconds = days + values["hour"] * 3_600.0 + values["minute"] * 60.0 + values.get("second", 0.0)
    if _within_the_second(values):
        seconds = seconds + 1e-3 * values["ms"]
    else:
        found = {p: i for p, i in found.items() if p != "ms"}
    return np.asarray(seconds), [table.names[i] for i in found.values()], local, dated


def _within_the_second(values: dict[str, Array]) -> bool:
    """Milliseconds beside a clock of whole seconds, never a thousand of them."""
    if not {"second", "ms"} <= values.keys():
        return False
    whole, ms = (values[p][np.isfinite(values[p])] for p in ("second", "ms"))
    return bool(ms.size and (whole % 1.0 == 0.0).all() and ms.min() >= 0.0 and ms.max() < 1_000.0)


def days_by_parts(table: RawTable) -> Array | None:
    """The day's beginning since 1970 by a column each for year, month and day, or year and day of the year. [s]"""
    found, _ = _parts(table)
    by_month = {"year", "month", "day"} <= found.keys()
    if not by_month and not {"year", "doy"} <= found.keys():
        return None
    zero = np.zeros(table.frame.height)
    values = {p: _numbers(table.frame[str(i)]) for p, i in found.items()}
    month, day = (values["month"], values["day"]) if by_month else (zero + 1.0, values["doy"])
    days = days_s(values["year"], month, day, of_year=not by_month)
    return days if np.isfinite(days).mean() >= 0.05 else None


def _parts(table: RawTable) -> tuple[dict[str, int], bool]:
    """Part of date or clock → its column, and whether they are local. "mm" is the month once, then the minute."""
    found: dict[str, int] = {}
    local = False
    for i, name in enumerate(table.names):
        words = set(re.findall(r"[a-z]+", name.lower())) - {"utc", "gps", "gmt", "zulu", "time", "date"}
        local |= bool(words & {"local", "lcl"})
        if words in _MILLIS:
            found.setdefault("ms", i)
            continue
        words = {w.rstrip("s") or w for w in words - {"local", "lcl"}}
        if words in ({"day", "of", "year"}, {"second", "of", "day"}):
            words = {"doy"} if "year" in words else {"sod"}
        for part in _PARTS.get(words.pop(), ()) if len(words) == 1 else ():
            if part not in found:
                found[part] = i
                break
    return found, local


_MILLIS = ({"ms"}, {"msec"}, {"millis"}, {"millisecond"}, {"milliseconds"})


def by_week(table: RawTable) -> tuple[Array, list[str]] | None:
    """(seconds since 1970, the columns) of a GPS week and the seconds or milliseconds of that week."""
    week = second = -1
    for i, name in enumerate(table.names):
        words = set(re.findall(r"[a-z]+", name.lower()))
        if words & {"week", "wk", "gwk"} and words <= {"gps", "week", "wk", "gwk", "no", "number"}:
            week = i
        elif words & {"tow", "itow", "gms"} or {"time", "of", "week"} <= words:
            second = i
    if week < 0 or second < 0:
        return None
    weeks, part = _numbers(table.frame[str(week)]), _numbers(table.frame[str(second)])
    part = part * 1e-3 if np.nanmax(part, initial=0.0) > _WEEK_S else part
    seconds = _GPS_S + weeks * _WEEK_S + part - _LEAP_S
    return (seconds, [table.names[week], table.names[second]]) if np.isfinite(seconds).any() else None


def _numbers(series: pl.Series) -> Array:
    return series.cast(pl.Float64, strict=False).to_numpy().astype(np.float64)


def by_cells(table: RawTable, free: list[int]) -> tuple[float, Array, Clock, list[str], str] | None:
    """(rank, seconds, clock, columns, remark) of columns of any name that hold stamps, or dates and clock times.

    free : numbers of the columns that mean nothing else.
    """
    dates: tuple[Array, str] | None = None
    clocks: tuple[Array, str, str] | None = None
    for i in free:
        values, kind, remark = _cells(table, i)
        name = table.names[i] or f"column {i + 1}"
        if kind == "moment":
            return 1.0, values, "utc", [name], f"{remark or 'stamps'}, by its cells: the name says nothing"
        if kind == "date" and dates is None:
            dates = values, name
        elif kind == "time of day" and clocks is None:
            clocks = values, name, remark
    if clocks is None:
        return None
    if dates is None:
        return 0.5, clocks[0], "time of day", [clocks[1]], "clock times, by its cells: the name says nothing"
    return 1.0, dates[0] + clocks[0], "utc", [clocks[1], dates[1]], "by their cells: the names say nothing"


def dates_of_cells(table: RawTable, free: list[int], recorded: Recorded) -> Array | None:
    """Days of a column of any name that holds nothing but dates; which one is noted."""
    for i in free:
        values, kind, _ = _cells(table, i)
        if kind == "date":
            recorded.facts["date_column"] = table.names[i]
            return values
    return None


def _cells(table: RawTable, i: int) -> tuple[Array, Kind | None, str]:
    """What a column's cells tell of the time; kind None where they tell nothing."""
    series = table.frame[str(i)]
    nothing = np.zeros(0), None, ""
    if series.dtype == pl.String:
        sample = series.drop_nulls().head(20)
        if not len(sample) or not sample.str.contains(r"\d[-/.:]\d|\d{6,8}|\d\D{1,4}\d+\D{1,4}\d").all():
            return nothing
        values, kind, remark = seconds_of_text(series, day_first=table.day_first)
        known = np.isfinite(values)
        dull = kind != "date" and (not known.any() or float(np.ptp(values[known])) == 0.0)
        if kind == "time of day" and not dull:  # degrees, minutes and seconds wander, a clock doesn't
            dull = 0.1 < float(np.mean(np.diff(values[known]) > 0.0)) < 0.9 and bool(
                np.any(np.diff(values[known]) < 0.0)
            )
        return nothing if known.mean() < 0.5 or dull or kind == "elapsed" else (values, kind, remark)
    if not series.dtype.is_numeric() or _IDENTITIES & set(words_of(table.names[i])):
        return nothing
    numbers = _numbers(series)
    known = numbers[np.isfinite(numbers)]
    if known.size < 0.3 * numbers.size or known.size < _FEW:
        return nothing
    few = np.unique(known[:2_000]).size <= 3 and known.size >= _MANY
    if few and known.min() >= 19_800_101 and known.max() <= 21_001_231:
        days, _ = dates_of_numbers(numbers)
        if np.isfinite(days).mean() > 0.5:
            return days, "date", ""
    forward = float(np.mean(np.diff(known) >= 0.0))
    if forward < _FORWARD or float(np.ptp(known)) == 0.0:
        return nothing
    seconds, kind, remark = seconds_of_numbers(numbers, None, has_date=False)
    if kind == "moment" and NOW_S[0] < float(np.nanmedian(seconds)) < NOW_S[1]:
        return seconds, "moment", remark
    return (seconds, "time of day", remark) if kind == "time of day" and known.size >= _MANY else nothing
