"""Landing thresholds of the runways around a position, from the same public-domain tables as `places`."""

from __future__ import annotations

import io
import math
from functools import lru_cache

import numpy as np
import polars as pl

from airwork import aerodromes
from airwork.maneuvers.grading.runway_ends import METERS_PER_RAD, RunwayEnd
from airwork.units import DEG_RAD, FT_M

NEAR_RAD = math.radians(0.05)  # 3 NM
LEAST_M = 150.0  # closer ends are two copies of one position
LENGTH_OFF = 0.1  # of the published length: ends farther apart or closer than that are an error in the data
NUMBERS = ("length_ft", "width_ft", "le_latitude_deg", "le_longitude_deg", "le_displaced_threshold_ft",
           "he_latitude_deg", "he_longitude_deg", "he_displaced_threshold_ft")  # fmt: skip


def runway_ends_near(latitude_rad: float, longitude_rad: float) -> tuple[RunwayEnd, ...]:
    """Both directions of every open runway with published ends within some 3 NM; none without the tables."""
    known = _ends()
    if known is None or not (math.isfinite(latitude_rad) and math.isfinite(longitude_rad)):
        return ()
    lat, lon = latitude_rad / DEG_RAD, longitude_rad / DEG_RAD
    near = NEAR_RAD / DEG_RAD
    found = known.filter(
        (pl.col("le_latitude_deg") - lat).abs() < near,
        (pl.col("le_longitude_deg") - lon).abs() < near / max(math.cos(latitude_rad), 0.1),
    )
    return tuple(end for row in found.iter_rows(named=True) for end in _both(row))


@lru_cache(maxsize=1)
def _ends() -> pl.DataFrame | None:
    raw = aerodromes.table("runways")
    if raw is None:
        return None
    rows = pl.read_csv(io.BytesIO(raw), infer_schema=False, columns=["airport_ident", "closed", "le_ident", "he_ident",
                                                                    *NUMBERS])  # fmt: skip
    rows = rows.with_columns(pl.col(*NUMBERS).cast(pl.Float64, strict=False)).filter(pl.col("closed") != "1")
    return rows.drop_nulls(["le_latitude_deg", "le_longitude_deg", "he_latitude_deg", "he_longitude_deg"])


def _both(row: dict[str, float | str | None]) -> list[RunwayEnd]:
    low, high = (_point(row, "le"), _point(row, "he"))
    north = (high[0] - low[0]) * METERS_PER_RAD
    east = (high[1] - low[1]) * METERS_PER_RAD * math.cos(low[0])
    length, printed = math.hypot(north, east), _number(row["length_ft"]) * FT_M
    if length < LEAST_M or abs(length - printed) > LENGTH_OFF * printed:
        return []
    width = _number(row["width_ft"]) * FT_M
    out = []
    for this, sign, (lat, lon) in (("le", 1.0, low), ("he", -1.0, high)):
        moved = (_number(row[f"{this}_displaced_threshold_ft"]) or 0.0) * FT_M
        moved = moved if math.isfinite(moved) else 0.0
        unit_north, unit_east = sign * north / length, sign * east / length
        out.append(RunwayEnd(
            str(row["airport_ident"]), str(row[f"{this}_ident"]), lat + moved * unit_north / METERS_PER_RAD,
            lon + moved * unit_east / METERS_PER_RAD / math.cos(lat), math.atan2(unit_east, unit_north),
            length - moved, width if np.isfinite(width) else None,
        ))  # fmt: skip
    return out


def _point(row: dict[str, float | str | None], end: str) -> tuple[float, float]:
    return _number(row[f"{end}_latitude_deg"]) * DEG_RAD, _number(row[f"{end}_longitude_deg"]) * DEG_RAD


def _number(value: float | str | None) -> float:
    return float(value) if isinstance(value, float) else math.nan
