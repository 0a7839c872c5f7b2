"""Points gathered one by one (GPX, KML) → columns. Names of extensions are understood by the same grammar as CSV's."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from html import unescape

import polars as pl

from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.table import RawTable

_MOST_COLUMNS, _MOST_SAID = 40, 12
_SAID = re.compile(
    r"(?:([^\W\d_][^\W\d_ ]*(?: [^\W\d_]+)?)\s?[:=]?\s*)?([+-]?\d[\d.,]*)(?: ?([^\W\d_/]{1,4}(?:/[a-z]{1,3})?|°))?"
)


_CLOCKED = re.compile(r"\s*([^\W\d_][\w /().-]{0,30}?)\s*[:=]\s+(.*(?:\d\d?:\d\d|\d[-/.]\d\d?[-/.]\d).*)$")
_CLOCKS = re.compile(r"(?<=[:=])[^<>:=\n]*\d\d?:\d\d[^<>\n]*")


def cells_said(text: str) -> dict[str, str | None]:
    """Name → number with its unit of what a point's words say; a number with a unit alone is named by that.

    >>> cells_said("Altitude: 1,943 ft<br/>Speed: 67 kts"), cells_said("Alt 1,337 ft, 105 kt")
    ({'Altitude': '1,943 ft', 'Speed': '67 kts'}, {'Alt': '1,337 ft', 'kt': '105 kt'})
    """
    text = text.strip()
    if text.startswith("{") and text.endswith("}"):
        try:
            said = json.loads(text)
        except ValueError:
            said = {}
        return {str(n): str(v) for n, v in said.items() if isinstance(v, (int, float, str))}
    text = re.sub(r"(?i)</?(?:b|i|em|strong|span|font)\b[^>]*>", "", unescape(text))
    text = re.sub(r"(?i)</t[dh]>\s*<t[dh][^>]*>", ": ", text)  # a table of names and values
    lines = [m.groups() for piece in re.split(r"<[^>]*>|\n", text) if (m := _CLOCKED.match(piece))]
    out: dict[str, str | None] = {name: value.strip() for name, value in lines}
    text = _CLOCKS.sub(" ", text) if out else text
    for name, number, unit in _SAID.findall(re.sub(r"<[^>]*>", "; ", text))[:_MOST_SAID]:
        if name or unit:
            out.setdefault(name or unit, f"{number.rstrip('.,')} {unit}".strip())
    return out


def add_row(columns: dict[str, list[str | None]], row: Mapping[str, str | None]) -> None:
    """One point more, "time" among its names; what is new gets a column."""
    size = len(columns["time"])
    for name in [n for n in row if n not in columns][: max(_MOST_COLUMNS - len(columns), 0)]:
        columns[name] = [None] * size
    for name, values in columns.items():
        values.append(row.get(name))


def points_table(
    columns: Mapping[str, list[str | None]], form: str, where: str, units: Mapping[str, str], mends: list[Mend]
) -> RawTable:
    """A table from text columns of one length, "time" among them.

    units : column → unit as the format defines it.
    """
    size = len(columns.get("time", []))
    if size < 2:
        raise InputError("has fewer than two points with a time; a debrief needs times.", where=where)
    names = list(columns)
    series = []
    for k, name in enumerate(names):
        text = pl.Series(str(k), columns[name], dtype=pl.String)
        if name != "time":
            number = text.cast(pl.Float64, strict=False)
            # text that isn't numbers stays text; the layout reads words such as "on"
            text = number if number.null_count() <= text.null_count() + 0.5 * size else text
        series.append(text)
    cells = [units.get(name, "") for name in names]
    return RawTable(names, cells, pl.DataFrame(series), mends=mends, layout=f"{form} points")
