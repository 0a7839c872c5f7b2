"""Ten tasks at the pages, done in real Chromium with counted clicks and keys; first paint, weight, and a changed value.

  python bench/tasks.py

A click is a press of the mouse or a choice in a list; a field is one value typed. Errors are tasks that did not end
where they should. The tasks are done by a script that knows the way: what it counts is the shortest way there is, not
how long somebody new looks for it.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from playwright.sync_api import sync_playwright

from web.browsing import CHROMIUM, serving
from web.conftest import PASSWORDS, School, build_school, short_recording

TEACHER = "Emmett Dray"
LESSON = "/?lesson=stalls_over_the_lake"
TIMES = 15


@dataclass
class Hand:
    """Somebody at the page, counted."""

    page: Any
    clicks: int = 0
    fields: int = 0

    def click(self, what: Any) -> None:
        self.clicks += 1
        what.click()

    def choose(self, where: str, value: str) -> None:
        self.clicks += 1
        self.page.locator(where).first.select_option(value)

    def type(self, where: str, text: str) -> None:
        self.fields += 1
        self.page.locator(where).first.fill(text)

    def button(self, name: str) -> None:
        self.click(self.page.get_by_role("button", name=name).first)

    def link(self, name: str) -> None:
        self.click(self.page.get_by_role("link", name=name).first)


def print_a_card(h: Hand, s: School) -> bool:
    """print the card of today's lesson"""
    with h.page.expect_download() as got:
        h.link("the card (PDF)")
    return got.value.path().read_bytes().startswith(b"%PDF")


def new_lesson(h: Hand, s: School) -> bool:
    """plan a lesson for Jan from what to fly next, fuel dipped"""
    h.link("Students")
    h.link("Jan Ruiz")
    h.link("plan a lesson with these")
    h.button("write the lesson")
    h.type("[name='people/0/weight']", "160 lb")
    h.type("[name='fuel/left wing']", "18")
    h.type("[name='fuel/right wing']", "18")
    h.page.wait_for_selector("#numbers > .verdict")
    h.button("save these values")
    h.page.wait_for_selector(".done")
    return "Written" in h.page.locator(".done").text_content()


def hotter(h: Hand, s: School) -> bool:
    """see what 10 °C more would do to the takeoff"""
    h.click(h.page.get_by_text("What if: hotter"))
    h.type("input[name='new/if/temperature']", "10")
    h.page.wait_for_selector("#what-if-shown tbody tr")
    return "takeoff" in h.page.locator("#what-if-shown").text_content()


def earlier_exercise(h: Hand, s: School) -> bool:
    """fly the steep turn one exercise earlier"""
    h.button("Steep turn: earlier")
    h.page.wait_for_function("() => location.search.includes('exercises=')")
    return h.page.locator("#numbers tbody tr").nth(2).text_content().find("Steep turn") >= 0


def bring_a_recording(h: Hand, s: School) -> bool:
    """debrief a recording with its airplane"""
    h.link("Debrief")
    h.choose("select[name=airplane]", "larkmoor_155")
    h.clicks += 1
    raw = short_recording().replace(b"2025-09-20", b"2025-11-02")
    h.page.set_input_files("#recording", {"name": "bench.csv", "mimeType": "text/csv", "buffer": raw})
    h.button("debrief")
    h.page.wait_for_selector("section.episode", state="attached", timeout=120_000)
    return True


def enter_it(h: Hand, s: School) -> bool:
    """enter that flight in the logbook as dual"""
    h.link("enter this flight in the logbook")
    h.choose("select[name=student]", s.jan)
    h.click(h.page.get_by_label("dual: training received"))
    h.button("enter it")
    h.page.wait_for_load_state("networkidle")
    if h.page.locator("input[name=sure]").count():
        h.click(h.page.locator("input[name=sure]"))
        h.button("enter it")
    h.page.wait_for_selector(".done")
    return "entered" in h.page.locator(".done").text_content()


def take_it_back(h: Hand, s: School) -> bool:
    """take that entry back"""
    h.click(h.page.locator(".take-back summary"))
    h.click(h.page.locator(".take-back button"))
    h.page.wait_for_url("**/students/*")
    return True


