"""Debrief many recordings: every core, or a cluster; each file once, resumable, one bad file never stops the rest.

What is found goes into a folder: `flights/` has each clean Flight, so that a mended grader or another standard judges
the same flights again without reading a recording; `verdicts/JUDGED/` has one debrief to a flight, JUDGED naming
standard and program, so that earlier verdicts stay beside later ones. A flight is named by the SHA-256 of its
recording's bytes: the same file brought twice, or by two workers, is one flight. A lesson beside a recording says
what was asked. Every file is written whole.
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

from airwork.debrief import LessonPlan, plan_from_json, plan_json
from airwork.errors import AirworkError, InputError
from airwork.files import write_whole
from airwork.jobs.debriefing import debrief_flight, flown_lesson, read_flight
from airwork.jobs.files import lesson_beside
from airwork.jobs.workers import light_pool
from airwork.recording import Flight, packed
from airwork.recording.open_file import require_readable
from airwork.version import VERSION

# What may be a recording; anything else in a folder is passed over, named alone it is tried.
ENDINGS = {
    ".csv", ".tsv", ".txt", ".xlsx", ".igc", ".gpx", ".tcx", ".kml", ".nmea", ".json", ".jsonl", ".parquet", ".arrow",
    ".gz", ".zst",
}  # fmt: skip
_NOT_ENDINGS = (".mapping.json", ".debrief.json")
TRIES = 2  # of a file on a cluster whose worker died
ANSWERS_S = 30  # a scheduler that is busy beginning may take so long to answer
FILES_A_WORKER = 1000  # a new one begins with a second of loading; in 800 files one grew from 164 to 168 MB
AHEAD = 4  # files handed to each worker before its results are taken: bounds the memory


@dataclass(frozen=True, slots=True)
class Order:
    """How each flight is judged: plain data that travels to another process or machine.

    airplane, standard : as `debrief_flight`. into : the folder all results go to, as every worker sees it.
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
    """What came of one file. problem : one line, "" when it is judged. done_before : found judged already.

    entered : in a logbook, by this run.
    """

    path: str
    sha256: str
    problem: str = ""
    maneuvers: int = 0
    judged: int = 0
    met: int = 0
    hours: float = 0.0
    done_before: bool = False
    entered: bool = False


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
    """Read, keep and judge one recording. Never raises: what went wrong is the outcome's problem."""
    sha256 = ""
    try:
        sha256 = _sha256(Path(path))
        lesson = lesson_beside(Path(path))
        if lesson is not None and not order.airplane:
            order = replace(order, airplane=str(lesson.airplane_path))
        verdict = verdict_path(order, sha256)
        if verdict.exists():
            return _judged(path, sha256, json.loads(verdict.read_text("utf-8")), done_before=True)
        flight = kept_flight(Path(order.into), sha256)
        if flight is None:
            plan, _, _ = flown_lesson(lesson)
            _keep_flight(order, sha256, read_flight(path, airplane=order.airplane or None), plan)
            flight = kept_flight(Path(order.into), sha256)  # 7 digits of each number, so that it is judged again alike
            assert flight is not None
        return _judge(path, sha256, flight, order)
    except AirworkError as problem:
        return Outcome(path, sha256, " ".join(str(problem).split()))
    except MemoryError:
        return Outcome(path, sha256, "takes more memory than this machine has")
    except Exception as fault:  # one file must never stop the rest; said, so that it can be reported
        return Outcome(path, sha256, f"a fault in airwork itself ({type(fault).__name__}: {fault}); please report it")


def judge_again(sha256: str, order: Order) -> Outcome:
    """Judge a kept flight anew, its recording not needed; what the order leaves open is as it was the first time."""
    try:
        flight = kept_flight(Path(order.into), sha256)
        if flight is None:
            return Outcome(sha256, sha256, "its flight isn't kept here")
        first = _first(Path(order.into), sha256)
        order = replace(
            order, airplane=order.airplane or first.get("airplane", ""),
            standard=order.standard or first.get("standard", "private"),
        )  # fmt: skip
        return _judge(str(flight.source.get("name", sha256)), sha256, flight, order)
    except AirworkError as problem:
        return Outcome(sha256, sha256, " ".join(str(problem).split()))


def kept(into: Path) -> list[str]:
    """The flights kept in a folder of results, by their recording's SHA-256."""
    return sorted(p.name.removesuffix(".facts.json") for p in (into / "flights").glob("*.facts.json"))


