"""A phone's width in real Chromium: verdict first, cards, folded parts, nothing wider than the screen."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from web.browsing import CHROMIUM, REQUIRED, bring, faults, looking, opened
from web.conftest import short_recording

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


def test_todays_verdict_stands_in_the_first_screen_and_the_form_is_folded(chromium, address: str) -> None:
    with opened(chromium, address, as_="Emmett Dray", **PHONE) as page:
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
            ".map((e) => [e.textContent.trim().slice(0, 20), e.getBoundingClientRect().height])"
            ".filter(([, h]) => h < 40)"
        )
        assert small == []  # 40 px and more under a thumb


def test_the_days_pages_break_no_rule_and_no_edge(chromium, address: str, school) -> None:
    (school.folder / "airplanes" / "testbird.toml.unfinished").write_text('{"name": "Testbird", "dial": "mph"}')
    with looking(chromium, address, "Emmett Dray") as page:
        for where in (
            "/?lesson=stalls_over_the_lake", f"/lessons/new?student={school.jan}", "/airplanes/new",
            "/airplanes/new/testbird?part=Takeoff distance", "/airplanes/larkmoor_155/read-back",
            "/flights/new?lesson=stalls_over_the_lake", f"/flights/{school.flights['nora']}/correct", "/school",
        ):  # fmt: skip
            page.goto(where)
            page.wait_for_load_state("networkidle")
            assert faults(page) == [], where


SMALL = """() => [...document.querySelectorAll("a, button, select, summary, textarea, input:not([type=hidden])")]
  .filter((e) => e.checkVisibility() && !e.matches(".skip, .first") && !e.closest(".leaflet-control-attribution"))
  .map((e) => [e, (e.matches("[type=checkbox], [type=radio]") && e.closest("label") || e).getBoundingClientRect()])
  .filter(([, box]) => box.height > 1 && box.height < 40)
  .map(([e, box]) => `${e.outerHTML.slice(0, 90)}: ${box.height}`)"""


def test_nothing_to_press_is_lower_than_a_thumb_needs(chromium, address: str, school) -> None:
    """40 px and more on every page, links in a sentence and the map's buttons too."""
    with opened(chromium, address, as_="Emmett Dray", **PHONE) as page:
        found = {}
        for where in (
            "/?lesson=stalls_over_the_lake", "/debriefs", f"/debriefs/{school.debriefs['nora']}", "/airplanes",
            "/airplanes/larkmoor_155", "/airplanes/larkmoor_155/fields", "/students", f"/students/{school.nora}",
            f"/flights/{school.flights['nora']}", f"/people/{school.nora}", "/people", "/lessons/new", "/school",
            f"/flights/{school.flights['nora']}/correct", "/chair?lesson=stalls_over_the_lake",
        ):  # fmt: skip
            page.goto(where)
            page.wait_for_load_state("networkidle")
            found[where] = page.evaluate(SMALL)
        assert {where: small for where, small in found.items() if small} == {}


def test_a_thumb_meets_what_was_out_beside_the_strip_and_in_it(chromium, address: str, school) -> None:
    """The strip's blocks are a few pixels wide at 390: a tap within 12 px, and a button for each, reach them."""
    sent = {"airplane": "larkmoor_155", "standard": "commercial"}  # its limits the slow flight does not hold
    files = {"recording": ("thumb.csv", short_recording(2400))}
    at = school.as_("Emmett Dray").post("/debriefs", sent, files=files).headers["location"]
    with opened(chromium, address, as_="Emmett Dray", **PHONE) as page:
        page.goto(at)
        expect(page.locator("#screen.on")).to_be_visible()
        first = page.locator(".three dt").evaluate_all(
            "all => all.sort((a, b) => a.getBoundingClientRect().y - b.getBoundingClientRect().y)[0].textContent"
        )
        assert first.startswith("One thing to fix")
        jumps = page.locator("#jumps button")
        expect(jumps.first).to_be_visible()
        assert jumps.first.bounding_box()["height"] >= 44
        words = jumps.first.text_content() or ""
        page.locator("#after").tap()
        jumps.first.tap()
        expect(page.locator("#chosen h2")).to_contain_text(words.split(" ", 2)[2])
        page.locator("#which").select_option(index=0)
        number = words.split(" ", 1)[0]
        block = page.locator(f"#strip g:has(title:text-matches('^{number} ')) rect").first.bounding_box()
        strip = page.locator("#strip").bounding_box()
        beside = {"x": block["x"] + block["width"] + 9 - strip["x"], "y": block["y"] + 4 - strip["y"]}
        page.locator("#strip").tap(position=beside)
        expect(page.locator("#chosen h2 .mark")).to_have_class(re.compile("out|brief"))
    school.as_("Emmett Dray").post(f"{at}/remove")


def test_a_debrief_on_a_phone_shows_one_thing_at_a_time(chromium, server: str, short_csv: bytes) -> None:
    """Two screens at most until the evidence; plots, map or gauges by a thumb, the map where the maneuver is."""
    at = bring(chromium, server, short_csv)
    with opened(chromium, server, **PHONE) as page:
        page.goto(at)
        expect(page.locator(".screen.mapped")).to_be_visible()
        top = page.evaluate("document.querySelector('section.episode.shown').getBoundingClientRect().top + scrollY")
        assert top <= 2 * 844
        expect(page.locator("#flight-map")).to_be_hidden()
        for view, part in (("map", "#flight-map .airplane"), ("gauges", "#panel"), ("plots", "#live")):
            button = page.locator(f"[data-view={view}]")
            assert button.bounding_box()["height"] >= 40
            button.tap()
            expect(page.locator(part)).to_be_visible()
            if view == "map":
                scale = page.locator("#flight-map .leaflet-control-container")
                expect(scale).to_contain_text(
                    re.compile(r"(^|[^\d.])([0-4](\.\d+)?|5) NM")
                )  # a maneuver, not half a country
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
        expect(page.locator("#flight-map")).to_be_hidden()
