"""Fifty people at the pages at once while recordings are brought: how long a page takes, whether any recording is lost.

    python bench/fifty.py [seconds]

Fifty people log in at the same moment (`bench/school_day.py` says who they are and what they read), think one to three
seconds between pages, and each brings one recording in the first 60 % of the time. Prints the median, p95 and worst of
the pages, of each kind, and of the log-ins; the longest wait of a recording; the server's memory.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from pathlib import Path

from school_day import Person, open_school

PEOPLE, THINK_S = 50, (1.0, 3.0)


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    with tempfile.TemporaryDirectory(prefix="airwork-fifty-") as folder:
        school = open_school(Path(folder), PEOPLE)
        try:
            flights: list[str] = []
            first = Person(school, 0, time.monotonic() + 4.0, (0.3, 0.6), 0.0, flights)
            first.start()
            first.join()
            before = school.memory_mb()
            ends = time.monotonic() + seconds
            bring = [0.6 * seconds * (7 * n % PEOPLE) / PEOPLE for n in range(PEOPLE)]
            people = [Person(school, n, ends, THINK_S, bring[n], flights) for n in range(PEOPLE)]
            for one in people:
                one.start()
            while any(one.is_alive() for one in people):
                time.sleep(0.5)
            report(people, seconds)
            print(
                f"server: {before:.0f} MB before, {school.memory_mb():.0f} MB after; {school.open_files()} open files"
            )
        finally:
            school.stop()


def report(people: list[Person], seconds: float) -> None:
    """The figures."""
    by_kind: dict[str, list[float]] = defaultdict(list)
    for one in people:
        for kind, took in one.took:
            by_kind[kind].append(took)
    pages = [t for kind, took in by_kind.items() if kind != "log-in" for t in took]
    waited = [w for one in people for w in one.waited_s]
    wrong = [w for one in people for w in one.wrong]
    load = os.getloadavg()[0]
    print(f"{len(people)} people, {seconds:.0f} s, {len(pages)} pages, load {load:.1f} on {os.cpu_count()} processors")
    for kind, took in (("pages", pages), *sorted(by_kind.items())):
        took.sort()
        p95 = took[int(0.95 * len(took))]
        print(
            f"{kind:28} {len(took):5}: median {statistics.median(took):.3f} s, p95 {p95:.3f} s, worst {took[-1]:.3f} s"
        )
    print(f"{len(waited)} recordings brought; the longest waited {max(waited, default=0.0):.0f} s")
    print(f"wrong: {wrong[:5] or 'nothing'}")


if __name__ == "__main__":
    main()
