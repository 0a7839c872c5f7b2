"""The lesson built on the page in real Chromium: exercises and people added, moved and taken out, numbers following."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import expect

from output.test_card import text_of
from web.browsing import CHROMIUM, REQUIRED, Watched, follow, opened

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
FLOWN = "#numbers tbody tr td:nth-child(2)"


def _tile(page, name: str):
    return page.locator(f"#numbers > .tiles dt:text-is('{name}') + dd")


def _a_passenger_is_asked_for_a_weight(page) -> None:
    """Where it belongs: in the new row, which has the focus."""
    weight = _tile(page, "weight at engine start")
    alone, asked = weight.text_content(), page.locator("[name='people/2/weight']")
    page.select_option("[name='new/people']", "rear seats")
    page.get_by_role("button", name="add a person").click()
    expect(asked).to_have_attribute("aria-invalid", "true")
    expect(asked).to_be_focused()
    page.keyboard.type("140 lb")
    expect(weight).to_have_text(re.compile(f"^{int(alone.split()[0].replace(',', '')) + 140:,} "))
    page.get_by_role("button", name="take passenger 3 out").click()
    expect(asked).to_have_count(0)
    expect(weight).to_have_text(alone)


def test_exercises_and_people_are_added_moved_and_taken_out_with_live_numbers(watched: Watched) -> None:
    page = watched.page
    page.goto("/")
    flown = page.locator(FLOWN)
    before, end = flown.all_text_contents(), _tile(page, "engine off").text_content()
    page.select_option("[name='new/exercises']", "chandelle")
    page.get_by_role("button", name="add it").click()
    expect(flown).to_have_count(len(before) + 1)
    expect(_tile(page, "engine off")).not_to_have_text(end)
    expect(page.locator("[name='exercises/6/altitude']")).to_be_focused()  # the new row waits for its values
    page.get_by_role("button", name="Chandelle: earlier").click()
    expect(flown.nth(len(before) - 1)).to_have_text("Chandelle")
    expect(page.locator("button[value='exercises/6/up']")).to_be_focused()  # pressed again and again
    expect(page).to_have_url(re.compile("exercises=0%2C1%2C2%2C3%2C4%2C6%2C5"))
    page.reload()
    expect(flown.nth(len(before) - 1)).to_have_text("Chandelle")
    page.get_by_role("button", name="Chandelle: take out").click()
    expect(flown).to_have_text(before)
    _a_passenger_is_asked_for_a_weight(page)
    page.locator("[name='exercises/0/altitude']").fill("7,500 ft")  # typing goes on as before
    expect(page).to_have_url(re.compile("7%2C500"))


def test_somebody_else_in_a_seat_is_asked_for_limits_of_their_own(watched: Watched) -> None:
    """The limits of the one before stood on as the other's."""
    page = watched.page
    page.goto("/")
    limit = page.locator("[name='student/limits/crosswind']")
    expect(limit).not_to_have_value("")
    page.locator("[name='people/0/name']").fill("Tomas Rehling")
    page.keyboard.press("Tab")
    expect(page.locator("#lesson-form .ask")).to_contain_text("No limits of Tomas Rehling known")
    expect(limit).to_have_value("")
    expect(page.locator("[name='people/0/station']")).to_be_focused()  # typing goes on where it was
    limit.fill("3 kt")
    expect(page.locator("#numbers .verdict")).to_contain_text("student's limit 3 kt")


def test_rows_are_moved_with_scripts_off_too(chromium, server: str) -> None:
    with opened(chromium, server, java_script_enabled=False) as page:
        page.goto("/")
        first = page.locator(FLOWN).first.text_content()
        second, temperature = page.locator(FLOWN).nth(1), page.locator("[name='weather/temperature']")
        follow(page.get_by_role("button", name=f"{first}: later"))
        expect(second).to_have_text(re.compile(f"^{re.escape(first)}"))
        temperature.fill("35 °C")
        with page.expect_navigation():
            temperature.press("Enter")
        expect(second).to_have_text(re.compile(f"^{re.escape(first)}"))  # the order stays in the address
        expect(temperature).to_have_value("35 °C")


