"""Which columns tell the time, and what they tell: seconds of a `Recorded` from date, clock, epoch, offset columns."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import polars as pl

from airwork.errors import InputError
from airwork.recording.beside import LIKE_A_DATE, day_beside, start_beside
from airwork.recording.cells import numbers_of
from airwork.recording.clock import DAY_S, Kind, dates_of_numbers, seconds_of_numbers, seconds_of_text, since_named
from airwork.recording.flight import Mend
from airwork.recording.layout_content import counted_time
from airwork.recording.layout_hints import seen_columns
from airwork.recording.nameless_time import (
    by_cells,
    by_parts,
    by_week,
    clock_by_cells,
    dates_of_cells,
    days_by_parts,
)
from airwork.recording.names import SAID, Meaning, words_of
from airwork.recording.quantities import TIME_QUANTITIES
from airwork.recording.recorded import Array, Clock, Recorded
from airwork.recording.table import RawTable
from airwork.recording.zones import offsets, zone_of_name, zone_offsets

_UTC = frozenset(["utc", "gmt", "zulu", "zul", "z", "universal", "gps"])  # beside an offset others are local
_ZONED = r"(?:\]|[Zz]|[A-Za-z]{3,5}|[+−-]\d\d:?\d\d)\s*$"
_TELLS_ZONE = re.compile(r"(?i)\b(?:utc?|gmt|zulu|z)\b|(?<![a-z])utc|utc(?![a-z])|gps|since")
_LOCAL = re.compile(
    r"\b(?i:local|loc|lokal|ora|hora|heure|\w*sommer(?:tid|zeit))\b|[A-Z]\w+ Time\b|"
    r"\b(?i:(?:time|clock)\W? ?zone|all times|zeitzone|ortszeit)"
)
_COARSEST_S = 90.0  # whole minutes can still be spread
_BEGINS_S = 60.0  # 0:00:01 under a name that counts: no time of day
_BY_DTYPE = {pl.Duration: "elapsed", pl.Datetime: "time", pl.Time: "time", pl.Date: "date"}
_OF_DAY = re.compile(r"(?i)\bsod\b|sec\w*[ _](?:of|since)[ _](?:the[ _])?(?:utc[ _])?(?:day|midnight)")
_START = re.compile(r"(?i)start|begin|began|origin|epoch|\bt_?0\b|take.?off|depart|block.?off")
_LATEST_S = 1e12  # 31,000 years: no clock says so


def table_time(table: RawTable, meanings: list[Meaning | None], recorded: Recorded, where: str) -> tuple[Array, Clock]:
    """(seconds, what they count from) by the best of the columns that tell time: UTC before a clock before elapsed.

    Raises
    ------
    InputError : no column can be read as time.
    """
    found: dict[str, list[int]] = {}
    for i, meaning in enumerate(meanings):
        if meaning is not None and not meaning.aside and meaning.quantity in TIME_QUANTITIES:
            found.setdefault(meaning.quantity, []).append(i)
        elif meaning is None and (named := _BY_DTYPE.get(table.frame[str(i)].dtype.base_type())):
            found.setdefault(named, []).append(i)
    at = found.get("utc_offset", [])
    places = [i for i, m in enumerate(meanings) if m is not None and m.quantity == "longitude" and not m.aside]
    east = [
        float(np.nanmedian(x))
        for i in places
        if np.isfinite(x := numbers_of(table.frame[str(i)], "angle", "longitude")).any()
    ]
    zone = table, at, next((x for x in east if abs(x) <= 180.0), np.nan), recorded
    remarks: list[str] = []
    dates = _first_readable(table, found.get("date", []), remarks, date=True)
    local_dates = _first_readable(table, found.get("local_date", []), remarks, date=True)
    said = {i for i, m in enumerate(meanings) if m is not None and (m.score >= SAID or m.quantity != "not_needed")}
    free = [i for i, m in enumerate(meanings) if i not in said or (m is not None and m.aside)]
    if dates is None and local_dates is None and found.keys() & {"time", "local_time"}:
        dates = dates_of_cells(table, free, recorded)
        dates = days_by_parts(table) if dates is None else dates
    first = next((x[np.isfinite(x)][0] for x in (dates, local_dates) if x is not None and np.isfinite(x).any()), None)
    beside = [*table.head, *table.names, *table.unit_cells]
    written = day_beside(beside, 0.0, day_first=table.day_first)
    day_s = float(first) if first is not None else written[0] if written is not None else np.nan  # for summer time
    any_date = dates is not None or local_dates is not None
    best: tuple[float, Array, Clock] | None = None
    if (parts := by_parts(table)) is not None:
        local = parts[2] or (bool(at) and not any(_UTC & set(words_of(n)) for n in parts[1]))
        seconds = _to_utc(parts[0], *zone) if local else parts[0]
        best = 2.0 + float(np.isfinite(seconds).mean()), seconds, "utc"
        _note(recorded, parts[1], "")
    for name in ("time", "local_time", "date", "local_date", "elapsed"):
        for i in found.get(name, []):
            values, kind, remark = _column_seconds(table, i, meanings[i], any_date)
            values = np.where(np.abs(values) < _LATEST_S, values, np.nan)
            wall = table.frame[str(i)].dtype == pl.String or "spreadsheet" in remark
            if kind in {"moment", "time of day"} and not at and wall:
                values, remark = _by_name(table.names[i], values, remark, day_s)
            good = float(np.isfinite(values).mean()) if values.size else 0.0
            if good < 0.05:
                continue
            local = name.startswith("local") or (bool(at) and _names_no_zone(table, i, kind))
            clock: Clock = "utc"
            if kind == "date":
                continue
            counted = kind == "time of day" and name == "elapsed" and float(np.nanmin(values)) < _BEGINS_S
            if kind == "time of day" and not counted:
                day = local_dates if local and local_dates is not None else dates
                day = day if day is not None else local_dates
                if day is not None:
                    values, local = day + values, local or dates is None
                else:
                    clock = "time of day"
            elif kind == "elapsed" or counted:
                clock = "elapsed"
            meaning = meanings[i]
            units = meaning.units if meaning is not None else ()
            ahead = next((u.offset for u in units if u.dimension == "clock"), None)
            if ahead is not None and clock != "elapsed":
                values, remark = values - ahead, f"UTC{ahead / 3_600.0:+g} by the mapping"
            elif local and clock != "elapsed":
                values = _to_utc(values, *zone)
            moving = values[np.isfinite(values)]
            steps = moving.size > 1 and float(np.ptp(moving)) > 0.0
            rank = {"utc": 2.0, "time of day": 1.0, "elapsed": 0.5}[clock] + good - (0.3 if local else 0.0)
            rank -= 0.0 if steps else 3.0
            if best is None or rank > best[0]:
                best = (rank, values, clock)
                _note(recorded, [table.names[i]], "; ".join(r for r in (remark, *remarks) if r))
    if (best is None or best[2] == "elapsed") and (counted := by_week(table)) is not None:
        best = 1.0, counted[0], "utc"
        _note(recorded, counted[1], "week and seconds of the GPS, less 18 leap seconds")
    if (
        (best is None or best[2] == "elapsed")
        and (cells := by_cells(table, free)) is not None
        and (best is None or cells[2] == "utc")
    ):
        name = cells[3][0]
        i = table.names.index(name) if name in table.names else -1
        local = bool(at) and cells[2] == "utc" and i >= 0 and _names_no_zone(table, i, "moment")
        values, remark = (_to_utc(cells[1], *zone), cells[4]) if local else (cells[1], cells[4])
        if i >= 0 and not local and (table.frame[str(i)].dtype == pl.String or "spreadsheet" in remark):
            values, remark = _by_name(name, values, remark, day_s)
        best, cells = (cells[0], values, cells[2]), (cells[0], values, cells[2], cells[3], remark)
        if cells[2] == "time of day" and dates is not None:
            best = cells[0], dates + cells[1], "utc"
        _note(recorded, cells[3], "; ".join(r for r in (cells[4], *remarks) if r))
    if best is None:
        unread = [i for i, m in enumerate(meanings) if m is None or (m.aside and m.score < SAID)]
        if (parts_of_day := clock_by_cells(table, unread)) is not None:
            day = dates if dates is not None else local_dates
            best = 0.5, parts_of_day[0] + (0.0 if day is None else day), "time of day" if day is None else "utc"
            _note(recorded, parts_of_day[1], "hours, minutes and seconds, by their cells")
    if best is None and (rows := counted_time(table, meanings, recorded)) is not None:
        best = 0.3, rows, "elapsed"
    if best is None:
        for name in ("time", "local_time", "elapsed"):
            for i in found.get(name, []):
                shown = next((str(v) for v in table.frame[str(i)].drop_nulls().head(3).to_list()), "nothing")
                raise InputError(
                    f"its column {table.names[i]!r} can't be read as time ({shown[:30]!r}); write times like "
                    "2026-05-14T13:45:10Z, 13:45:10 or seconds.",
                    where=where,
                )
        raise InputError(
            f"no column tells the time ({seen_columns(table)}); name one with: airwork recording map FILE --set "
            "COLUMN=time.",
            where=where,
        )
    if best[2] != "elapsed" and not at and (column := _bare_clock(table, recorded)):
        best = best[0], _by_zone_beside(table, best[1], column, (zone[2], day_s), recorded), best[2]
    start = start_beside(table.head, day_first=table.day_first)
    if best[2] == "time of day" and start is not None and np.nanmin(best[1]) < _BEGINS_S < start[0] % DAY_S:
        best = best[0], best[1], "elapsed"  # 0:00:01 below a start at another hour
    if best[2] == "time of day" and (known := best[1][np.isfinite(best[1])]).size:
        written = day_beside(beside, float(known[0]), day_first=table.day_first)
        if written is not None:
            best = best[0], best[1] + written[0] - written[1], "utc"
            words = f"the day by the words beside the rows ({written[2].text})", recorded.facts["time_remark"]
            recorded.facts["time_remark"] = "; ".join(str(x) for x in words if x)
            if written[2].open and not east:
                asked = f"{written[2].text!r} is taken as month/day: if the day comes first, put a first line such as"
                recorded.mends.append(Mend(f"{asked} '# date: 2026-05-31' into the file", 1, asks=True))
    if best[2] == "elapsed" and start is not None:
        ahead, by = _zone_beside([start[1], *beside], start[0], zone[2])
        best = best[0], best[1] + start[0] - np.nan_to_num(ahead), "utc"
        recorded.facts["time_remark"] = f"counted from the start in the words beside the rows, {by or 'taken as UTC'}"
    elif best[2] == "elapsed" and (begun := _start_column(table)) is not None:
        best = best[0], best[1] + begun[0], "utc"
        recorded.facts["time_remark"] = f"counted from the moment in {begun[1]!r}"
    if best[2] != "utc":
        lost = [line.strip(" #;,") for line in beside if LIKE_A_DATE.search(line)]
        recorded.mends += [Mend(f"not understood as the day of the flight: {line[:60]!r}", 1) for line in lost[:3]]
    _refuse_cut_digits(best[1], str(recorded.facts["time_column"]), where)
    return best[1], best[2]


def _note(recorded: Recorded, columns: list[str], remark: str) -> None:
    recorded.facts.update(time_column=", ".join(columns), time_columns=columns, time_remark=remark)


def _refuse_cut_digits(time_s: Array, column: str, where: str) -> None:
    """A spreadsheet writes long numbers as 1.78E+12; what is left tells quarters of an hour at best."""
    known = time_s[np.isfinite(time_s)]
    stamps = np.unique(known)
    if known.size < 200 or stamps.size > 0.02 * known.size:
        return
    if stamps.size < 2 or float(np.median(np.diff(stamps))) > _COARSEST_S:
        raise InputError(
            f"its column {column!r} holds {stamps.size} different times in {known.size:,} rows: their digits were cut "
            "off (1.78E+12), as a spreadsheet does; export again with whole numbers.",
            where=where,
        )


def _column_seconds(table: RawTable, i: int, meaning: Meaning | None, has_date: bool) -> tuple[Array, Any, str]:
    series = table.frame[str(i)]
    if series.dtype == pl.String:
        counts = (meaning is not None and meaning.quantity == "elapsed") or series.head(9).str.starts_with("T+").any()
        if counts and (counted := _minutes_and_seconds(series)) is not None:
            return counted, "elapsed", "minutes and seconds"
        return seconds_of_text(series, day_first=table.day_first)
    if series.dtype.is_temporal():
        if series.dtype == pl.Date:
            return series.cast(pl.Int32).cast(pl.Float64).to_numpy() * DAY_S, "date", ""
        if series.dtype == pl.Time:
            return series.cast(pl.Int64).cast(pl.Float64).to_numpy() / 1e9, "time of day", ""
        if series.dtype == pl.Duration:
            return series.dt.total_microseconds().cast(pl.Float64).to_numpy() / 1e6, "elapsed", ""
        return series.dt.epoch("us").cast(pl.Float64).to_numpy() / 1e6, "moment", ""
    values = series.cast(pl.Float64, strict=False).to_numpy().astype(np.float64)
    if _OF_DAY.search(table.names[i]) and not np.nanmin(values, initial=0.0) < 0.0 and np.nanmax(values) < 2.0 * DAY_S:
        return values, "time of day", "seconds of the day"
    if meaning is not None and meaning.quantity in {"date", "local_date"}:
        return dates_of_numbers(values), "date", ""
    unit = next((x for x in (meaning.units if meaning else ()) if x.dimension == "time"), None)
    if (since := since_named(f"{table.names[i]} {table.unit_cells[i]}")) is not None:
        return since + values * (unit.factor if unit else 1.0), "moment", "counted from the day its name says"
    values, kind, remark = seconds_of_numbers(values, unit.factor if unit else None, has_date)
    if kind == "elapsed" and unit and _UTC & set(words_of(table.names[i])) and 0.0 < np.nanmax(values) < 2.0 * DAY_S:
        kind = "time of day"  # UTC hours
    return values, kind, remark


def _minutes_and_seconds(series: pl.Series) -> Array | None:
    """Seconds of 0:02 to 47:04, which counts from a start; None of another form."""
    form = r"^\s*(?:T\+)?(\d{1,4}):([0-5]\d(?:[.,]\d+)?)\s*$"
    if float(series.drop_nulls().head(200).str.contains(form).mean() or 0.0) < 0.95:  # type: ignore[arg-type]
        return None
    minutes, seconds = (
        series.str.extract(form, k).str.replace(",", ".").cast(pl.Float64, strict=False).to_numpy() for k in (1, 2)
    )
    return np.asarray(minutes * 60.0 + seconds, dtype=np.float64)


def _first_readable(table: RawTable, columns: list[int], remarks: list[str], *, date: bool) -> Array | None:
    for i in columns:
        values, kind, remark = _column_seconds(table, i, Meaning("date", (), None, 0.0), has_date=False)
        known = np.flatnonzero(np.isfinite(values))
        if kind in {"date", "moment"} and known.size:  # some write it in the first row alone
            values = values[known[np.maximum(np.searchsorted(known, np.arange(values.size), side="right") - 1, 0)]]
            if remark:
                remarks.append(remark)
            return np.floor(values / DAY_S) * DAY_S
    return None


def _start_column(table: RawTable) -> tuple[float, str] | None:
    """(since 1970 UTC [s], name) of a column called a start that holds one moment throughout."""
    for i, name in enumerate(table.names):
        series = table.frame[str(i)]
        if _START.search(name) and series.drop_nulls().n_unique() == 1 and not series.dtype.is_numeric():
            values, kind, _ = _column_seconds(table, i, None, has_date=False)
            if kind == "moment" and np.isfinite(values).any():
                return float(values[np.isfinite(values)][0]), name
    return None


def _by_name(name: str, values: Array, remark: str, day_s: float) -> tuple[Array, str]:
    """Times as UTC where the column's name tells their zone."""
    known = values[np.isfinite(values)]
    ahead = zone_of_name(name, _moment(known, day_s))
    if not np.isfinite(ahead) or not ahead:
        return values, remark
    return values - ahead, "; ".join(x for x in (remark, f"UTC{ahead / 3_600.0:+g} by its name") if x)


