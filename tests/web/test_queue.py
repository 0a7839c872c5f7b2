"""Recordings brought wait in a queue while the pages answer; none is lost, whoever dies."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event

import pytest

from airwork.web import workshop as workshops
from airwork.web.desk import new_about
from airwork.web.settings import Settings
from airwork.web.workshop import Workshop
from jobs.dying import who_works
from web.conftest import Browser, new_app


def until(done: Callable[[], bool], most_s: float = 600.0) -> None:
    ends = time.monotonic() + most_s
    while not done():
        assert time.monotonic() < ends, "it never came"
        time.sleep(0.05)


@pytest.fixture(scope="module")
def busy(tmp_path_factory: pytest.TempPathFactory, make_folder: Callable[[Path], None]) -> Iterator[Browser]:
    """A server that debriefs in a process of its own."""
    folder = tmp_path_factory.mktemp("busy")
    make_folder(folder)
    patience, workshops.PATIENCE_S = workshops.PATIENCE_S, 0.0
    yield Browser(new_app(Settings(folder=folder, processes=1)))
    workshops.PATIENCE_S = patience


def bring(browser: Browser, raw: bytes, name: str = "flight.csv", airplane: str = "") -> str:
    """With an airplane the other process learns of it too, for a second."""
    answer = browser.post("/debriefs", {"airplane": airplane}, files={"recording": (name, raw)})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].rsplit("/", 1)[1]


def test_those_that_wait_see_their_place_and_then_their_flight(
    busy: Browser, short_csv: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked, shop = Event(), busy.client.app.state.workshop
    work = shop._finished
    monkeypatch.setattr(shop, "_finished", lambda about: looked.wait() and work(about))
    ids = [bring(busy, short_csv, f"flight_{n}.csv", "larkmoor_155" if n == 1 else "") for n in range(2)]
    last = busy.get(f"/debriefs/{ids[-1]}")
    assert "in the queue" in last.text or "Being debriefed" in last.text
    assert busy.get(f"/debriefs/{ids[-1]}.json").status_code == 409  # nothing of it is worked out beside the queue
    assert busy.get("/").status_code == 200  # the pages answer meanwhile
    looked.set()
    until(lambda: not shop.place(ids[-1]))
    for one in ids:
        assert "Climb" in busy.get(f"/debriefs/{one}").text
        assert not busy.client.app.state.desk.is_waiting(busy.client.app.state.desk.find(one))
    assert busy.client.app.state.desk._open == {}  # and the server's own memory holds none of them


def test_papers_and_corrections_are_made_beside_the_server_and_do_not_wait_for_the_queue(
    busy: Browser, short_csv: bytes
) -> None:
    state, one = busy.client.app.state, bring(busy, short_csv)
    until(lambda: not state.workshop.place(one))
    waits = bring(busy, short_csv, "behind.csv")
    assert busy.get(f"/debriefs/{one}.json").json()["episodes"]
    assert busy.get(f"/debriefs/{one}/debrief.pdf").content[:5] == b"%PDF-"
    assert "Climb" in busy.get(f"/debriefs/{one}/report.html").text
    answer = busy.post(f"/debriefs/{one}/about", {"airplane": "larkmoor_155", "standard": "commercial", "zone": "UTC"})
    assert answer.status_code == 303, answer.text
    assert "commercial" in busy.get(f"/debriefs/{one}").text
    assert busy.post(f"/debriefs/{one}/elevation", {"elevation": "a hill"}).status_code == 422
    assert state.desk.find(one).elevation == ""
    assert state.desk._open == {}  # the server's own memory holds no debrief
    until(lambda: not state.workshop.place(waits))


def test_a_process_killed_over_a_recording_costs_it_one_more_try(busy: Browser, short_csv: bytes) -> None:
    shop = busy.client.app.state.workshop
    one, two = bring(busy, short_csv), bring(busy, short_csv)
    until(lambda: shop._debriefs._pool is not None and bool(shop._debriefs._pool._processes))
    for process in list(shop._debriefs._pool._processes.values()):
        os.kill(process.pid, signal.SIGKILL)
    until(lambda: not shop.place(two))
    assert "Climb" in busy.get(f"/debriefs/{one}").text
    assert "Climb" in busy.get(f"/debriefs/{two}").text


MASTER = """
import os, signal
if __name__ == "__main__":  # what they work for needs all of airwork, they themselves do not
    from airwork.jobs import workers
    for pool in (workers.pool(1, 50, low_priority=True), workers.light_pool(1, 50)):
        print(pool.submit(os.getpid).result(), pool.submit(os.nice, 0).result() - os.nice(0), flush=True)
    os.kill(os.getpid(), signal.SIGKILL)
