"""A book typed in real Chromium: keys, paste, undo, a table begun, cells checked at once, the page's picture beside."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest
from playwright.sync_api import expect

from airwork.airplane import find_airplane_file
from airwork.web.settings import Settings
from web.browsing import CHROMIUM, REQUIRED, Watched, follow, serving

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
    cell.fill("9999")
    cell.press("Tab")
    expect(page.locator("[data-row='3'] + tr.saying")).to_contain_text("make it about")
    page.keyboard.press("Control+z")
    expect(cell).to_have_value(stood)
    expect(page.locator("tr.saying")).to_have_count(0)


def test_arrows_move_paste_fills_and_enter_begins_a_row(typing) -> None:
    page, folder = typing
    page.goto("/airplanes/metric/fields?part=performance.takeoff")
    page.focus(CELL.format(0))
    page.keyboard.press("ArrowDown")
    expect(page.locator(CELL.format(1))).to_be_focused()
    page.focus("[name='performance.takeoff.rows/3/weight_kg']")
    page.evaluate(PASTE, "1150\t1000\t20\t415\t700\n1150\t2000\t0\t440\t740\n")
    expect(page.locator(CELL.format(3))).to_have_value("415")
    expect(page.locator(CELL.format(4))).to_have_value("440")
    follow(page.locator("button[form=filing][value=save]").first)
    expect(page.locator("p[role=status] .held")).to_be_visible()
    text = (folder / "airplanes" / "metric.toml").read_text()
    assert '"isa_deviation_c", "ground_roll_m", "total_over_15_m"]' in text
    assert "[1150, 2000, 0, 440, 740]" in text.replace("  ", " ")
    _tab_runs_through_the_cells_past_the_button_that_takes_a_row_out(page)
    _a_table_is_begun_in_the_books_units_and_kept_until_it_is_saved(page)


def _tab_runs_through_the_cells_past_the_button_that_takes_a_row_out(page) -> None:
    """Tab from the last cell stood on ×, and Enter took the row out. → still reaches it."""
    rows = page.locator("table.grid").first.locator("tr[data-row]")
    many = rows.count()
    last, next_first = rows.nth(0).locator("td input").last, rows.nth(1).locator("td input").first
    last.focus()
    page.keyboard.press("Tab")
    expect(next_first).to_be_focused()
    rows.nth(many - 1).locator("td input").last.focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    expect(rows.nth(many - 1).locator("td input").last).to_be_focused()
    page.keyboard.press("End")
    page.keyboard.press("ArrowRight")
    expect(rows.nth(many - 1).locator("button")).to_be_focused()
    page.keyboard.press("ArrowLeft")
    expect(rows.nth(many - 1).locator("td input").last).to_be_focused()
    expect(rows).to_have_count(many)


def _a_table_is_begun_in_the_books_units_and_kept_until_it_is_saved(page) -> None:
    follow(page.locator("nav >> text=Landing distance"))
    roll = page.locator("[name='performance.landing.rows/0/ground_roll_m']")
    expect(page.locator("[name='performance.landing.rows/0/weight_kg']")).to_have_count(1)
    roll.fill("300")
    page.reload()
    expect(roll).to_have_value("")
    page.click("text=go on with it")
    expect(roll).to_have_value("300")


def test_a_page_of_the_book_is_read_beside_the_grid(typing) -> None:
    """A chart, a scan, a PDF, one after the other on the page as it stands; the trace names the one that failed."""
    page, _ = typing
    page.goto("/airplanes/own/fields?part=performance.climb")
    _a_chart_is_read_by_clicking_its_axes_and_its_curve(page)
    _a_turned_and_noisy_scan_is_read_to_a_hundredth_of_its_axes(page)
    _a_pdf_page_stands_beside_the_grid(page)


def _a_chart_is_read_by_clicking_its_axes_and_its_curve(page) -> None:
    page.set_input_files("#page-of-book", {"name": "chart.png", "mimeType": "image/png", "buffer": picture()})
    page.click("text=read a chart by clicking")
    image = page.locator(".beside img")
    expect(image).to_have_js_property("naturalWidth", 200)
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


def scanned_chart() -> tuple[bytes, object]:
    """(PNG, where a value of the axes lies on it) of a printed curve turned by 4°, gray, noisy, blurred, as a scan is.

    Drawn by matplotlib and turned by SciPy: rate of climb 60 to 1,060 ft/min over 0 to 12,000 ft.
    """
    import io

    import matplotlib as mpl
    import numpy as np
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from scipy import ndimage

    with mpl.rc_context():
        figure = Figure(figsize=(8, 6), dpi=100)
        canvas, axes = FigureCanvasAgg(figure), figure.add_subplot()
        h = np.linspace(0, 12_000, 50)
        axes.plot(h, CLIMB(h), "k")
        axes.set(xlim=(0, 12_000), ylim=(0, 1200))
        axes.grid(visible=True)
        canvas.draw()
        page = np.asarray(canvas.buffer_rgba())[..., 0].astype(float)
    turned = ndimage.rotate(page, 4.0, reshape=True, cval=235.0)
    noisy = ndimage.gaussian_filter(turned, 0.7) + np.random.default_rng(5).normal(0, 12, turned.shape)
    out = io.BytesIO()
    from matplotlib.image import imsave

    imsave(out, np.clip(noisy, 0, 255).astype(np.uint8), cmap="gray", vmin=0, vmax=255, format="png")
    height, width = page.shape
    angle, middle, new_middle = np.radians(4.0), np.array([width, height]) / 2, np.array(turned.shape[::-1]) / 2

    def at(x: float, y: float) -> tuple[float, float]:
        px, py = axes.transData.transform((x, y))
        dx, dy = px - middle[0], (height - py) - middle[1]
        cos, sin = np.cos(angle), np.sin(angle)
        found = new_middle + np.array([cos * dx + sin * dy, -sin * dx + cos * dy])
        return float(found[0] / turned.shape[1]), float(found[1] / turned.shape[0])

    return out.getvalue(), at


def CLIMB(h):
    return 1060 - 0.075 * h - 6e-7 * h * h


def _a_turned_and_noisy_scan_is_read_to_a_hundredth_of_its_axes(page) -> None:
    png, at = scanned_chart()
    page.set_input_files("#page-of-book", {"name": "scan.png", "mimeType": "image/png", "buffer": png})
    page.click("text=read a chart by clicking")
    image = page.locator(".beside img")
    expect(image).not_to_have_js_property("naturalWidth", 200)  # the chart before it is gone
    expect(image).to_have_js_property("complete", True)
    image.scroll_into_view_if_needed()
    box = image.bounding_box()
    click = lambda x, y: image.click(position={"x": x * box["width"], "y": y * box["height"]})  # noqa: E731
    value = page.get_by_label("value at this end of the axis")
    for number, place in (("0", (0, 0)), ("12000", (12_000, 0)), ("0", (0, 0)), ("1200", (0, 1200))):
        value.fill(number)
        click(*at(*place))
    heights = [1000, 4000, 7000, 10_000, 11_500]
    for h in heights:
        click(*at(h, CLIMB(h)))
    keys = [e.get_attribute("name") for e in page.locator("[data-row='0'] input").all()]
    first = keys.index("performance.climb.rows/0/pressure_altitude_ft")
    page.focus(f"[name='{keys[first]}']")
    page.click("text=points into the table")
    for n, h in enumerate(heights):
        got = [float(page.input_value(f"[name='{keys[first + k].replace('/0/', f'/{n}/')}']")) for k in (0, 1)]
        assert got[0] == pytest.approx(h, abs=0.01 * 12_000)
        assert got[1] == pytest.approx(CLIMB(h), abs=0.01 * 1200)


def _a_pdf_page_stands_beside_the_grid(page) -> None:
    """A PDF of other hands (matplotlib's own writer); the browser's viewer gets it, and the grid stays beside it."""
    import io

    from matplotlib.backends.backend_pdf import FigureCanvasPdf
    from matplotlib.figure import Figure

    figure = Figure(figsize=(5, 7))
    FigureCanvasPdf(figure)
    figure.text(0.1, 0.9, "TAKEOFF DISTANCE")
    out = io.BytesIO()
    figure.savefig(out, format="pdf")
    page.set_input_files("#page-of-book", {"name": "page.pdf", "mimeType": "application/pdf", "buffer": out.getvalue()})
    frame = page.locator(".beside iframe")
    expect(frame).to_be_visible()
    assert (frame.get_attribute("src") or "").startswith("blob:")
    size = frame.bounding_box()
    assert size["width"] > 250
    assert size["height"] > 300


def test_without_scripts_the_form_still_works(chromium, typing) -> None:
    page, _ = typing
    address = page.url.split("/airplanes")[0]
    context = chromium.new_context(base_url=address, java_script_enabled=False)
    bare = context.new_page()
    bare.goto("/airplanes/metric/fields?part=performance.takeoff")
    before = bare.locator("tr[data-row]").count()
    follow(bare.locator("text=one more row, like the last").first)
    expect(bare.locator("tr[data-row]")).to_have_count(before + 1)
    expect(bare.locator("#progress")).to_contain_text("tables")
    context.close()


def test_printed_tables_are_pasted_as_they_stand(typing) -> None:
    """One part after the other of one new airplane; the trace names the one that failed."""
    page, _ = typing
    page.goto("/airplanes/new")
    page.fill("[name=name]", "Pasted")
    page.press("[name=name]", "Enter")
    page.wait_for_url("**/fields")
    page.goto("/airplanes/pasted/fields?part=performance.power_chart")
    _a_pasted_line_takes_its_altitude_from_the_row_above(page)
    page.goto("/airplanes/pasted/fields?part=performance.stall")
    _values_across_the_page_are_laid_out_in_rows(page)
    page.goto("/airplanes/pasted/fields?part=performance.landing")
    _names_above_the_columns_and_empty_lines_are_passed_over(page)
    _a_pasted_column_of_choices_is_chosen(page)


def _a_pasted_line_takes_its_altitude_from_the_row_above(page) -> None:
    """A printed table has the altitude once for its group, and more columns than there is room for; both are said."""
    cell = "[name='performance.power_chart.rows/{}/{}']"
    page.focus(cell.format(0, "rpm"))
    page.evaluate(PASTE, "2500 25 75 115 9 8\n2400 24 66 109 9 8\n25 65 109 9 8\n")
    expect(page.locator(cell.format(2, "rpm"))).to_have_value("2400")
    expect(page.locator(cell.format(2, "manifold_pressure_inhg"))).to_have_value("25")
    expect(page.locator("#filing > p[role=status]")).to_have_text(
        "3 rows pasted; 1 took what is printed once from the row above; 2 columns at the right left out: "
        "this table asks for 4."
    )


def _a_pasted_column_of_choices_is_chosen(page) -> None:
    """The words of the first column as the form shows them; what is none of them is named, and nothing is chosen."""
    cell = "[name='performance.landing.corrections/{}/{}']"
    page.focus(cell.format(0, "cause"))
    page.evaluate(PASTE, "headwind\t10\nTailwind\t12\nsleet\t7\n")
    expect(page.locator(cell.format(1, "cause"))).to_have_value("tailwind")
    expect(page.locator("#filing > p[role=status]")).to_have_text("3 rows pasted; not among the choices: sleet.")


def _values_across_the_page_are_laid_out_in_rows(page) -> None:
    """Banks over the columns: a printed row becomes a row for each bank; where nothing is printed there is none."""
    box = page.locator(".across").first
    box.locator("summary").click()
    box.get_by_label("what stands across").select_option(label="bank")
    box.get_by_label("its values").fill("0 20 40 60")
    box.get_by_label("the rows as printed").fill("2300 0 52.9 54.6 60.4 74.8\n2300 1 50.0 51.6 57.1 -\n")
    box.get_by_role("button").click()
    cell = "[name='performance.stall.rows/{}/{}']"
    for row, key, value in ((0, "bank_deg", "0"), (0, "kias", "52.9"), (3, "kias", "74.8"), (3, "bank_deg", "60"),
                            (5, "flap_notch", "1"), (5, "kias", "51.6"), (5, "weight_lb", "2300")):  # fmt: skip
        expect(page.locator(cell.format(row, key))).to_have_value(value)
    expect(page.locator("tr[data-row]")).to_have_count(7)


def _names_above_the_columns_and_empty_lines_are_passed_over(page) -> None:
    """As it comes out of a PDF; Ctrl+Z takes it back."""
    cell = "[name='performance.landing.rows/{}/{}']"
    page.focus(cell.format(0, "weight_lb"))
    page.evaluate(PASTE, "weight alt OAT ISA roll total\n2300 0 20 - 700 1,465\n\n2300 2000 20 - 840 1,795\n")
    expect(page.locator(cell.format(0, "total_over_50_ft"))).to_have_value("1,465")
    expect(page.locator(cell.format(1, "ground_roll_ft"))).to_have_value("840")
    page.keyboard.press("Control+z")
    expect(page.locator(cell.format(0, "total_over_50_ft"))).to_have_value("")
