"""How quick the pages are: first paint of a two-hour 10 Hz flight, bytes sent, a changed value, memory over uploads.

    python bench/web_speed.py                   # needs Chromium and playwright
    python bench/web_speed.py --uploads 1000    # memory of the server over so many uploads, each taken off again

The two-hour recording is the demo's, read between its samples at 10 Hz and flown twice in a row: its size and its
number of maneuvers are real, its second hour is the first again. Times are wall-clock on the machine this is run on.
"""

from __future__ import annotations

import argparse
import csv
import gzip
import http.client
import io
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

import airwork

DEMO = Path(airwork.__file__).parent / "demo_files"
RECORDING = DEMO / "recordings" / "2025-09-20_stalls_over_the_lake.csv.gz"
RATE_HZ, LENGTH_S = 10.0, 7200.0


def two_hours() -> bytes:
    """A two-hour 10 Hz recording as CSV."""
    with gzip.open(RECORDING, "rt", encoding="utf-8", newline="") as source:
        head, *rows = list(csv.reader(source))
    times = [datetime.fromisoformat(r[0].replace("Z", "+00:00")) for r in rows]
    seconds = np.array([(t - times[0]).total_seconds() for t in times])
    wanted = np.arange(0.0, LENGTH_S, 1.0 / RATE_HZ)
    within = np.mod(wanted, seconds[-1])
    columns = []
    for k in range(1, len(head)):
        digits = max(len(r[k].partition(".")[2]) for r in rows)
        values = np.interp(within, seconds, [float(r[k] or "nan") for r in rows])
        columns.append([f"{v:.{digits}f}" for v in values.tolist()])
    stamps = [(times[0] + timedelta(seconds=float(s))).astimezone(UTC) for s in wanted]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(head)
    stamped = (f"{t:%Y-%m-%dT%H:%M:%S}.{t.microsecond // 100000}Z" for t in stamps)
    writer.writerows(zip(stamped, *columns, strict=True))
    return out.getvalue().encode()


