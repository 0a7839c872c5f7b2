"""A row for each reading (time, quantity, value) made a row for each time: the long form of a table."""

from __future__ import annotations

import json
import re
from typing import Any

import polars as pl

from airwork.recording.names import understand
from airwork.recording.table import RawTable
from airwork.recording.unit_words import read_units

_MOST, _LEAST = 60, 3  # quantities
_KEYS = frozenset(
    ["sensor", "signal", "parameter", "param", "channel", "quantity", "variable", "name", "key", "metric"]
)
_PACKED = re.compile(r"\{.*\}|\[[^\[\],]*,[^\[\],]*,[^\[\]]*\]", re.DOTALL)  # an object, or three numbers and more
_NUMBERS = 0.7  # of a column's cells: then it holds numbers


def unpacked(table: RawTable) -> RawTable:
    """The table with a column for each value in the objects ({"lat": ...}) or lists that one of its columns holds."""
    for k, series in enumerate(table.frame):
        cells: list[str] = series.drop_nulls().head(20).to_list() if series.dtype == pl.String else []
        if not len(cells) or not all(_PACKED.fullmatch(c.strip()) for c in cells):
            continue
        try:
            rows = [_by_name(json.loads(c), table.names[k]) if c else {} for c in series.to_list()]
        except ValueError:
            continue
        names = list(dict.fromkeys(n for row in rows for n in row))[:_MOST]
        numbers = [[x if isinstance(x := row.get(n), (int, float)) else None for row in rows] for n in names]
        more = [pl.Series(str(len(table.names) + i), column, pl.Float64) for i, column in enumerate(numbers)]
        frame = table.frame.with_columns(pl.lit(None, pl.String).alias(str(k)), *more)
        units = [*table.unit_cells, *([table.unit_cells[k]] * len(names))]
        kept = [n if i != k else "" for i, n in enumerate(table.names)]
        return RawTable([*kept, *names], units, frame, table.head, table.mends, table.layout, table.day_first)
    return table


def _by_name(packed: Any, name: str) -> dict[str, Any]:
    """The values of an object by their names, of a list by the column's and their place (cht 1, cht 2)."""
    if isinstance(packed, list):
        return {f"{name} {i}": value for i, value in enumerate(packed, 1)}
    return packed if isinstance(packed, dict) else {}


def widened(table: RawTable) -> RawTable:
    """The table with a column for each quantity that one of its columns names beside one of values; else as it is."""
    if any((m := understand(n)) is not None and m.quantity == "latitude" for n in table.names):
        return table
    texts = {k: s for k, s in enumerate(table.frame) if s.dtype == pl.String}
    few = {k: [str(v) for v in s.drop_nulls().unique(maintain_order=True).head(_MOST + 1)] for k, s in texts.items()}
    able = {k: v for k, v in few.items() if _LEAST <= len(v) <= _MOST and not all(map(read_units, v))}
    named = [k for k, v in able.items() if sum(map(_is_named, v)) >= max(_LEAST, len(v) // 2)]
    named = named or [k for k in able if table.names[k].strip().lower() in _KEYS]
    if len(named) != 1:
        return table
    key = named[0]
    value = next((k for k, n in enumerate(table.names) if n.strip().lower() in {"value", "val", "reading", "data"}), -1)
    if value < 0:
        numbers = [k for k, s in enumerate(table.frame) if s.dtype.is_numeric()]
        value = numbers[-1] if numbers else -1
    unit = next((k for k, v in few.items() if k != key and v and all(read_units(u) for u in v)), -1)
    rest = [k for k in range(len(table.names)) if k not in (key, value, unit) and _steps(table.frame[str(k)])]
    if value < 0 or not rest:
        return table
    units = dict(table.frame.select(str(key), str(unit)).unique().iter_rows()) if unit >= 0 else {}
    wide = table.frame.pivot(str(key), index=[str(k) for k in rest], values=str(value), aggregate_function="first")
    names = [*(table.names[k] for k in rest), *wide.columns[len(rest) :]]
    columns = [_numbers(s).alias(str(k)) for k, s in enumerate(wide)]
    cells = [*(table.unit_cells[k] for k in rest), *(str(units.get(n) or "") for n in names[len(rest) :])]
    layout = f"{table.layout}, a row for each reading"
    return RawTable(names, cells, pl.DataFrame(columns), table.head, table.mends, layout, table.day_first)


def _is_named(word: str) -> bool:
    return (meaning := understand(word)) is not None and meaning.quantity != "not_needed"


def _steps(series: pl.Series) -> bool:
    """Changes now and then, not with each row: what several readings share, as they do their time."""
    return 1 < series.n_unique() <= 0.7 * len(series)


def _numbers(series: pl.Series) -> pl.Series:
    if series.dtype != pl.String:
        return series
    numbers = series.cast(pl.Float64, strict=False)
    return numbers if len(numbers.drop_nulls()) >= _NUMBERS * len(series.drop_nulls()) else series
