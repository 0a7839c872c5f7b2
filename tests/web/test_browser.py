"""The pages as a person uses them, in real Chromium: values changed, a recording dropped, a flight replayed.

axe-core (npm, pinned in frontend/package-lock.json) looks for WCAG 2.2 AA violations on every page.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from web.browsing import CHROMIUM, REQUIRED, SETTLED, Watched, faults, follow, looking, opened

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)


def test_a_recording_is_brought_debriefed_and_corrected(
    chromium, server: str, watched: Watched, short_csv: bytes
) -> None:
    """A file that is none is said beside the form; one dropped is the flight at once; a limit is corrected."""
    page = watched.page
    page.goto("/debriefs")
    page.set_input_files("#recording", {"name": "notes.txt", "mimeType": "text/plain", "buffer": b"not a flight"})
    page.click("#bring button")
    expect(page.locator(".problem")).to_contain_text("notes.txt")
    assert page.url.endswith("/debriefs")
    assert faults(page) == [], "bringing it"
    _dropped(page, short_csv.decode())
    expect(page.locator(".facts").first).to_contain_text("dropped.csv")
    page.wait_for_selector(".screen.mapped")
    _corrected(page)
    page.wait_for_selector(".screen.mapped")
    page.evaluate("for (const d of document.querySelectorAll('details')) d.open = true")
    assert faults(page) == [], "the debrief"
    with opened(chromium, server, java_script_enabled=False) as plain:
        assert plain.goto(page.url.split("#")[0]).status == 200
        expect(plain.locator("h1").first).to_be_visible()
        expect(plain.locator("#panel")).to_be_hidden()


def _dropped(page, text: str) -> None:
    """Dragged from the desktop: sent with its progress said."""
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
        text,
    )
    page.wait_for_url(re.compile(r"/debriefs/[0-9a-f]{32}$"))
    assert said == ["sending"]


def _corrected(page) -> None:
    """The second maneuver's beginning taken from the cursor, graded anew, taken back."""
    page.select_option("#which", "1")
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
    expect(page).to_have_url(re.compile("#m2$"))  # opens where it was left
    expect(page.locator("#which")).to_have_value("1")
    follow(page.get_by_role("button", name="take back 1 correction"))
    expect(page.get_by_role("button", name="take back 1 correction")).to_have_count(0)


def test_an_airplane_s_charts_are_read_and_a_field_of_it_edited(watched: Watched) -> None:
    """By arrow keys and by pointing; a complaint stands beside its field; no page on the way breaks a rule."""
    page = watched.page
    page.goto("/airplanes")
    assert faults(page) == [], "airplanes"
    page.goto("/airplanes/larkmoor_155")
    _read_by_keys(page.locator("#chart-power0"))
    _read_by_pointing(page, page.locator("#chart-takeoff0"))
    assert faults(page) == [], "airplane"
    follow(page.get_by_role("link", name="edit", exact=True))
    assert faults(page) == [], "fields"
    follow(page.get_by_role("link", name="Stall speeds"))
    _edited(page)


def _read_by_keys(chart) -> None:
    chart.scroll_into_view_if_needed()
    live = chart.locator(".live")
    live.wait_for()
    live.focus()
    live.press("Home")
    expect(chart.locator(".sr")).to_have_text(re.compile("RPM 2000: 0 ft 43"))


def _read_by_pointing(page, chart) -> None:
    """In the middle of the takeoff chart the legend shows a temperature and a distance for each altitude."""
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


def _edited(page) -> None:
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


PLAIN = ("/", "/debriefs", "/airplanes/caldmere_200", "/airplanes/larkmoor_155/fields?part=performance.cruise")


def test_the_pages_work_with_scripts_off(chromium, server: str) -> None:
    """The debrief's own is looked at where it is brought."""
    with opened(chromium, server, java_script_enabled=False) as page:
        for address in PLAIN:
            assert page.goto(address).status == 200, address
            assert page.locator("h1").first.is_visible(), address


@pytest.mark.parametrize(
    "address", ["/?lesson=stalls_over_the_lake&do=people/add&new/people=rear seats", "/students", "/no/such/page"]
)
def test_no_page_breaks_the_accessibility_rules_or_runs_over_the_edge(chromium, server: str, address: str) -> None:
    """On a screen, a tablet and a phone, light and dark; the other pages where they are used."""
    with looking(chromium, server) as page:
        page.goto(address)
        assert faults(page) == []


def test_the_look_at_a_page_sees_what_is_wrong_with_it(chromium, server: str) -> None:
    """An unnamed field, grey on grey in the dark alone, a box too wide for a phone: each is said for its view.

    A name is read anew where a phone shows something else, sizes on it too; colors are said where they are first
    seen; of a table's rows like one another not all are looked at, the last is.

    Under the pages' own policy, which keeps foreign scripts out and must not keep the look out.
    """
    with looking(chromium, server) as page:
        page.goto("/no/such/page")
        page.evaluate("""() => {
          const style = new CSSStyleSheet();
          style.replaceSync(`@media (prefers-color-scheme: dark) { p.grey { color: #777; background: #666 } }
            @media (max-width: 600px) { .small { background: #fff } .small b { color: #eee } }
            @media (max-width: 900px) { button.tap { all: unset; width: 8px; height: 8px; display: inline-block } }
            @media (max-width: 900px) and (prefers-color-scheme: dark) { #far { color: #777; background: #666 } }`);
          document.adoptedStyleSheets = [style];
          const row = "<tr><td>row</td></tr>", last = "<tr><td id=far>row</td></tr>";
          document.querySelector("main").innerHTML = "<h1>t</h1><input><p class=grey>text</p><div>wide</div>" +
            "<p class=small>a <b>word</b></p><button class=tap>a</button><button class=tap>b</button>" +
            `<table>${row.repeat(40)}${last}</table>`;
          document.querySelector("main > div").style.width = "500px";
        }""")
        found = faults(page)
        assert page.locator("td").count() == 41
    views = {
        part: [one.split(":")[0] for one in found if part in one]
        for part in ("label", "target-size", "over the edge", "grey", "far", "<b>")
    }
    assert views == {
        "label": ["1280 light", "390 light"], "target-size": ["390 light"],
        "over the edge": ["390 dark", "390 light"], "grey": ["1280 dark"], "far": ["820 dark"],
        "<b>": ["390 dark", "390 light"],
    }  # fmt: skip
