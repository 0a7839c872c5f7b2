"""Coverage-guided fuzzing of everything that others may hand in: only an AirworkError may escape, in one line.

    pip install atheris
    python bench/fuzz.py csv --minutes 10
    python bench/fuzz.py all --minutes 5    so long for each that is not yet at its aim
    python bench/fuzz.py sums               what all runs so far came to, into docs/reliability.md

Readers: csv igc gpx kml nmea json parquet arrow; bytes are changed, led by what of the program they reach, from the
stored inputs of `bench/corpus/WHAT`; `--keep` brings new ones of worth back into it. Things: lesson airplane import
csv_cells json_cells arrow_columns parquet_columns; a good one is changed where it has a value, so that the first check
is passed; each run goes on with new choices. Findings go to `bench/findings/WHAT` and do not stop the run; how far all
runs came is added up in `bench/corpus/reached.json`, also by several at once.
"""

from __future__ import annotations

import argparse
import fcntl
import hashlib
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
PAGE = HERE.parent / "docs" / "reliability.md"
sys.path[:0] = [str(HERE), str(HERE.parent / "tests")]

SRC = HERE.parent / "src"
NOT_MEASURED = [
    ".".join(path.relative_to(SRC).with_suffix("").parts).removesuffix(".__init__")
    for path in SRC.rglob("*.py") if "recording" not in path.parts
]  # fmt: skip  # by name, one by one: the library takes no packages here
if "--in" in sys.argv:  # the process that is led by what of the readers it reaches
    with atheris.instrument_imports(include=["airwork.recording"], exclude=NOT_MEASURED, enable_loader_override=False):
        import fuzz_targets
else:
    import fuzz_targets

from airwork.errors import AirworkError  # noqa: E402

SLOW_S = 20.0  # the promise for any file; the fuzzer stops at it
LONGEST = 2500
NOTE_S = 3.0
ROOM = 100_000  # bytes of stored inputs for each reader
AIM_READ, AIM_PAST = 1_000_000, 100_000  # inputs of a reader, by bytes and by cells; past the first check of a thing


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
        now = time.monotonic()
        with (CORPUS / "reached.json").open("r+") as file:
            fcntl.flock(file, fcntl.LOCK_EX)  # another run may add its own
            ledger = json.load(file)
            line = ledger.setdefault(self.what, {"inputs": 0, "past_first_check": 0, "findings": 0, "hours": 0.0,
                                                 "slowest_s": 0.0})  # fmt: skip
            line["inputs"] += self.inputs
            line["past_first_check"] += self.passed
            line["findings"] += self.found
            line["hours"] = round(line["hours"] + (now - self.begun) / 3600.0, 4)
            line["slowest_s"] = round(max(line["slowest_s"], self.slowest_s), 2)
            file.seek(0)
            file.truncate()
            file.write(json.dumps(dict(sorted(ledger.items())), indent=1) + "\n")
        self.inputs = self.passed = self.found = 0
        self.begun = now


def fuzz(run: Run, minutes: float, folders: list[str]) -> None:
    """Never returns: the fuzzer ends the process. New inputs go into the first folder."""
    limits = [f"-max_len={LONGEST}", f"-timeout={SLOW_S:.0f}", "-rss_limit_mb=3000", f"-artifact_prefix={folders[0]}/"]
    atheris.Setup([sys.argv[0], *limits, f"-max_total_time={minutes * 60:.0f}", *folders], run.one)
    atheris.Fuzz()


def choose(run: Run, minutes: float) -> None:
    """Things: choice after choice, each run with others."""
    ends, pick = time.monotonic() + 60.0 * minutes, random.Random(os.urandom(16))
    while time.monotonic() < ends:
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


def reached() -> dict[str, dict[str, Any]]:
    """The ledger of all runs."""
    return dict(json.loads((CORPUS / "reached.json").read_text()))


CALLED = {
    "csv": "CSV and its kin, bytes changed", "csv_cells": "CSV, cells changed", "igc": "IGC", "gpx": "GPX",
    "kml": "KML", "nmea": "NMEA", "json": "JSON, bytes changed", "json_cells": "JSON, cells changed",
    "parquet": "Parquet, bytes changed", "parquet_columns": "Parquet, columns changed", "arrow": "Arrow, bytes changed",
    "arrow_columns": "Arrow, columns changed", "lesson": "lesson files", "airplane": "airplane files",
}  # fmt: skip
BEGIN, END = "<!-- fuzzed: written by bench/fuzz.py sums -->", "<!-- end of fuzzed -->"


def sums() -> None:
    """What all runs came to, printed and written into docs/reliability.md."""
    ledger, rows = (
        reached(),
        ["| what | inputs | read, or past the first check | faults found |", "| --- | --- | --- | --- |"],
    )
    for what, line in ((w, ledger[w]) for w in CALLED if w in ledger):
        rows.append(f"| {CALLED[what]} | {line['inputs']:,} | {line['past_first_check']:,} | {line['findings']} |")
    hours = sum(line["hours"] for line in ledger.values())
    rows.append(f"\nIn {hours:.1f} hours of one processor, shared with other work for most of them.")
    text = PAGE.read_text("utf-8")
    before, after = text.partition(BEGIN)[0] + BEGIN, END + text.partition(END)[2]
    PAGE.write_text("\n".join([before, *rows, after]), "utf-8")
    print("\n".join(rows))


def is_at_its_aim(what: str) -> bool:
    """By the ledger."""
    line = reached().get(what, {"inputs": 0, "past_first_check": 0})
    if what in {"lesson", "airplane"}:
        return bool(line["past_first_check"] >= AIM_PAST)
    kin = [one for name, one in reached().items() if name.split("_")[0] == what.split("_")[0]]
    return sum(one["inputs"] for one in kin) >= AIM_READ


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=[*fuzz_targets.TARGETS, "all", "sums"])
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--keep", action="store_true", help="bring new inputs of worth into bench/corpus")
    parser.add_argument("--in", dest="into", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.what == "sums":
        sums()
    elif asked.what == "all":
        for what in fuzz_targets.TARGETS:
            if not is_at_its_aim(what):
                subprocess.run([sys.executable, __file__, what, "--minutes", str(asked.minutes)], check=False)
    elif asked.what in fuzz_targets.THINGS:
        choose(Run(asked.what), asked.minutes)
    elif asked.into:
        for k, raw in enumerate(fuzz_targets.target(asked.what).seeds()):
            (Path(asked.into) / f"seed{k}").write_bytes(raw)
        fuzz(Run(asked.what), asked.minutes, [asked.into, str(CORPUS / asked.what)])
    else:
        (CORPUS / asked.what).mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix="airwork-fuzz-") as folder:
            words = [sys.executable, __file__, asked.what, "--in", folder, "--minutes", str(asked.minutes)]
            subprocess.run(words, check=False, stderr=subprocess.DEVNULL)
            if asked.keep:
                keep(Run(asked.what), Path(folder))


if __name__ == "__main__":
    main()
