"""Points gathered one by one (GPX, KML) → columns. Names of extensions are understood by the same grammar as CSV's."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from airwork.errors import InputError
from airwork.recording.layout import interpret
from airwork.recording.recorded import Recorded
from airwork.recording.table import RawTable


def recorded_of(columns: Mapping[str, list[str | None]], form: str, where: str, units: Mapping[str, str]) -> Recorded:
    """A `Recorded` from text columns of one length, "time" among them.

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
    table = RawTable(names, [units.get(name, "") for name in names], pl.DataFrame(series), layout=f"{form} points")
    recorded = interpret(table, {}, where)
    recorded.format = form
    return recorded
