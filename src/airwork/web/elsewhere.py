"""Work on a recording in a process beside the server: it takes a whole core and much memory, and others wait for pages.

A process that dies over its work costs it one more try; a new one every so often gives its memory back.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from threading import Lock
from types import SimpleNamespace
from typing import Any

from airwork.errors import AirworkError, InputError
from airwork.jobs import workers
from airwork.web.desk import About, Desk
from airwork.web.folder import Folder
from airwork.web.settings import Settings

TRIES = 2
FILES_A_PROCESS = 50
KEPT_MB = 400.0  # one that holds more after its work ends: a recording of usual size leaves 250


class Elsewhere:
    """One process that works for the server, started when it is first needed. Safe for several threads."""

    def __init__(self, desk: Desk, settings: Settings, kept_open: int) -> None:
        """kept_open : debriefs the process keeps in memory."""
        self._there = desk.path, replace(settings, tiles=None), kept_open
        self._pool: ProcessPoolExecutor | None = None
        self._lock = Lock()

    def run(self, work: Callable[..., Any], about: About, *more: Any) -> Any:
        """What `work(asking, about, *more)` gives there; all of it must travel.

        Raises
        ------
        InputError : its own, or that the process died over it twice.
        """
        for _ in range(TRIES):
            with self._lock:
                pool = self._pool = self._pool or workers.pool(1, FILES_A_PROCESS, low_priority=True)
                try:
                    asked = pool.submit(_worked, self._there, work, about, more)
                except BrokenProcessPool:
                    self._pool = None
                    continue
            try:
                made, problem, held_mb = asked.result()
            except BrokenProcessPool:
                self.stop(pool)
                continue
            if held_mb > KEPT_MB:
                with self._lock:
                    self._pool = None if self._pool is pool else self._pool
                pool.shutdown(wait=False)  # what others have asked it for meanwhile it does first
            if problem is not None:
                raise InputError(problem[0], where=problem[1])
            return made
        raise InputError(
            "the process that debriefed it died twice (out of memory, or killed).",
            where=about.file_name,
        )

    def stop(self, pool: ProcessPoolExecutor | None = None) -> None:
        """End the process; the next work starts another. pool : only when it is still this one."""
        with self._lock:
            if self._pool is not None and pool in (None, self._pool):
                self._pool.shutdown(wait=False, cancel_futures=True)
                self._pool = None


@lru_cache(maxsize=1)
def _asking(path: Path, settings: Settings, kept_open: int) -> Any:
    """Stands for a request; nobody's in particular."""
    folder = Folder(settings.folder)
    state = SimpleNamespace(settings=settings, folder=folder, desk=Desk(path, folder, kept_open), store=None)
    return SimpleNamespace(app=SimpleNamespace(state=state))


def _worked(
    there: tuple[Path, Settings, int], work: Callable[..., Any], about: About, more: tuple[Any, ...]
) -> tuple[Any, tuple[str, str] | None, float]:
    """In the process: what came of it, and what memory it holds then; a problem comes back as its line and its place,
    since errors don't travel."""
    made, problem = None, None
    try:
        made = work(_asking(*there), about, *more)
    except InputError as found:
        problem = (found.problem, str(found.where))
    except AirworkError as found:
        problem = (str(found), "")
    return made, problem, workers.release_memory()
