"""A school's worth of recordings through `airwork debrief … --into`: flights a second, memory, size.

    python bench/many_flights.py [flights] [workers] [tables of]

The recordings are the first minutes of the demo's, each with bytes of its own (small on purpose: what grows with the
number of flights shows sooner). Prints the rate, processor time for each flight, the parent's and the largest worker's
memory after a quarter and at the end, the folder's size, and how long a second run over what is done takes. With a
third number the verdicts are then copied under made-up names until there are so many, and the tables written of them:
it is the tables' memory and time that are asked, not the debriefs.
"""

from __future__ import annotations

import gzip
import resource
import sys
import tempfile
import time
from pathlib import Path

from airwork.jobs import many
from airwork.jobs.files import demo_folder

ROWS = 1500


def main() -> None:
    flights = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    workers = int(sys.argv[2]) if len(sys.argv) > 2 else 2
    with gzip.open(demo_folder() / "recordings" / "2025-09-20_stalls_over_the_lake.csv.gz", "rb") as whole:
        lines = whole.readlines()
    with tempfile.TemporaryDirectory() as folder:
        place, into = Path(folder) / "in", Path(folder) / "out"
        place.mkdir()
        into.mkdir()
        for n in range(flights):
            (place / f"flight_{n:05d}.csv").write_bytes(b"".join(lines[: ROWS + n % 997]) + b"#" * (n // 997 + 1))
        order = many.Order(str(into))
        files = many.recordings_in([place], into)
        begun = time.perf_counter()
        wrong, quarter = 0, (0.0, 0.0)
        for n, outcome in enumerate(many.debrief_many(files, order, workers=workers), 1):
            wrong += bool(outcome.problem)
            if n == flights // 4:
                quarter = memory_mb()
        took = time.perf_counter() - begun
        spent = resource.getrusage(resource.RUSAGE_CHILDREN)
        rows = many.tables(into)
        own, largest = memory_mb()
        print(f"{flights} flights, {workers} workers: {flights / took:.2f} a second, {wrong} wrong")
        print(f"processor: {(spent.ru_utime + spent.ru_stime) / flights:.3f} s for each flight")
        print(f"memory: {quarter[0]:.0f} MB after a quarter, {own:.0f} MB at the end; largest worker {largest:.0f} MB")
        size = sum(p.stat().st_size for p in into.rglob("*") if p.is_file())
        print(f"size: {size / flights / 1e3:.0f} kB for each flight; {rows['maneuvers']} maneuvers")
        begun = time.perf_counter()
        done = list(many.debrief_many(files, order, workers=workers))
        print(f"again: {time.perf_counter() - begun:.1f} s, {sum(o.done_before for o in done)} were done before")
        if len(sys.argv) > 3:
            copied_tables(into, order, int(sys.argv[3]))


def copied_tables(into: Path, order: many.Order, wanted: int) -> None:
    """The tables of so many verdicts, most of them copies."""
    place = into / "verdicts" / order.judged
    there = sorted(place.iterdir())
    for n in range(len(there), wanted):
        (place / f"{n:064x}.json").hardlink_to(there[n % len(there)])
    before, begun = memory_mb()[0], time.perf_counter()
    rows = many.tables(into)
    took = time.perf_counter() - begun
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"tables of {wanted} verdicts, copies: {took:.0f} s, {rows['criteria']} criteria; "
          f"{before:.0f} MB before, {memory_mb()[0]:.0f} MB after, {peak:.0f} MB at most")  # fmt: skip


def memory_mb() -> tuple[float, float]:
    """Of this process now, and of the largest of its children that have ended."""
    text = Path("/proc/self/status").read_text("utf-8")
    own = next(float(line.split()[1]) for line in text.splitlines() if line.startswith("VmRSS"))
    return own / 1024.0, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0


if __name__ == "__main__":
    main()
