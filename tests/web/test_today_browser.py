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
