"""A clean Flight as it is kept: its columns as Parquet, to 7 digits, and as JSON what is known of it beside them."""

from __future__ import annotations

import io
import json
from dataclasses import asdict
from typing import Any

import numpy as np
import polars as pl

from airwork.recording.flight import Column, Flight, GroundContact, Mend

# Positions need more than the 7 digits of single precision; everything else a light airplane records does not.
_DOUBLE = {"latitude_rad", "longitude_rad", "east_m", "north_m", "time_s"}


def columns_of(read: Flight) -> bytes:
    """A clean Flight's columns as Parquet."""
    data: dict[str, Any] = {"time_s": read.time_s}
    for name, column in read.columns.items():
        data[name] = column.values if name in _DOUBLE else column.values.astype(np.float32)
    out = io.BytesIO()
    pl.DataFrame(data).write_parquet(out, compression="zstd", compression_level=1, statistics=False)
    return out.getvalue()


def facts_of(read: Flight) -> str:
    """As JSON what is known of a clean Flight beside its columns: how each was had, mends, contacts, source."""
    facts = {
        "start_utc_s": read.start_utc_s if np.isfinite(read.start_utc_s) else None,
        "columns": {n: {"known": c.known, "error": c.error, "note": c.note} for n, c in read.columns.items()},
        "mends": [asdict(mend) for mend in read.mends],
        "contacts": [asdict(contact) for contact in read.contacts],
        "source": json.loads(json.dumps(dict(read.source), default=str)),
    }
    return json.dumps(facts, ensure_ascii=False)


def flight_of(columns_parquet: bytes, facts_json: str) -> Flight:
    """The Flight whose columns and facts these are, to 7 digits."""
    frame, facts = pl.read_parquet(io.BytesIO(columns_parquet)), json.loads(facts_json)
    about = facts["columns"]
    values = {name: frame[name].cast(pl.Float64).to_numpy() for name in frame.columns}
    start = facts["start_utc_s"]
    return Flight(
        start_utc_s=float("nan") if start is None else float(start),
        time_s=values.pop("time_s"),
        columns={n: Column(v, about[n]["known"], about[n]["error"], about[n]["note"]) for n, v in values.items()},
        mends=tuple(Mend(**mend) for mend in facts["mends"]),
        contacts=tuple(GroundContact(**contact) for contact in facts["contacts"]),
        source=facts["source"],
    )
