"""A school's server and the people at it, for the benches that load it (fifty.py, soak.py).

The server runs as `airwork serve` does once somebody is invited: logbook, accounts, debriefs in a process of their own.
Students read today's lesson, their desk, their flight and its map, the airplane and their own page; instructors any
student's; the chief the school's page too; one page in forty is a debrief on paper. Each brings a recording of their
own length.
"""

from __future__ import annotations

import os
import random
import re
import signal
import socket
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

import httpx2 as httpx

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from airwork.logbook.people import add_person
from airwork.logbook.store import open_store
from airwork.web.accounts import Account, Accounts
from airwork.web.settings import ACCOUNTS_FILE, Settings
from web.conftest import _make_folder, short_recording

TEACHERS, CHIEF = 5, 1  # of the people; the others are students
PAPER = 1 / 40  # of the pages
ROWS = 5000
AIRPLANE = "larkmoor_155"


def password(number: int) -> str:
    """Of one person."""
    return f"hay meadow {number} beyond the windmill"


@dataclass
class School:
    """A server that runs, and who is in it. people : (name, role, id in the logbook)."""

    folder: Path
    port: int
    people: list[tuple[str, str, str]]
    pid: int = 0

    @property
    def base(self) -> str:
        """The address."""
        return f"http://127.0.0.1:{self.port}"

    def stop(self) -> None:
        """End the server."""
        os.kill(self.pid, signal.SIGTERM)
        os.waitpid(self.pid, 0)

    def memory_mb(self) -> float:
        """Of the server's own process."""
        return _memory_mb(self.pid)

    def workers_mb(self) -> float:
        """Of the processes it debriefs in."""
        own = [p for p in Path("/proc").iterdir() if p.name.isdigit() and _parent(p) == self.pid]
        return sum(_memory_mb(int(p.name)) for p in own)

    def open_files(self) -> int:
        """Of the server's own process."""
        return sum(1 for _ in Path(f"/proc/{self.pid}/fd").iterdir())


def _memory_mb(pid: int) -> float:
    try:
        text = Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return 0.0
    found = re.search(r"VmRSS:\s+(\d+)", text)
    return int(found[1]) / 1024.0 if found else 0.0


def _parent(process: Path) -> int:
    try:
        return int((process / "stat").read_text().rpartition(")")[2].split()[1])
    except (OSError, IndexError):
        return 0


def open_school(folder: Path, people: int) -> School:
    """A school of so many people, served."""
    _make_folder(folder)
    book = folder / "logbook.sqlite"
    store, accounts = open_store(book, create=True), Accounts(folder / ACCOUNTS_FILE)
    who: list[tuple[str, str, str]] = []
    with store.change() as connection:
        for n in range(people):
            role = "chief" if n < CHIEF else "instructor" if n < CHIEF + TEACHERS else "student"
            one = add_person(
                connection, f"Person {n:02d}", now_utc_s=time.time(), student=role == "student",
                instructor=role != "student", time_zone="America/Denver",
            )  # fmt: skip
            who.append((one.name, role, one.id))
    store.close()
    for n, (name, role, person) in enumerate(who):
        accounts.set_password(Account(name, role, person), password(n))  # type: ignore[arg-type]
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    school = School(folder, port, who)
    school.pid = _serve(folder, school.port, str(book))
    for _ in range(300):
        try:
            httpx.get(school.base + "/login")
            break
        except httpx.TransportError:
            time.sleep(0.1)
    return school


def _serve(folder: Path, port: int, book: str) -> int:
    child = os.fork()
    if child:
        return child
    import uvicorn

    from airwork.web.app import create_app

    app = create_app(Settings(folder=folder, data=book, port=port, processes=1))
    uvicorn.run(app, port=port, log_level="error", access_log=False)
    os._exit(0)


