"""The lesson built on the page in real Chromium: exercises and people added, moved and taken out, numbers following."""

from __future__ import annotations

import pytest

from web.browsing import CHROMIUM, REQUIRED, Watched

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
FLOWN = "#numbers tbody tr td:nth-child(2)"


def _tile(page, name: str) -> str:
    return page.locator(f"#numbers .tiles dt:text-is('{name}') + dd").text_content()


def test_an_exercise_is_added_moved_and_taken_out_with_live_numbers(watched: Watched) -> None:
    page = watched.page
    page.goto("/")
    before, end = page.locator(FLOWN).all_text_contents(), _tile(page, "engine off")
    page.select_option("[name='new/exercises']", "chandelle")
    page.get_by_role("button", name="add it").click()
    page.wait_for_function(f"() => document.querySelectorAll('{FLOWN}').length === {len(before) + 1}")
    assert _tile(page, "engine off") != end
    assert page.evaluate("document.activeElement.name") == "exercises/6/altitude"  # the new row waits for its values
    page.get_by_role("button", name="Chandelle: earlier").click()
    page.wait_for_function(f"() => [...document.querySelectorAll('{FLOWN}')].at(-2).textContent === 'Chandelle'")
    assert page.evaluate("document.activeElement.value") == "exercises/6/up"  # pressed again and again
    assert "exercises=0%2C1%2C2%2C3%2C4%2C6%2C5" in page.evaluate("location.search")
    page.reload()
    assert page.locator(FLOWN).nth(-2).text_content() == "Chandelle"
    page.get_by_role("button", name="Chandelle: take out").click()
    page.wait_for_function(f"() => document.querySelectorAll('{FLOWN}').length === {len(before)}")
    assert page.locator(FLOWN).all_text_contents() == before
    page.locator("[name='exercises/0/altitude']").fill("7,500 ft")  # typing goes on as before
    page.wait_for_function("() => location.search.includes('7%2C500')")


def test_a_passenger_without_a_weight_is_asked_for_it_where_it_belongs(watched: Watched) -> None:
    page = watched.page
    page.goto("/")
    weight = _tile(page, "weight at engine start")
    page.select_option("[name='new/people']", "rear seats")
    page.get_by_role("button", name="add a person").click()
    page.wait_for_selector("[name='people/2/weight'][aria-invalid=true]")
    assert page.evaluate("document.activeElement.name") == "people/2/weight"
    page.keyboard.type("140 lb")
    page.wait_for_selector("#numbers .tiles")
    assert int(_tile(page, "weight at engine start").split()[0].replace(",", "")) == (
        int(weight.split()[0].replace(",", "")) + 140
    )
    page.get_by_role("button", name="take passenger 3 out").click()
    page.wait_for_function("() => !document.querySelector(\"[name='people/2/weight']\")")
    assert _tile(page, "weight at engine start") == weight


def test_rows_are_moved_with_scripts_off_too(chromium, server: str) -> None:
    context = chromium.new_context(base_url=server, java_script_enabled=False)
    page = context.new_page()
    page.goto("/")
    first = page.locator(FLOWN).first.text_content()
    page.get_by_role("button", name=f"{first}: later").click()
    assert page.locator(FLOWN).nth(1).text_content().startswith(first)
    page.fill("[name='weather/temperature']", "35 °C")
    page.locator("[name='weather/temperature']").press("Enter")
    assert page.locator(FLOWN).nth(1).text_content().startswith(first)  # the order stays in the address
    assert page.input_value("[name='weather/temperature']") == "35 °C"
    context.close()


def test_the_card_and_the_file_take_what_stands_in_the_form_at_the_click(watched: Watched) -> None:
    """Clicked before any answer to the last keystroke has come: the address carries the new value, not the old."""
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    page.route("**/today/numbers.json*", lambda route: None)  # no answer comes
    page.fill("[name='people/0/weight']", "199 lb")
    asked = page.evaluate(
        "() => { const link = document.querySelector(\"a[href^='/today/card.pdf']\");"
        " link.addEventListener('click', (e) => e.preventDefault());"
        " link.dispatchEvent(new MouseEvent('click', { bubbles: true, cancelable: true })); return link.href; }"
    )
    assert "people%2F0%2Fweight=199+lb" in asked
    written = page.evaluate(
        "() => { const form = document.querySelector('form.save');"
        " form.addEventListener('submit', (e) => e.preventDefault()); form.requestSubmit();"
        " return document.getElementById('save-query').value; }"
    )
    assert "people%2F0%2Fweight=199+lb" in written


def test_a_half_typed_value_keeps_the_last_good_numbers_in_grey(watched: Watched) -> None:
    page = watched.page
    page.goto("/?lesson=stalls_over_the_lake")
    page.fill("[name='people/0/weight']", "19 poun")
    page.wait_for_selector("[name='people/0/weight'][aria-invalid=true]")
    assert page.locator("#numbers .stale .verdict").count() == 1
    assert page.locator("#numbers > .verdict").count() == 0
    assert page.locator(".said.here").count() == 1
    page.fill("[name='people/0/weight']", "190 lb")
    page.wait_for_selector("#numbers > .verdict")
    assert page.locator("#numbers .stale").count() == 0
