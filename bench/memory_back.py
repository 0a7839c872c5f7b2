"""What a server holds after a burst of work, and whether it gives it back: pages and recordings as fast as they go.

    python bench/memory_back.py [rounds] [recordings in each]
    python bench/memory_back.py --large          three recordings of 29 MB, one after another

One round: so many recordings brought and debriefed, a paper of the last, every kind of page eight times as student,
instructor and chief. Prints the server's memory and its workers' after each; the aim is a line that stays level.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import httpx2 as httpx
from school_day import AIRPLANE, CHIEF, TEACHERS, Person, open_school

WORKED_OUT_S = 300.0


def main() -> None:
    if "--large" in sys.argv:
        large()
        return
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 8
    each = int(sys.argv[2]) if len(sys.argv) > 2 else 4
    with tempfile.TemporaryDirectory(prefix="airwork-memory-") as folder:
        school = open_school(Path(folder), CHIEF + TEACHERS + 1)
        try:
            people = [Person(school, n, 0.0, (0.0, 0.0), 0.0, []) for n in (0, 1, CHIEF + TEACHERS)]
            browsers = [
                httpx.Client(base_url=school.base, timeout=120.0, headers={"origin": school.base}) for _ in people
            ]
            for one, browser in zip(people, browsers, strict=True):
                one.log_in(browser)
            print(f"at the start: server {school.memory_mb():.0f} MB")
            for n in range(1, rounds + 1):
                mine = ""
                for _ in range(each):
                    mine = people[2].bring(browsers[2])
                    people[2].waited_s.append(0.0)  # so that the next is another recording
                    wait_for(browsers[2], mine)
                browsers[2].get(f"{mine}/debrief.pdf")
                student = school.people[CHIEF + TEACHERS][2]
                shared = ["/", "/debriefs", "/airplanes/larkmoor_155", mine, f"{mine}/map.json", f"/students/{student}"]
                for browser, more in zip(browsers, (["/students", "/school"], ["/students"], []), strict=True):
                    for address in (shared + more) * 8:
                        answer = browser.get(address)
                        assert answer.status_code == 200, (address, answer.status_code)
                time.sleep(2.0)
                print(
                    f"round {n}: server {school.memory_mb():.0f} MB, workers {school.workers_mb():.0f} MB, "
                    f"{school.open_files()} open files",
                    flush=True,
                )
        finally:
            school.stop()


def large() -> None:
    """Memory before, while they are taken in, and once they are debriefed."""
    from attacks import csv

    raw = csv(300_000, 0.1, 8)
    with tempfile.TemporaryDirectory(prefix="airwork-memory-") as folder:
        school = open_school(Path(folder), CHIEF + TEACHERS + 1)
        try:
            one = Person(school, CHIEF + TEACHERS, 0.0, (0.0, 0.0), 0.0, [])
            with httpx.Client(base_url=school.base, timeout=300.0, headers={"origin": school.base}) as browser:
                one.log_in(browser)
                for address in ("/", "/debriefs", "/airplanes/larkmoor_155"):
                    browser.get(address)
                print(f"before: server {school.memory_mb():.0f} MB")
                for n in range(3):
                    data = {
                        "token": one._token(browser, "/debriefs"),
                        "airplane": AIRPLANE,
                        "student": school.people[-1][2],
                    }
                    files = {"recording": (f"{n}.csv", raw + b"\n" * n)}
                    mine = browser.post("/debriefs", data=data, files=files).headers["location"]
                    print(f"{len(raw) / 1e6:.0f} MB taken in: server {school.memory_mb():.0f} MB", flush=True)
                wait_for(browser, mine)
                time.sleep(3.0)
                print(f"all debriefed: server {school.memory_mb():.0f} MB, workers {school.workers_mb():.0f} MB")
        finally:
            school.stop()


def wait_for(browser: httpx.Client, address: str) -> None:
    """Until a recording is debriefed."""
    ends = time.monotonic() + WORKED_OUT_S
    while time.monotonic() < ends:
        text = browser.get(address).text
        if "queue for a debrief" not in text and "Being debriefed" not in text:
            return
        time.sleep(0.3)
    sys.exit(f"{address} was not debriefed in {WORKED_OUT_S:.0f} s")


if __name__ == "__main__":
    main()
