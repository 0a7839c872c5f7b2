"""The cockpit without a network, in real Chromium: what was looked at is there again, and is nobody else's."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Error, expect

from web.browsing import CHROMIUM, REQUIRED, WAIT_MS, follow, log_in

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
OWN_CACHES = "async () => (await caches.keys()).filter((n) => n.startsWith('airwork-own-'))"
ONE_OTHER = f"async (before) => {{ const own = await ({OWN_CACHES})(); return own.length === 1 && own[0] !== before; }}"
NONE = f"async () => (await ({OWN_CACHES})()).length === 0"


def _log_in(page, name: str) -> None:
    log_in(page, name)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")


def _until(page, look: str, arg: object = None) -> None:
    """Until what an asynchronous look finds is so; `wait_for_function` takes the promise itself for an answer."""
    for _ in range(int(WAIT_MS / 100)):
        if page.evaluate(look, arg):
            return
        page.wait_for_timeout(100)
    pytest.fail(look)


@pytest.fixture
def phone(chromium, address: str) -> Iterator[object]:
    """A phone's width, its worker allowed."""
    context = chromium.new_context(base_url=address, viewport={"width": 390, "height": 844}, has_touch=True)
    yield context
    context.close()


def test_lesson_card_and_own_debrief_are_there_without_a_network_and_say_from_when(phone, school) -> None:
    page = phone.new_page()
    _log_in(page, "Nora Whitlock")
    came = page.url  # this page was there before the worker: it is asked for once more, without a word
    _until(page, "async (at) => (await caches.match(at)) !== undefined", came)
    numbers = page.locator("#numbers .tiles").text_content()
    _chair_without_a_network(phone, page)
    page.goto(came)
    card = page.locator("a[href^='/today/card.pdf']").get_attribute("href")
    page.goto(f"/debriefs/{school.debriefs['nora']}")
    expect(page.locator(".screen.mapped")).to_be_attached()
    page.wait_for_load_state("networkidle")
    phone.set_offline(True)
    page.goto(came)
    expect(page.locator(".offline")).to_contain_text("No network: this page is as it was at")
    expect(page.locator("#numbers .tiles")).to_have_text(numbers)
    page.set_viewport_size({"width": 1280, "height": 800})  # a laptop: the hidden form's column is given up
    whole, numbers_box = page.locator(".today").bounding_box(), page.locator("#numbers").bounding_box()
    assert numbers_box["width"] > 0.9 * whole["width"]
    page.goto(came)
    expect(page.locator(".offline")).to_be_visible()
    expect(page.locator("a[href^='/lessons/new']:visible, .take-back:visible")).to_have_count(0)
    page.wait_for_function("""() => { const map = document.querySelector('.leaflet-container');
        return map.querySelector('canvas').clientWidth >= map.clientWidth; }""")  # drawn over all of its width
    page.set_viewport_size({"width": 390, "height": 844})
    got = page.evaluate(
        "async (at) => { const r = await fetch(at); return [r.status, r.headers.get('content-type')]; }", card
    )
    assert got == [200, "application/pdf"]
    page.goto(f"/debriefs/{school.debriefs['nora']}")
    expect(page.locator(".offline")).to_be_visible()
    expect(page.locator("section.episode").first).to_be_attached()
    expect(page.locator(".screen.mapped")).to_be_attached()  # its map's data were kept too
    expect(page.locator("form[method=post]:visible, .share:visible")).to_have_count(0)  # nothing that needs the server
    page.locator("[data-view=map]").tap()
    expect(page.locator("#flight-map .airplane")).to_be_visible()
    page.goto("/day")
    expect(page.locator(".offline")).to_be_visible()
    expect(page.locator("h1")).not_to_have_text("No network")
    page.goto("/school")  # a page that is never kept says so too, in our own words
    expect(page.locator("h1")).to_have_text("No network")
    page.goto(f"/students/{school.nora}")  # never looked at here
    expect(page.locator("h1")).to_have_text("No network")
    phone.set_offline(False)


def _chair_without_a_network(phone, page) -> None:
    """Flown before the engine runs, beside the airplane: its styles, scripts and map come along with the lesson's page
    alone, though no chair was ever looked at.
    """
    expect(page.locator("#path-map .map-word").first).to_be_attached()
    page.locator("#take-along").click()
    expect(page.locator("#take-along")).to_contain_text("taken along")
    chair = page.locator("a[href^='/chair']").get_attribute("href")
    phone.set_offline(True)
    failed: list[str] = []

    def lost(one) -> None:
        failed.append(one.url)

    page.on("requestfailed", lost)
    page.reload()
    expect(page.locator(".offline")).to_be_visible()
    expect(page.locator("#path-map .map-word").first).to_be_attached()
    follow(page.locator("a[href^='/chair']"))
    assert page.url.endswith(chair)
    expect(page.locator(".screen.mapped")).to_be_attached()
    clock = page.locator("#clock").text_content()
    page.locator("#play").tap()
    expect(page.locator("#clock")).not_to_have_text(clock)
    assert not [one for one in failed if "/static/" in one or "/map/around" in one]
    page.remove_listener("requestfailed", lost)
    phone.set_offline(False)


def _no_number_is_left_standing(phone, page) -> None:
    """On a lesson's open page, when the server is gone."""
    page.locator("legend", has_text="Aboard").click()
    phone.set_offline(True)
    page.fill("[name='people/0/weight']", "199 lb")
    expect(page.locator("#numbers > .stale .tiles")).to_be_attached()
    expect(page.locator("#numbers > .tiles")).to_have_count(0)
    expect(page.locator("#numbers > .problem")).to_contain_text("of before this change")
    phone.set_offline(False)


def test_what_one_kept_is_gone_for_the_next_and_after_logging_out(phone, school) -> None:
    """Emmett reads Jan's debrief, then Nora logs in on the same phone: offline she gets neither it nor his list."""
    page = phone.new_page()
    _log_in(page, "Emmett Dray")
    _no_number_is_left_standing(phone, page)
    secret = f"/debriefs/{school.debriefs['jan']}"
    page.goto(secret)
    expect(page.locator(".screen.mapped")).to_be_attached()
    page.wait_for_load_state("networkidle")
    _until(page, ONE_OTHER, "")
    before = page.evaluate(OWN_CACHES)
    phone.clear_cookies()  # no log-out: the session simply ends
    _log_in(page, "Nora Whitlock")
    page.goto("/debriefs")
    page.wait_for_load_state("networkidle")
    _until(page, ONE_OTHER, before[0])
    phone.set_offline(True)
    page.goto(secret)
    expect(page.locator("h1")).to_have_text("No network")
    phone.set_offline(False)
    page.goto("/debriefs")
    follow(page.get_by_role("button", name="log out"))
    expect(page).to_have_url(re.compile("/login$"))
    _until(page, NONE)  # the login page clears them, and the worker, once it is there
    _until(page, "async () => (await navigator.serviceWorker.getRegistrations()).length === 0")
    phone.set_offline(True)
    with pytest.raises(Error, match="DISCONNECTED"):  # the worker itself is gone
        page.goto("/debriefs")
    phone.set_offline(False)