"""


def test_a_worker_ends_with_its_parent_and_leaves_the_processor_to_pages(tmp_path: Path) -> None:
    (tmp_path / "master.py").write_text(MASTER, "utf-8")
    done = subprocess.run([sys.executable, str(tmp_path / "master.py")], capture_output=True, text=True, check=False)
    assert done.stdout, done.stderr
    (server, server_back), (batch, batch_back) = (map(int, line.split()) for line in done.stdout.splitlines())
    assert server_back == min(10, 19 - os.nice(0))  # niceness ends at 19
    assert batch_back == 0
    for process in (server, batch):
        until(lambda at=Path(f"/proc/{process}"): not at.exists() or " Z " in (at / "stat").read_text())


def test_what_cannot_be_read_is_said_on_its_page_and_is_off_the_desk(busy: Browser) -> None:
    one = bring(busy, b"item,price\nmilk,1\nbread,2\n", "shopping.csv")
    until(lambda: not busy.client.app.state.workshop.place(one))
    answer = busy.get(f"/debriefs/{one}")
    assert answer.status_code == 422
    assert "shopping.csv" in answer.text
    assert str(busy.client.app.state.desk.path) not in answer.text
    assert busy.client.app.state.desk.find(one) is None


def test_what_has_unknown_columns_stays_for_somebody_to_say_what_they_are(busy: Browser) -> None:
    from web.test_columns import nameless

    one = bring(busy, nameless(200), "unknown.csv")
    until(lambda: not busy.client.app.state.workshop.place(one))
    assert busy.get(f"/debriefs/{one}").headers["location"] == f"/debriefs/{one}/columns"
    assert busy.get(f"/debriefs/{one}/columns").status_code == 200
    busy.client.app.state.desk.remove(busy.client.app.state.desk.find(one))


def test_what_waits_when_the_server_stops_is_taken_up_again(
    busy: Browser, short_csv: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, debriefs = busy.client.app.state.desk, busy.client.app.state.workshop._debriefs
    monkeypatch.setattr(workshops, "Elsewhere", lambda *_, **__: debriefs)
    raw = tmp_path / "left.csv"
    raw.write_bytes(short_csv)
    with raw.open("rb") as source:
        left = desk.add(source, "left.csv", new_about(airplane="larkmoor_155"), later=True)
    again = Workshop(busy.client.app)  # another queue; the process it works in is the one that runs
    assert again.place(left.id) == 1
    until(lambda: not again.place(left.id))
    assert not desk.is_waiting(left)
    assert "Climb" in busy.get(f"/debriefs/{left.id}").text
    desk.remove(left)  # while its airplane may still be learned from it
    assert not (desk.path / left.id).exists()


def test_one_person_does_not_fill_the_queue(busy: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    shop = Workshop(busy.client.app)
    shop._queue.extend((str(n), "Nora") for n in range(workshops.MOST_WAITING))
    with pytest.raises(workshops.InputError, match="waiting"):
        shop.require_room("Nora", 1)
    shop.require_room("Jan", 1)
    shop.require_room("", 1)  # whoever sits at the machine itself
    monkeypatch.setattr(workshops, "HOURLY_BYTES", 100)
    shop.require_room("Ida", 60)
    with pytest.raises(workshops.InputError, match="in an hour"):
        shop.require_room("Ida", 60)


def test_a_process_that_holds_much_when_its_work_is_done_ends(busy: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a large recording leaves behind goes back to the machine, not only at the next one."""
    own = busy.client.app.state.workshop._debriefs
    about = new_about()
    first = own.run(who_works, about)
    assert own.run(who_works, about) == first
    monkeypatch.setattr(workshops, "KEPT_MB", 1.0)
    assert own.run(who_works, about) == first
    until(lambda: not Path(f"/proc/{first}").exists() or " Z " in Path(f"/proc/{first}/stat").read_text())
    assert own._pool is None
