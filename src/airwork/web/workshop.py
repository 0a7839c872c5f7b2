"""Where recordings brought are debriefed: one after another, in a process of its own when others wait for pages.

The recording lies on the desk from the moment it is here, marked as waiting; what is waiting when the server stops is
taken up when it starts again. What is asked of a whole debrief, a paper or a correction, has a second process, so that
nobody waits for the queue; both step back for the pages, which the processor serves first. Airplanes are learned from
recordings after that, one at a time, while nobody waits.
"""

from __future__ import annotations

import logging
import math
import time
from collections import OrderedDict, deque
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from queue import SimpleQueue
from threading import Condition, Lock, Thread
from types import SimpleNamespace
from typing import Any

import numpy as np
from fastapi import FastAPI, Request

from airwork import days
from airwork.airdata.geodesy import zone_at
from airwork.days import local_text
from airwork.errors import AirworkError, InputError
from airwork.jobs import workers
from airwork.recording.flight import Flight
from airwork.web import debrief_view, which_airplane
from airwork.web.desk import KEPT_OPEN, About, Desk
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


PATIENCE_S = 2.0  # the one whose turn it is waits so long for its flight, then for it on a page
MOST_WAITING = 10  # of one person
HOUR_S, HOURLY_BYTES = 3600.0, 2_000_000_000  # of one person
MOST_PROBLEMS = 1000  # what came of those that could not be debriefed, kept for the page that asks


def work_out(asking: Request, about: About) -> dict[str, Any]:
    """Debrief a recording and keep what its page and map show; what it says of its airplane and its day.

    asking : stands for a request; nobody's in particular.
    """
    desk: Desk = asking.app.state.desk
    found = desk.debrief(about)
    about = replace(about, zone=_zone(found.flight, about))
    debrief_view.shown(asking, about)
    desk.kept(about, "map", debrief_view.map_data)
    said = {name: found.flight.source.get(name) for name in which_airplane.SAID}
    return said | {"zone": about.zone, "flown": _flown(found.flight, about.zone)}


def _flown(flight: Flight, zone: str) -> str:
    """When it began, in words; "" without a date. A clock that names no zone is shown as it was recorded."""
    if not math.isfinite(flight.start_utc_s):
        return ""
    if flight.source.get("zone_open"):
        return f"{local_text(flight.start_utc_s, 'UTC')[:16]} by its own clock"
    return local_text(flight.start_utc_s, zone)


def _zone(flight: Flight, about: About) -> str:
    """The time zone of where it was flown, where nobody typed one, no lesson has one, and the clocks differ there."""
    start = flight.start_utc_s
    if about.zone_settled or not math.isfinite(start) or not flight.has("latitude_rad", "longitude_rad"):
        return about.zone
    known = np.flatnonzero(np.isfinite(flight["latitude_rad"]) & np.isfinite(flight["longitude_rad"]))
    if not known.size:
        return about.zone
    there = zone_at(float(flight["latitude_rad"][known[0]]), float(flight["longitude_rad"][known[0]]))
    clocks = (
        datetime.fromtimestamp(start, UTC).astimezone(days.zone(name)).utcoffset()
        for name in (there, about.zone)
        if name
    )
    return there if there and len(set(clocks)) > 1 else about.zone


def teach(asking: Request, about: About) -> None:
    """Let a debriefed recording teach its airplane."""
    asking.app.state.desk.teach(about)


