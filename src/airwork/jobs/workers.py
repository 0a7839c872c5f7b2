"""Worker processes: they end with their parent, and are renewed so that their memory doesn't grow."""

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

NICENESS = 10  # of workers with low priority: who waits for a page goes before who waits for a debrief
PARENT_CHECKED_EACH_S = 1.0


def _begin(parent: int, *, low_priority: bool) -> None:
    """What a worker does first: it watches whether its parent still runs, since a killed one can't end it."""
    gc.set_threshold(400_000, 20, 20)  # what it loads next lives to its end: no looking for garbage in it
    if low_priority and hasattr(os, "nice"):
        os.nice(NICENESS)

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(PARENT_CHECKED_EACH_S)
        os._exit(0)

    Thread(target=watch, daemon=True, name="watch").start()


def pool(workers: int, tasks_each: int, *, low_priority: bool = False) -> ProcessPoolExecutor:
    """Fresh processes (a library's threads don't survive a fork), each renewed after so many tasks."""
    return ProcessPoolExecutor(
        workers, mp_context=multiprocessing.get_context("spawn"), max_tasks_per_child=tasks_each,
        initializer=partial(_begin, os.getpid(), low_priority=low_priority),
    )  # fmt: skip


def one_thread_each() -> None:
    """Libraries loaded from now on, here and in processes started, use one thread: where every core has a process, a
    second one only waits for its turn.
    """
    for name in ("POLARS_MAX_THREADS", "OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def light_pool(workers: int, tasks_each: int) -> ProcessPoolExecutor:
    """Fresh processes with a thread each, where there are as many as cores."""
    one_thread_each()
    return pool(workers, tasks_each)


def release_memory() -> float:
    """Return free memory to the system, which Linux's C library otherwise keeps for later.

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
