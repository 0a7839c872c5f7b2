"""A phone's width in real Chromium: verdict first, cards, folded parts, nothing wider than the screen."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from web.browsing import AXE, CHROMIUM, REQUIRED, RULES, log_in

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)


def _context(chromium, address: str, **more):
    found = chromium.new_context(base_url=address, bypass_csp=True, service_workers="block", **more)
    page = found.new_page()
    log_in(page, "Emmett Dray")
    return found, page


def test_todays_verdict_stands_in_the_first_screen_and_the_form_is_folded(chromium, address: str) -> None:
    context, page = _context(chromium, address, viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page.goto("/?lesson=stalls_over_the_lake")
    assert page.locator("#numbers .verdict strong").bounding_box()["y"] < 500
    assert page.locator("#numbers table.cards thead").bounding_box()["height"] <= 1
    form = page.locator("#lesson-form").bounding_box()
    assert form["height"] < 1400
    page.locator("fieldset.exercise legend").first.tap()
    expect(page.locator("[name='exercises/0/altitude']")).to_be_visible()
    small = page.evaluate(
        "() => [...document.querySelectorAll('main button, main .button, main select, nav a')]"
        ".filter((e) => e.offsetParent && !e.closest('.leaflet-control') && !e.classList.contains('first'))"
        ".map((e) => [e.textContent.trim().slice(0, 20), e.getBoundingClientRect().height]).filter(([, h]) => h < 40)"
    )
    assert small == []  # 40 px and more under a thumb
    context.close()


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])
def test_the_days_pages_break_no_rule_and_no_edge(chromium, address: str, school, width: int, scheme: str) -> None:
    if not AXE.is_file() and not REQUIRED:
        pytest.skip("axe-core is not installed: npm ci in frontend/")
    context, page = _context(chromium, address, viewport={"width": width, "height": 900}, color_scheme=scheme)
    axe = AXE.read_text(encoding="utf-8")
    (school.folder / "airplanes" / "testbird.toml.unfinished").write_text('{"name": "Testbird", "dial": "mph"}')
    ask = "rules => axe.run(document, {runOnly: rules}).then(r => r.violations.map(v => [v.id, v.nodes[0].html]))"
    for where in (
        "/?lesson=stalls_over_the_lake", f"/lessons/new?student={school.jan}", "/airplanes/new",
        "/airplanes/new/testbird?part=Takeoff distance", "/airplanes/larkmoor_155/read-back",
        "/flights/new?lesson=stalls_over_the_lake", f"/flights/{school.flights['nora']}/correct", "/school",
        "/students", f"/students/{school.nora}",
    ):  # fmt: skip
        page.goto(where)
        page.wait_for_load_state("networkidle")
        page.evaluate(axe)
        assert page.evaluate(ask, RULES) == [], where
        assert page.evaluate("document.documentElement.scrollWidth") <= width, where
    context.close()
