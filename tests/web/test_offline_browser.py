"""The cockpit without a network, in real Chromium: what was looked at is there again, and is nobody else's."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Error

from web.browsing import CHROMIUM, REQUIRED, log_in

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
OWN_CACHES = "async () => (await caches.keys()).filter((n) => n.startsWith('airwork-own-'))"


def _log_in(page, name: str) -> None:
    log_in(page, name)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")


@pytest.fixture
def phone(chromium, address: str) -> Iterator[object]:
    """A phone's width, its worker allowed."""
    context = chromium.new_context(base_url=address, viewport={"width": 390, "height": 844}, has_touch=True)
    yield context
    context.close()


def test_lesson_card_and_own_debrief_are_there_without_a_network_and_say_from_when(phone, school) -> None:
    page = phone.new_page()
    _log_in(page, "Nora Whitlock")
    page.goto("/")
    numbers = page.locator("#numbers .tiles").text_content()
    page.locator("#take-along").click()
    page.wait_for_selector("text=taken along")
    card = page.locator("a[href^='/today/card.pdf']").get_attribute("href")
    page.goto(f"/debriefs/{school.debriefs['nora']}")
    page.wait_for_load_state("networkidle")
    phone.set_offline(True)
    page.goto("/")
    assert "No network: this page is as it was at" in page.wait_for_selector(".offline").text_content()
    assert page.locator("#numbers .tiles").text_content() == numbers
    got = page.evaluate(
        "async (at) => { const r = await fetch(at); return [r.status, r.headers.get('content-type')]; }", card
    )
    assert got == [200, "application/pdf"]
    page.goto(f"/debriefs/{school.debriefs['nora']}")
    page.wait_for_selector(".offline")
    assert page.locator("section.episode").count() > 0
    page.goto(f"/students/{school.nora}")  # never looked at here
    assert "No network" in page.locator("h1").text_content()
    phone.set_offline(False)


def test_what_one_kept_is_gone_for_the_next_and_after_logging_out(phone, school) -> None:
    """Emmett reads Jan's debrief, then Nora logs in on the same phone: offline she gets neither it nor his list."""
    page = phone.new_page()
    _log_in(page, "Emmett Dray")
    secret = f"/debriefs/{school.debriefs['jan']}"
    page.goto(secret)
    page.wait_for_load_state("networkidle")
    assert len(page.evaluate(OWN_CACHES)) == 1
    before = page.evaluate(OWN_CACHES)
    phone.clear_cookies()  # no log-out: the session simply ends
    _log_in(page, "Nora Whitlock")
    page.goto("/debriefs")
    page.wait_for_load_state("networkidle")
    assert page.evaluate(OWN_CACHES) != before
    assert len(page.evaluate(OWN_CACHES)) == 1
    phone.set_offline(True)
    page.goto(secret)
    assert "No network" in page.locator("h1").text_content()
    phone.set_offline(False)
    page.goto("/debriefs")
    page.get_by_role("button", name="log out").click()
    page.wait_for_url("**/login")
    assert page.evaluate(OWN_CACHES) == []
    phone.set_offline(True)
    with pytest.raises(Error, match="DISCONNECTED"):  # the worker itself is gone
        page.goto("/debriefs")
    phone.set_offline(False)


def test_a_number_is_never_left_standing_when_the_server_is_gone(phone, address: str) -> None:
    page = phone.new_page()
    _log_in(page, "Emmett Dray")
    page.goto("/?lesson=stalls_over_the_lake")
    page.locator("legend", has_text="Aboard").click()
    phone.set_offline(True)
    page.fill("[name='people/0/weight']", "199 lb")
    page.wait_for_selector("#numbers > .stale .tiles")
    assert page.locator("#numbers > .tiles").count() == 0
    assert "of before this change" in page.locator("#numbers > .problem").text_content()
    phone.set_offline(False)
