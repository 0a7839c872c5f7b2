"""Rows of several sensors in one table: each sensor's columns apart, and the rows of one moment made one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl

from airwork.recording.content_places import places
from airwork.recording.flight import Mend
from airwork.recording.kinds import is_time
from airwork.recording.names import understand
from airwork.recording.table import RawTable

_ON = 0.85  # of the rows come in their order
_SPARSE = 0.02  # of a column's cells are blank


def apart(table: RawTable, label: pl.Series, sensors: list[str]) -> RawTable:
    """Rows of several sensors in the same columns (sensor, v1, v2 ...), each with columns of its own.

    Of sensors neither whose name nor whose cells say what they are nothing is kept.
    """
    shared = [k for k, s in enumerate(table.frame) if not s.null_count() and _counts_on(s)]
    own = [k for k, s in enumerate(table.frame) if k not in shared and s.dtype.is_numeric()]
    found: dict[str, pl.Series] = {}
    for sensor in sensors:
        rows = (label == sensor).fill_null(value=False)
        cells = {k: table.frame[str(k)].filter(rows).to_numpy() for k in own}
        placed = places(np.arange(int(rows.sum()), dtype=np.float64), cells) is not None
        for n, k in enumerate(own, 1):
            name = f"{sensor} {table.names[k] if understand(table.names[k]) else n}"
            if np.isfinite(cells[k]).any() and (placed or understand(name)):
                found[name] = table.frame[str(k)].set(~rows, None)
    names = [*(table.names[k] for k in shared), *found]
    columns = [*(table.frame[str(k)] for k in shared), *found.values()]
    frame = pl.DataFrame([s.alias(str(k)) for k, s in enumerate(columns)])
    if found:
        frame = frame.filter(~pl.all_horizontal(pl.col(map(str, range(len(shared), len(names)))).is_null()))
    said = f"rows of {len(sensors)} sensors ({', '.join(sensors[:6])}) in the same columns: {', '.join(found)} are read"
    table.mends.append(Mend(said, len(label)))
    return replace(table, names=names, unit_cells=[""] * len(names), frame=frame)


def joined(table: RawTable) -> RawTable:
    """Rows of one moment that fill each other's blanks as one; as they are where two tell of the same thing."""
    frame = table.frame
    if not any(s.null_count() > _SPARSE * frame.height for s in frame):
        return table
    whole = [n for n, s in zip(frame.columns, frame, strict=True) if not s.null_count() and _counts_on(s)]
    key = [n for n in whole if is_time(table.names[int(n)])] or whole
    own = [n for n in frame.columns if n not in whole]
    if not key:
        return table
    if (moments := frame.select(key).n_unique()) == frame.height:
        return table
    numbers = [n for n in own if frame[n].dtype.is_numeric()]
    told = frame.group_by(key).agg(pl.col(numbers).drop_nulls().n_unique()).select(numbers)
    if numbers and (told > 1).mean_horizontal().mean() > _SPARSE:  # type: ignore[operator]
        return table
    table.frame = frame.group_by(key, maintain_order=True).agg(pl.all().drop_nulls().first()).select(frame.columns)
    more = frame.height - moments
    table.mends.append(Mend(f"{more:,} rows tell of the moment of another and were joined to it", more))
    return table


def _counts_on(series: pl.Series) -> bool:
    if not series.dtype.is_numeric() and not series.dtype.is_temporal():
        return series.is_sorted() and series.n_unique() > 1
    return series.n_unique() > 1 and float((series.diff().drop_nulls().cast(pl.Float64) >= 0.0).mean() or 0.0) > _ON  # type: ignore[arg-type]
