"""Coverage-guided fuzzing of everything that others may hand in: only an AirworkError may escape, in one line.

    pip install atheris
    python bench/fuzz.py csv -max_total_time=600
    python bench/fuzz.py lesson -runs=100000
    python bench/fuzz.py sums               what all runs so far came to

Readers: csv igc gpx kml nmea json parquet arrow; bytes are changed, led by what of the program they reach, from the
stored inputs of `bench/corpus/WHAT`; `--keep` brings new ones of worth back into it. Things: lesson airplane import
arrow_columns parquet_columns; a good one is changed where it has a value, so that the first check is passed; each run
goes on with new choices. Findings go to `bench/findings/WHAT` and do not stop the run; how far all runs came stands in
`bench/corpus/reached.json`.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("POLARS_MAX_THREADS", "1")

import atheris

HERE = Path(__file__).resolve().parent
CORPUS, FINDINGS = HERE / "corpus", HERE / "findings"
sys.path[:0] = [str(HERE), str(HERE.parent / "tests")]

WHAT = sys.argv[1] if len(sys.argv) > 1 else ""
LED = ("csv", "igc", "gpx", "kml", "nmea", "json", "parquet", "arrow")  # by what of the readers they reach
NOT_MEASURED = [f"airwork.{part}" for part in ("airdata", "airplane", "debrief", "jobs", "lesson", "logbook",
                                               "maneuvers", "output", "standards")]  # fmt: skip
if WHAT in LED:
    with atheris.instrument_imports(include=["airwork.recording"], exclude=NOT_MEASURED, enable_loader_override=False):
        import fuzz_targets
else:
    import fuzz_targets

from airwork.errors import AirworkError  # noqa: E402

SLOW_S = 20.0  # the promise for any file; the fuzzer stops at it
LONGEST = 2500
NOTE_S = 3.0
ROOM = 100_000  # bytes of stored inputs for each reader


class Run:
    """Counts, findings, and the ledger."""

    def __init__(self, what: str) -> None:
        self.what, self.target = what, fuzz_targets.target(what)
        self.begun = time.monotonic()
        self.inputs = self.passed = self.found = 0
        self.slowest_s = 0.0
        self.seen: set[str] = set()

    def one(self, raw: bytes) -> None:
        """One input; a fault is written down once for each place it comes from."""
        begun = time.perf_counter()
        self.inputs += 1
        try:
            self.target(raw)
            self.passed += 1
        except AirworkError as problem:
            self.passed += bool(getattr(problem, "past_first", False))
            if "\n" in str(problem) and not getattr(problem, "each", ()):  # several faults have a line each
                self.finding(raw, "more than one line")
        except (KeyboardInterrupt, SystemExit):
            raise
        except BaseException as fault:  # a panic of a library is no Exception
            frames = traceback.extract_tb(fault.__traceback__)
            ours = next((f for f in reversed(frames) if "/airwork/" in f.filename), frames[-1])
            self.finding(raw, f"{type(fault).__name__} {Path(ours.filename).name}:{ours.lineno} {str(fault)[:120]}")
        self.slowest_s = max(self.slowest_s, time.perf_counter() - begun)
        if time.monotonic() - self.begun > NOTE_S:
            self.note()

    def finding(self, raw: bytes, said: str) -> None:
        place = " ".join(said.split()[:2])
        self.found += place not in self.seen
        if place in self.seen:
            return
        self.seen.add(place)
        folder = FINDINGS / self.what
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"{place.replace(' ', '_').replace('/', '_')}.bin").write_bytes(getattr(self.target, "last", raw))
        print(f"FOUND {self.what}: {said}", flush=True)

    def note(self) -> None:
        """Add what was done since the last note to the ledger."""
        path = CORPUS / "reached.json"
        ledger = json.loads(path.read_text()) if path.exists() else {}
        line = ledger.setdefault(self.what, {"inputs": 0, "past_first_check": 0, "findings": 0, "hours": 0.0,
                                             "slowest_s": 0.0})  # fmt: skip
        now = time.monotonic()
        line["inputs"] += self.inputs
        line["past_first_check"] += self.passed
        line["findings"] += self.found
        line["hours"] = round(line["hours"] + (now - self.begun) / 3600.0, 3)
        line["slowest_s"] = round(max(line["slowest_s"], self.slowest_s), 2)
        path.write_text(json.dumps(dict(sorted(ledger.items())), indent=1) + "\n")
        self.inputs = self.passed = self.found = 0
        self.begun = now


def fuzz(run: Run, arguments: list[str], grown: Path) -> None:
    """Never returns: the fuzzer ends the process."""
    limits = [f"-max_len={LONGEST}", f"-timeout={SLOW_S:.0f}", "-rss_limit_mb=3000", f"-artifact_prefix={grown}/"]
    atheris.Setup([sys.argv[0], *limits, str(grown), *arguments], run.one)  # new inputs go into the first folder
    atheris.Fuzz()


def choose(run: Run, arguments: list[str]) -> None:
    """Things: choice after choice, going on where the last run stopped."""
    wanted = dict(a.lstrip("-").split("=") for a in arguments)
    runs, ends = int(wanted.get("runs", -1)), time.monotonic() + float(wanted.get("max_total_time", 1e9))
    ledger = CORPUS / "reached.json"
    before = json.loads(ledger.read_text()).get(run.what, {}).get("inputs", 0) if ledger.exists() else 0
    for n in itertools.count():
        if n == runs or time.monotonic() > ends:
            break
        pick = random.Random(before + n)
        run.one(pick.randbytes(4 * pick.choice((1, 1, 1, 2, 3))))
    run.note()


def keep(run: Run, grown: Path) -> None:
    """Of the stored and the new inputs the shortest that together reach every line all of them reach."""
    reached: set[tuple[str, int]] = set()
    lines: set[tuple[str, int]] = set()

    def tracer(frame: Any, event: str, _what: Any) -> Any:
        if "/airwork/" not in frame.f_code.co_filename:
            return None
        if event == "line":
            lines.add((frame.f_code.co_filename, frame.f_lineno))
        return tracer

    fuzz_targets.DEEP = sys.maxsize  # what readers reach is asked, not what a debrief does
    there = sorted([*(CORPUS / run.what).iterdir(), *grown.iterdir()], key=lambda p: (p.stat().st_size, p.name))
    kept, room = [], ROOM
    for path in there:
        raw = path.read_bytes()
        lines.clear()
        sys.settrace(tracer)
        run.one(raw)
        sys.settrace(None)
        if lines - reached and len(raw) <= room:
            reached |= lines
            room -= len(raw)
            kept.append(raw)
    shutil.rmtree(CORPUS / run.what)
    (CORPUS / run.what).mkdir()
    for raw in kept:
        (CORPUS / run.what / hashlib.sha256(raw).hexdigest()[:16]).write_bytes(raw)


def sums() -> None:
    """What all runs came to, as the table of docs/reliability.md has it."""
    for what, line in json.loads((CORPUS / "reached.json").read_text()).items():
        print(f"| {what} | {line['inputs']:,} | {line['past_first_check']:,} | {line['findings']} |")


def main() -> None:
    if WHAT == "sums":
        sums()
        return
    if WHAT not in fuzz_targets.TARGETS:
        sys.exit(__doc__)
    arguments = sys.argv[2:]
    if WHAT in fuzz_targets.THINGS:
        choose(Run(WHAT), arguments)
        return
    if arguments[:1] == ["--in"]:
        for k, raw in enumerate(fuzz_targets.target(WHAT).seeds()):
            (Path(arguments[1]) / f"seed{k}").write_bytes(raw)
        fuzz(Run(WHAT), arguments[2:], Path(arguments[1]))
    (CORPUS / WHAT).mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="airwork-fuzz-") as folder:
        given = [a for a in arguments if a != "--keep"]
        subprocess.run([sys.executable, __file__, WHAT, "--in", folder, *given, str(CORPUS / WHAT)], check=False)
        if "--keep" in arguments:
            keep(Run(WHAT), Path(folder))


if __name__ == "__main__":
    main()