def kept_flight(into: Path, sha256: str) -> Flight | None:
    """A clean Flight kept earlier, to 7 digits; None when it isn't there."""
    facts, columns, _ = _flight_paths(into, sha256)
    if not facts.exists():
        return None
    return packed.flight_of(columns.read_bytes(), facts.read_text("utf-8"))


def _flight_paths(into: Path, sha256: str) -> tuple[Path, Path, Path]:
    """Its facts, its columns, and how it was judged first."""
    folder = into / "flights"
    return folder / f"{sha256}.facts.json", folder / f"{sha256}.parquet", folder / f"{sha256}.first.json"


def _first(into: Path, sha256: str) -> dict[str, Any]:
    """The airplane and standard a flight was judged with first, and the plan of its lesson; {} of an older program."""
    place = _flight_paths(into, sha256)[2]
    found: dict[str, Any] = json.loads(place.read_text("utf-8")) if place.exists() else {}
    return found


def forget(into: Path, sha256: str) -> None:
    """Take a flight and every verdict on it out; `write_tables` then leaves it out."""
    for path in (*_flight_paths(into, sha256), *(into / "verdicts").glob(f"*/{sha256}.json")):
        path.unlink(missing_ok=True)


def _keep_flight(order: Order, sha256: str, flight: Flight, plan: LessonPlan | None) -> None:
    facts, columns, first = _flight_paths(Path(order.into), sha256)
    parquet, about = packed.columns_of(flight), packed.facts_of(flight)
    columns.parent.mkdir(parents=True, exist_ok=True)
    write_whole(columns, parquet)
    judged = {"airplane": order.airplane, "standard": order.standard, "plan": plan_json(plan) if plan else None}
    write_whole(first, json.dumps(judged, ensure_ascii=False))
    write_whole(facts, about)  # last: with it the flight is there


def verdict_path(order: Order, sha256: str) -> Path:
    """Where a flight's debrief is kept under an order."""
    return Path(order.into) / "verdicts" / order.judged / f"{sha256}.json"


def _judge(path: str, sha256: str, flight: Flight, order: Order) -> Outcome:
    kept_plan = _first(Path(order.into), sha256).get("plan")
    found = debrief_flight(
        flight, airplane=order.airplane or None, standard=order.standard,
        lesson=plan_from_json(kept_plan) if kept_plan else None,
    ).as_json()  # fmt: skip
    found["flight"] |= {"name": Path(path).name, "sha256": sha256}
    place = verdict_path(order, sha256)
    place.parent.mkdir(parents=True, exist_ok=True)
    write_whole(place, json.dumps(found, ensure_ascii=False, allow_nan=False, separators=(",", ":")))
    return _judged(path, sha256, found, done_before=False)


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


def judge_all_again(order: Order, *, workers: int | None = None) -> Iterator[Outcome]:
    """Judge every kept flight under another standard, airplane file or program; verdicts of before stay."""
    yield from _on_cores(judge_again, kept(Path(order.into)), order, workers or os.cpu_count() or 1)


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


def debrief_on_cluster(paths: Iterable[Path], order: Order, address: str) -> Iterator[Outcome]:
    """As `debrief_many`, on the workers of a Dask scheduler; all of them see the files and the results' folder alike.

    A worker that dies gives its files to the others; since a flight is named by its bytes, none is there twice.

    Raises
    ------
    InputError : Dask isn't installed, or no scheduler answers.
    """
    try:
        from distributed import Client, as_completed
    except ImportError:
        raise InputError("needs Dask: pip install 'airwork[cluster]'.", where="--cluster") from None
    try:
        client = Client(address, timeout=f"{ANSWERS_S}s", set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as problem:
        raise InputError(f"no scheduler answers there ({problem}).", where="--cluster") from None
    try:
        tasks = [client.submit(debrief_one, str(p.resolve()), order, pure=False, retries=TRIES) for p in paths]
        by_key = {task.key: str(path) for task, path in zip(tasks, paths, strict=True)}
        for task in as_completed(tasks, loop=client.loop):  # type: ignore[no-untyped-call]
            try:
                outcome = task.result()  # waits where the worker died with the answer: another does it again
            except Exception:  # the library's or the work's own: told as it always was
                outcome = Outcome(by_key[task.key], "", "no worker could finish it")
            yield outcome
    finally:
        client.close()  # type: ignore[no-untyped-call]
