"""Clocks of a table → UTC: by a column of offsets, a zone in a name or in words beside the rows, else by the place."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import polars as pl

from airwork.errors import InputError
from airwork.recording.cells import numbers_of
from airwork.recording.clock import Kind
from airwork.recording.flight import Mend
from airwork.recording.layout_content import place_by_cells
from airwork.recording.names import Meaning, words_of
from airwork.recording.recorded import Array, Recorded
from airwork.recording.stamps import DAY_S
from airwork.recording.table import RawTable
from airwork.recording.zones import LOCAL, NOWHERE, UTC_WORDS, Place, offsets, zone_at, zone_of_name, zone_offsets

_ZONED = r"(?:\]|[Zz](?:[.,]\d+)?|[A-Za-z]{3,5}|[+−-]\d\d:?\d\d|:\d\d(?:[.,]\d+)?[+−-]\d\d)\s*$"
_TELLS_ZONE = re.compile(r"(?i)\b(?:utc?|gmt|zulu|z)\b|(?<![a-z])utc|utc(?![a-z])|gps|since")
_OF_ZONES = re.compile(r"(?i)\b(?:time|clock)\W? ?zone|\ball times\b|zeitzone|[A-Z]\w+ Time\b")
_COUNTED = re.compile(r"Julian|counted|a row each")  # from a moment in UTC, as who counts so does


@dataclass(slots=True)
class Zones:
    """How the clock of a table is ahead of UTC.

    columns : those that hold offsets or zones, row by row. place : of the flight. day_s : its day, for summer time [s].
    """

    table: RawTable
    columns: list[int]
    place: Place
    recorded: Recorded
    day_s: float = np.nan

    def to_utc(self, values: Array) -> Array:
        """Local times by the columns of offsets, by the lines before the header, by the place."""
        ahead, by = self._ahead(values)
        if np.isfinite(ahead).any():
            self.recorded.mends += [Mend(f"local times: {by}", len(values))] if by else []
            return values - ahead
        said = (
            "times are local and the file names no offset from UTC; taken as UTC: put a first line such as UTC-6 there"
        )
        self.recorded.mends.append(Mend(said, len(values)))
        return values

    def on_local_days(self, days: Array, clock_s: Array) -> Array:
        """Moments of a clock in UTC beside the day of the place: in its evening or morning UTC has another."""
        ahead, by = self._ahead(days + clock_s)
        if not np.isfinite(ahead).any():
            return days + clock_s
        self.recorded.mends += [Mend(f"local days: {by}", len(days))] if by else []
        return days + clock_s - np.floor((clock_s + ahead) / DAY_S) * DAY_S

    def _ahead(self, local_s: Array) -> tuple[Array, str]:
        """(how far ahead of UTC local times are [s]; by what, where no column says it); NaN where nothing tells."""
        first = self._moment(local_s[np.isfinite(local_s)])
        for i in self.columns:
            if (by_zone := zone_offsets(self.table.frame[str(i)], local_s)) is not None:
                return by_zone, ""
            offset = offsets(self.table.frame[str(i)], self.place[1], first)
            if np.isfinite(offset).any():
                return np.where(np.isfinite(offset), offset, np.nanmedian(offset)), ""
        ahead, by = self.told(self.table.head, first)
        if not np.isfinite(ahead):
            name, ahead = zone_at(self.place, first)
            by = f"UTC{ahead / 3_600.0:+g}, the time of {name} by the position"
        return np.full(local_s.shape, ahead), by

    def by_name(self, name: str, values: Array, remark: str) -> tuple[Array, str]:
        """Times as UTC where the column's name tells their zone, or calls them the place's own."""
        first = self._moment(values[np.isfinite(values)])
        places = (NOWHERE, (np.nan, self.place[1]))
        ahead = next((x for p in places if np.isfinite(x := zone_of_name(name, first, p))), np.nan)
        if not np.isfinite(ahead) or not ahead:
            return (self.to_utc(values), "local by its name") if LOCAL.search(name) else (values, remark)
        return values - ahead, "; ".join(x for x in (remark, f"UTC{ahead / 3_600.0:+g} by its name") if x)

    def by_mapping(self, zone: str, values: Array) -> tuple[Array, str]:
        """Times as UTC by the zone the user named.

        Raises
        ------
        InputError : its offset depends on the day, and the file names none.
        """
        ahead = zone_of_name(zone, self._moment(values[np.isfinite(values)])) if zone != "UTC" else 0.0
        if not np.isfinite(ahead):
            said = f"the file names no day, which {zone} needs; map the offset itself, such as local_time:UTC-4."
            raise InputError(said, where="mapping")
        return values - ahead, f"UTC{ahead / 3_600.0:+g} by the mapping ({zone})"

    def by_words_beside(self, values: Array, column: str) -> Array:
        """Times as UTC where the zone stands beside the rows; where it stands nowhere, that is noted."""
        never = [s for s in self.table.frame if s.dtype == pl.String and s.drop_nulls().n_unique() == 1]
        words = [*(str(s.drop_nulls()[0]) for s in never), *self.table.unit_cells, *self.table.head]
        ahead, by = self.told(words, self._moment(values[np.isfinite(values)]))
        if by:
            earlier = str(self.recorded.facts["time_remark"]) if self._is_number(column) else ""
            self.recorded.facts["time_remark"] = "; ".join(x for x in (earlier, by) if x)
        elif not self._is_number(column):  # a clock of digits is a receiver's as often
            self.recorded.facts["no_zone"] = column
            lost = [w.strip()[:60] for w in words if LOCAL.search(w) or _OF_ZONES.search(w)]
            self.recorded.mends += [Mend(f"not understood as a time zone: {w!r}", 1) for w in lost]
        return values - np.nan_to_num(ahead)

    def told(self, beside: list[str], at_s: float, start: str = "") -> tuple[float, str]:
        """(how far ahead of UTC [s], by what) of words beside the rows.

        start : the line whose clock is meant; "local" beside another line's clock is no word on the rows.
        """
        for text in beside:
            own = text == start or not re.search(r"\d:\d\d", text)
            if np.isfinite(ahead := zone_of_name(text, at_s, self.place if own else (np.nan, self.place[1]))):
                return ahead, f"UTC{f'{ahead / 3_600.0:+g}' if ahead else ''} by {text.strip()[:40]!r}"
        plain = next((text for text in beside if _TELLS_ZONE.search(text)), "")
        return np.nan, f"UTC by {plain.strip()[:40]!r}" if plain else ""

    def bare_clock(self) -> str:
        """The column of a clock that tells no zone, neither by its cells nor by the names; "" where one is told."""
        columns = self.recorded.facts["time_columns"]
        said = " ".join([str(self.recorded.facts["time_remark"]), *columns])
        if _TELLS_ZONE.search(said) or any(
            "local times" in m.what or "are local" in m.what for m in self.recorded.mends
        ):
            return ""
        for name in columns:
            i = self.table.names.index(name) if name in self.table.names else -1
            if i >= 0 and self._is_number(name):
                return "" if _COUNTED.search(said) else str(name)
            if i >= 0 and self.table.frame[str(i)].dtype in (pl.String, pl.Datetime, pl.Time):
                return str(name) if np.isnan(zone_of_name(name, 0.0)) and names_no_zone(self.table, i, "moment") else ""
        return ""

    def _is_number(self, column: str) -> bool:
        return self.table.frame[str(self.table.names.index(column))].dtype.is_numeric()

    def _moment(self, known: Array) -> float:
        """Since 1970, of the first of some times: a clock's needs its day. NaN where that isn't known. [s]"""
        return float("nan") if not known.size else float(known[0]) + (self.day_s if abs(known[0]) < 3 * DAY_S else 0.0)


def place_of(table: RawTable, meanings: list[Meaning | None]) -> Place:
    """(latitude, longitude) of the flight's middle as far as plain degrees tell; NaN where they don't. [deg]"""
    found = list(NOWHERE)
    for i, meaning in enumerate(meanings):
        if meaning is None or meaning.aside or meaning.quantity not in {"latitude", "longitude"}:
            continue
        values, k = numbers_of(table.frame[str(i)], "angle", meaning.quantity), meaning.quantity == "longitude"
        if np.isfinite(values).any() and 180.0 < abs(float(np.nanmedian(values))) < 18_000.0:  # degrees and minutes
            values = np.trunc(values / 100.0) + np.fmod(values, 100.0) / 60.0
            west = any(s.dtype == pl.String and set(s.drop_nulls().unique()) == {"W"} for s in table.frame)
            values = -np.abs(values) if k and west else values
        if np.isnan(found[k]) and np.isfinite(values).any() and abs(float(np.nanmedian(values))) <= (90.0, 180.0)[k]:
            found[k] = float(np.nanmedian(values))
    beside = [*table.head, *table.names, *table.unit_cells]
    if np.isnan(found).any() and any(map(LOCAL.search, beside)) and (by_cells := place_by_cells(table, meanings)):
        return by_cells
    return found[0], found[1]


def shows_a_clock(table: RawTable, i: int, remark: str) -> bool:
    """Its cells show what a clock on the wall does, in text or as a number (104512, a spreadsheet's day)."""
    return table.frame[str(i)].dtype == pl.String or any(
        word in remark for word in ("spreadsheet", "hhmmss", "of the day")
    )


def names_no_zone(table: RawTable, i: int, kind: Kind, remark: str = "") -> bool:
    """A clock's or a stamp's cells without a zone, under a name without one: beside an offset they are local."""
    if UTC_WORDS & set(words_of(table.names[i])) or kind not in {"time of day", "moment"}:
        return False
    cells = table.frame[str(i)]
    if isinstance(cells.dtype, pl.Datetime):
        return cells.dtype.time_zone is None
    if cells.dtype.is_numeric():
        return kind == "time of day" or shows_a_clock(table, i, remark)
    return kind == "time of day" or (
        cells.dtype == pl.String and not cells.drop_nulls().head(9).str.contains(_ZONED).any()
    )
