"""Columns pointed at in real Chromium: units follow what a column is said to be; the debrief comes at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from web.browsing import CHROMIUM, REQUIRED, Watched, faults
from web.test_columns import WANTED, nameless

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)


def test_columns_are_said_and_the_debrief_comes_at_once(watched: Watched, tmp_path: Path) -> None:
    page, file = watched.page, tmp_path / "unknown.csv"
    file.write_bytes(nameless())
    page.goto("/debriefs")
    page.locator("#recording").set_input_files(file)
    page.get_by_role("button", name="debrief", exact=True).click()
    page.wait_for_url("**/columns")  # with its script, which listens to what is chosen
    expect(page.get_by_role("heading", level=1)).to_contain_text("what is in its columns?")
    assert faults(page) == []
    for name, (quantity, unit) in WANTED.items():
        column = page.locator(".columns li").filter(has=page.get_by_role("heading", name=name, exact=True))
        column.locator("select").first.select_option(quantity)
        units = column.locator("select").nth(1)
        if unit:
            units.select_option(unit)
    altitude = page.locator(".columns li").nth(3).locator("select")
    expect(altitude.nth(1).locator("option:not([hidden])")).to_contain_text(["as the numbers say", "ft", "m"])
    altitude.first.select_option("latitude")  # pointed at once only: the other is let go
    expect(page.locator(".columns li").nth(1).locator("select").first).to_have_value("")
    altitude.first.select_option("indicated_altitude")
    altitude.nth(1).select_option("ft")
    page.locator(".columns li").nth(1).locator("select").first.select_option("latitude")
    latitude = page.locator(".columns li").nth(1)
    latitude.locator("select").first.select_option("")
    press = page.locator("#palette button[value=latitude]")
    expect(press).to_have_text("latitude")
    press.click()  # a name, then the line that shows it
    latitude.locator(".spark").click()
    expect(latitude.locator("select").first).to_have_value("latitude")
    expect(press).to_contain_text(f"✓ {latitude.get_by_role('heading').text_content()}")
    expect(press).to_have_attribute("aria-pressed", "false")
    press.press("Enter")  # and by keys: each column has a button while a name is held
    altitude_button = page.locator(".columns li").nth(3).get_by_role("button", name="this is the latitude")
    expect(altitude_button).to_be_visible()
    page.keyboard.press("Escape")
    expect(altitude_button).to_be_hidden()
    page.get_by_role("button", name="read it so").first.click()
    expect(page.locator(".screen")).to_be_visible()
