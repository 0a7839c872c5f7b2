"""A server that runs on: readers and recordings at a low rate, for an hour; memory, errors and open files meanwhile.

    python bench/soak.py [seconds]

Six people of a school (`bench/school_day.py`) read a page every five to fifteen seconds; each brings another recording
every ten minutes. Prints the server's memory, its workers' and its open files every five minutes, and what went wrong.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from fifty import report
from school_day import CHIEF, TEACHERS, Person, open_school

EACH_S, THINK_S, AGAIN_S = 300.0, (5.0, 15.0), 600.0


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 3600.0
    with tempfile.TemporaryDirectory(prefix="airwork-soak-") as folder:
        school = open_school(Path(folder), CHIEF + TEACHERS + 4)
        try:
            begun, flights = time.monotonic(), list[str]()
            who = (0, 1, *range(CHIEF + TEACHERS, CHIEF + TEACHERS + 4))
            people = [
                Person(school, n, begun + seconds, THINK_S, 20.0 * k, flights, again_s=AGAIN_S)
                for k, n in enumerate(who)
            ]
            for one in people:
                one.start()
            while any(one.is_alive() for one in people):
                say(school, begun, people)
                until = time.monotonic() + EACH_S
                while time.monotonic() < until and any(one.is_alive() for one in people):
                    time.sleep(1.0)
            say(school, begun, people)
            report(people, time.monotonic() - begun)
        finally:
            school.stop()


def say(school, begun: float, people: list[Person]) -> None:
    """One line of how things stand."""
    pages, wrong = sum(len(one.took) for one in people), sum(len(one.wrong) for one in people)
    print(
        f"{time.monotonic() - begun:6.0f} s: server {school.memory_mb():.0f} MB, {school.open_files()} open files; "
        f"workers {school.workers_mb():.0f} MB; {pages} pages, {wrong} wrong",
        flush=True,
    )


if __name__ == "__main__":
    main()