def _names_no_zone(table: RawTable, i: int, kind: Kind) -> bool:
    """A clock's or a stamp's cells without a zone, under a name without one: beside an offset they are local."""
    if _UTC & set(words_of(table.names[i])) or kind not in {"time of day", "moment"}:
        return False
    cells = table.frame[str(i)]
    if isinstance(cells.dtype, pl.Datetime):
        return cells.dtype.time_zone is None
    return kind == "time of day" or (
        cells.dtype == pl.String and not cells.drop_nulls().head(9).str.contains(_ZONED).any()
    )


def _bare_clock(table: RawTable, recorded: Recorded) -> str:
    """The column of a clock that tells no zone, neither by its cells nor by the names; "" where one is told."""
    said = " ".join([str(recorded.facts["time_remark"]), *table.names])
    if _TELLS_ZONE.search(said) or any("are local" in m.what or "local times" in m.what for m in recorded.mends):
        return ""
    for name in recorded.facts["time_columns"]:
        i = table.names.index(name) if name in table.names else -1
        if (
            i >= 0
            and table.frame[str(i)].dtype in (pl.String, pl.Datetime, pl.Time)
            and np.isnan(zone_of_name(name, 0.0))
        ):
            return str(name) if _names_no_zone(table, i, "moment") else ""
    return ""


