"""Processes that work for another: they step back for it, and end when it does."""

from __future__ import annotations

import os
import time
from threading import Thread

STEPS_BACK = 10  # niceness: who waits for a page goes before who waits for a debrief
LOOKS_EACH_S = 1.0


def begin(master: int, *, steps_back: bool = False) -> None:
    """What a worker does first. A master that is killed can't end it, so it looks whether the master is still there.

    master : the process that started it.
    """
    if steps_back and hasattr(os, "nice"):
        os.nice(STEPS_BACK)

    def watch() -> None:
        while os.getppid() == master:
            time.sleep(LOOKS_EACH_S)
        os._exit(0)

    Thread(target=watch, daemon=True, name="watch").start()