class Server:
    """`airwork serve` on a folder of its own."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="airwork-web-"))
        for kind in ("lessons", "airplanes"):
            shutil.copytree(DEMO / kind, self.folder / kind)
        command = [sys.executable, "-m", "airwork", "serve", "--port", "0"]
        self.process = subprocess.Popen(
            [*command, "--folder", str(self.folder)], stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        assert self.process.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:(\d+)/", self.process.stdout.readline())
        assert found, "the server did not start"
        self.port = int(found[1])
        self.at = f"http://127.0.0.1:{self.port}"
        self.cookie = self.token = ""

    def stop(self) -> None:
        """End it and take its folder away."""
        self.process.terminate()
        self.process.wait(10)
        shutil.rmtree(self.folder)

    @property
    def memory_mb(self) -> float:
        """Resident memory. [MB]"""
        text = Path(f"/proc/{self.process.pid}/status").read_text(encoding="utf-8")
        return int(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1024  # type: ignore[index]

    def ask(self, method: str, path: str, body: bytes | None = None, kind: str = "") -> tuple[int, str, bytes]:
        """One request: status, where to next, body."""
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        headers = {"Origin": self.at, "Cookie": self.cookie, "Accept-Encoding": "gzip"}
        if kind:
            headers["Content-Type"] = kind
        link.request(method, path, body, headers)
        answer = link.getresponse()
        raw = answer.read()
        if answer.headers.get("set-cookie"):
            self.cookie = answer.headers["set-cookie"].split(";")[0]
        found = answer.status, answer.headers.get("location", ""), raw
        link.close()
        return found

    def open_session(self) -> None:
        """A cookie and a token."""
        page = self.ask("GET", "/debriefs")[2]
        text = gzip.decompress(page) if page[:2] == b"\x1f\x8b" else page
        self.token = re.search(r'name="token" value="([^"]+)"', text.decode())[1]  # type: ignore[index]

    def bring(self, raw: bytes) -> str:
        """Upload a recording; its address."""
        edge = "edge-of-a-part"
        fields = {"token": self.token, "airplane": "larkmoor_155", "standard": "private", "zone": "America/Denver"}
        parts = [
            f'--{edge}\r\nContent-Disposition: form-data; name="{n}"\r\n\r\n{v}\r\n'.encode() for n, v in fields.items()
        ]
        parts.append(f'--{edge}\r\nContent-Disposition: form-data; name="recording"; filename="f.csv"\r\n\r\n'.encode())
        body = b"".join([*parts, raw, f"\r\n--{edge}--\r\n".encode()])
        status, where, answer = self.ask("POST", "/debriefs", body, f"multipart/form-data; boundary={edge}")
        assert status == 303, answer[:500]
        return where


def pages(server: Server) -> None:
    """First paint, bytes, a changed value."""
    from playwright.sync_api import sync_playwright

    server.open_session()
    raw = two_hours()
    started = time.perf_counter()
    at = server.bring(raw)
    took = time.perf_counter() - started
    print(f"two-hour 10 Hz recording of {len(raw) / 1e6:.1f} MB brought and debriefed in {took:.2f} s")
    with sync_playwright() as playwright:
        path = shutil.which("chromium") or shutil.which("google-chrome")
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        paints, sent = [], 0.0
        for k in range(6):
            page = browser.new_context(base_url=server.at).new_page()
            page.goto(at)
            page.wait_for_selector("#flight-map canvas")
            paint = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
            total = "[...performance.getEntriesByType('resource'), ...performance.getEntriesByType('navigation')]"
            sent = page.evaluate(f"{total}.reduce((n, e) => n + e.transferSize, 0)")
            if k == 0:
                print(f"first paint, nothing kept yet: {paint:.0f} ms")
            else:
                paints.append(paint)
            page.context.close()
        scrub(browser.new_context(base_url=server.at, viewport={"width": 1280, "height": 800}).new_page(), at)
        middle, slowest = statistics.median(paints), max(paints)
        print(f"first paint after that: median {middle:.0f} ms, slowest {slowest:.0f} ms of {len(paints)}")
        print(f"sent before anything is touched: {sent / 1e6:.2f} MB")
        page = browser.new_context(base_url=server.at).new_page()
        page.goto("/")
        page.wait_for_selector("#path-map canvas")
        times = []
        for k in range(12):
            shown = page.text_content("#numbers")
            page.fill("[name='weather/temperature']", f"{10 + 2 * k} °C")
            page.wait_for_function("t => document.getElementById('numbers').textContent !== t", arg=shown)
            last = "performance.getEntriesByType('resource').filter(e => e.name.includes('numbers.json')).at(-1)"
            times.append(page.evaluate(f"{last}.responseEnd - {last}.startTime"))
        middle, slowest = statistics.median(times[2:]), max(times[2:])
        print(f"a changed value answered: median {middle:.0f} ms, slowest {slowest:.0f} ms")
        print("(after the 150 ms the page waits for more typing)")
        browser.close()


SCRUB = """async () => {  // the cursor moved to another moment in each frame, for three seconds
  const m = document.getElementById("moment"), end = Number(m.max), cost = [], frames = [];
  await new Promise((done) => {
    const first = performance.now();
    let last = first, n = 0;
    const step = (at) => {
      frames.push(at - last); last = at;
      m.value = (n++ * 7) % end;
      const begun = performance.now();
      m.dispatchEvent(new Event("input"));
      cost.push(performance.now() - begun);
      if (at - first < 3000) requestAnimationFrame(step); else done();
    };
    requestAnimationFrame(step);
  });
  for (const list of [cost, frames]) list.sort((a, b) => a - b);
  return [cost[cost.length >> 1], frames[frames.length >> 1], frames[Math.floor(frames.length * 0.95)]];
}"""


def scrub(page: Any, at: str) -> None:
    """How quick the cursor is over the whole flight: strip, map, gauges and plots."""
    page.goto(at)
    page.wait_for_selector(".screen.mapped")
    cost, frame, slow = page.evaluate(SCRUB)
    print(f"scrubbing: {cost:.1f} ms of script a moment; a frame each {frame:.1f} ms, 95th percentile {slow:.1f} ms")
    page.context.close()


def memory(server: Server, uploads: int) -> None:
    """Memory over many uploads, each looked at and taken off."""
    server.open_session()
    with gzip.open(RECORDING, "rb") as whole:
        raw = b"".join(line for _, line in zip(range(1500), whole, strict=False))
    for k in range(1, uploads + 1):
        at = server.bring(raw)
        assert server.ask("GET", at)[0] == 200
        form = f"token={server.token}".encode()
        assert server.ask("POST", f"{at}/remove", form, "application/x-www-form-urlencoded")[0] == 303
        if k in {1, 10, 50} or k % max(uploads // 10, 1) == 0:
            print(f"after {k:5d} uploads: {server.memory_mb:.0f} MB")


def main() -> None:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--uploads", type=int, default=0, help="memory over so many uploads instead")
    args = parser.parse_args()
    server = Server()
    try:
        if args.uploads:
            memory(server, args.uploads)
        else:
            pages(server)
    finally:
        server.stop()


if __name__ == "__main__":
    main()
