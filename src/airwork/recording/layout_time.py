"""Which columns tell the time, and what they tell: seconds of a `Recorded` from date, clock, epoch, offset columns."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import polars as pl

from airwork.errors import InputError
from airwork.recording.beside import LIKE_A_DATE, day_beside, numbers_beside, start_beside, step_s
from airwork.recording.clock import NOW_S, dates_of_numbers, seconds_of_numbers, seconds_of_text, since_named
from airwork.recording.flight import Mend
from airwork.recording.layout_content import counted_time
from airwork.recording.layout_hints import seen_columns
from airwork.recording.layout_zones import Zones, names_no_zone, place_of, shows_a_clock
from airwork.recording.nameless_time import (
    by_cells,
    by_parts,
    by_week,
    dates_of_cells,
    days_by_parts,
)
from airwork.recording.names import SAID, Meaning, named_units, words_of
from airwork.recording.quantities import TIME_QUANTITIES
from airwork.recording.recorded import Array, Clock, Recorded
from airwork.recording.stamps import DAY_S
from airwork.recording.table import RawTable
from airwork.recording.zones import UTC_WORDS

_COARSEST_S = 90.0  # whole minutes can still be spread
_BEGINS_S = 60.0  # 0:00:01 under a name that counts: no time of day
_BY_DTYPE = {pl.Duration: "elapsed", pl.Datetime: "time", pl.Time: "time", pl.Date: "date"}
_OF_DAY = re.compile(r"(?i)\bsod\b|sec(?:ond)?s?[ _]?(?:of|since)[ _]?(?:the[ _])?(?:utc[ _])?(?:day|midnight)")
_START = re.compile(r"(?i)start|begin|began|origin|epoch|\bt_?0\b|take.?off|depart|block.?off")
_SECONDS, _LATEST_DAY_S = re.compile(r"(?i)sec"), 1e6
_ONE_CLOCK_S, _MOSTLY, _RARE = 2.0, 0.9, 0.05
_ROWS_THAT_COUNT = 10
_COUNTS = {"elapsed", "seconds", "secs"}
_SELDOM_S = 5.0  # between the rows of what else counts milliseconds
_SINCE_2000_S = 366.0 * 86_400.0
_WHOLE_S = 1.5  # of whole seconds, and the count's own drift
_HOUR_S, _OF_AN_HOUR = 3_600.0, 0.15  # a clock in hours may have few decimals
_LATEST_S = 1e12  # 31,000 years: no clock says so


@dataclass(slots=True)
class _Clock:
    """What is known of the time of a table while it is settled.

    best : (how good, seconds, what they count from) of the column that tells it best so far.
    counted : seconds of a column that only counts on; rare : moments that only a few rows tell.
    dates, local_dates : the day's beginning row by row [s]; day_s : the day of the flight, for summer time [s].
    mapped_s : how far ahead of UTC the best column is by the user's mapping, taken off already; NaN without [s].
    """

    table: RawTable
    meanings: list[Meaning | None]
    recorded: Recorded
    found: dict[str, list[int]]
    zones: Zones
    remarks: list[str] = field(default_factory=list)
    dates: Array | None = None
    local_dates: Array | None = None
    best: tuple[float, Array, Clock] | None = None
    counted: Array | None = None
    rare: Array | None = None
    mapped_s: float = np.nan

    @property
    def digits(self) -> bool:
        """A column tells the day in six digits."""
        dates = [self.table.frame[str(i)] for q in ("date", "local_date") for i in self.found.get(q, [])]
        tops = (np.nanmax(d.cast(pl.Float64).to_numpy(), initial=0.0) for d in dates if d.dtype.is_numeric())
        return any(0.0 < top < 1e6 for top in tops)

    @property
    def open(self) -> bool:
        """Nothing found yet that has a day."""
        return self.best is None or self.best[2] == "elapsed"

    def note(self, columns: list[str], *remarks: str) -> None:
        said = "; ".join(r for r in remarks if r)
        self.recorded.facts.update(time_column=", ".join(columns), time_columns=columns, time_remark=said)

    def take(self, seconds: Array, clock: Clock, remark: str = "") -> None:
        """The same times, counted otherwise."""
        self.best = (self.best[0] if self.best else 0.0), seconds, clock
        if remark:
            self.recorded.facts["time_remark"] = remark


def table_time(table: RawTable, meanings: list[Meaning | None], recorded: Recorded, where: str) -> tuple[Array, Clock]:
    """(seconds, what they count from) by the best of the columns that tell time: UTC before a clock before elapsed.

    Raises
    ------
    InputError : no column can be read as time.
    """
    clock = _begun(table, meanings, recorded)
    _by_parts(clock)
    _by_names(clock)
    if clock.open and (counted := by_week(table)) is not None:
        clock.best = 1.0, counted[0], "utc"
        clock.note(counted[1], "week and seconds of the GPS, less 18 leap seconds")
    if clock.open:
        _by_cells(clock)
    if clock.best is None:
        _by_step(clock)
    if clock.best is None and (rows := counted_time(table, meanings, recorded)) is not None:
        clock.best = 0.3, rows, "elapsed"
    if clock.best is None:
        _by_a_named_count(clock)
    if clock.best is None:
        raise _unread(clock, where)
    if clock.best[2] == "elapsed" and "by their steps" in (said := str(recorded.facts["time_remark"])):
        i = table.names.index(str(recorded.facts["time_column"]))
        raw = table.frame[str(i)].cast(pl.Float64, strict=False).to_numpy()
        rows = counted_time(table, meanings, Recorded("table", clock.best[1], "elapsed", {}), {i: raw})
        if rows is not None and not np.allclose(rows, clock.best[1], equal_nan=True):
            clock.take(rows, "elapsed", f"{said}, and by how the positions move")
    _hours_beside_seconds(clock)
    _doubt_another_epoch(clock)
    _ask_which_epoch(clock)
    only_counts = clock.best[2] == "elapsed"
    _through_its_gaps(clock)
    from_start = _counts_from_a_start(clock)
    if not only_counts and not clock.zones.columns and (column := clock.zones.bare_clock()):
        values = clock.zones.by_words_beside(clock.best[1], column)
        # the start's zone is taken off with the start
        clock.take(clock.best[1] if from_start else values, clock.best[2])
    _with_the_day_beside(clock)
    _refuse_cut_digits(clock.best[1], str(recorded.facts["time_column"]), where)
    return clock.best[1], clock.best[2]


def _begun(table: RawTable, meanings: list[Meaning | None], recorded: Recorded) -> _Clock:
    found: dict[str, list[int]] = {}
    for i, meaning in enumerate(meanings):
        if meaning is not None and not meaning.aside and meaning.quantity in TIME_QUANTITIES:
            found.setdefault(meaning.quantity, []).append(i)
        elif meaning is None and (named := _BY_DTYPE.get(table.frame[str(i)].dtype.base_type())):
            found.setdefault(named, []).append(i)
    for name, other, held in (
        ("time", "date", "date"),
        ("local_time", "local_date", "date"),
        ("date", "time", "moment"),
    ):
        told = [
            i for i in found.get(name, []) if _holds(table, i) == held
        ]  # what is called a time and holds days, a day
        if (
            told
            and (len(told) < len(found[name]) or "elapsed" in found or held == "moment")
            and not (held == "moment" and found.keys() & {"time", "local_time", "elapsed"})
        ):
            found[name] = [i for i in found[name] if i not in told]
            found.setdefault(other, []).extend(told)
    zones = Zones(table, found.get("utc_offset", []), place_of(table, meanings), recorded)
    clock = _Clock(table, meanings, recorded, found, zones)
    clock.dates = _first_readable(table, found.get("date", []), clock.remarks)
    clock.local_dates = _first_readable(table, found.get("local_date", []), clock.remarks)
    if clock.dates is None and clock.local_dates is None and found.keys() & {"time", "local_time"}:
        clock.dates = dates_of_cells(table, _free(meanings), recorded)
        clock.dates = days_by_parts(table) if clock.dates is None else clock.dates
    known = (x[np.isfinite(x)] for x in (clock.dates, clock.local_dates) if x is not None)
    first = next((float(x[0]) for x in known if x.size), None)
    written = day_beside([*table.head, *table.names, *table.unit_cells], 0.0, day_first=table.day_first)
    zones.day_s = first if first is not None else written[0] if written is not None else np.nan
    return clock


def _holds(table: RawTable, i: int) -> str:
    """What the cells of a text column tell of the time."""
    cells = table.frame[str(i)].drop_nulls().head(50)
    if cells.dtype != pl.String or not len(cells):
        return ""
    return seconds_of_text(cells, day_first=table.day_first)[1]


def _through_its_gaps(clock: _Clock) -> None:
    """Where only some rows tell the moment (a receiver's), a count that all rows have tells it for the others."""
    assert clock.best is not None
    told = clock.rare if clock.best[2] == "elapsed" else clock.best[1] if clock.best[2] == "utc" else None
    if clock.counted is None or told is None:
        return
    ahead = told - clock.counted
    if np.isfinite(ahead).all() and _is_finer(clock.counted, told) and float(np.ptp(ahead)) <= _WHOLE_S:
        clock.take(float(np.max(ahead)) + clock.counted, "utc")  # a clock of whole seconds is behind, never ahead
        return
    if not np.isfinite(ahead).any() or not np.isnan(told).any():
        return
    begun = float(np.nanmedian(ahead))
    if float(np.nanmean(np.abs(ahead - begun)[np.isfinite(ahead)] < _ONE_CLOCK_S)) > _MOSTLY:
        clock.take(np.where(np.isfinite(told), told, begun + clock.counted), "utc")


def _is_finer(count: Array, told: Array) -> bool:
    """It counts on row by row where a clock of whole seconds repeats itself."""
    return bool((np.diff(count) > 0.0).all() and (told % 1.0 == 0.0).all() and (np.diff(told) == 0.0).mean() > _RARE)


def _hours_beside_seconds(clock: _Clock) -> None:
    """A plain number that another column outruns 3,600 times is a clock in hours, and that one counts its seconds."""
    assert clock.best is not None
    names: list[str] = clock.recorded.facts.get("time_columns", [])
    hours = clock.best[1]
    known = hours[np.isfinite(hours)]
    if clock.best[2] != "elapsed" or len(names) != 1 or not known.size or not 0.0 <= known.min() < known.max() < 24.0:
        return
    table, i = clock.table, clock.table.names.index(names[0])
    others = [*_free(clock.meanings), *clock.found.get("elapsed", [])]
    for j in (j for j in others if j != i and table.frame[str(j)].dtype.is_numeric()):
        count = table.frame[str(j)].cast(pl.Float64).to_numpy()
        steps = np.diff(count)
        if not np.isfinite(count).all() or not (steps > 0.0).all():
            continue
        if abs(float(np.ptp(count)) / (_HOUR_S * float(np.ptp(known))) - 1.0) < _OF_AN_HOUR:
            clock.best = clock.best[0], _HOUR_S * float(known[0]) + count - count[0], "time of day"
            clock.note([names[0], table.names[j]], f"hours, and the seconds that {table.names[j]!r} counts")
            return


def _doubt_another_epoch(clock: _Clock) -> None:
    """Numbers taken for seconds since another year than 1970 that don't go with a count of time beside them."""
    assert clock.best is not None
    remark = str(clock.recorded.facts.get("time_remark", ""))
    if clock.counted is None or clock.best[2] != "utc" or not re.search(r"since (?!1970)(?:the year )?\d+ UTC", remark):
        return
    ahead = clock.best[1] - clock.counted
    known = ahead[np.isfinite(ahead)]
    if known.size and float(np.mean(np.abs(known - np.median(known)) < 60.0)) < _MOSTLY:
        said = f"{clock.recorded.facts['time_column']!r} doesn't go with the count of time beside it: not used, no date"
        clock.recorded.say(said, int(known.size))
        clock.best = 0.5, clock.counted, "elapsed"
        clock.note([], "by the count of time")


def _ask_which_epoch(clock: _Clock) -> None:
    """Seconds since 2001 may as well be since 2000, as some receivers count: which year is asked."""
    assert clock.best is not None
    if clock.best[2] != "utc" or "seconds since 2001 UTC" not in str(clock.recorded.facts.get("time_remark", "")):
        return
    name, moment = clock.recorded.facts["time_column"], float(np.nanmedian(clock.best[1]))
    first, other = (str(np.datetime64(int(moment - ahead), "s"))[:10] for ahead in (0.0, _SINCE_2000_S))
    said = f"{name!r} counts seconds from 2001 or from 2000: the day is {first} or {other}; if the second, call that"
    clock.recorded.mends.append(Mend(f"{said} column '{name} (s since 2000-01-01)'", 1, asks=True))


def _free(meanings: list[Meaning | None]) -> list[int]:
    """Columns that mean nothing else."""
    return [
        i for i, m in enumerate(meanings) if m is None or m.aside or (m.score < SAID and m.quantity == "not_needed")
    ]


def _by_parts(clock: _Clock) -> None:
    if (parts := by_parts(clock.table)) is None:
        return
    local = parts[2] or (bool(clock.zones.columns) and not any(UTC_WORDS & set(words_of(n)) for n in parts[1]))
    if not parts[3]:
        days = clock.dates if clock.dates is not None else clock.local_dates
        clock.best = 2.5, parts[0] + (0.0 if days is None else days), "time of day" if days is None else "utc"
        clock.note(parts[1])
        return
    seconds = clock.zones.to_utc(parts[0]) if local else parts[0]
    clock.best = 2.0 + float(np.isfinite(seconds).mean()), seconds, "utc"
    clock.note(parts[1])


def _by_names(clock: _Clock) -> None:
    """The columns whose names speak of time; a moment before a clock with a date before a count."""
    table, any_date = clock.table, clock.dates is not None or clock.local_dates is not None
    for name, i in ((n, i) for n in ("time", "local_time", "elapsed") for i in clock.found.get(n, [])):
        values, kind, remark = _column_seconds(table, i, clock.meanings[i], any_date, digits=clock.digits)
        values = np.where(np.abs(values) < _LATEST_S, values, np.nan)
        wall = shows_a_clock(table, i, remark)
        if kind in {"moment", "time of day"} and not clock.zones.columns and wall:
            values, remark = clock.zones.by_name(table.names[i], values, remark)
        good = float(np.isfinite(values).mean()) if values.size else 0.0
        if not good or kind == "date":
            continue
        local = name == "local_time" or (bool(clock.zones.columns) and names_no_zone(table, i, kind, remark))
        named = "by its name" in remark  # and UTC by it already
        counts: Clock = "utc"
        if kind == "elapsed" or (kind == "time of day" and name == "elapsed" and float(np.nanmin(values)) < _BEGINS_S):
            counts, clock.counted = "elapsed", values if clock.counted is None else clock.counted
        elif kind == "time of day":
            days = clock.local_dates if local and clock.local_dates is not None else clock.dates
            days = days if days is not None else clock.local_dates
            if days is not None and days is clock.local_dates and name == "time" and _names_utc(table, i):
                values = clock.zones.on_local_days(days, values)
            elif days is not None:
                values, local = days + values, local or clock.dates is None
            else:
                counts = "time of day"
        meaning = clock.meanings[i]
        local = local and not named
        zone = next((u.name for u in (meaning.units if meaning else ()) if u.dimension == "clock"), None)
        mapped_s = np.nan
        if zone is not None and counts != "elapsed":
            shown = values
            values, remark = clock.zones.by_mapping(zone, shown)
            mapped_s = float(np.nanmedian(shown - values))
        elif local and counts != "elapsed":
            values = clock.zones.to_utc(values)
        if good < _RARE:
            clock.rare = values if counts == "utc" else clock.rare
            continue
        moving = values[np.isfinite(values)]
        steps = moving.size > 1 and float(np.ptp(moving)) > 0.0
        rank = {"utc": 2.0, "time of day": 1.0, "elapsed": 0.5}[counts] + good - 0.3 * local - 3.0 * (not steps)
        if clock.best is None or rank > clock.best[0]:
            clock.best, clock.mapped_s = (rank, values, counts), mapped_s
            clock.note([table.names[i]], remark, *clock.remarks)


def _by_cells(clock: _Clock) -> None:
    """Columns whose names say nothing, by their cells."""
    table = clock.table
    if (cells := by_cells(table, _free(clock.meanings))) is not None and (clock.best is None or cells[2] == "utc"):
        rank, values, counts, columns, remark = cells
        i = table.names.index(columns[0]) if columns[0] in table.names else -1
        if clock.zones.columns and counts == "utc" and i >= 0 and names_no_zone(table, i, "moment", remark):
            values = clock.zones.to_utc(values)
        elif i >= 0 and (counts == "time of day" or shows_a_clock(table, i, remark)):
            values, remark = clock.zones.by_name(columns[0], values, remark)
        if counts == "time of day" and clock.dates is not None:
            values, counts = clock.dates + values, "utc"
        clock.best = rank, values, counts
        clock.note(columns, remark, *clock.remarks)


def _by_step(clock: _Clock) -> None:
    """Rows at the step that words beside them tell (interval_s: 1), from the number they call the start, if any."""
    beside = list(numbers_beside(clock.table.head))
    steps = ((step, text) for name, value, unit, text in beside if (step := step_s(name, value, unit)) is not None)
    if (found := next(steps, None)) is None:
        return
    values = found[0] * np.arange(clock.table.frame.height, dtype=np.float64)
    said = f"no column tells the time: a row each {found[0]:g} s ({found[1]})"
    clock.recorded.mends.append(Mend(said, values.size))
    clock.note([], f"a row each {found[0]:g} s")
    of_the_day = {name for name, value, _, _ in beside if value < _LATEST_DAY_S and _SECONDS.search(name)}  # no days
    for number in (value for name, value, _, _ in beside if _START.search(name) and name not in of_the_day):
        start, kind, remark = seconds_of_numbers(np.array([number]), None, has_date=False)
        if kind == "moment" and NOW_S[0] < start[0] < NOW_S[1]:
            clock.best = 0.3, start[0] + values, "utc"
            clock.note([], f"a row each {found[0]:g} s", remark)
            return
    clock.best = 0.3, values, "elapsed"


def _by_a_named_count(clock: _Clock) -> None:
    """A column whose name says elapsed or seconds among other words, and that counts on evenly."""
    table = clock.table
    for i in (i for i in _free(clock.meanings) if _COUNTS & {*words_of(table.names[i])}):
        column, units = table.frame[str(i)], named_units(table.names[i], table.unit_cells[i])
        if column.null_count() or _even_step(column) is None:
            continue
        factor = next((u.factor for u in units if u.dimension == "time"), None)
        values, kind, remark = seconds_of_numbers(column.cast(pl.Float64).to_numpy(), factor, has_date=False)
        if kind == "elapsed":
            clock.best = 0.3, values, kind
            clock.note([table.names[i]], "by its name, and it counts on evenly", remark)
            return


def _unread(clock: _Clock, where: str) -> InputError:
    for i in (i for name in ("time", "local_time", "elapsed") for i in clock.found.get(name, [])):
        filled = [str(v).strip() for v in clock.table.frame[str(i)].drop_nulls().head(50).to_list()]
        if not any(filled):
            said = f"its rows carry no time: the column {clock.table.names[i]!r} is empty; export it with times."
            return InputError(said, where=where)
        shown = next(v for v in filled if v)
        if shown.lower() == clock.table.names[i].strip().lower():
            said = f"names its columns ({shown!r} ...) again amid the rows: several tables; cut them into a file each."
            return InputError(said, where=where)
        return InputError(
            f"its column {clock.table.names[i]!r} can't be read as time ({shown[:30]!r}); write times like "
            "2026-05-14T13:45:10Z, 13:45:10 or seconds.",
            where=where,
        )
    counts = _counts_on(clock.table)
    return InputError(
        f"no column tells the time ({seen_columns(clock.table)}{counts}); name one with: airwork recording map FILE "
        "--set COLUMN=time; or, if you know the step between rows, say it in a first line: '# interval_s: 1'.",
        where=where,
    )


def _counts_on(table: RawTable) -> str:
    """Words on the first column that rises by about one step from row to row: its seconds, perhaps."""
    for i, name in enumerate(table.names):
        if (step := _even_step(table.frame[str(i)])) is not None:
            milli = step > _SELDOM_S and _stamped_in_milliseconds(table)
            unit = "milliseconds" if milli else "seconds"
            return f"; {name!r} counts on by {step:.3g} from row to row: {unit}, perhaps"
    return ""


def _even_step(column: pl.Series) -> float | None:
    """The usual step of a column that rises from row to row, mostly by about as much; None of another."""
    if not (series := column.drop_nulls()).dtype.is_numeric() or len(series) < _ROWS_THAT_COUNT:
        return None
    steps = np.diff(series.cast(pl.Float64).to_numpy())
    step = float(np.median(steps))
    even = float(np.min(steps)) > 0.0 and float(np.mean(np.abs(steps - step) < 0.2 * step)) > 0.4
    return step if even else None


def _stamped_in_milliseconds(table: RawTable) -> bool:
    """A line before the rows, or their names, hold a moment counted in milliseconds since 1970."""
    numbers = re.findall(r"(?<![\d.])\d{13}(?![\d.])", " ".join([*table.head, *table.names]))
    return any(NOW_S[0] < float(number) * 1e-3 < NOW_S[1] for number in numbers)


def _counts_from_a_start(clock: _Clock) -> bool:
    """Whether a column of clock times counts from the start that words beside the rows name: then it is elapsed."""
    assert clock.best is not None
    _, values, counts = clock.best
    start = start_beside(clock.table.head, day_first=clock.table.day_first)
    if counts != "time of day" or start is None:
        return False
    if not np.nanmin(values) + np.nan_to_num(clock.mapped_s) < _BEGINS_S < start[0] % DAY_S:
        return False
    clock.take(values, "elapsed")  # 0:00:01 below a start at another hour
    return True


def _with_the_day_beside(clock: _Clock) -> None:
    """The day, or the moment elapsed times count from, by words beside the rows."""
    assert clock.best is not None
    table, recorded, (_, values, counts) = clock.table, clock.recorded, clock.best
    beside = [*table.head, *table.names, *table.unit_cells]
    start = start_beside(table.head, day_first=table.day_first)
    if counts == "time of day" and (known := values[np.isfinite(values)]).size:
        written = day_beside(beside, float(known[0]), day_first=table.day_first)
        if written is not None:
            words = f"the day by the words beside the rows ({written[2].text})", recorded.facts["time_remark"]
            clock.take(values + written[0] - written[1], "utc", "; ".join(str(x) for x in words if x))
            if written[2].open and not np.isfinite(clock.zones.place[1]):
                asked = f"{written[2].text!r} is taken as month/day: if the day comes first, put a first line such as"
                recorded.mends.append(Mend(f"{asked} '# date: 2026-05-31' into the file", 1, asks=True))
    if counts == "elapsed" and start is not None:
        ahead, by = clock.zones.told([start[1], *beside], start[0], start[1])
        if np.isfinite(clock.mapped_s):
            ahead, by = np.nan, str(recorded.facts["time_remark"])
        said = f"counted from the start in the words beside the rows, {by or 'taken as UTC'}"
        clock.take(values + start[0] - np.nan_to_num(ahead), "utc", said)
    elif counts == "elapsed" and (begun := _start_column(table)) is not None:
        clock.take(values + begun[0], "utc", f"counted from the moment in {begun[1]!r}")
    if clock.best[2] != "utc":
        lost = [line.strip(" #;,") for line in beside if LIKE_A_DATE.search(line)]
        recorded.mends += [Mend(f"not understood as the day of the flight: {line[:60]!r}", 1) for line in lost[:3]]


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


def _column_seconds(
    table: RawTable, i: int, meaning: Meaning | None, has_date: bool, *, digits: bool = False
) -> tuple[Array, Any, str]:
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
        days, remark = dates_of_numbers(values)
        return days, "date", remark
    unit = next((x for x in (meaning.units if meaning else ()) if x.dimension == "time"), None)
    if (since := since_named(f"{table.names[i]} {table.unit_cells[i]}")) is not None:
        return since + values * (unit.factor if unit else 1.0), "moment", "counted from the day its name says"
    values, kind, remark = seconds_of_numbers(values, unit.factor if unit else None, has_date, digits=digits)
    if kind == "elapsed" and unit and _names_utc(table, i) and 0.0 < np.nanmax(values) < 2.0 * DAY_S:
        kind = "time of day"  # UTC hours
    return values, kind, remark


def _names_utc(table: RawTable, i: int) -> bool:
    return bool(UTC_WORDS & set(words_of(table.names[i])))


def _minutes_and_seconds(series: pl.Series) -> Array | None:
    """Seconds of 0:02 to 47:04, which counts from a start; None of another form."""
    form = r"^\s*(?:T\+)?(\d{1,4}):([0-5]\d(?:[.,]\d+)?)\s*$"
    if float(series.drop_nulls().head(200).str.contains(form).mean() or 0.0) < 0.95:  # type: ignore[arg-type]
        return None
    minutes, seconds = (
        series.str.extract(form, k).str.replace(",", ".").cast(pl.Float64, strict=False).to_numpy() for k in (1, 2)
    )
    return np.asarray(minutes * 60.0 + seconds, dtype=np.float64)


def _first_readable(table: RawTable, columns: list[int], remarks: list[str]) -> Array | None:
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
