"""A day planned on the page in real Chromium: a new lesson, area pointed, exercises dragged, what if it is hotter."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from web.browsing import CHROMIUM, REQUIRED, Watched, follow

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
FLOWN = "#numbers tbody tr td:nth-child(2)"


def test_a_lesson_is_planned_on_its_page(watched: Watched) -> None:
    """One after the other on the page as it stands; what failed is the step whose name stands in the trace."""
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    for step in (_otherwise, _dragged, _pointed, _pasted):
        step(page)


def _dragged(page) -> None:
    """An exercise dragged onto another takes its place."""
    before, rows = page.locator(FLOWN).all_text_contents(), page.locator("fieldset.exercise")
    page.locator(".grip").nth(3).drag_to(rows.nth(2), target_position={"x": 40, "y": 60})
    expect(page).to_have_url(re.compile("exercises=0%2C1%2C3"))
    expect(rows.nth(2)).to_have_attribute("data-row", "exercises/3")
    expect(rows.nth(3)).to_have_attribute("data-row", "exercises/2")
    expect(page.locator(FLOWN).nth(2)).to_have_text(before[3])


def _otherwise(page) -> None:
    """A slider says what would come out otherwise and changes nothing."""
    tiles = page.locator("#numbers .tiles").text_content()
    page.get_by_text("What if: hotter").click()
    page.locator("input[name='new/if/temperature']").fill("10")
    page.wait_for_selector("#what-if-shown tbody tr")
    row = page.locator("#what-if-shown tr", has_text="density altitude")
    was, then = (int(row.locator("td").nth(k).text_content().split()[0].replace(",", "")) for k in (0, 1))
    assert 900 < then - was < 1500  # about 120 ft for each degree: common rule of thumb
    expect(page.locator("#numbers .tiles")).to_have_text(tiles)
    assert "if" not in page.evaluate("location.search")
    page.get_by_role("button", name="as it is").click()
    expect(page.locator("#what-if-shown p.soft").first).to_be_visible()


def _pointed(page) -> None:
    """The area and a landing place pointed on the map, judged at once; the glide read under the mouse."""
    text = page.locator("[name='area/polygon']").input_value()
    page.get_by_role("button", name="draw the area").click()
    corners = page.locator(".handle.corner")
    expect(corners).to_have_count(4)
    corners.first.press("ArrowRight")
    expect(page).to_have_url(re.compile("area%2Fpolygon"))
    moved = page.locator("[name='area/polygon']").input_value()
    assert moved.split(";")[1:] != text.split(";")[1:] or moved != text
    assert moved.split(";")[0].split() == ["41.2600", "-101.9490"]
    corners.nth(1).press("Delete")
    expect(corners).to_have_count(3)
    expect(page).to_have_url(re.compile(r"area%2Fpolygon=[^%&]+(%3B[^%&]+){2}(&|$)"))  # answered: nothing moves now
    page.get_by_role("button", name="area done").click()
    page.get_by_role("button", name="add landing places").click()
    land = page.locator("#path-map")
    box = land.bounding_box()
    land.click(position={"x": box["width"] * 0.55, "y": box["height"] * 0.5})
    expect(page.locator("[name='area/landing_places']")).to_have_value(re.compile("field 4: 41"))
    expect(page).to_have_url(re.compile(r"field\+4"))
    expect(page.locator("#numbers > .verdict")).to_be_visible()
    land.hover(position={"x": box["width"] * 0.5, "y": box["height"] * 0.45})
    expect(page.locator("#map-tools [role=status]")).to_have_text(re.compile("NM from KOGA"))
    page.get_by_role("button", name="places done").click()


def _pasted(page) -> None:
    """A report pasted into the other field goes where it belongs."""
    page.evaluate(
        "() => { const field = document.querySelector(\"[name='weather/metar']\"), data = new DataTransfer();"
        " data.setData('text', 'TAF KOGA 201130Z 2012/2112 18030G45KT 1SM TSRA OVC005');"
        " field.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true })); }"
    )
    expect(page.locator("#numbers > .verdict.no-go")).to_be_visible()
    expect(page.locator("[name='weather/taf']")).to_have_value(re.compile("^TAF KOGA 201130Z 2012/2112 180"))
    expect(page.locator("[name='weather/metar']")).to_have_value(re.compile("^METAR"))


def test_a_new_lesson_from_the_last_one_asks_for_todays_fuel_and_weather(watched: Watched) -> None:
    page = watched.page
    page.goto("/")
    follow(page.get_by_role("link", name="new lesson", exact=True))
    page.get_by_label("engine start").fill("10:15")
    follow(page.get_by_role("button", name="write the lesson"))
    expect(page.locator(".done")).to_be_visible()
    expect(page.locator("[name='weather/metar']")).to_have_value("")
    expect(page.locator("[name='people/0/weight']")).to_have_value("148 lb")
    expect(page.locator(".said.here")).to_have_count(2)  # both tanks, each beside its field
    page.fill("[name='fuel/left wing']", "18")
    page.fill("[name='fuel/right wing']", "18")
    expect(page.locator("#numbers > .verdict")).to_be_visible()
    expect(page.locator("#map-tools")).to_be_visible()
    follow(page.get_by_role("button", name="save these values"))
    expect(page.locator(".done")).to_be_visible()
    page.goto("/")  # opens on today's lesson
    expect(page.locator("[name='time']")).to_have_value("10:15")
    expect(page.locator(".ask")).to_have_count(0)
    page.goto("/?lesson=stalls_over_the_lake")
    expect(page.locator(".ask")).to_contain_text("days ago")
