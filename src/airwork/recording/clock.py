"""Time columns of any form → seconds: ISO text, separate dates and times, epochs, clock numbers, seconds from start."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Literal

import numpy as np
import polars as pl
from numpy.typing import NDArray

from airwork.recording.stamps import DAY_S, days_s, seconds_of_groups
from airwork.recording.zones import named_zone_s, zone_offsets

Array = NDArray[np.float64]
Kind = Literal["moment", "date", "time of day", "elapsed"]
NOON_S = 60.0  # a row's step beside the half day
_YEAR_1000_S = -3.06e10
NOW_S = (7.9e8, 2.5e9)  # 1995 to 2049
# What a number counts, and from which year: the first in which it means a day between those.
_SIZES = (
    (1e-9, "nanoseconds"),
    (1e-6, "microseconds"),
    (1e-3, "milliseconds"),
    (1.0, "seconds"),
    (1e-1, "tenths of a second"),
    (1e-2, "hundredths of a second"),
    (1e-7, "ticks of 100 ns"),
)
_EPOCHS = ((1970, 0.0, 9.4e8), (2001, 978_307_200.0, 1.3e9), (1900, -2_208_988_800.0, 7.9e8),
           (1, -62_135_596_800.0, 7.9e8), (1601, -11_644_473_600.0, 7.9e8))  # fmt: skip
_TICKS = "ticks of 100 ns"
_USUAL = {(1, _TICKS), (1601, _TICKS), (1601, "microseconds"), (1900, "seconds"), (2001, "seconds")}  # but for 1970
_AMERICAN_H = -3.5
_STEPS_S = (0.015, 120.0)  # between two rows
_RARE_S = 100.0  # a row of what counts from its start comes oftener
_LONGEST_STEP_S = 6 * 3_600.0  # between rows of a recording
_COUNTS = ((1.5e7, 1e-9), (1.5e4, 1e-6), (15.0, 1e-3))  # least step: what a count since the start is in
_NAMED = dict(_SIZES[:3])
_SINCE = re.compile(
    r"(?i)\b(?:since|from|after|epoch|seit|depuis|desde)\W+(\d{4}-\d\d-\d\d)(?:[T ](\d\d:\d\d(?::\d\d)?))?"
)

# Days with a fraction, 1990 to 2049, by whom they are counted: their number on 1970-01-01.
_DAYS = (
    (15_000, 54_789, 25_569.0, "spreadsheet days"),
    (54_789, 70_000, 40_587.0, "modified Julian days"),
    (726_000, 749_000, 719_529.0, "days since the year 0"),
    (2_447_000, 2_470_000, 2_440_587.5, "Julian days"),
)

_STAMP = re.compile(
    r"^(?:(?P<y>\d{4})(?P<s1>[-/.])(?P<m>\d\d)(?P<s2>[-/.])(?P<d>\d\d))?(?P<t>[T ])?"
    r"(?:(?P<H>\d\d):(?P<M>\d\d)(?::(?P<S>\d\d)(?:[.,](?P<f>\d{1,9}))?)?)?(?P<z>Z| ?UTC)?$"
)
_MOMENTS = ("%Y-%m-%d%s%H:%M:%S%.f%#z", "%Y-%m-%d%s%H:%M:%S%.f", "%Y-%m-%d%s%H:%M", "%Y/%m/%d%s%H:%M:%S%.f",
            "%Y%m%d%s%H%M%S%.f", "%Y%m%d%s%H%M%S%#z", "%Y%m%d%s%H%M%SZ", "%Y-%m-%d%s%H:%M:%S%.fZ",
            "%d.%m.%Y%s%H:%M:%S%.f", "%d.%m.%Y%s%H:%M", "%y%m%d%s%H%M%S",
            "%d %b %Y%s%H:%M:%S%.f", "%d-%b-%Y%s%H:%M:%S%.f",
            "%d-%b-%y%s%H:%M:%S%.f", "%d %b %y%s%H:%M:%S%.f",
            "%Y.%m.%d%s%H:%M:%S%.f", "%b %d %Y%s%H:%M:%S%.f",
            "%Y-%m-%d%s%H:%M:%S%.f %#z", "%Y-%m-%d%s%H:%M:%SZ%.f")  # fmt: skip
_DATES = ("%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%d.%m.%Y", "%d.%m.%y", "%Y%m%d", "%d %b %Y", "%d-%b-%Y", "%d-%b-%y",
          "%b %d %Y", "%d %B %Y", "%B %d %Y", "%B %d, %Y", "%b %d, %Y", "%d. %B %Y")  # fmt: skip
_TIMES = ("%H:%M:%S%.f", "%H:%M", "%I:%M:%S%.f %p", "%I:%M:%S %p", "%I:%M %p", "%H%M%S%.f", "%H.%M.%S", "%I:%M:%S%p")


def seconds_of_text(column: pl.Series, *, day_first: bool = False) -> tuple[Array, Kind, str]:
    """(seconds, what they count from, remark) of a text column; NaN where a cell can't be read.

    day_first : 03/05 is the third of May here, where the cells themselves leave it open.
    "moment": since 1970 UTC; "date": the day's beginning since 1970; "time of day": since midnight.
    """
    if len(column) > 1 and is_constant(column):  # a date column: one text, read once
        value, kind, remark = seconds_of_text(column.head(1), day_first=day_first)
        return np.full(len(column), value[0]), kind, remark
    fast = _fixed_width(column)
    if fast is not None:
        return _told(*fast, "")
    text = column.str.strip_chars().str.strip_chars('"').str.replace(_WEEKDAY, "").str.replace(_BRACKETED, "")
    text = text.str.replace(
        r"(\d{1,2})h ?(\d{2})(?:m(?:in)?|') ?(\d{2}(?:\.\d+)?)(?:s|''|\")?$", "$1:$2:$3"
    )  # 10h05m01s
    text = text.str.replace(r"^(\d\d:\d\d:\d\d(?:\.\d+)?) (\d{1,4}[-/.]\d\d?[-/.]\d{1,4})$", "$2 $1")
    probe = text.drop_nulls()
    probe = probe.filter(probe != "")
    probe = pl.concat([probe.head(200), probe.tail(200)])
    if not len(probe):
        return np.full(len(column), np.nan), "moment", "empty"
    if int(probe.str.contains(_SPAN).sum()) > _MOSTLY * len(probe):  # 0m 0.3s
        parts = [text.str.extract(_SPAN, k).str.replace(",", ".").cast(pl.Float64, strict=False) for k in (1, 2)]
        return (parts[0].fill_null(0.0) * 60.0 + parts[1]).to_numpy(), "elapsed", "minutes and seconds"
    if (zone := _zone(str(probe[0]))) and probe.str.ends_with(zone).all():
        hours = _ahead_s(zone) / 3_600.0
        day_first &= hours > _AMERICAN_H or not zone.strip().isalpha()  # EDT: who writes so puts the month first
        seconds, kind, remark = seconds_of_text(text.str.strip_suffix(zone), day_first=day_first)
        seconds = seconds - 3_600.0 * hours if kind != "date" else seconds
        return seconds, kind, "; ".join(x for x in (remark, f"{zone.strip()} taken as UTC{hours:+g}") if x)
    if (
        zone
        and (row_by_row := _each_by_its_zone(text, day_first and _ahead_s(zone) > 3_600.0 * _AMERICAN_H)) is not None
    ):
        return row_by_row
    if (place := _REGION.search(str(probe[0]))) and probe.str.ends_with(place[0]).all():
        seconds, kind, remark = seconds_of_text(text.str.strip_suffix(place[0]), day_first=day_first)
        if kind == "moment" and (ahead := zone_offsets(pl.Series([place[1]]), seconds)) is not None:
            return seconds - ahead, kind, "; ".join(x for x in (remark, f"UTC by the zone {place[1]}") if x)
    if probe.str.contains(_ORDINAL).all():  # ISO 8601: the day of the year
        parts = [text.str.extract(_ORDINAL, k) for k in (1, 2, 3)]
        seconds, kind, remark = seconds_of_text(parts[0] + "-01-01" + parts[2])
        return seconds + (parts[1].cast(pl.Float64, strict=False).to_numpy() - 1.0) * DAY_S, kind, remark
    if int(probe.str.contains(_MINUTES).sum()) > _MOSTLY * len(probe):
        return _of_minutes(text), "elapsed", "minutes and seconds only, as a spreadsheet shows them; hours counted on"
    return _by_form(text, probe, day_first)


def _by_form(text: pl.Series, probe: pl.Series, day_first: bool) -> tuple[Array, Kind, str]:
    """By the one form of date or time that fits most cells of the probe, else by their groups of figures."""
    slash, remark = _slashed(probe, day_first)
    best: tuple[int, str, Kind] = (0, "", "moment")
    cells = [str(cell) for cell in probe.to_list()]
    for form, kind in [*_all_moments(slash), *((f, "date") for f in (*slash, *_DATES)), *((f, "time of day") for f in _TIMES)]:  # fmt: skip  # noqa: E501
        look = _look_of(form)  # parsing a form no cell can have costs most of the time
        if not any(look.fullmatch(cell) for cell in cells):
            continue
        count = len(probe) - _parse(probe, form, kind).null_count()
        if count > best[0]:
            best = (count, form, kind)
    count, form, kind = best
    if count < 0.5 * len(probe):
        if (groups := seconds_of_groups(text, day_first=day_first)) is not None:
            return groups
        return np.full(len(text), np.nan), "moment", "no known form of date or time"
    values = _parse(text, form, kind).to_numpy().astype(np.float64)
    return _told(values, kind, remark if form.startswith(slash) else "")


def _told(seconds: Array, kind: Kind, remark: str) -> tuple[Array, Kind, str]:
    """A clock of twelve hours without a.m. and p.m. goes back from 12:59 to 1:00 once: half a day more from there."""
    known = np.flatnonzero(np.isfinite(seconds)) if kind == "time of day" else np.empty(0, dtype=int)
    steps = np.diff(seconds[known])
    back = np.flatnonzero(steps < 0.0)
    if back.size != 1 or abs(steps[back[0]] + 0.5 * DAY_S) > NOON_S or seconds[known].max() >= 13.0 * 3_600.0:
        return seconds, kind, remark
    later = np.zeros(seconds.size, dtype=bool)
    later[known[back[0] + 1] :] = True
    return np.where(later, seconds + 0.5 * DAY_S, seconds), kind, "a clock of twelve hours: half a day more after 12:59"


_ORDINAL = r"^(\d{4})-(\d{3})((?:[T ].*)?)$"
_BRACKETED = r"\[!?[A-Za-z_+/-]+\]$"  # RFC 9557: the zone again, by its name
_REGION = re.compile(r"\s+\(?([A-Z][a-z]+(?:/[A-Z][A-Za-z_]+)+)\)?$")  # 2026-11-01 01:59:59 America/Chicago
_WEEKDAY = r"(?i)^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[,.]?\s+"


def _zone(stamp: str) -> str:
    """The name of a time zone that ends a stamp, with the blank before it; "" where none is known."""
    tail = re.search(r"(?:\d|[AaPp][Mm])(\s*(?:[A-Za-z]{3,4}|\(?(?:UTC|GMT) ?[+−-]\d\d?(?::?\d\d)?\)?))$", stamp)
    # 21/02/2026 10:00:05-07, 21.02.2026 10:00:05+02:00
    tail = tail or re.search(r"\d[/.]\d.*:\d\d(?:[.,]\d+)?(\s*[+−-]\d\d(?::?\d\d)?)$", stamp)
    return tail[1] if tail is not None and np.isfinite(_ahead_s(tail[1])) else ""


def _each_by_its_zone(text: pl.Series, day_first: bool) -> tuple[Array, Kind, str] | None:
    """Stamps of which each carries its own zone (CDT, then CST where the clock is put back); None if most have none."""
    zones = {str(cell): _zone(str(cell)) for cell in text.drop_nulls().unique(maintain_order=True)}
    if not zones or sum(map(bool, zones.values())) < _MOSTLY * len(zones):
        return None
    cells = [None if cell is None else str(cell) for cell in text.to_list()]
    bare = pl.Series([None if c is None else c.removesuffix(zones[c]) for c in cells], dtype=pl.String)
    ahead = {zone: _ahead_s(zone) for zone in dict.fromkeys(zones.values()) if zone}
    seconds, kind, remark = seconds_of_text(bare, day_first=day_first)
    if kind != "date":
        seconds = seconds - np.array([ahead.get(zones[c], np.nan) if c else np.nan for c in cells])
    said = " and ".join(f"{zone.strip()} as UTC{s / 3_600.0:+g}" for zone, s in ahead.items())
    return seconds, kind, "; ".join(x for x in (remark, f"each row by its own zone: {said}") if x)


def _ahead_s(zone: str) -> float:
    bare = zone.strip(" ()")
    return named_zone_s(bare if bare[0].isalpha() else f"UTC{bare}", 0.0)


_LOOSE = {
    "%.f": r"(?:\.\d+)?", "%#z": ".{0,8}", "%Y": r"\s*[+-]?\d{1,4}", "%b": r"\s*[A-Za-z]{3,9}",
    "%B": r"\s*[A-Za-z]{3,9}", "%p": r"\s*[AaPp][Mm]",
}  # fmt: skip
_SPAN = r"^(?:(\d+) ?m(?:in)?[a-z]* ?)?(\d+(?:[.,]\d+)?) ?s(?:ec[a-z]*)?$"
_MINUTES = r"^\d{1,2}:\d{2}[.,]\d+$"
_MOSTLY = 0.95  # of the cells; a line at the end may say something else


@lru_cache(maxsize=256)
def _look_of(form: str) -> re.Pattern[str]:
    """How a cell of this form looks at least; numbers are bounded, so that no cell takes long to look at."""
    parts = (p.strip() for p in re.split(r"(%[.#]?[A-Za-z])", form))
    return re.compile("".join(_LOOSE.get(p, r"\s*[+-]?\d{1,2}") if p[:1] == "%" else re.escape(p) for p in parts))


def _of_minutes(text: pl.Series) -> Array:
    """Seconds of "42:15.1" cells, an hour more each time the minutes begin anew."""
    parts = text.str.replace(",", ".", literal=True).str.split_exact(":", 1).struct.unnest()
    minutes, rest = (parts[name].cast(pl.Float64, strict=False).to_numpy() for name in parts.columns)
    seconds = np.asarray(minutes * 60.0 + rest, dtype=np.float64)
    known = np.isfinite(seconds)
    hours = np.zeros(seconds.size)
    hours[known] = np.concatenate(([0.0], np.cumsum(np.diff(seconds[known]) < -1_800.0)))
    return seconds + 3_600.0 * hours


def is_constant(column: pl.Series) -> bool:
    """All cells are the same."""
    if column.null_count() or column[0] != column[-1]:
        return False
    return bool((column == column[0]).all())


def _all_moments(slash: tuple[str, ...]) -> list[tuple[str, Kind]]:
    forms = [*_MOMENTS, *(f"{d}%s%H:%M:%S%.f" for d in slash), *(f"{d}%s%H:%M" for d in slash)]
    forms += [f"{d}%s%I:%M:%S %p" for d in slash]
    return [(form.replace("%s", gap, 1), "moment") for form in forms for gap in ("T", " ")]


def _slashed(probe: pl.Series, usual: bool) -> tuple[tuple[str, ...], str]:
    """Order of day and month in 03/05/2026: what one number above 12 settles; else as is usual there, and said."""
    parts = [re.match(r"^(\d{1,2})[/-](\d{1,2})[/-](\d{2,4})", str(v)) for v in probe.to_list()]
    pairs = [(int(m[1]), int(m[2]), len(m[3])) for m in parts if m]
    if not pairs:
        return (), ""
    year = "%y" if pairs[0][2] == 2 else "%Y"
    gap = "-" if "-" in str(probe[0])[:3] else "/"
    # 14-01-10 may begin with its year, too
    clear = any(second > 12 or (first > 12 and not (gap == "-" and year == "%y")) for first, second, _ in pairs)
    day_first = any(first > 12 for first, _, _ in pairs) or (usual and not clear)
    form = f"%d{gap}%m{gap}{year}" if day_first else f"%m{gap}%d{gap}{year}"
    return (form,), "" if clear else f"date {probe[0]} read as {'day/month' if day_first else 'month/day'}/year"


def _parse(text: pl.Series, form: str, kind: Kind) -> pl.Series:
    try:
        if kind == "time of day":
            return text.str.to_time(form, strict=False).cast(pl.Int64).cast(pl.Float64) / 1e9
        if kind == "date":
            days = text.str.to_date(form, strict=False).cast(pl.Int32).cast(pl.Float64) * DAY_S
            return days.set(days < _YEAR_1000_S, None)
        moment = text.str.to_datetime(form, strict=False, time_unit="us", ambiguous="earliest")
        seconds = moment.dt.epoch("us").cast(pl.Float64) / 1e6
        return seconds.set(seconds < _YEAR_1000_S, None)  # 25 is no year of four digits
    except Exception:  # a form this text can't have
        return pl.Series([None] * len(text), dtype=pl.Float64)


def _fixed_width(column: pl.Series) -> tuple[Array, Kind] | None:
    """The usual stamps read straight from their digits, many times faster than a general parser; None if not usual."""
    n = len(column)
    if not n or column.null_count():
        return None
    first = str(column[0])
    match = _STAMP.match(first)
    if match is None or not (match["y"] or match["H"]) or (match["y"] and match["H"] and not match["t"]):
        return None
    lengths = column.str.len_bytes()
    width = len(first)
    if lengths.min() != width or lengths.max() != width or not first.isascii():
        return None
    joined = column.str.join("").item().encode()
    cells = np.frombuffer(joined, dtype=np.uint8).reshape(n, width)
    digit = np.array([c.isdigit() for c in first])
    if np.any(cells[:, ~digit] != cells[0, ~digit]):
        return None
    columns = np.ascontiguousarray(cells.T) - np.uint8(48)
    if columns[digit].max() > 9:
        return None

    def number(name: str) -> NDArray[np.int64]:
        start, end = match.span(name)
        if start < 0 or end == start:
            return np.zeros(n, dtype=np.int64)
        out = columns[start].astype(np.int64)
        for k in range(start + 1, end):
            out = out * 10 + columns[k]
        return out

    hour, minute, second = number("H"), number("M"), number("S")
    if hour.max() > 24 or minute.max() > 59 or second.max() > 60:
        return None
    seconds = (hour * 3600 + minute * 60 + second).astype(np.float64)
    if match["f"]:
        seconds += number("f") / 10.0 ** len(match["f"])
    if not match["y"]:
        return seconds, "time of day"
    days = days_s(number("y"), number("m"), number("d"), years=(1, 9999))
    return (days + seconds, "moment" if match["H"] else "date") if np.isfinite(days).all() else None


def seconds_of_numbers(
    values: Array, unit_factor: float | None, has_date: bool, *, digits: bool = False
) -> tuple[Array, Kind, str]:
    """(seconds, what they count from, remark) of a numeric time column, by the size of its numbers.

    unit_factor : seconds per unit when the name says it ("time_ms" → 0.001), else None.
    has_date : the file has a date column, so a small number is a time of day.
    digits : that column writes its days as ddmmyy: then the clock is hhmmss or hhmmsscc, as receivers send both.
    """
    good = values[np.isfinite(values)]
    if not good.size:
        return values, "elapsed", "empty"
    middle = float(np.median(good))
    steps = np.abs(np.diff(good))
    step = float(np.median(steps[steps > 0.0])) if (steps > 0.0).any() else 1.0
    counts = [
        (
            (not _STEPS_S[0] < step * factor < _STEPS_S[1], (year, name) not in _USUAL and year != 1970),
            factor,
            epoch_s,
            f"numbers read as {name} since {year if year > 1 else 'the year 1'} UTC",
        )
        for factor, name in _SIZES
        for year, epoch_s, least_s in _EPOCHS
        if least_s < middle * factor + epoch_s < NOW_S[1] and ("ticks" not in name or year in {1, 1601})
    ]
    counts = [
        (rank, factor, epoch_s, remark)
        for rank, factor, epoch_s, remark in counts
        if not rank[0] or unit_factor == factor or (unit_factor is None and step * factor < _LONGEST_STEP_S)
    ]
    if counts:  # the first in which rows come as recorders write them
        _, factor, epoch_s, remark = min(counts, key=lambda c: c[0])
        return values * factor + epoch_s, "moment", remark
    if 1.9e13 < middle < 2.1e13:
        days, clock = dates_of_numbers(np.floor(values / 1e6))[0], np.mod(values, 1e6)
        minutes = np.floor(clock / 1e4) * 60.0 + np.mod(np.floor(clock / 100.0), 100.0)
        return days + minutes * 60.0 + np.mod(clock, 100.0), "moment", "numbers read as yyyymmddhhmmss"
    for low, high, epoch, name in _DAYS:
        if low < middle < high and unit_factor is None and float(np.ptp(good)) < 3.0:
            return (values - epoch) * DAY_S, "moment", f"numbers read as {name}"
    if scale := _of_clock_number(good, surely=digits and unit_factor is None):
        clock, form = values / scale, "hhmmss" if scale == 1.0 else "hhmmss and hundredths"
        whole = np.floor(clock / 100.0)
        return (np.floor(whole / 100.0) * 3600.0 + np.mod(whole, 100.0) * 60.0 + np.mod(clock, 100.0),
                "time of day", f"numbers read as {form}")  # fmt: skip
    factor = unit_factor or 0.0
    if unit_factor is None:
        step = float(np.median(np.abs(np.diff(good)))) if good.size > 1 else 1.0
        jitters = np.unique(np.diff(good)).size > 1 and middle > 1e3  # by 19, 20, 21: no recorder of seconds does
        able = _COUNTS if middle > 1e4 or jitters or step >= _RARE_S else ()
        factor = next((f for least, f in able if step >= least), 1.0)
    seconds = values * factor
    if has_date and good.min() * factor >= 0.0 and good.max() * factor < DAY_S + 1:
        return seconds, "time of day", ""
    return seconds, "elapsed", f"{_NAMED[factor]}, by their steps" if factor < 1.0 and unit_factor is None else ""


def since_named(name: str) -> float | None:
    """The moment that a column's name says its numbers count from ("s since 2000-01-01"); since 1970 UTC. [s]"""
    match = _SINCE.search(name)
    try:
        return float(np.datetime64(f"{match[1]}T{match[2] or '00:00'}", "s").astype(np.int64)) if match else None
    except ValueError:
        return None