def test_a_lesson_s_numbers_follow_what_is_typed_to_the_card(watched: Watched, tmp_path: Path) -> None:
    """One after the other on the page as it stands; what failed is the step whose name stands in the trace."""
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    assert page.input_value("[name='people/0/weight']") == "148 lb"
    light = _tile(page, "weight at engine start").text_content()
    _the_word_stays_in_sight(page)
    _a_half_typed_value_keeps_the_last_good_numbers_in_grey(page)
    _another_airplane_brings_its_own_tanks(page)
    page.fill("[name='people/0/weight']", "148 lb")
    expect(_tile(page, "weight at engine start")).to_have_text(light)
    page.route("**/today/numbers.json*", lambda route: None)  # no answer comes
    _card_and_file_take_what_stands_in_the_form(page)
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler-utils is not installed")
    _the_card_prints_what_was_typed(page, int(light.removesuffix(" lb").replace(",", "")), tmp_path)


def _the_word_stays_in_sight(page) -> None:
    """The verdict's word, beside what is typed far down."""
    word, verdict = page.locator("#word"), page.locator("#numbers > .verdict strong")
    expect(word).to_have_text(verdict.text_content())
    page.locator("[name='new/exercises']").scroll_into_view_if_needed()
    expect(word).to_be_in_viewport()
    page.fill("[name='people/0/weight']", "19 poun")
    expect(word).to_have_text("no verdict yet")
    page.fill("[name='people/0/weight']", "700 lb")
    expect(verdict).to_have_text("NO-GO")
    expect(word).to_have_text("NO-GO")
    expect(word).to_have_class(re.compile("no-go"))


