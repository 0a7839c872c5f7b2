"""Writing files whole: temporary file beside it, fsync, rename."""

from __future__ import annotations

import errno
import os
import tempfile
from pathlib import Path


def write_whole(path: Path, data: bytes | str, *, mode: int = 0o644) -> None:
    """Write a file so that a reader sees the old or the new, never half, nor with wider rights than `mode`.

    Raises
    ------
    OSError : the folder is missing or not writable, or the path is a folder; it names the path and what to do.
    """
    raw = data.encode() if isinstance(data, str) else data
    if path.is_dir():
        raise IsADirectoryError(errno.EISDIR, "is a folder; name a file in it.", str(path))
    if not path.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, f"there is no folder {path.parent}; make it first.", str(path))
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as problem:
        said = f"can't be written ({problem.strerror}); choose another place."
        raise OSError(problem.errno, said, str(path)) from None
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(raw)
            out.flush()
            os.fsync(out.fileno())
        Path(name).chmod(mode)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