class Workshop:
    """The queue. Safe for several threads.

    With `Settings.processes` 0 it debriefs at once, in this process; with 1 in turn, in one of its own.
    """

    def __init__(self, app: FastAPI) -> None:
        self.settings: Settings = app.state.settings
        self.desk: Desk = app.state.desk
        self.processes = self.settings.processes
        self._asking: Any = SimpleNamespace(app=app)  # the queue asks for itself, not for somebody's request
        self._queue: deque[tuple[str, str]] = deque()  # (id, who brought it)
        self._brought: dict[str, deque[tuple[float, int]]] = {}
        self._problems: OrderedDict[str, InputError] = OrderedDict()
        self._changed = Condition()
        self._debriefs = Elsewhere(self.desk, self.settings, kept_open=1)
        self._papers = Elsewhere(self.desk, self.settings, kept_open=KEPT_OPEN)
        self._thread: Thread | None = None
        self._teaching: SimpleQueue[tuple[About, Elsewhere]] = SimpleQueue()
        self._learner: Thread | None = None
        with self._changed:
            for about in reversed(self.desk.all()):
                if self.processes and self.desk.is_waiting(about):
                    self._put(about.id, "")
                elif self.desk.is_to_teach(about):
                    self._put_to_teach(about, self._debriefs)

    def require_room(self, who: str, size: int) -> None:
        """One person's recordings don't fill the queue or the disk. InputError when they would."""
        if not who:
            return
        with self._changed:
            if sum(by == who for _, by in self._queue) >= MOST_WAITING:
                raise InputError(
                    f"{MOST_WAITING} of yours are waiting; bring more when they are done.", where="recording"
                )
            mine, now = self._brought.setdefault(who, deque()), time.monotonic()
            while mine and now - mine[0][0] > HOUR_S:
                mine.popleft()
            if sum(n for _, n in mine) + size > HOURLY_BYTES:
                raise InputError(f"at most {HOURLY_BYTES / 1e9:.0f} GB in an hour.", where="recording")
            mine.append((now, size))

    def bring(self, about: About, who: str = "") -> About:
        """Debrief what lies on the desk, or put it in the queue; waits a little when it is the next.

        Raises
        ------
        InputError : it can't be debriefed, known at once; it is off the desk. One whose columns somebody must say
            first stays there, unread.
        """
        if not self.processes:
            try:
                return self._finished(about)
            except BaseException as problem:
                if isinstance(problem, InputError) and self.desk.left_unread(about, str(problem)):
                    return about
                self.desk.remove(about)
                raise
        with self._changed:
            self._put(about.id, who)
            if len(self._queue) == 1:
                self._changed.wait_for(lambda: not self._place(about.id), PATIENCE_S)
        self.require_good(about.id)
        return about

    def place(self, debrief_id: str) -> int:
        """In the queue: 1 is being worked out, 0 isn't waiting (any more)."""
        with self._changed:
            return self._place(debrief_id)

    def require_good(self, debrief_id: str) -> None:
        """InputError: it could not be debriefed."""
        problem = self._problems.get(debrief_id)
        if problem is not None:
            raise InputError(problem.problem, where=problem.where)

    def _place(self, debrief_id: str) -> int:
        return next((n for n, (one, _) in enumerate(self._queue, 1) if one == debrief_id), 0)

    def _put(self, debrief_id: str, who: str) -> None:
        self._queue.append((debrief_id, who))
        if self._thread is None:
            self._thread = Thread(target=self._work, daemon=True, name="debriefs")
            self._thread.start()
        self._changed.notify_all()

    def _work(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: bool(self._queue))
                one, _ = self._queue[0]
            about = self.desk.find(one)
            try:
                if about is not None:
                    self._finished(about)
            except Exception as problem:  # the queue goes on whatever one recording does
                if isinstance(problem, InputError) and about is not None and self.desk.left_unread(about, str(problem)):
                    about = None
                fault = InputError(f"a fault in airwork itself ({type(problem).__name__}); please report it.")
                if about is not None:
                    self._problems[one] = problem if isinstance(problem, InputError) else fault
                while len(self._problems) > MOST_PROBLEMS:
                    self._problems.popitem(last=False)
                if about is not None:
                    self.desk.remove(about)
            with self._changed:
                self._queue.popleft()
                self._changed.notify_all()
            workers.release_memory()

    def _finished(self, about: About) -> About:
        """Debriefed, with the airplane the recording names where that can be used."""
        made = self._run(about)
        about = replace(about, zone=str(made["zone"]), zone_settled=True)
        known = which_airplane.said(self._asking, about, made)
        if known.airplane != about.airplane:
            try:
                self._run(known)
            except InputError:
                known = replace(about, flown=known.flown)  # that airplane's file can't be used: the page asks
        self.desk.note(known)
        self.desk.is_read(about)
        self._to_teach(known, self._debriefs)
        return known

    def _to_teach(self, about: About, there: Elsewhere) -> None:
        """Learn its airplane from it when nobody waits any more, in the process that has the debrief open."""
        if about.airplane and about.airplane_from != which_airplane.LAST:
            self.desk.will_teach(about)
            with self._changed:
                self._put_to_teach(about, there)

    def _put_to_teach(self, about: About, there: Elsewhere) -> None:
        self._teaching.put((about, there))
        if self._learner is None:
            self._learner = Thread(target=self._teach, daemon=True, name="learning")
            self._learner.start()

    def _teach(self) -> None:
        while True:
            about, there = self._teaching.get()
            try:
                self._do(teach, about, there)
            except AirworkError:
                pass  # off the desk, or its airplane's file can't be used: nothing is learned
            except Exception:
                logging.getLogger("airwork.web").exception("nothing was learned from %s", about.file_name)

    def work(self, about: About) -> dict[str, Any]:
        """`work_out` for somebody who waits for it: a debrief asked for anew, before those in the queue."""
        made = self._do(work_out, about, self._papers)
        self._to_teach(about, self._papers)
        return dict(made)

    def paper(self, what: str, about: About, *more: Any) -> Any:
        """A document of `debrief_view.PAPERS`, made of the whole debrief; `more` as it takes it."""
        return self.whole(debrief_view.PAPERS[what], about, *more)

    def whole(self, what: Callable[..., Any], about: About, *more: Any) -> Any:
        """What `what(asking, about, *more)` makes of the whole debrief, before those in the queue."""
        return self._do(what, about, self._papers, *more)

    def _run(self, about: About) -> dict[str, Any]:
        return dict(self._do(work_out, about, self._debriefs))

    def _do(self, what: Callable[..., Any], about: About, there: Elsewhere, *more: Any) -> Any:
        return what(self._asking, about, *more) if not self.processes else there.run(what, about, *more)
