"""The page of a followed flight in real Chromium, at a tablet's size: fed, tapped, left without data."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from airwork.live.follower import Follower
from airwork.live.now import live_plan
from airwork.live.page import app
from airwork.live.reading import Sample
from airwork.live.running import Running
from airwork.recording.marks import marks_beside
from airwork.units import from_unit
from airwork.web.settings import Settings
from web.browsing import AXE, CHROMIUM, REQUIRED, RULES, WAIT_MS, Watched, serving

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
TABLET = {"width": 1024, "height": 768}


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    """The demo's lesson followed, ten minutes after it was begun, over its field."""
    plan = live_plan("demo")
    place = plan.lesson.place
    made = Running(Follower(plan, tmp_path / "live.csv", time.time()), stepped=True)
    for k in range(100):
        made.follower.take(Sample("sim", 0.1 * k, plan.lesson.start_utc_s + 600.0 + 0.1 * k, {
            "latitude_rad": place.latitude_rad, "longitude_rad": place.longitude_rad, "rpm": 2400.0,
            "indicated_altitude_m": from_unit(6500.0, "ft"), "ias_mps": from_unit(95.0, "kt"), "track_rad": 1.0,
            "groundspeed_mps": from_unit(100.0, "kt"), "bank_rad": 0.0, "vertical_speed_mps": 0.0}))  # fmt: skip
    made._publish(made.follower.tick(10.0))
    yield made
    made.finished = True
    made._wake()
    made.follower.close()
    made._pool.shutdown()


def test_few_huge_numbers_one_tap_to_mark_and_gray_when_nothing_comes(
    running: Running, chromium, tmp_path: Path
) -> None:
    with serving(Settings(folder=tmp_path), app(running)) as address, Watched.on(chromium, address) as watched:
        page = watched.page
        page.set_viewport_size(TABLET)
        page.add_init_script("window.setInterval = (look) => { window.lookNow = look; }")  # the page's own look at its
        page.goto("/")  # watch, which would turn it gray in the middle of this test
        page.locator("#numbers .number").first.wait_for()
        expect(page.locator("#title")).to_have_text(running.screen.title)
        assert 0 < page.locator("#numbers .number").count() <= 3
        size = "e => parseFloat(getComputedStyle(e).fontSize)"
        assert page.locator("#title").evaluate(size) >= 40
        assert page.locator("#numbers b").first.evaluate(size) >= 40
        inside = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert inside[0] <= inside[1]
        mark = page.locator("#mark").bounding_box()
        assert mark["y"] + mark["height"] <= TABLET["height"]  # in reach without scrolling
        page.click("#mark")
        running._one(running._lines.get(timeout=WAIT_MS / 1000.0))
        assert len(marks_beside(running.follower.recording)) == 1
        page.click("summary")
        expect(page.locator("#steps li").nth(2)).to_be_visible()  # how the next exercise is flown
        if AXE.is_file() or REQUIRED:
            page.evaluate(AXE.read_text(encoding="utf-8"))
            for night in (False, True):
                if night:
                    page.click("#night")
                found = page.evaluate("r => axe.run(document, {runOnly: r})", RULES)["violations"]
                assert [(v["id"], n["target"]) for v in found for n in v["nodes"]] == []
        running._publish(running.follower.tick(40.0))  # half a minute of silence
        expect(page.locator("body")).to_have_class(re.compile("gray"))
        expect(page.locator("#data")).to_contain_text("gone")
        page.evaluate("heard -= 5000; lookNow()")  # nor a word from the program itself
        expect(page.locator("#data")).to_contain_text(re.compile(r"No word from airwork for \d+ s"))
