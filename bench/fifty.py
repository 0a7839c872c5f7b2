"""Fifty people at the pages at once while recordings are brought: how long a page takes, whether any recording is lost.

    python bench/fifty.py [seconds]

A server of its own, as `airwork serve` runs it for a school (debriefs in a process of theirs). Each of the fifty opens
one page after another (today, a flight, its map, the airplanes, the students, the desk) and thinks for one to three
seconds in between; each brings one recording in the time. Prints the median, p95 and worst of the pages, the longest
wait of a recording, the server's memory.
"""

from __future__ import annotations

import gzip
import os
import random
import re
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

import httpx2 as httpx

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from web.conftest import _make_folder, short_recording

PEOPLE, THINK_S = 50, (1.0, 3.0)
PAGES = ("/", "/debriefs", "{flight}", "{flight}/map.json", "/airplanes", "/airplanes/larkmoor_155", "/students")
ORIGIN = "http://127.0.0.1:{port}"


def serve(folder: Path, port: int) -> int:
    """The server's process."""
    child = os.fork()
    if child:
        return child
    import uvicorn

    from airwork.web.app import create_app
    from airwork.web.settings import Settings

    app = create_app(Settings(folder=folder, port=port, processes=1))
    uvicorn.run(app, port=port, log_level="error", access_log=False)
    os._exit(0)


class Person(threading.Thread):
    """One browser."""

    def __init__(self, number: int, base: str, flight: str, ends: float, raw: bytes) -> None:
        super().__init__()
        self.pick, self.base, self.flight, self.ends = random.Random(number), base, flight, ends
        self.raw, self.begun = raw, time.monotonic()
        self.bring_at = time.monotonic() + self.pick.uniform(0.0, 0.6) * (ends - time.monotonic())
        self.took: list[float] = []
        self.wrong: list[str] = []
        self.waited_s = float("nan")

    def run(self) -> None:
        with httpx.Client(base_url=self.base, timeout=120.0, headers={"origin": self.base}) as browser:
            browser.get("/")
            mine, brought = "", 0.0
            while time.monotonic() < self.ends or (mine and self.waited_s != self.waited_s):
                if not mine and time.monotonic() > self.bring_at:
                    brought, mine = time.monotonic(), self.bring(browser)
                if mine and self.waited_s != self.waited_s:
                    page = self.timed(browser, mine)
                    if "queue for a debrief" not in page and "Being debriefed" not in page:
                        self.waited_s = time.monotonic() - brought
                        if 'class="problem"' in page:
                            self.wrong.append("a recording was refused")
                else:
                    self.timed(browser, self.pick.choice(PAGES).format(flight=self.flight))
                time.sleep(self.pick.uniform(*THINK_S))

    def timed(self, browser: httpx.Client, page: str) -> str:
        begun = time.monotonic()
        answer = browser.get(page)
        self.took.append(time.monotonic() - begun)
        if answer.status_code != 200:
            self.wrong.append(f"{page}: {answer.status_code}")
        return answer.text

    def bring(self, browser: httpx.Client) -> str:
        token = re.search(r'name="token" value="([^"]+)"', browser.get("/debriefs").text)[1]  # type: ignore[index]
        sent = {"token": token, "airplane": "larkmoor_155"}
        answer = browser.post("/debriefs", data=sent, files={"recording": (f"{self.ident}.csv", self.raw)})
        if answer.status_code != 303:
            self.wrong.append(f"bringing: {answer.status_code} {answer.text[:200]}")
        return answer.headers.get("location", "/debriefs")


def memory_mb(pid: int) -> float:
    text = Path(f"/proc/{pid}/status").read_text()
    return int(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1024.0  # type: ignore[index]


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    folder = Path(tempfile.mkdtemp(prefix="airwork-fifty-"))
    _make_folder(folder)
    port, raw = 8900 + os.getpid() % 90, short_recording(6000)
    base = ORIGIN.format(port=port)
    server = serve(folder, port)
    try:
        for _ in range(200):
            try:
                httpx.get(base)
                break
            except httpx.TransportError:
                time.sleep(0.1)
        first = Person(0, base, "", time.monotonic() + 1.0, raw)
        with httpx.Client(base_url=base, timeout=120.0, headers={"origin": base}) as browser:
            browser.get("/")
            flight = first.bring(browser)
            while "queue for a debrief" in (page := browser.get(flight).text) or "Being debriefed" in page:
                time.sleep(0.3)
        before = memory_mb(server)
        people = [Person(n, base, flight, time.monotonic() + seconds, raw) for n in range(1, PEOPLE + 1)]
        for one in people:
            one.start()
        for one in people:
            one.join()
        took = sorted(t for one in people for t in one.took)
        wrong = [w for one in people for w in one.wrong]
        waited = [one.waited_s for one in people if one.waited_s == one.waited_s]
        load = os.getloadavg()[0]
        print(f"{PEOPLE} people, {seconds:.0f} s, {len(took)} pages, load {load:.1f} on {os.cpu_count()} processors")
        p95 = took[int(0.95 * len(took))]
        print(f"page: median {statistics.median(took):.3f} s, p95 {p95:.3f} s, worst {took[-1]:.3f} s")
        size = len(gzip.compress(raw)) / 1e6
        print(f"{len(waited)} recordings of {size:.1f} MB packed brought; the longest waited {max(waited):.0f} s")
        print(f"server: {before:.0f} MB before, {memory_mb(server):.0f} MB after")
        print(f"wrong: {wrong[:5] or 'nothing'}")
    finally:
        os.kill(server, 15)


if __name__ == "__main__":
    main()
