"""The verdicts in a folder of results as tables: flights.parquet, maneuvers.parquet, criteria.parquet."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import polars as pl

from airwork.jobs.workers import light_pool

VERDICTS_A_PART = 250  # written one part after another: the memory taken doesn't grow with the number of flights
PARTS_A_WORKER = 1000

_KEY = {"sha256": pl.String, "judged": pl.String}
_EPISODE = {**_KEY, "number": pl.Int64, "kind": pl.String}
COLUMNS: dict[str, dict[str, Any]] = {
    "flights": {
        **_KEY, "name": pl.String, "start_utc": pl.String, "airplane": pl.String, "duration_s": pl.Float64,
        "airborne_s": pl.Float64, "met": pl.Boolean, "maneuvers": pl.Int64,
    },
    "maneuvers": {
        **_EPISODE, "start_s": pl.Float64, "end_s": pl.Float64, "start_utc": pl.String, "confidence": pl.Float64,
        "met": pl.Boolean, "measured_json": pl.String,
    },
    "criteria": {
        **_EPISODE, "name": pl.String, "limit": pl.String, "unit": pl.String, "worst": pl.Float64,
        "within_fraction": pl.Float64, "verdict": pl.String,
    },
}  # fmt: skip


def write_tables(into: Path, *, workers: int | None = None) -> dict[str, int]:
    """Write what the verdicts say as tables beside them, flights.parquet, maneuvers.parquet and criteria.parquet.

    A part at a time, so that the memory taken doesn't grow with the number of flights; many on every core, in processes
    whose memory goes with them.

    Returns
    -------
    rows by table. Units stand in the column names; `judged` names standard and program.
    """
    parts = list(_in_parts((into / "verdicts").glob("*/*.json"))) or [[]]
    with tempfile.TemporaryDirectory(prefix=".tables-", dir=into) as folder:
        places = [Path(folder) / f"{number:06d}" for number in range(len(parts))]
        if len(parts) == 1:
            counted = [_part(places[0], parts[0])]
            _joined(Path(folder), into)
        else:
            with light_pool(min(workers or os.cpu_count() or 1, len(parts)), PARTS_A_WORKER) as pool:
                counted = list(pool.map(_part, places, parts))
                pool.submit(_joined, Path(folder), into).result()
    return {name: sum(rows[name] for rows in counted) for name in COLUMNS}


def _part(place: Path, verdicts: list[Path]) -> dict[str, int]:
    """The tables of some verdicts in a folder of their own."""
    place.mkdir()
    found = _rows(verdicts)
    for name, rows in found.items():
        pl.DataFrame(rows, schema=COLUMNS[name], strict=False).write_parquet(place / f"{name}.parquet")
    return {name: len(rows) for name, rows in found.items()}


def _joined(parts: Path, into: Path) -> None:
    """Each table of all parts, in place once it is whole."""
    for name in COLUMNS:
        whole = parts / f"{name}.parquet"
        pl.scan_parquet(parts / "*" / f"{name}.parquet").sink_parquet(whole)
        whole.replace(into / f"{name}.parquet")


def _in_parts(places: Iterable[Path]) -> Iterator[list[Path]]:
    found = sorted(places)
    yield from (found[k : k + VERDICTS_A_PART] for k in range(0, len(found), VERDICTS_A_PART))


def _rows(places: Iterable[Path]) -> dict[str, list[dict[str, Any]]]:
    """The rows of each table that some verdicts give."""
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in COLUMNS}
    for place in places:
        found, judged = json.loads(place.read_text("utf-8")), place.parent.name
        flight = found["flight"]
        key = {"sha256": place.stem, "judged": judged}
        rows["flights"].append({**flight, **key, "maneuvers": len(found["episodes"])})
        for number, e in enumerate(found["episodes"]):
            one = {**key, "number": number, "kind": e["kind"]}
            rows["maneuvers"].append({**e, **one, "measured_json": json.dumps(e["measured"])})
            rows["criteria"] += [{**c, **one} for c in e["criteria"]]
    return {
        name: [{column: row.get(column) for column in COLUMNS[name]} for row in found] for name, found in rows.items()
    }
