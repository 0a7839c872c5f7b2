"""A line as it comes → samples in house quantities: NMEA 0183, JSON objects, CSV under a header. Never raises.

NMEA 0183: RMC, GGA, GLL, VTG, HDT, HDG, ZDA, read by pynmea2; a wrong checksum is a bad line. JSON: an object a line;
CSV: a line of names first, then values (a new line of names may come at any time). Names are read by the recordings'
grammar (`recording.names`): "ias_kt", "Altitude (ft)", "RPM" …; a name without a unit means the usual one: kt,
ft, °, fpm, inHg, °C, gal, gph. Angles of direction are brought into 0 to 360°. `Clocks` keeps one time for all sources:
the first that dates its samples leads, the others follow by when they are received.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import lru_cache

import pynmea2

from airwork import units as u
from airwork.recording.names import understand
from airwork.recording.quantities import QUANTITIES, TIME_QUANTITIES
from airwork.recording.read_nmea import fields_of
from airwork.recording.unit_words import named

LONGEST = 4096  # characters of a line; longer is no line of ours
MOST_NAMES = 400
DAY_S = 86_400.0
# What a plain word means when it comes live and nothing later can settle it.
PLAIN = {"altitude": "indicated_altitude_m", "heading": "heading_mag_rad", "speed": "groundspeed_mps"}


@dataclass(frozen=True, slots=True)
class Sample:
    """What one line said. SI, house names (`recording.flight.COLUMNS`).

    received_s : on the receiver's clock. time_s : as the source dates it: seconds since 1970 UTC, or since some start
        (then below a day's worth of years); NaN where it doesn't say.
    """

    source: str
    received_s: float
    time_s: float
    values: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Taken:
    """A name settled: the house column, and how its number becomes SI. column "" : the time."""

    column: str
    factor: float
    offset: float
    circular: bool


@dataclass
class LineReader:
    """Reads the lines of one source; keeps its header, its date and counts of what it could not use."""

    source: str
    good: int = 0
    bad: int = 0
    unknown_names: set[str] = field(default_factory=set)
    _header: list[str] = field(default_factory=list)
    _day_s: float = float("nan")

    def read(self, line: bytes, received_s: float) -> list[Sample]:
        """The samples of a line: one, or none where it says nothing or can't be read (then `bad` counts it)."""
        text = line.decode("utf-8", errors="replace").strip("\x00 \t\r\n\ufeff")
        if not text or text[0] in "#!":
            return []
        try:
            found = self._read(text, received_s) if len(text) <= LONGEST else None
        except (
            ValueError,
            KeyError,
            IndexError,
            TypeError,
            ArithmeticError,
            AttributeError,
            RecursionError,
            csv.Error,
        ):
            found = None
        if found is None:
            self.bad += 1
            return []
        self.good += 1
        return [found] if found.values else []

    def _read(self, text: str, received_s: float) -> Sample | None:
        if text[0] == "$":
            return self._nmea(text, received_s)
        if text[0] == "{":
            said = json.loads(text)
            return self._named(said.items(), received_s)
        return self._row(next(csv.reader([text], delimiter=_delimiter(text))), received_s)

    def _row(self, cells: list[str], received_s: float) -> Sample | None:
        if not any(_is_number(c) for c in cells) and sum(settle(c.strip()) is not None for c in cells) >= 2:
            self._header = [c.strip() for c in cells[:MOST_NAMES]]
            return Sample(self.source, received_s, float("nan"), {})
        if not self._header or len(cells) != len(self._header):
            return None
        return self._named(zip(self._header, cells, strict=True), received_s)

    def _named(self, pairs: Iterable[tuple[str, object]], received_s: float) -> Sample | None:
        values: dict[str, float] = {}
        time_s = float("nan")
        for name, cell in pairs:
            taken = settle(str(name)[:120])
            if taken is None:
                if len(self.unknown_names) < MOST_NAMES:
                    self.unknown_names.add(str(name)[:120])
                continue
            if not taken.column:
                time_s = moment(cell, taken.factor)
                continue
            number = _number(cell)
            if math.isfinite(number):
                si = number * taken.factor + taken.offset
                if taken.column == "longitude_rad" and si > math.pi:
                    si -= 2.0 * math.pi
                values[taken.column] = si % (2.0 * math.pi) if taken.circular else si
        return Sample(self.source, received_s, time_s, values) if values else None

    def _nmea(self, text: str, received_s: float) -> Sample | None:
        try:
            said = pynmea2.parse(text, check="*" in text)
        except pynmea2.ParseError:
            return None
        values = fields_of(said) or {}
        if math.isfinite(day := values.pop("day", math.nan)):
            self._day_s = day
        time_s = self._day_s + values.pop("time", math.nan)
        values.pop("magnetic_variation", None)
        return Sample(self.source, received_s, time_s, {k: v for k, v in values.items() if math.isfinite(v)})


@lru_cache(maxsize=2048)
def settle(name: str) -> Taken | None:
    """What a name means and how its number becomes SI; None where it isn't understood or isn't needed live."""
    meaning = understand(name)
    if meaning is None or meaning.aside:
        return None
    quantity = QUANTITIES[meaning.quantity]
    if meaning.quantity in TIME_QUANTITIES:
        milli = any(unit.name == "ms" for unit in meaning.units) or name.lower().endswith(("_ms", "(ms)"))
        return Taken("", 1e-3 if milli else 1.0, 0.0, False)
    column = quantity.house or PLAIN.get(meaning.quantity, "")
    if not column:
        return None
    unit = meaning.units[0] if meaning.units else named(quantity.units[0]) if quantity.units else None
    if unit is None or unit.dimension != quantity.dimension:
        return Taken(column, 1.0, 0.0, False) if unit is None else None
    factor = unit.factor / u.DEG_RAD if column == "flap_deg" else unit.factor  # kept in degrees, as handbooks print it
    return Taken(column, factor, unit.offset, quantity.circular)


def moment(cell: object, factor: float) -> float:
    """A time as a number of seconds, or ISO 8601 text. [s]"""
    if isinstance(cell, str) and not _is_number(cell):
        when = datetime.fromisoformat(cell.strip().replace("Z", "+00:00"))
        return (when if when.tzinfo else when.replace(tzinfo=UTC)).timestamp()
    number = _number(cell)
    return number * (1e-3 if number > 1e11 else factor)  # milliseconds since 1970


def _number(cell: object) -> float:
    if isinstance(cell, bool):
        return float(cell)
    if isinstance(cell, (int, float)):
        return float(cell)
    text = str(cell).strip() if cell is not None else ""
    if text.lower() in {"true", "on", "yes"}:
        return 1.0
    if text.lower() in {"false", "off", "no"}:
        return 0.0
    return float(text) if text else float("nan")


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _delimiter(text: str) -> str:
    return max(",;\t", key=text.count)


UTC_FROM_S = 5e8  # a time above is since 1970 (1985 and later), below since some start
RESTART_S = 5.0  # a step back so far is a late line, and, where three follow one another, a new start
BELIEVED = 3


@dataclass
class Clocks:
    """Seconds since 1970 UTC of every sample. start_utc_s : the receiver's own clock at received_s 0."""

    start_utc_s: float
    leader: str = ""
    _ahead_s: float = math.nan  # leader's time less reception
    _starts_s: dict[str, float] = field(default_factory=dict)
    _last_s: dict[str, float] = field(default_factory=dict)
    _back: dict[str, int] = field(default_factory=dict)

    def utc_s(self, sample: Sample) -> float:
        """When a sample was taken. [s]"""
        if math.isfinite(sample.time_s) and self.leader in {"", sample.source}:
            dated = self._dated(sample)
            if not self._back.get(sample.source):
                self.leader, self._ahead_s = sample.source, dated - sample.received_s
            return dated
        return self.now_s(sample.received_s)

    def now_s(self, received_s: float) -> float:
        """The flight's time at a moment of reception. [s]"""
        ahead = self._ahead_s if math.isfinite(self._ahead_s) else self.start_utc_s
        return received_s + ahead

    def _dated(self, sample: Sample) -> float:
        time, source = sample.time_s, sample.source
        if time >= UTC_FROM_S:
            return time
        start, last = self._starts_s.get(source), self._last_s.get(source, -math.inf)
        back = self._back.get(source, 0) + 1 if time < last - RESTART_S else 0
        self._back[source] = back
        if start is None or back >= BELIEVED:
            start = self._starts_s[source] = self.now_s(sample.received_s) - time
            back = 0
        if not back:
            self._last_s[source] = time
        return start + time