def _of_clock_number(good: Array, *, surely: bool) -> float:
    """1 of hhmmss.s, 100 of hhmmsscc, 0 of neither: no minute or second above 59, and steps of 41 where a minute ends.

    surely : digits beside a date of digits, which need no minute's end to be known by.
    """
    for scale in (1.0, 100.0):
        clock = good / scale
        if good.size < 2 or clock.min() < 0 or clock.max() >= 240_000 or (scale > 1.0 and np.mod(good, 1.0).any()):
            continue
        if np.any(np.mod(clock, 100.0) >= 60.0) or np.any(np.mod(np.floor(clock / 100.0), 100.0) >= 60.0):
            continue
        steps = np.diff(clock)
        ends = bool(np.any(steps > 40.0) and float(np.median(np.abs(steps))) < 15.0 and clock.max() > 59.0)
        if ends or surely:
            return scale
    return 0.0


def dates_of_numbers(values: Array) -> tuple[Array, str]:
    """(days since 1970 [s], remark) of dates written as numbers: YYYYMMDD, YYYYDDD, DDMMYY or YYMMDD. NaN where none.

    Of the two orders of six digits the one in which the days lie nearer together, else as receivers send them.
    """
    out = np.full(values.shape, np.nan)
    numbers = np.unique(values[np.isfinite(values) & (values > 0.0)])[:40]
    first, second, third = np.floor(numbers / 1e4), np.floor(numbers / 100.0) % 100.0, numbers % 100.0
    through_year = days_s(np.floor(numbers / 1e3), np.ones(numbers.size), numbers % 1e3, of_year=True)
    whole = np.where(numbers < 1e7, through_year, days_s(first, second, third, years=(1, 9999)))
    orders = {"day, month, year": (third, second, first), "year, month, day": (first, second, third)}
    good = {
        order: days
        for order, parts in orders.items()
        if np.isfinite(days := np.where(numbers < 1e6, days_s(*parts), whole)).any()
    }
    if not good:
        return out, ""
    order = min(good, key=lambda f: (np.isnan(good[f]).sum(), np.ptp(good[f][np.isfinite(good[f])])))
    for number, day in zip(numbers, good[order], strict=True):
        out[values == number] = day
    return out, f"date {int(numbers[0]):06d} read as {order}" if len(good) > 1 and numbers[0] < 1e6 else ""
