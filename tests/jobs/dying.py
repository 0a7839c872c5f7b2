"""Work at which the worker is killed. A module of its own: every new process reads it, and it is quickly read."""

from __future__ import annotations

import os
import signal
from pathlib import Path

from airwork.jobs.many import Order, Outcome


def dies_once(path: str, order: Order) -> Outcome:
    """Over one of the files, the first time only."""
    marker = Path(order.into) / "died"
    if path.endswith("2") and not marker.exists():
        marker.write_text("", "utf-8")
        os.kill(os.getpid(), signal.SIGKILL)
    return Outcome(path, path)


def dies_always(path: str, order: Order) -> Outcome:
    """Over one of the files, each time."""
    if path.endswith("2"):
        os.kill(os.getpid(), signal.SIGKILL)
    return Outcome(path, path)
