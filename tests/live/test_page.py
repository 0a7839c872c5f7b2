"""The page of a followed flight: what is sent to it, what may be posted, who may look."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from airwork.lesson.plan import Planned
from airwork.live.calls import CALLS
from airwork.live.follower import Follower
from airwork.live.page import app
from airwork.live.reading import Sample
from airwork.live.running import Running
from airwork.recording.marks import marks_beside


@pytest.fixture
def running(plan: Planned, tmp_path: Path) -> Iterator[Running]:
    """A loop that is stepped by hand."""
    made = Running(Follower(plan, tmp_path / "live.csv", time.time()), stepped=True)
    for k in range(20):
        made.follower.take(Sample("sim", 0.1 * k, float("nan"), {"indicated_altitude_m": 1900.0, "ias_mps": 48.0}))
    made._publish(made.follower.tick(2.0))
    yield made
    made.follower.close()
    made._pool.shutdown()


def taken(running: Running) -> None:
    """What was asked for, done."""
    while not running._lines.empty():
        running._one(running._lines.get())


def test_the_stream_sends_the_screen_and_ends_with_the_flight(running: Running) -> None:
    running.finished = False
    client = TestClient(app(running))
    with client.stream("GET", "/events") as answer:
        events = {}
        for line in answer.iter_lines():
            if line.startswith("event: "):
                name = line.removeprefix("event: ")
            elif line.startswith("data: "):
                events[name] = json.loads(line.removeprefix("data: "))
                if name == "dials":
                    running.finished = True
                    running._wake()
    assert set(events["calls"]) == set(CALLS)
    assert events["screen"]["title"]
    assert len(events["screen"]["numbers"]) <= 3
    assert "over" in events


def test_a_mark_is_kept_at_once_and_a_call_silenced(running: Running) -> None:
    client = TestClient(app(running))
    assert client.post("/say/mark", content=json.dumps({"words": "too low"})).status_code == 200
    assert client.post("/say/silence", content=json.dumps({"call": "glide", "silent": True})).status_code == 200
    taken(running)
    assert running.follower.marks[0].words == "too low"
    assert [m.words for m in marks_beside(running.follower.recording)] == ["too low"]
    assert running.follower.calls.silenced == {"glide"}


def test_what_comes_next_can_be_chosen(running: Running) -> None:
    client = TestClient(app(running))
    last = running.follower.order.left[-1]
    assert client.post("/say/next", content=json.dumps({"exercise": last})).status_code == 200
    taken(running)
    screen = running.follower.tick(3.0)
    assert screen.left[0][0] == last
    assert (screen.state, screen.title) == ("next", screen.left[0][1])


def test_a_devices_own_position_is_a_source(running: Running) -> None:
    client = TestClient(app(running))
    client.post("/say/position", content=json.dumps({"latitude": 45.0, "longitude": -110.0, "altitude": None}))
    taken(running)
    found = running.follower.watch.get("latitude_rad", 0.0)
    assert found is not None
    assert found.value == pytest.approx(0.7853981634)


@pytest.mark.parametrize(
    ("what", "body", "status"),
    [("silence", '{"call": "all", "silent": true}', 400), ("mark", "nonsense", 400), ("fly", "{}", 400),
     ("next", '{"exercise": "steep"}', 400),
     ("position", '{"latitude": "north"}', 400), ("mark", json.dumps({"words": "x" * 3000}), 413)],
)  # fmt: skip
def test_what_is_posted_in_nonsense_is_refused(running: Running, what: str, body: str, status: int) -> None:
    assert TestClient(app(running)).post(f"/say/{what}", content=body).status_code == status


def test_beyond_this_machine_only_the_key_opens_it_and_no_other_page_posts(running: Running) -> None:
    client = TestClient(app(running, "secret"))
    assert client.get("/").status_code == 403
    assert client.post("/say/mark", content="{}").status_code == 403
    assert client.get("/?key=secret").status_code == 200  # and sets a cookie
    assert client.post("/say/mark", content="{}").status_code == 200
    elsewhere = {"origin": "http://elsewhere.example"}
    assert client.post("/say/mark", content="{}", headers=elsewhere).status_code == 403


def test_the_page_fetches_nothing_from_elsewhere(running: Running) -> None:
    client = TestClient(app(running))
    for path in ("/", "/follow.css", "/follow.js"):
        assert "//" not in client.get(path).text.replace("// Listens", "").replace("//  ", "").replace("{  // the", "")
    assert "default-src 'self'" in client.get("/").headers["content-security-policy"]
