"""A book typed in real Chromium: keys, paste, undo, a table begun, cells checked at once, the page's picture beside."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest

from airwork.airplane import find_airplane_file
from airwork.web.settings import Settings
from web.browsing import CHROMIUM, REQUIRED, Watched, serving

pytestmark = pytest.mark.browser
if CHROMIUM is None and not REQUIRED:
    pytest.skip("Chromium is not installed", allow_module_level=True)

METRIC = Path(__file__).parents[1] / "airplane" / "test_printed.py"


def metric() -> str:
    """The metric book of the airplane tests, its climb table as bare rows."""
    return METRIC.read_text().split('METRIC = """')[1].split('"""')[0]


@pytest.fixture(scope="module")
def typing(tmp_path_factory: pytest.TempPathFactory, chromium):
    """A page of a server whose folder holds two airplanes of the user's own."""
    folder = tmp_path_factory.mktemp("typing")
    (folder / "airplanes").mkdir()
    (folder / "airplanes" / "metric.toml").write_text(metric())
    (folder / "airplanes" / "own.toml").write_text(find_airplane_file("larkmoor_155").read_text())
    with serving(Settings(folder=folder)) as address, Watched.on(chromium, address) as watched:
        yield watched.page, folder


def picture() -> bytes:
    """A white PNG of 200 by 100."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    raw = b"".join(b"\0" + b"\xff" * 200 for _ in range(100))
    head = struct.pack(">IIBBBBB", 200, 100, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(raw)) + chunk(b"IEND", b"")


PASTE = """(text) => {
  const data = new DataTransfer();
  data.setData("text", text);
  const event = new ClipboardEvent("paste", {clipboardData: data, bubbles: true, cancelable: true});
  document.activeElement.dispatchEvent(event);
}"""
CELL = "[name='performance.takeoff.rows/{}/ground_roll_m']"


def test_a_slip_is_said_beside_its_row_as_it_is_typed_and_taken_back(typing) -> None:
    page, _ = typing
    page.goto("/airplanes/own/fields?part=performance.takeoff")
    cell = page.locator("[name='performance.takeoff.rows/3/ground_roll_ft']")
    stood = cell.input_value()
    assert page.locator(".kink polyline").count() > 2
    cell.fill("9999")
    cell.blur()
    page.wait_for_selector("tr.saying")
    assert "make it about" in page.text_content("tr.saying")
    assert (
        "row 4" in page.text_content("[data-row='3'] + tr.saying") or page.locator("[data-row='3'] + tr.saying").count()
    )
    page.keyboard.press("Control+z")
    assert cell.input_value() == stood
    page.wait_for_selector("tr.saying", state="detached")


def test_arrows_move_paste_fills_and_enter_begins_a_row(typing) -> None:
    page, folder = typing
    page.goto("/airplanes/metric/fields?part=performance.takeoff")
    page.focus(CELL.format(0))
    page.keyboard.press("ArrowDown")
    assert page.evaluate("document.activeElement.name") == "performance.takeoff.rows/1/ground_roll_m"
    page.focus("[name='performance.takeoff.rows/3/weight_kg']")
    page.evaluate(PASTE, "1150\t1000\t20\t415\t700\n1150\t2000\t0\t440\t740\n")
    assert page.input_value(CELL.format(3)) == "415"
    assert page.input_value(CELL.format(4)) == "440"
    page.click("button[form=filing][value=save]")
    page.wait_for_selector("p[role=status] .held")
    text = (folder / "airplanes" / "metric.toml").read_text()
    assert '"isa_deviation_c", "ground_roll_m", "total_over_15_m"]' in text
    assert "[1150, 2000, 0, 440, 740]" in text.replace("  ", " ")


def test_a_table_is_begun_in_the_books_units_and_kept_until_it_is_saved(typing) -> None:
    page, _ = typing
    page.goto("/airplanes/metric/fields")
    page.click("nav >> text=performance, landing")
    roll = "[name='performance.landing.rows/0/ground_roll_m']"
    assert page.locator("[name='performance.landing.rows/0/weight_kg']").count() == 1
    page.fill(roll, "300")
    page.reload()
    assert page.input_value(roll) == ""
    page.click("text=go on with it")
    assert page.input_value(roll) == "300"


def test_a_chart_is_read_by_clicking_its_axes_and_its_curve(typing) -> None:
    page, _ = typing
    page.goto("/airplanes/own/fields?part=performance.climb")
    page.set_input_files("#page-of-book", {"name": "chart.png", "mimeType": "image/png", "buffer": picture()})
    page.click("text=read a chart by clicking")
    image = page.locator(".beside img")
    box = image.bounding_box()
    value = page.get_by_label("value at this end of the axis")
    for number, x, y in (("0", 0.1, 0.9), ("10000", 0.9, 0.9), ("0", 0.1, 0.9), ("1000", 0.1, 0.1)):
        value.fill(number)
        image.click(position={"x": x * box["width"], "y": y * box["height"]})
    image.click(position={"x": 0.5 * box["width"], "y": 0.5 * box["height"]})
    page.focus("[name='performance.climb.rows/0/pressure_altitude_ft']")
    page.click("text=points into the table")
    found = float(page.input_value("[name='performance.climb.rows/0/pressure_altitude_ft']"))
    assert found == pytest.approx(5000, abs=60)


def test_without_scripts_the_form_still_works(chromium, typing) -> None:
    page, _ = typing
    address = page.url.split("/airplanes")[0]
    context = chromium.new_context(base_url=address, java_script_enabled=False)
    bare = context.new_page()
    bare.goto("/airplanes/metric/fields?part=performance.takeoff")
    before = bare.locator("tr[data-row]").count()
    bare.click("text=one more row, like the last")
    assert bare.locator("tr[data-row]").count() == before + 1
    assert "tables" in bare.text_content("#progress")
    context.close()
