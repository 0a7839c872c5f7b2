"""A school's worth of recordings through `airwork debrief … --into`: flights a second, memory, size.

    python bench/many_flights.py [flights] [workers] [tables of]
    python bench/many_flights.py [flights] --killed        a run killed in the middle, and another that goes on

The recordings are the first minutes of the demo's, each with bytes of its own (small on purpose: what grows with the
number of flights shows sooner). Prints the rate, processor time for each flight, how much of their time the workers had
work (running, or ready to run and waiting for a processor: other programs on the machine don't move it), the parent's
and the largest worker's memory, the folder's size, and how long a second run over what is done takes. Scaling by
processor time is the work's share with two workers over that with one, times the cost of a flight with one over that
with two. With a third number the verdicts are then copied under made-up names until there are so many, and the tables
written of them: it is the tables' memory and time that are asked, not the debriefs.
"""

from __future__ import annotations

import gzip
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from threading import Event, Thread

import polars as pl

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from airwork.jobs import many
from airwork.jobs.files import demo_folder
from airwork.jobs.verdict_tables import write_tables

ROWS = 1500
LOOKS_S = 0.25


class Workers(Thread):
    """What this process's children do meanwhile, as the kernel counts it."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.over = Event()
        self.seen: dict[int, tuple[float, float, float]] = {}  # child -> (first seen, last seen, had work) [s]

    def run(self) -> None:
        """Look now and then."""
        while not self.over.wait(LOOKS_S):
            for child in _children():
                try:
                    tasks = [p.read_text().split() for p in Path(f"/proc/{child}/task").glob("*/schedstat")]
                except OSError:
                    continue  # has ended
                now, work = time.monotonic(), sum(int(t[0]) + int(t[1]) for t in tasks) / 1e9
                self.seen[child] = (self.seen.get(child, (now - work,))[0], now, work)

    @property
    def share(self) -> float:
        """Of their time, in which they had work."""
        self.over.set()
        return sum(work for _, _, work in self.seen.values()) / sum(b - a for a, b, _ in self.seen.values())


def _children() -> list[int]:
    found: set[int] = set()
    for task in Path("/proc/self/task").iterdir():  # a pool starts its processes from a thread of its own
        found |= {int(p) for p in (task / "children").read_text().split()}
    return sorted(found)


def recordings(place: Path, flights: int) -> None:
    """So many files, no two alike."""
    with gzip.open(demo_folder() / "recordings" / "2025-09-20_stalls_over_the_lake.csv.gz", "rb") as whole:
        lines = whole.readlines()
    place.mkdir()
    for n in range(flights):
        (place / f"flight_{n:05d}.csv").write_bytes(b"".join(lines[: ROWS + n % 997]) + b"#" * (n // 997 + 1))


def main() -> None:
    """Make them, debrief them, say it."""
    numbers = [int(a) for a in sys.argv[1:] if not a.startswith("-")]
    flights = numbers[0] if numbers else 200
    with tempfile.TemporaryDirectory() as folder:
        place, into = Path(folder) / "in", Path(folder) / "out"
        recordings(place, flights)
        into.mkdir()
        if "--killed" in sys.argv:
            killed(place, into, flights)
        else:
            on_cores(place, into, flights, numbers[1] if len(numbers) > 1 else 2)
            if len(numbers) > 2:
                copied_tables(into, many.Order(str(into)), numbers[2])


def on_cores(place: Path, into: Path, flights: int, workers: int) -> None:
    """All of them on this machine."""
    order = many.Order(str(into))
    files = many.recordings_in([place], into)
    watched = Workers()
    watched.start()
    begun = time.perf_counter()
    wrong, quarter = 0, (0.0, 0.0)
    for n, outcome in enumerate(many.debrief_many(files, order, workers=workers), 1):
        wrong += bool(outcome.problem)
        if n == flights // 4:
            quarter = memory_mb()
    took = time.perf_counter() - begun
    spent, share = resource.getrusage(resource.RUSAGE_CHILDREN), watched.share
    ended = memory_mb()
    rows = write_tables(into)
    own, largest = memory_mb()
    print(f"{flights} flights, {workers} workers: {flights / took:.2f} a second, {wrong} wrong")
    print(f"processor: {(spent.ru_utime + spent.ru_stime) / flights:.4f} s for each flight; "
          f"the workers had work {share:.1%} of their time")  # fmt: skip
    print(f"memory: {quarter[0]:.0f} MB after a quarter, {ended[0]:.0f} MB at the end, {own:.0f} MB with the tables "
          f"written; largest worker {largest:.0f} MB")  # fmt: skip
    size = sum(p.stat().st_size for p in into.rglob("*") if p.is_file())
    print(f"size: {size / flights / 1e3:.0f} kB for each flight; {rows['maneuvers']} maneuvers")
    begun = time.perf_counter()
    done = list(many.debrief_many(files, order, workers=workers))
    print(f"again: {time.perf_counter() - begun:.1f} s, {sum(o.done_before for o in done)} were done before")


def killed(place: Path, into: Path, flights: int) -> None:
    """The command killed once a third of the verdicts are there, then run again."""
    command = [sys.executable, "-m", "airwork", "debrief", str(place), "--into", str(into), "--json"]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as first:
        while len(list(into.glob("verdicts/*/*.json"))) < flights // 3:
            assert first.poll() is None
            time.sleep(LOOKS_S)
        first.send_signal(signal.SIGKILL)
    time.sleep(3 * LOOKS_S + 1.0)  # its workers look each second whether it is still there
    there = len(list(into.glob("verdicts/*/*.json")))
    again = subprocess.run([*command[:-1]], capture_output=True, text=True, check=True)
    print(f"killed with {there} of {flights} judged; run again: {again.stdout.splitlines()[0]}")
    exactly_once(into, flights)


def exactly_once(into: Path, flights: int) -> None:
    """Each flight stands in the tables once, and nothing half-written lies about."""
    times = Counter(pl.read_parquet(into / "flights.parquet")["sha256"].to_list())
    odd = [p.name for p in into.rglob("*") if p.is_file() and p.suffix not in {".json", ".parquet"}]
    print(f"in the table: {len(times)} of {flights} flights, each {'once' if set(times.values()) == {1} else times}; "
          f"{len(odd)} files left half-written")  # fmt: skip


def copied_tables(into: Path, order: many.Order, wanted: int) -> None:
    """The tables of so many verdicts, most of them copies."""
    place = into / "verdicts" / order.judged
    there = sorted(place.iterdir())
    for n in range(len(there), wanted):
        (place / f"{n:064x}.json").hardlink_to(there[n % len(there)])
    before, begun = memory_mb()[0], time.perf_counter()
    rows = write_tables(into)
    took = time.perf_counter() - begun
    print(f"tables of {wanted} verdicts, copies: {took:.0f} s, {rows['criteria']} criteria; "
          f"{before:.0f} MB before, {memory_mb()[0]:.0f} MB after; their process {memory_mb()[1]:.0f} MB")  # fmt: skip


def memory_mb() -> tuple[float, float]:
    """Of this process now, and of the largest of its children that have ended."""
    text = Path("/proc/self/status").read_text("utf-8")
    own = next(float(line.split()[1]) for line in text.splitlines() if line.startswith("VmRSS"))
    return own / 1024.0, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0


if __name__ == "__main__":
    os.environ.setdefault("POLARS_MAX_THREADS", "1")
    main()
