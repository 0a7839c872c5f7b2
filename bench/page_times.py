"""How long every page takes, looked at for the first time and again: the demo's school with 200 flights.

    python bench/page_times.py [--flights 200] [--lessons 12] [--profile /day]

The demo is made anew; its student gets half of the flights, four more students the rest, and a day gets lessons of all
of them. Each page is asked for twice by a server that has just been started, in the order below; the processor's time
is what other programs don't move. A page's pictures and scripts are not in it.
"""

from __future__ import annotations

import argparse
import contextlib
import cProfile
import io
import os
import pstats
import re
import sys
import tempfile
import time
from datetime import date
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as in the command; before numpy is loaded
sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import numpy as np
import sqlalchemy as sa
from anyio import to_thread
from logbook_speed import fly
from starlette.testclient import TestClient

from airwork.cli import main as airwork
from airwork.logbook.people import add_person, find_person
from airwork.logbook.schema import airplane
from airwork.logbook.store import open_store
from airwork.web.app import create_app
from airwork.web.settings import Settings

ORIGIN = {"origin": "http://localhost"}
FLOWN_IN = "2025-09-20_stalls_over_the_lake.csv.gz"


def make_school(folder: Path, flights: int, lessons: int) -> str:
    """The demo with more flights, students and lessons of today; the identity of its own student."""
    with contextlib.redirect_stdout(io.StringIO()):
        airwork(["demo", "--into", str(folder), "--no-page"])
    store, rng = open_store(folder / "logbook.sqlite"), np.random.default_rng(1)
    with store.change() as connection:
        nora, emmett = (find_person(connection, name) for name in ("Nora Whitlock", "Emmett Dray"))
        plane = connection.execute(sa.select(airplane.c.id)).scalars().first()
        others = [add_person(connection, f"Student {n}", student=True, now_utc_s=time.time()) for n in range(4)]
    fly(store, nora.id, emmett.id, plane, flights // 2, rng)
    for one in others:
        fly(store, one.id, emmett.id, plane, flights // 8, rng)
    store.close()
    text = (folder / "lessons" / "stalls_over_the_lake.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^date = .*", f"date = {date.today()}", text)
    names = ["Nora Whitlock", *(one.name for one in others)]
    for n in range(lessons):
        own = re.sub(r"(?m)^time = .*", f'time = "{8 + n // 2:02d}:{30 * (n % 2):02d}"', text)
        own = own.replace("Nora Whitlock", names[n % 5]).replace("148 lb", f"{140 + n} lb")
        (folder / "lessons" / f"lesson_{n}.toml").write_text(own, encoding="utf-8")
    return nora.id


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--flights", type=int, default=200)
    parser.add_argument("--lessons", type=int, default=12)
    parser.add_argument("--profile", default="", help="an address: where the time of its first look goes")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "demo"
        nora = make_school(folder, args.flights, args.lessons)
        app = create_app(Settings(folder=folder, data=str(folder / "logbook.sqlite")))
        with TestClient(app, base_url="http://localhost", follow_redirects=False) as client:
            client.get("/login")
            debrief = _brought(client, folder / "recordings" / FLOWN_IN)
            flown = re.search(r'href="(/flights/[0-9a-f-]+)"', client.get(f"/students/{nora}").text)
            assert flown is not None
            app = create_app(Settings(folder=folder, data=str(folder / "logbook.sqlite")))
            pages = [
                "/", "/day", "/", "/today/numbers.json?lesson=lesson_3&new/if/x=1&weather/temperature=31 °C",
                "/today/what-if?lesson=lesson_3&new/if/temperature=5", "/today/card.pdf?lesson=lesson_3",
                "/chair?lesson=lesson_3", "/lessons/new", f"/lessons/new?student={nora}", "/debriefs", debrief,
                f"{debrief}.json", f"{debrief}/map.json", f"{debrief}/earlier.json?kind=steep_turn",
                f"{debrief}/enter", f"{debrief}/columns", f"{debrief}/debrief.pdf", f"{debrief}/report.html",
                "/airplanes", "/airplanes/larkmoor_155", "/airplanes/larkmoor_155/fields",
                "/airplanes/larkmoor_155/read-back", "/students", f"/students/{nora}", flown[1], f"{flown[1]}/correct",
                f"/flights/new?student={nora}", f"/people/{nora}", "/people/new", "/school", "/school/weak",
                "/map/around.json?west=-102.5&south=41&east=-101&north=42",
            ]  # fmt: skip
            with TestClient(app, base_url="http://localhost", follow_redirects=False) as fresh:
                fresh.get("/login")
                _look(fresh, pages, nora, args.profile)


def _brought(client: TestClient, recording: Path) -> str:
    token = re.search(r'name="token" value="([^"]+)"', client.get("/debriefs").text)
    assert token is not None
    sent = {"token": token[1], "airplane": "larkmoor_155", "standard": "private", "zone": "America/Denver"}
    answer = client.post(
        "/debriefs", data=sent, files={"recording": ("f.csv.gz", recording.read_bytes())}, headers=ORIGIN
    )
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def _look(client: TestClient, pages: list[str], nora: str, profiled: str) -> None:
    print(f"{'':<62}{'first':>8}{'CPU':>8}{'again':>8}{'CPU':>8} ms{'kB':>7}")
    for address in pages:
        line = f"{address.replace(nora, 'NORA')[:60]:<62}"
        for n in range(2):
            profile = cProfile.Profile() if address == profiled and n == 0 else None
            began, used = time.perf_counter(), time.process_time()
            answer = _profiled(client, address, profile) if profile else client.get(address)
            line += f"{1e3 * (time.perf_counter() - began):8.0f}{1e3 * (time.process_time() - used):8.0f}"
        print(f"{line}{len(answer.content) / 1e3:10.0f} {'' if answer.status_code == 200 else answer.status_code}")


def _profiled(client: TestClient, address: str, profile: cProfile.Profile) -> Any:
    """A page is made on a thread of its own: looked into there."""
    real = to_thread.run_sync

    async def looked_into(what: Any, *more: Any, **named: Any) -> Any:
        return await real(lambda *a: profile.runcall(what, *a), *more, **named)

    to_thread.run_sync = looked_into
    try:
        answer = client.get(address)
    finally:
        to_thread.run_sync = real
    pstats.Stats(profile).sort_stats("cumulative").print_stats(60)
    return answer


if __name__ == "__main__":
    main()
