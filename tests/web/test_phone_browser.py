"""A phone's width in real Chromium: verdict first, cards, folded parts, nothing wider than the screen."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import expect

from airwork.airplane.file.load import blank_text
from web.browsing import CHROMIUM, REQUIRED, SETTLED, SIZE, faults, looking, opened, quiet
from web.conftest import short_recording

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


SMALL = """() => [...document.querySelectorAll("a, button, select, summary, textarea, input:not([type=hidden])")]
  .filter((e) => e.checkVisibility() && !e.matches(".skip, .first") && !e.closest(".leaflet-control-attribution"))
  .map((e) => [e, (e.matches("[type=checkbox], [type=radio]") && e.closest("label") || e).getBoundingClientRect()])
  .filter(([, box]) => box.height > 1 && box.height < 40)
  .map(([e, box]) => `${e.outerHTML.slice(0, 90)}: ${box.height}`)"""


def test_todays_verdict_stands_in_the_first_screen_and_the_form_is_folded(chromium, address: str) -> None:
    with opened(chromium, address, as_="Emmett Dray", **PHONE) as page:
        page.goto("/?lesson=stalls_over_the_lake")
        quiet(page)
        assert page.evaluate(SMALL) == []
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


@contextmanager
def _held(page) -> Iterator[None]:
    """The open page as a phone has it: 390 px wide, a finger in place of a mouse."""
    phone = page.context.new_cdp_session(page)
    phone.send("Emulation.setTouchEmulationEnabled", {"enabled": True})
    page.set_viewport_size(PHONE["viewport"])
    page.evaluate(SETTLED)
    assert page.evaluate("matchMedia('(pointer: coarse)').matches")
    yield
    phone.send("Emulation.setTouchEmulationEnabled", {"enabled": False})
    page.set_viewport_size(SIZE)


def test_the_schools_pages_break_no_rule_and_are_fit_for_a_thumb(chromium, address: str, school) -> None:
    """Each in every view; 40 px and more for whatever is pressed, links in a sentence and the map's buttons too.

    The lesson is looked at in test_browser, and for a thumb above.
    """
    (school.folder / "airplanes" / "testbird.toml").write_text(blank_text("testbird", "Testbird"))
    flight, debrief = f"/flights/{school.flights['nora']}", f"/debriefs/{school.debriefs['nora']}"
    with looking(chromium, address) as page:
        page.goto("/login")
        assert faults(page) == [], "/login"
    with looking(chromium, address, "Emmett Dray") as page:
        for where, looks in {
            "/debriefs": "rules, thumb",
            "/day?on=2025-09-20": "rules, thumb",
            debrief: "rules, thumb",
            "/airplanes": "thumb", "/airplanes/larkmoor_155": "thumb", "/airplanes/larkmoor_155/fields": "thumb",
            "/airplanes/larkmoor_155/read-back": "rules", "/airplanes/new": "rules",
            "/airplanes/testbird/fields?part=performance.takeoff": "rules", "/students": "rules, thumb",
            f"/students/{school.nora}": "rules, thumb", f"/people/{school.nora}": "thumb", "/people": "thumb",
            flight: "rules, thumb", f"{flight}/correct": "rules, thumb",
            "/flights/new?lesson=stalls_over_the_lake": "rules", "/school": "rules, thumb",
            f"/lessons/new?student={school.jan}": "rules, thumb", "/chair?lesson=stalls_over_the_lake": "thumb",
        }.items():  # fmt: skip
            page.goto(where)
            quiet(page)
            if "thumb" in looks:
                with _held(page):
                    assert page.evaluate(SMALL) == [], where
            if "rules" in looks:
                assert faults(page) == [], where


def test_a_debrief_on_a_phone_shows_one_thing_at_a_time_and_its_strip_meets_a_thumb(
    chromium, address: str, school
) -> None:
    """First what to fix, then the evidence.

    The strip's blocks are a few pixels wide at 390: a tap within 12 px, and a button for each, reach them."""
    sent = {"airplane": "larkmoor_155", "standard": "commercial"}  # its limits the slow flight does not hold
    files = {"recording": ("thumb.csv", short_recording(2400))}
    at = school.as_("Emmett Dray").post("/debriefs", sent, files=files).headers["location"]
    with opened(chromium, address, as_="Emmett Dray", **PHONE) as page:
        page.goto(at)
        expect(page.locator("#screen.on")).to_be_visible()
        first = page.locator(".three dt").evaluate_all(
            "all => all.sort((a, b) => a.getBoundingClientRect().y - b.getBoundingClientRect().y)[0].textContent"
        )
        assert first.startswith("Not held")  # the slow flight
        _one_thing_at_a_time(page)
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


def _one_thing_at_a_time(page) -> None:
    """Two screens at most until the evidence; plots, map or gauges by a thumb, the map where the maneuver is."""
    expect(page.locator(".screen.mapped")).to_be_visible()
    top = page.evaluate("document.querySelector('section.episode.shown').getBoundingClientRect().top + scrollY")
    assert top <= 2 * 844
    expect(page.locator("#flight-map")).to_be_hidden()
    for view, part in (("map", "#flight-map .airplane"), ("gauges", "#panel"), ("plots", "#live")):
        button = page.locator(f"[data-view={view}]")
        assert button.bounding_box()["height"] >= 40, view
        button.tap()
        expect(page.locator(part)).to_be_visible()
        if view == "map":
            scale = page.locator("#flight-map .leaflet-control-container")
            expect(scale).to_contain_text(
                re.compile(r"(^|[^\d.])([0-4](\.\d+)?|5) NM")
            )  # a maneuver, not half a country
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, view
    expect(page.locator("#flight-map")).to_be_hidden()
