"""The pages as a person uses them, in real Chromium: values changed, a recording dropped, a flight replayed.

axe-core (npm, pinned in frontend/package-lock.json) looks for WCAG 2.2 AA violations on every page.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from web.browsing import CHROMIUM, REQUIRED, SETTLED, Watched, bring, faults, follow, looking, opened

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)


@pytest.fixture(scope="module")
def debriefed(server: str, chromium, short_csv: bytes) -> str:
    """The address of a debrief brought in as a person does: file chosen, button pressed."""
    return bring(chromium, server, short_csv)


def test_a_change_of_a_value_is_answered_at_once_without_a_button(watched: Watched) -> None:
    page = watched.page
    page.goto("/")
    tiles = page.locator("#numbers > .tiles")
    before = tiles.text_content()
    page.fill("[name='weather/temperature']", "38 °C")
    expect(tiles).not_to_have_text(before)
    expect(page).to_have_url(re.compile(r"temperature=38"))  # the address is the state
    page.reload()
    expect(page.locator("[name='weather/temperature']")).to_have_value("38 °C")
    expect(page.locator("#path-map canvas").first).to_be_attached()


def test_an_arrow_key_steps_a_value_and_a_wrong_one_is_marked(watched: Watched) -> None:
    page = watched.page
    page.goto("/")
    weight = page.locator("[name='people/0/weight']")
    weight.press("ArrowUp")
    expect(weight).to_have_value("149 lb")
    weight.fill("much")
    expect(weight).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#problem")).to_contain_text("people 1.weight")
    expect(page.locator(".aboard + .here")).to_contain_text("people 1.weight")  # beside the field too
    weight.fill("150 lb")
    expect(page.locator(".here")).to_have_count(0)


def test_a_limit_is_taken_from_the_cursor_and_the_maneuver_graded_anew(watched: Watched, debriefed: str) -> None:
    page = watched.page
    page.goto(f"{debriefed}#m2")
    page.wait_for_selector(".screen.mapped")
    row = page.locator("section.episode.shown .right")
    row.locator("summary").click()
    before = row.locator("[name=start]").input_value()
    minutes, rest = before.split(":")
    later = 60 * int(minutes) + float(rest) + 10.0
    page.evaluate(
        "s => { const m = document.getElementById('moment'); m.value = s; m.dispatchEvent(new Event('input')); }", later
    )
    row.locator("button.take").first.click()
    expect(row.locator("[name=start]")).not_to_have_value(before)
    follow(row.get_by_role("button", name="grade anew"))
    follow(page.get_by_role("button", name="take back 1 correction"))
    expect(page.get_by_role("button", name="take back 1 correction")).to_have_count(0)


def test_a_recording_dropped_on_the_page_is_debriefed(watched: Watched, short_csv: bytes) -> None:
    """Dragged from the desktop: sent with its progress said, then the flight at once."""
    page = watched.page
    page.goto("/debriefs")
    said: list[str] = []

    def sent(route) -> None:  # held here: the page goes as soon as the flight is read
        said.append(page.text_content("#said"))
        route.continue_()

    page.route("**/debriefs", sent)
    page.evaluate(
        """text => {
          const carried = new DataTransfer();
          carried.items.add(new File([text], "dropped.csv", { type: "text/csv" }));
          const event = { dataTransfer: carried, bubbles: true, cancelable: true };
          for (const kind of ["dragover", "drop"])
            document.getElementById("drop").dispatchEvent(new DragEvent(kind, event));
        }""",
        short_csv.decode(),
    )
    page.wait_for_url(re.compile(r"/debriefs/[0-9a-f]{32}$"))
    assert said == ["sending"]
    expect(page.locator(".facts").first).to_contain_text("dropped.csv")
    page.wait_for_selector(".screen.mapped")


def test_a_dropped_file_that_is_no_recording_is_said_beside_the_form(watched: Watched) -> None:
    page = watched.page
    page.goto("/debriefs")
    page.set_input_files("#recording", {"name": "notes.txt", "mimeType": "text/plain", "buffer": b"not a flight"})
    page.click("#bring button")
    expect(page.locator(".problem")).to_contain_text("notes.txt")
    assert page.url.endswith("/debriefs")


def test_a_chart_is_read_with_the_arrow_keys(watched: Watched) -> None:
    page = watched.page
    page.goto("/airplanes/larkmoor_155")
    chart = page.locator("#chart-power0")
    chart.scroll_into_view_if_needed()
    live = chart.locator(".live")
    live.wait_for()
    live.focus()
    live.press("Home")
    expect(chart.locator(".sr")).to_have_text(re.compile("RPM 2000: 0 ft 43"))


def test_a_chart_is_read_by_pointing_at_it(watched: Watched) -> None:
    """In the middle of the takeoff chart the legend shows a temperature and a distance for each altitude."""
    page = watched.page
    page.goto("/airplanes/larkmoor_155")
    chart = page.locator("#chart-takeoff0")
    chart.scroll_into_view_if_needed()
    over = chart.locator(".u-over")
    over.wait_for()
    page.evaluate(SETTLED)  # it has the size of its place
    over.hover()
    told = chart.locator(".u-legend .u-value")
    expect(told.first).to_have_text(re.compile(r"\d"))
    values = told.all_text_contents()
    assert len(values) >= 4
    assert -60 < float(values[0]) < 60
    feet = [float(v) for v in values[1:] if v != "–"]
    assert feet == sorted(feet)
    assert 500 < feet[0] < 4000


def test_a_field_of_an_airplane_is_edited_and_its_complaint_stands_beside_it(watched: Watched) -> None:
    page = watched.page
    page.goto("/airplanes/wrenbrook_108")
    follow(page.get_by_role("link", name="edit", exact=True))
    follow(page.get_by_role("link", name="performance, stall"))
    box = page.get_by_label("calibrated, row 1", exact=True)
    before = box.input_value()
    box.fill("fifty")
    follow(page.get_by_role("button", name="check only").first)
    expect(page.locator("tr.saying .said").first).to_contain_text("expected a number")
    expect(box).to_have_attribute("aria-invalid", "true")
    box.fill(before)
    follow(page.get_by_role("button", name="save", exact=True).first)
    expect(page.get_by_text("● saved")).to_be_visible()
    rows = page.locator("table.grid").first.locator("tbody tr[data-row]")
    count = rows.count()
    follow(page.get_by_role("button", name="one more row, like the last").first)
    expect(rows).to_have_count(count + 1)


@pytest.mark.parametrize(
    "address",
    ["/", "/debriefs", "/airplanes", "/airplanes/caldmere_200", "/airplanes/larkmoor_155/edit", "DEBRIEF",
     "/airplanes/larkmoor_155/fields", "/airplanes/larkmoor_155/fields?part=performance.cruise"],
)  # fmt: skip
def test_the_pages_work_with_scripts_off(chromium, server: str, debriefed: str, address: str) -> None:
    with opened(chromium, server, java_script_enabled=False) as page:
        assert page.goto(debriefed if address == "DEBRIEF" else address).status == 200
        expect(page.locator("h1").first).to_be_visible()
        if address == "DEBRIEF":
            expect(page.locator("#panel")).to_be_hidden()


PAGES = (
    "/", "/?lesson=stalls_over_the_lake&do=people/add&new/people=rear seats", "/chair", "/debriefs", "DEBRIEF",
    "/airplanes", "/airplanes/larkmoor_155", "/airplanes/larkmoor_155/edit", "/airplanes/larkmoor_155/fields",
    "/airplanes/larkmoor_155/fields?part=performance.stall", "/students", "/no/such/page",
)  # fmt: skip


@pytest.mark.parametrize("address", PAGES)
def test_no_page_breaks_the_accessibility_rules_or_runs_over_the_edge(
    chromium, server: str, debriefed: str, address: str
) -> None:
    """On a screen, a tablet and a phone, light and dark."""
    with looking(chromium, server) as page:
        page.goto(debriefed if address == "DEBRIEF" else address)
        if address == "DEBRIEF":
            page.wait_for_selector(".screen.mapped")
            page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
        assert faults(page) == []


def test_the_look_at_a_page_sees_what_is_wrong_with_it(chromium, server: str) -> None:
    """An unnamed field, grey on grey in the dark alone, a box too wide for a phone: each is said for its view."""
    with looking(chromium, server) as page:
        page.set_content(
            "<html lang=en><title>t</title>"
            "<style>@media (prefers-color-scheme: dark) { p { color: #777; background: #666 } }</style>"
            "<main><h1>t</h1><input><p>text</p><div style='width: 500px'>wide</div></main></html>"
        )
        found = faults(page)
    assert {one.split(":")[0] for one in found if "label" in one} == {"1280 light", "820 light", "390 light"}
    assert {one.split(":")[0] for one in found if "color-contrast" in one} == {"1280 dark", "820 dark", "390 dark"}
    assert {one.split(":")[0] for one in found if "over the edge" in one} == {"390 light", "390 dark"}
