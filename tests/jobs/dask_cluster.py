"""A Dask cluster on loopback, scheduler and workers as processes of their own: for the tests and the bench."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def dask_cluster(folder: Path, workers: int = 2) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """Its address and its processes, the scheduler first; they end with the block."""
    told = folder / "scheduler.json"  # where it listens: written by itself

    def start(what: str, *words: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", f"distributed.cli.dask_{what}", *words, "--no-dashboard"]
        return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    where = ("--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(told))
    started = [start("scheduler", *where, "--no-jupyter")]
    try:
        while not (told.exists() and told.read_text("utf-8").rstrip().endswith("}")):
            assert started[0].poll() is None
            time.sleep(0.1)
        address = str(json.loads(told.read_text("utf-8"))["address"])
        for n in range(workers):
            place = str(folder / f"worker_{n}")
            started.append(start("worker", address, "--nworkers", "1", "--nthreads", "1", "--no-nanny",
                                 "--local-directory", place))  # fmt: skip
        yield address, started
    finally:
        for process in started:
            process.kill()
            process.wait()
