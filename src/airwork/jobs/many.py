"""Debrief many recordings on every core: each file once, resumable, one bad file never stops the rest.

What is found goes into a folder: `verdicts/JUDGED/` has one debrief to a flight, JUDGED naming standard and program, so
that earlier verdicts stay beside later ones. A flight is named by the SHA-256 of its recording's bytes: the same file
brought twice is one flight. A lesson beside a recording says what was asked. Every file is written whole.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from airwork.errors import AirworkError, InputError
from airwork.files import write_whole
from airwork.jobs.debriefing import debrief_flight, flown_lesson
from airwork.jobs.files import lesson_beside
from airwork.jobs.workers import light_pool
from airwork.recording.open_file import require_readable
from airwork.version import VERSION

# What may be a recording; anything else in a folder is passed over, named alone it is tried.
ENDINGS = {
    ".csv", ".tsv", ".txt", ".xlsx", ".igc", ".gpx", ".tcx", ".kml", ".nmea", ".json", ".jsonl", ".parquet", ".arrow",
    ".gz", ".zst",
}  # fmt: skip
_NOT_ENDINGS = (".mapping.json", ".debrief.json")
FILES_A_WORKER = 1000  # a new one begins with a second of loading; in 800 files one grew from 164 to 168 MB
AHEAD = 4  # files handed to each worker before its results are taken: bounds the memory


@dataclass(frozen=True, slots=True)
class Order:
    """How each flight is judged: plain data that travels to another process.

    airplane, standard : as `debrief_flight`. into : the folder all results go to.
    """

    into: str
    airplane: str = ""
    standard: str = "private"

    @property
    def judged(self) -> str:
        """Names who judged: standard and program version, airplane file where there is one."""
        names = [Path(self.standard).stem, VERSION, Path(self.airplane).stem if self.airplane else ""]
        return "_".join(name for name in names if name)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one file. problem : one line, "" when it is judged. done_before : found judged already."""

    path: str
    sha256: str
    problem: str = ""
    maneuvers: int = 0
    judged: int = 0
    met: int = 0
    hours: float = 0.0
    done_before: bool = False


def recordings_in(paths: Iterable[Path], into: Path) -> list[Path]:
    """The files to debrief: those named, and what may be a recording in folders named, sorted; never results of ours.

    Raises
    ------
    InputError : a path that isn't there, or no recording at all.
    """
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            inside = (p for p in sorted(path.rglob("*")) if p.is_file() and not p.name.startswith("."))
            found += [
                p for p in inside
                if p.suffix.lower() in ENDINGS and not p.name.endswith(_NOT_ENDINGS) and into not in p.parents
            ]  # fmt: skip
        elif path.exists():
            found.append(path)
        else:
            raise InputError("there is no such file or folder.", where=str(path))
    if not found:
        where = str(next(iter(paths), ""))
        raise InputError("no recordings in it (CSV, IGC, GPX, NMEA, KML, JSON, Parquet …).", where=where)
    return list(dict.fromkeys(found))


def debrief_one(path: str, order: Order) -> Outcome:
    """Read and judge one recording. Never raises: what went wrong is the outcome's problem."""
    sha256 = ""
    try:
        sha256 = _sha256(Path(path))
        lesson = lesson_beside(Path(path))
        if lesson is not None and not order.airplane:
            order = replace(order, airplane=str(lesson.airplane_path))
        verdict = Path(order.into) / "verdicts" / order.judged / f"{sha256}.json"
        if verdict.exists():
            return _judged(path, sha256, json.loads(verdict.read_text("utf-8")), done_before=True)
        plan, _, _ = flown_lesson(lesson)
        airplane = order.airplane or None
        found = debrief_flight(path, airplane=airplane, standard=order.standard, lesson=plan).as_json()
        found["flight"] |= {"name": Path(path).name, "sha256": sha256}
        verdict.parent.mkdir(parents=True, exist_ok=True)
        write_whole(verdict, json.dumps(found, ensure_ascii=False, allow_nan=False, separators=(",", ":")))
        return _judged(path, sha256, found, done_before=False)
    except AirworkError as problem:
        return Outcome(path, sha256, " ".join(str(problem).split()))
    except MemoryError:
        return Outcome(path, sha256, "takes more memory than this machine has")
    except Exception as fault:  # one file must never stop the rest; said, so that it can be reported
        return Outcome(path, sha256, f"a fault in airwork itself ({type(fault).__name__}: {fault}); please report it")


def _judged(path: str, sha256: str, found: dict[str, Any], *, done_before: bool) -> Outcome:
    met = [e["met"] for e in found["episodes"]]
    judged = [one for one in met if one is not None]
    hours = float(found["flight"].get("airborne_s", 0.0)) / 3600.0
    return Outcome(path, sha256, "", len(met), len(judged), sum(judged), hours, done_before)


def _sha256(path: Path) -> str:
    require_readable(path)  # a file with holes may say it is terabytes, a pipe never ends
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def debrief_many(paths: Iterable[Path], order: Order, *, workers: int | None = None) -> Iterator[Outcome]:
    """Debrief files on every core; outcomes come as they are ready, one to a file.

    A worker that dies (killed, out of memory) costs its file one more try, alone; the others go on.
    """
    files = list(paths)
    yield from _on_cores(debrief_one, [str(p) for p in files], order, workers or os.cpu_count() or 1)


def _on_cores(work: Callable[[str, Order], Outcome], what: list[str], order: Order, workers: int) -> Iterator[Outcome]:
    waiting = list(reversed(what))
    while waiting:
        running: dict[Future[Outcome], str] = {}
        pool = light_pool(min(workers, len(waiting)), FILES_A_WORKER)
        try:
            while waiting or running:
                while waiting and len(running) < workers * AHEAD:
                    one = waiting.pop()
                    running[pool.submit(work, one, order)] = one
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in done:
                    outcome = future.result()
                    del running[future]
                    yield outcome
        except BrokenProcessPool:  # some worker died, nobody says whose file it was: each of these once more, alone
            pool.shutdown(wait=False, cancel_futures=True)
            yield from _one_by_one(work, list(running.values()), order)
        else:
            pool.shutdown()


def _one_by_one(work: Callable[[str, Order], Outcome], suspects: list[str], order: Order) -> Iterator[Outcome]:
    """Each file alone in a worker, so that who dies over it is known; the worker goes on while it lives."""
    pool: ProcessPoolExecutor | None = None
    for one in suspects:
        pool = pool or light_pool(1, FILES_A_WORKER)
        try:
            yield pool.submit(work, one, order).result()
        except BrokenProcessPool:
            pool.shutdown(wait=False, cancel_futures=True)
            pool = None
            yield Outcome(one, "", "the worker died over it twice (out of memory, or killed)")
    if pool is not None:
        pool.shutdown()
