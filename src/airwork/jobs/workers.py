"""Processes that work for another: they step back for it, end when it does, and hold no memory between two works."""

from __future__ import annotations

import ctypes
import gc
import multiprocessing
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
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


def pool(workers: int, works_each: int, *, steps_back: bool = False) -> ProcessPoolExecutor:
    """Fresh processes (a library's threads don't survive a fork), renewed after so many works: memory stays flat."""
    return ProcessPoolExecutor(
        workers, mp_context=multiprocessing.get_context("spawn"), max_tasks_per_child=works_each,
        initializer=partial(begin, os.getpid(), steps_back=steps_back),
    )  # fmt: skip


def light_pool(workers: int, works_each: int) -> ProcessPoolExecutor:
    """Fresh processes with a thread each, where there are as many as cores."""
    for name in ("POLARS_MAX_THREADS", "OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    return pool(workers, works_each)


def give_back() -> float:
    """Memory that is free goes back to the system: the C library of Linux keeps it for a next time otherwise.

    Returns
    -------
    what this process still holds in megabytes, 0 where that can't be told.
    """
    gc.collect()
    if sys.platform != "linux":
        return 0.0
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)  # glibc's own; another library gives back by itself
    if trim is not None:
        trim(0)
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6