def _a_half_typed_value_keeps_the_last_good_numbers_in_grey(page) -> None:
    page.fill("[name='people/0/weight']", "19 poun")
    expect(page.locator("[name='people/0/weight']")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#numbers .stale .verdict")).to_have_count(1)
    expect(page.locator("#numbers > .verdict")).to_have_count(0)
    expect(page.locator(".said.here")).to_have_count(1)
    expect(page.locator("#problem")).to_contain_text("unknown unit 'poun'")
    expect(page.locator(".aboard + .here")).to_contain_text("unknown unit 'poun'")  # beside the field too
    page.fill("[name='people/0/weight']", "189 lb")
    page.locator("[name='people/0/weight']").press("ArrowUp")
    expect(page.locator("[name='people/0/weight']")).to_have_value("190 lb")
    expect(page.locator(".here")).to_have_count(0)
    expect(page.locator("#numbers > .verdict")).to_be_visible()
    follow(page.get_by_role("link", name="Airplanes"))
    follow(page.get_by_role("link", name="Today"))  # not saved, and there all the same
    expect(page.locator("[name='people/0/weight']")).to_have_value("190 lb")
    expect(page.locator("#numbers > .verdict")).to_be_visible()
    expect(page.locator("#numbers .stale")).to_have_count(0)


def _another_airplane_brings_its_own_tanks(page) -> None:
    """And asks for their fuel."""
    expect(page.get_by_label("left wing")).to_have_value("18 gal")
    page.locator("#which-airplane").select_option("caldmere_200")
    expect(page.locator("#lesson-form .ask")).to_contain_text("Another airplane")
    expect(page.get_by_label("left wing")).to_have_value("")
    page.get_by_label("left wing").fill("20")
    page.get_by_label("right wing").fill("19")
    expect(page.locator("#numbers > .verdict")).to_be_visible()
    page.locator("#which-airplane").select_option("larkmoor_155")
    expect(page.get_by_label("left wing")).to_have_value("18 gal")
    expect(page.locator("#lesson-form .ask")).to_have_count(0)


def _card_and_file_take_what_stands_in_the_form(page) -> None:
    """Clicked before any answer to the last keystroke has come: the address carries the new value, not the old."""
    page.fill("[name='people/0/weight']", "199 lb")
    asked = page.evaluate(
        "() => { const link = document.querySelector(\"a[href^='/today/card.pdf']\");"
        " link.addEventListener('click', (e) => e.preventDefault(), { once: true });"
        " link.dispatchEvent(new MouseEvent('click', { bubbles: true, cancelable: true })); return link.href; }"
    )
    assert "people%2F0%2Fweight=199+lb" in asked
    written = page.evaluate(
        "() => { const form = document.querySelector('form.save');"
        " form.addEventListener('submit', (e) => e.preventDefault(), { once: true }); form.requestSubmit();"
        " return document.getElementById('save-query').value; }"
    )
    assert "people%2F0%2Fweight=199+lb" in written


def _the_card_prints_what_was_typed(page, light_lb: int, folder: Path) -> None:
    """189 lb typed over 148 lb and the card pressed at once, before any number has followed: read back from the PDF."""
    with page.expect_download() as got:
        page.fill("[name='people/0/weight']", "189 lb")
        page.locator("a[href^='/today/card.pdf']").click()
    printed = text_of(Path(got.value.path()).read_bytes(), folder)
    assert f"{light_lb + 189 - 148:,} lb" in printed
    assert f"{light_lb:,} lb" not in printed


def test_two_windows_that_save_one_lesson_lose_neither_change(watched: Watched) -> None:
    """The second is told, finds its own change in the form over the other's, and saves both."""
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    other = page.context.new_page()
    other.goto("/?lesson=stalls_over_the_lake")
    was = page.locator("[name='weather/temperature']").input_value()
    other.fill("[name='weather/temperature']", "21 °C")
    follow(other.get_by_role("button", name="save these values"))
    expect(other.locator(".done")).to_contain_text("temperature 21 °C")
    other.close()
    page.fill("[name='people/0/weight']", "150 lb")
    follow(page.get_by_role("button", name="save these values"))
    expect(page.locator(".problem")).to_contain_text("Nothing was written")
    expect(page.locator("[name='people/0/weight']")).to_have_value("150 lb")
    expect(page.locator("[name='weather/temperature']")).to_have_value("21 °C")
    follow(page.get_by_role("button", name="save these values"))
    expect(page.locator(".done")).to_have_text(re.compile("→ 150 lb"))
    page.fill("[name='people/0/weight']", "14 poun")  # half a value, pressed at once: kept as typed, nothing written
    follow(page.get_by_role("button", name="save these values"))
    expect(page.locator(".problem").first).to_contain_text("Nothing was written")
    expect(page.locator("[name='people/0/weight']")).to_have_value("14 poun")
    page.set_viewport_size({"width": 718, "height": 1000})  # as paper: nothing to press, nothing cut
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    expect(page.locator("#map-tools")).to_be_hidden()
    assert page.evaluate("document.documentElement.scrollWidth") <= 718
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    page.emulate_media(media="screen")
    page.fill("[name='people/0/weight']", "148 lb")
    page.fill("[name='weather/temperature']", was)
    follow(page.get_by_role("button", name="save these values"))
    expect(page.locator(".done")).to_be_visible()


def test_what_is_typed_comes_back_with_its_lesson_whichever_way_one_goes(watched: Watched) -> None:
    """By the menu, the day's page and the list of lessons; the other lesson stays as it is."""
    page, typed = watched.page, "280/12G22 kt"
    page.goto("/?lesson=stalls_over_the_lake")
    day = page.locator("[name=date]").input_value()
    page.get_by_text("copy or delete this lesson").click()
    page.get_by_label("title", exact=True).last.fill("The other one")
    follow(page.get_by_role("button", name="copy it"))
    other = page.url
    wind = page.locator("[name='weather/wind']")
    stands = wind.input_value()
    wind.fill(typed)
    page.goto(f"/day?on={day}")  # at once, the answer may still be on its way
    expect(page.locator(".day-lines .said")).to_have_count(1)
    expect(page.locator("tr", has=page.locator(".said"))).to_contain_text("The other one")
    follow(page.get_by_role("link", name="The other one", exact=True))
    expect(wind).to_have_value(typed)
    expect(page.locator("label.changed [name='weather/wind']")).to_have_count(1)
    page.goto("/?lesson=stalls_over_the_lake")
    expect(wind).to_have_value(stands)
    page.goto("/students")
    page.goto(other)
    expect(wind).to_have_value(typed)
    follow(page.get_by_role("link", name="as in the file"))
    expect(wind).to_have_value(stands)
    wind.fill(typed)
    expect(page).to_have_url(re.compile("G22"))
    follow(page.get_by_role("button", name="save these values"))
    expect(page.locator(".done")).to_contain_text(typed)
    page.goto(f"/day?on={day}")
    expect(page.locator(".day-lines")).to_be_visible()
    expect(page.locator(".day-lines .said")).to_have_count(0)
    follow(page.get_by_role("link", name="The other one", exact=True))
    page.get_by_text("copy or delete this lesson").click()
    follow(page.get_by_role("button", name="delete it"))
    follow(page.get_by_role("link", name="Today", exact=True))
    expect(page.locator("#lesson-form")).to_be_visible()