@dataclass
class Person(threading.Thread):
    """One browser. took : (kind of page, seconds); waited_s : for the debrief of what they brought."""

    school: School
    number: int
    ends: float
    think_s: tuple[float, float]
    bring_s: float  # from the beginning
    flights: list[str]  # addresses anybody who teaches may look at
    took: list[tuple[str, float]] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    waited_s: list[float] = field(default_factory=list)
    again_s: float = float("inf")  # brings another so long after the one before

    def __post_init__(self) -> None:
        super().__init__(daemon=True)

    __hash__ = threading.Thread.__hash__

    def run(self) -> None:
        """Log in, read, bring."""
        pick, begun = random.Random(self.number), time.monotonic()
        bring_at, mine, waiting, brought = begun + self.bring_s, "", False, 0.0
        with httpx.Client(base_url=self.school.base, timeout=120.0, headers={"origin": self.school.base}) as browser:
            self.log_in(browser)
            while time.monotonic() < self.ends or waiting:
                if not waiting and time.monotonic() > bring_at and time.monotonic() < self.ends:
                    brought, mine, waiting = time.monotonic(), self.bring(browser), True
                    bring_at += self.again_s
                elif waiting:
                    page = self.get(browser, mine, "in the queue or just done")
                    if "queue for a debrief" not in page and "Being debriefed" not in page:
                        waiting = False
                        self.waited_s.append(time.monotonic() - brought)
                        self.flights.append(mine)
                else:
                    self.read(browser, pick, mine)
                time.sleep(pick.uniform(*self.think_s))

    def read(self, browser: httpx.Client, pick: random.Random, mine: str) -> None:
        """One page, with what it loads."""
        _, role, person = self.school.people[self.number]
        teaches = role != "student"
        flight = pick.choice(self.flights) if teaches and self.flights else mine
        if flight and pick.random() < PAPER:
            self.get(browser, f"{flight}/debrief.pdf", "paper")
            return
        student = pick.choice(self.school.people[CHIEF + TEACHERS :])[2] if teaches else person
        pages = ["/", "/debriefs", f"/airplanes/{AIRPLANE}", f"/students/{student}"]
        pages += ["/students"] if teaches else []
        pages += ["/school"] if role == "chief" else []
        pages += [flight, flight] if flight else []
        address = pick.choice(pages)
        self.get(browser, address, "debrief" if address == flight else address.replace(student, "ID"))
        if address == flight:
            self.get(browser, f"{flight}/map.json", "map")

    def get(self, browser: httpx.Client, address: str, kind: str) -> str:
        """A page, its time noted."""
        begun = time.monotonic()
        answer = browser.get(address)
        self.took.append((kind, time.monotonic() - begun))
        if answer.status_code != 200:
            self.wrong.append(f"{address}: {answer.status_code} {answer.text[:80]!r}")
        return answer.text if "html" in answer.headers.get("content-type", "") else ""

    def _token(self, browser: httpx.Client, page: str) -> str:
        found = re.search(r'name="token" value="([^"]+)"', browser.get(page).text)
        assert found, page
        return found[1]

    def log_in(self, browser: httpx.Client) -> None:
        """By name and password."""
        token = self._token(browser, "/login")
        sent = {"token": token, "name": self.school.people[self.number][0], "password": password(self.number)}
        begun = time.monotonic()
        answer = browser.post("/login", data=sent)
        self.took.append(("log-in", time.monotonic() - begun))
        if answer.status_code != 303:
            self.wrong.append(f"log-in: {answer.status_code}")

    def bring(self, browser: httpx.Client) -> str:
        """A recording of one's own."""
        _, role, person = self.school.people[self.number]
        sent = {"token": self._token(browser, "/debriefs"), "airplane": AIRPLANE}
        sent |= {"student": person} if role == "student" else {}
        rows = ROWS + 41 * self.number + 7 * len(self.waited_s)
        answer = browser.post(
            "/debriefs", data=sent, files={"recording": (f"{self.number}.csv", short_recording(rows))}
        )
        if answer.status_code != 303:
            self.wrong.append(f"bringing: {answer.status_code} {answer.text[-200:]!r}")
        return answer.headers.get("location", "/debriefs")