def begin_an_airplane(h: Hand, s: School) -> bool:
    """begin an airplane from its handbook and type its tanks"""
    h.link("Airplanes")
    h.link("add an airplane")
    h.type("[name=name]", "Bench 160")
    h.button("begin")
    h.page.wait_for_selector("#page-of-book")
    h.click(h.page.locator(".parts nav a:has-text('Fuel')").first)
    h.page.wait_for_selector("#page-of-book")
    for name, value in (("name", "both"), ("usable_us_gal", "36")):
        h.type(f"[name='tanks/0/{name}']", value)
    h.page.wait_for_function("() => document.getElementById('progress').textContent.includes('has 1 of')")
    return True


def who_is_due(h: Hand, s: School) -> bool:
    """find who is due and which training is unsigned"""
    h.link("School")
    due, unsigned = (h.page.locator(f"#{name} + .scroll") for name in ("due", "unsigned"))
    return "due" in due.text_content() and unsigned.count() == 1


def take_along(h: Hand, s: School) -> bool:
    """take the lesson along without a network"""
    h.page.wait_for_selector("#take-along:visible")
    h.button("take it along")
    h.page.wait_for_selector("text=taken along")
    return True


TASKS: tuple[tuple[str, Callable[[Hand, School], bool]], ...] = (
    (LESSON, print_a_card), ("/", new_lesson), (LESSON, hotter), (LESSON, earlier_exercise), ("/", bring_a_recording),
    ("", enter_it), ("", take_it_back), ("/", begin_an_airplane), ("/", who_is_due), (LESSON, take_along),
)  # fmt: skip


def measure(browser: Any, at: str, cookies: Any) -> None:
    """First paint, weight and a changed value of Today, the median of several."""
    paints, weights, values = [], [], []
    for _ in range(5):  # each a browser that has never been here, nothing kept
        context = browser.new_context(base_url=at, viewport={"width": 1280, "height": 800}, service_workers="block")
        context.add_cookies(cookies)
        page = context.new_page()
        page.goto(LESSON)
        page.wait_for_load_state("networkidle")
        paints.append(page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime"))
        weights.append(page.evaluate(
            "performance.getEntriesByType('resource').reduce((s, r) => s + r.transferSize, "
            "performance.getEntriesByType('navigation')[0].transferSize)"))  # fmt: skip
    for n in range(TIMES):
        done = page.evaluate(
            "async (text) => { const field = document.querySelector(\"[name='weather/temperature']\");"
            " const box = document.getElementById('numbers'), begun = performance.now();"
            " const shown = new Promise((r) => document.addEventListener('airwork:shown', r, { once: true }));"
            " field.value = text; field.dispatchEvent(new Event('input', { bubbles: true })); await shown;"
            " return performance.now() - begun; }", f"{18 + n % 12} °C")  # fmt: skip
        values.append(done)
    paint, value = statistics.median(paints), statistics.median(values)
    print(f"load {os.getloadavg()[0]:.0f}: first paint {paint:.0f} ms, {max(weights) / 1e6:.2f} MB; a changed value "
          f"{value:.0f} ms (150 of it waits for the next key)")  # fmt: skip


def main() -> int:
    """Do them all; the number that went wrong."""
    wrong, begun = 0, time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        school = build_school(Path(folder))
        with serving(school.app.state.settings, school.app) as at, sync_playwright() as started:
            browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
            page = browser.new_context(base_url=at, viewport={"width": 1280, "height": 800}).new_page()
            page.goto("/login")
            page.get_by_label("name").fill(TEACHER)
            page.get_by_label("password").fill(PASSWORDS[TEACHER])
            page.get_by_role("button", name="log in").click()
            page.wait_for_selector(f"text={TEACHER}")
            print(f"{'task':<62}clicks  fields  seconds")
            for where, task in TASKS:
                if where:
                    page.goto(where)
                hand, start = Hand(page), time.perf_counter()
                try:
                    good, why = task(hand, school), ""
                except Exception as problem:  # a task that can't be done is counted, and the others go on
                    good, why = False, str(problem).splitlines()[0][:90]
                wrong += not good
                said = (task.__doc__ or "").strip()
                took = time.perf_counter() - start
                print(f"{said:<62}{hand.clicks:>6}{hand.fields:>8}{took:>9.1f}{'' if good else f'  FAILED {why}'}")
            measure(browser, at, page.context.cookies())
            browser.close()
    print(f"{len(TASKS) - wrong} of {len(TASKS)} done, {time.perf_counter() - begun:.0f} s")
    return wrong


if __name__ == "__main__":
    raise SystemExit(main())
