"""Ten sentences of somebody new at the pages, done in real Chromium by what the words on the screen say.

  python bench/sentences.py

Each is a wish as a person says it, and the words such a person would look for, in the order of trying: a button, link
or fold that carries the first of them is pressed. Counted are presses and choices, typed fields, words that were not on
the screen, and complaints the page made on the way. Written before the pages were looked at for it; the words of those
that missed stay, so that a change of the pages shows in the counts.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from playwright.sync_api import sync_playwright

from web.browsing import CHROMIUM, log_in, serving
from web.conftest import build_school

TEACHER, FLIGHT = "Emmett Dray", ("Flight of", "20 September", "nora.csv")


class Newcomer:
    """Somebody who reads the screen."""

    def __init__(self, page: Any) -> None:
        self.page, self.presses, self.fields, self.missed = page, 0, 0, []

    def _seen(self, found: Any) -> Any:
        return next((found.nth(k) for k in range(found.count()) if found.nth(k).is_visible()), None)

    def press(self, *words: str) -> None:
        for word in words:
            places = [self.page.get_by_role(role, name=word) for role in ("button", "link")]
            for found in (*places, self.page.locator("summary", has_text=word)):
                if (one := self._seen(found)) is not None:
                    one.click()
                    self.presses += 1
                    self.page.wait_for_load_state()
                    self.page.wait_for_timeout(400)
                    return
            self.missed.append(f"no {word!r}")
        raise LookupError(words)

    def labeled(self, words: str) -> Any:
        fields = self.page.locator("input, select, textarea")
        exact, part = (self.page.get_by_label(words, exact=e).and_(fields) for e in (True, False))
        one = self._seen(exact) or self._seen(part)
        if one is None:
            raise LookupError(words)
        return one

    def type(self, words: str, text: str) -> None:
        self.labeled(words).fill(text)
        self.fields += 1
        self.page.wait_for_timeout(900)

    def choose(self, words: str, part: str) -> None:
        one = self.labeled(words)
        options = one.locator("option").all_text_contents()
        one.select_option(index=next((k for k, o in enumerate(options) if part in o), -1))
        self.presses += 1
        self.page.wait_for_timeout(700)

    def tick(self, words: str) -> None:
        self.labeled(words).check()
        self.presses += 1

    def complained(self) -> bool:
        said = self._seen(self.page.get_by_role("alert"))
        if said is not None:
            self.missed.append(f"told: {said.inner_text().splitlines()[0]!r}")
        return said is not None

    def text(self, where: str = "main") -> str:
        return str(self.page.locator(where).first.inner_text())

    def flight(self) -> None:
        self.press("Debrief")
        self.press(*FLIGHT)


def card(n: Newcomer) -> bool:
    """Eighteen gallons in each wing, is that enough? And print the card."""
    n.type("left wing", "18")
    n.type("right wing", "18")
    enough = "reserve" in n.text("#numbers")
    with n.page.expect_download() as got:
        n.press("card")
    return enough and got.value.path().read_bytes().startswith(b"%PDF")


def kind(n: Newcomer) -> bool:
    """Number 2 was no climb worth a line: take it out."""
    n.flight()
    n.choose("maneuver", "Climb")
    n.press("put right", "wrong")
    n.choose("it was", "no maneuver")
    n.press("grade anew", "put it right")
    return not n.complained()


def lost(n: Newcomer) -> bool:
    """Where in the slow flight was the altitude lost?"""
    n.flight()
    n.choose("maneuver", "Slow flight")
    return "altitude" in n.text(".episode.shown") and n.page.locator("#live .plot").count() > 1


def airplane(n: Newcomer) -> bool:
    """Add my airplane."""
    n.press("Airplanes")
    n.press("add", "new airplane")
    n.type("What people call it", "Fieldfare 112")
    n.press("begin")
    return "Fieldfare 112" in n.text("h1")


def again(n: Newcomer) -> bool:
    """Was the second clearing turn better than the first?"""
    n.flight()
    options = n.labeled("maneuver").locator("option").all_text_contents()
    n.choose("maneuver", [o for o in options if "Clearing turn" in o][1])
    n.choose("beside it", ", at ")
    return bool(n.page.locator("#panel-2").is_visible())


def weight(n: Newcomer) -> bool:
    """Nora is 155 lb now. Keep it."""
    n.page.locator("[name='people/0/weight']").fill("155 lb")
    n.fields += 1
    n.page.wait_for_timeout(1500)
    n.press("save")
    return "148 lb → 155 lb" in n.text(".done")


def entered(n: Newcomer) -> bool:
    """I gave her an hour of dual on 14 June: into the logbook."""
    n.press("Students")
    n.press("Nora Whitlock")
    n.press("enter a flight")
    n.tick("dual")
    n.type("start, local", "2026-06-14 09:00")
    n.type("end, local", "10:00")
    n.choose("instructor", TEACHER) if "none" in n.labeled("instructor").locator(
        "option:checked"
    ).inner_text() else None
    n.press("enter it")
    if n.complained():
        n.tick("all the same")
        n.press("enter it")
    return "dual" in n.text()


def endorsed(n: Newcomer) -> bool:
    """She may go solo in the Wrenbrook: endorse her."""
    n.press("Students")
    n.press("Nora Whitlock")
    n.press("endorse")
    n.choose("endorsement", "solo, make and model")
    n.press("endorse")
    if n.complained():
        n.type("make and model", "Wrenbrook 108")
        n.press("endorse")
    return "Wrenbrook 108" in n.text()


def sent(n: Newcomer) -> bool:
    """Send her the debrief, to look at at home."""
    n.flight()
    with n.page.expect_download() as got:
        n.press("send", "share")
    return got.value.suggested_filename.startswith("debrief-")


def due(n: Newcomer) -> bool:
    """Who has not flown for long? Plan a lesson for them."""
    n.press("School")
    n.press("plan a lesson")
    n.press("write the lesson")
    return "A new lesson" in n.text()


SENTENCES: tuple[Callable[[Newcomer], bool], ...] = (
    card, kind, lost, airplane, again, weight, entered, endorsed, sent, due
)  # fmt: skip


def main() -> int:
    """Do them all; the number that came to nothing."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        school = build_school(Path(folder))
        with serving(school.app.state.settings, school.app) as at, sync_playwright() as started:
            browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
            context = browser.new_context(base_url=at, viewport={"width": 1280, "height": 800}, service_workers="block")
            page = context.new_page()
            page.set_default_timeout(15_000)
            log_in(page, TEACHER)
            print(f"load {os.getloadavg()[0]:.0f}; presses, fields, what was missed")
            for one in SENTENCES:
                page.goto("/")
                n = Newcomer(page)
                try:
                    good = one(n)
                except Exception as problem:  # what can't be done is counted, and the others go on
                    good = False
                    n.missed.append(f"STUCK {type(problem).__name__} {str(problem)[:80]!r}")
                wrong += not good
                print(
                    f"{n.presses:>3}{n.fields:>3} {'' if good else 'NOT DONE '}{(one.__doc__ or '').strip()} {n.missed}"
                )
            browser.close()
    print(f"{len(SENTENCES) - wrong} of {len(SENTENCES)} done")
    return wrong


if __name__ == "__main__":
    raise SystemExit(main())
