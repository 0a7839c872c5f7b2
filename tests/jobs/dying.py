"""Work at which the worker is killed. A module of its own that needs none of airwork: every new process reads it."""

from __future__ import annotations

import os
import signal
from pathlib import Path
from types import SimpleNamespace


def dies_once(path: str, folder: str) -> SimpleNamespace:
    """Over one of the files, the first time only."""
    marker = Path(folder) / "died"
    if path.endswith("2") and not marker.exists():
        marker.write_text("", "utf-8")
        os.kill(os.getpid(), signal.SIGKILL)
    return SimpleNamespace(path=path, problem="")


def dies_always(path: str, folder: str) -> SimpleNamespace:
    """Over one of the files, each time."""
    if path.endswith("2"):
        os.kill(os.getpid(), signal.SIGKILL)
    return SimpleNamespace(path=path, problem="")


def who_works(_asking: object, _about: object) -> int:
    """The process that does it."""
    return os.getpid()