def _moment(known: Array, day_s: float) -> float:
    """Since 1970, of the first of some times: a clock's needs its day. NaN where that isn't known. [s]"""
    return float("nan") if not known.size else float(known[0]) + (day_s if abs(known[0]) < 3.0 * DAY_S else 0.0)


def _by_zone_beside(
    table: RawTable, values: Array, column: str, place: tuple[float, float], recorded: Recorded
) -> Array:
    """Times as UTC where the zone stands beside the rows; where it stands nowhere, that is noted."""
    known = values[np.isfinite(values)]
    never = [s for s in table.frame if s.dtype == pl.String and s.drop_nulls().n_unique() == 1]
    words = [*(str(s.drop_nulls()[0]) for s in never), *table.unit_cells, *table.head]
    ahead, by = _zone_beside(words, _moment(known, place[1]), place[0])
    if by:
        recorded.facts["time_remark"] = by
    else:
        recorded.facts["no_zone"] = column
        recorded.mends += [
            Mend(f"not understood as a time zone: {w.strip()[:60]!r}", 1) for w in words if _LOCAL.search(w)
        ]
    return values - np.nan_to_num(ahead)


def _zone_beside(beside: list[str], at_s: float, east_deg: float) -> tuple[float, str]:
    """(how far ahead of UTC [s], by what) of words beside the rows."""
    for text in beside:
        if np.isfinite(ahead := zone_of_name(text, at_s, east_deg)):
            return ahead, f"UTC{f'{ahead / 3_600.0:+g}' if ahead else ''} by {text.strip()[:40]!r}"
    plain = next((text for text in beside if _TELLS_ZONE.search(text)), "")
    return np.nan, f"UTC by {plain.strip()[:40]!r}" if plain else ""


def _to_utc(values: Array, table: RawTable, columns: list[int], longitude_deg: float, recorded: Recorded) -> Array:
    known = values[np.isfinite(values)]
    for i in columns:
        if (by_zone := zone_offsets(table.frame[str(i)], values)) is not None:
            return values - by_zone
        offset = offsets(table.frame[str(i)], longitude_deg, float(known[0]) if known.size else np.nan)
        if np.isfinite(offset).any():
            offset = np.where(np.isfinite(offset), offset, np.nanmedian(offset))
            return values - offset
    ahead, by = _zone_beside(table.head, float(known[0]) if known.size else np.nan, longitude_deg)
    if np.isfinite(ahead):
        recorded.mends.append(Mend(f"local times: {by}, a line before the header", len(values)))
        return values - ahead
    said_so = (
        "times are local and the file names no offset from UTC; taken as UTC: to say it, put a first line such as UTC-6"
    )
    recorded.mends.append(Mend(said_so, len(values)))
    return values
