"""Writing files whole: temporary file beside it, fsync, rename."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, data: bytes | str) -> None:
    """Write a file so that a reader sees the old or the new, never half.

    Raises
    ------
    OSError : the folder is missing or not writable.
    """
    raw = data.encode() if isinstance(data, str) else data
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(raw)
            out.flush()
            os.fsync(out.fileno())
        Path(name).chmod(0o644)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
