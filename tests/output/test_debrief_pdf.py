"""The debrief on paper: what it says is what the debrief found, and its plots are the flight's own samples."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest

from airwork.airplane import find_airplane_file, load_airplane
from airwork.debrief import debrief
from airwork.debrief.ideals import ideals_of
from airwork.errors import InputError
from airwork.output.debrief_pdf import Plot, debrief_data, debrief_pdf, paper_for, plot_svg, student_sheet
from airwork.output.drawing import clock_ticks, steps
from airwork.output.typeset import typeset
from airwork.standards import load_standard
from airwork.units import clock
from flightbuilder import lesson


@pytest.fixture(scope="module")
def found():
    airplane = load_airplane(find_airplane_file("larkmoor_155"))
    return debrief(lesson().flight(), standard=load_standard("private"), airplane=airplane)


def _words(pdf: bytes, tmp_path: Path) -> str:
    """The text of a PDF, by a reader that is not ours."""
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("pdftotext is not installed")
    path = tmp_path / "d.pdf"
    path.write_bytes(pdf)
    return subprocess.run([reader, "-layout", path, "-"], capture_output=True, text=True, check=True).stdout


def test_the_paper_names_every_maneuver_its_verdicts_and_the_cautions(found, tmp_path: Path) -> None:
    marks = {0: [("instructor", "practice, look further down the runway")]}
    words = _words(debrief_pdf(found, zone="America/Denver", ideals=ideals_of(found), marks=marks), tmp_path)
    data = found.as_json()
    flat = " ".join(words.split())
    sections = {m["number"] for m in debrief_data(found)["maneuvers"]}
    for number, episode in enumerate(data["episodes"], start=1):
        assert episode["title"] in flat
        for criterion in episode["criteria"] if number in sections else ():
            assert criterion["name"] in flat
    assert "Not for navigation" in flat
    assert "look further down the runway" in flat
    assert re.search(r"1 of \d+", flat)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_first_page_is_the_student_s_and_the_evidence_begins_on_the_second(
    found, tmp_path: Path, paper: str
) -> None:
    made = debrief_pdf(found, ideals=ideals_of(found), paper=paper, student="Nora Whitlock")
    pages = _words(made, tmp_path).split("\f")
    sheet = " ".join(pages[0].split())
    assert "Nora Whitlock" in sheet
    for sentence in debrief_data(found)["three"]:
        assert sentence["heading"].upper() in sheet
        assert " ".join(sentence["text"].split()[:6]) in sheet
    assert "Steep turn" in sheet
    assert pages[1].strip().startswith("What this is taken from")


LONG = (
    "Final at 300 ft above the field: 27° off the runway's track, 14° of bank, 9 kt slow and sinking 1,322 fpm, while "
    "the brief said that it is stable by 300 ft, on speed, on the line, or goes around, which nobody aboard said"
)


def _read(pdf: bytes, tmp_path: Path) -> list[list[tuple[str, float, float, float, float, float]]]:
    """Each page's pieces of text as (text, left, top, right, bottom, size), points, by a reader that is not ours.

    It gives whole pixels at three a point.
    """
    if shutil.which("pdftohtml") is None:
        pytest.skip("poppler-utils is not installed")
    path = tmp_path / "read.pdf"
    path.write_bytes(pdf)
    run = ["pdftohtml", "-xml", "-zoom", "3", "-stdout", "-i", str(path)]
    xml = ElementTree.fromstring(subprocess.run(run, capture_output=True, check=True).stdout)
    sizes = {one.get("id"): float(one.get("size", "0")) / 3.0 for one in xml.iter("fontspec")}
    pages = []
    for page in xml.iter("page"):
        pieces = []
        for one in page.iter("text"):
            left, top, wide, high = (float(one.get(k, "0")) / 3.0 for k in ("left", "top", "width", "height"))
            pieces.append(("".join(one.itertext()), left, top, left + wide, top + high, sizes[one.get("font")]))
        pages.append(pieces)
    return pages


@pytest.mark.parametrize(
    ("paper", "wide", "high", "count"),
    [("letter", 612.0, 792.0, 1), ("a4", 595.0, 842.0, 13), ("a4", 595.0, 842.0, 20), ("letter", 612.0, 792.0, 20)],
)
def test_the_sheet_is_one_page_with_every_exercise_nothing_cut_and_legible(
    found, tmp_path: Path, paper: str, wide: float, high: float, count: int
) -> None:
    """Up to twenty exercises, each with something to say, and long sentences above them."""
    data = debrief_data(found, ideals=ideals_of(found), student="Nora Whitlock")
    row = next(r for r in data["sheet"]["rows"] if r["cause"])
    marks = [("out", "✗", "not held"), ("held", "✓", "held"), ("brief", "~", "briefly out, corrected")]
    rows = []
    for k in range(count):
        mark, sign, word = marks[k % 3]
        rows.append({**row, "number": 40 + k, "title": f"Turns around a point {chr(65 + k)}", "mark": mark,
                     "sign": sign, "word": word, "worst": "height above ground +1,245 ft",
                     "cause": f"The bank grew to 51° and was over 50° for {70 + k} s: not stopped."})  # fmt: skip
    data["sheet"]["rows"] = rows
    data["three"] = [{**s, "text": LONG} for s in data["three"]]
    pdf = typeset("debrief.typ", data, paper)
    pages = _read(pdf, tmp_path)
    sheet = " ".join(" ".join(piece[0] for piece in pages[0]).split())
    assert "What this is taken from" in " ".join(piece[0] for piece in pages[1][:3])
    for k in range(count):
        assert f"Turns around a point {chr(65 + k)}" in sheet
        if k % 3 == 0:  # what was not held keeps what is said of it, however full the sheet
            assert re.search(rf"50° for {70 + k} s: not stopped", sheet), k
    assert sheet.count("which nobody aboard said") == 3
    assert "…" not in sheet.replace("….", "")  # the footer's digest alone is shortened
    legible = [p for p in pages[0] if not re.search(r"airwork \d|recording sees|navigation|^\d+ of \d+$", p[0])]
    for text, left, top, right, bottom, size in legible:
        assert size >= 6.5, (text, size)
        assert left >= 25, text
        assert right <= wide - 25, text
        assert top >= 25, text
        assert bottom <= high - 44, text  # clear of the footer
    table = [p for p in legible if p[0].startswith(("Turns around", "The bank grew"))]
    assert min(p[5] for p in table) >= 6.9


def test_a_flight_of_more_than_twenty_leaves_out_what_was_held(found) -> None:
    values = debrief_data(found)
    rows = [{**values["rows"][0], "plain": False, "number": k, "mark": "out" if k in {3, 25} else "held"}
            for k in range(1, 27)]  # fmt: skip
    sheet = student_sheet({**values, "rows": rows, "maneuvers": []}, {})
    assert len(sheet["rows"]) == 20
    assert sheet["more"] == 6
    assert {3, 25} <= {r["number"] for r in sheet["rows"]}
    assert [r["number"] for r in sheet["rows"]] == sorted(r["number"] for r in sheet["rows"])


def test_what_the_instructor_said_stands_on_the_students_sheet(found, tmp_path: Path) -> None:
    """Of a flight of more exercises than the sheet has rows, too; without a mark nothing is added."""
    said = "practice, look further down the runway"
    pages = _read(debrief_pdf(found, marks={0: [("Emmett Dray", said)]}), tmp_path)
    assert said in " ".join(" ".join(piece[0] for piece in pages[0]).split())
    values = debrief_data(found)
    rows = [{**values["rows"][0], "plain": k == 9, "number": k, "mark": "held", "marks": said if k in {9, 26} else ""}
            for k in range(1, 27)]  # fmt: skip
    shown = {r["number"] for r in student_sheet({**values, "rows": rows, "maneuvers": []}, {})["rows"]}
    assert {9, 26} <= shown
    plain = [{**r, "marks": ""} for r in rows]
    assert not {9, 26} & {r["number"] for r in student_sheet({**values, "rows": plain, "maneuvers": []}, {})["rows"]}


def test_the_exercise_looked_at_is_the_one_that_needs_it_most() -> None:
    """Nothing said first: of one held and a later one briefly out the second is drawn."""
    rows = [{"index": k, "number": k + 1, "plain": False, "mark": mark} for k, mark in enumerate(("held", "brief"))]
    parts = [
        {"index": k, "plain": False, "columns": (), "causes": [], "start_s": 9.0 * k, "end_s": 9.0} for k in (0, 1)
    ]
    values = {"rows": rows, "maneuvers": parts, "three": [{}, {"opens_s": None}, {}]}
    assert student_sheet(values, {})["look"]["index"] == 1


def test_every_section_of_the_page_stands_on_paper_with_its_plots(found) -> None:
    data = debrief_data(found, ideals=ideals_of(found))
    assert len(data["rows"]) == len(found.episodes)
    assert [m["number"] for m in data["maneuvers"]] == [r["number"] for r in data["rows"] if r["section"]]
    assert all(len(m["plots"]) >= 4 for m in data["maneuvers"])
    turn = next(m for m in data["maneuvers"] if m["title"] == "Steep turn")
    assert any('class="c1" points=' in plot for plot in turn["plots"])  # the ideal lies over it
    assert any('class="band" points=' in plot for plot in turn["plots"])  # the limit's band


def test_a_plot_draws_the_samples_where_they_are_and_leaves_gaps() -> None:
    svg = plot_svg([0, 10, 20, 30, 40], [100.0, 110.0, None, 100.0, 110.0], Plot("altitude, ft", 1.0, (10.0, 30.0)))
    lines = re.findall(r'<polyline class="strong" points="([^"]*)"', svg)
    assert len(lines) == 2
    (x0, y0), (x1, y1) = (tuple(map(float, p.split(","))) for p in lines[0].split())
    (x3, y3), _ = (tuple(map(float, p.split(","))) for p in lines[1].split())
    assert y0 == y3 > y1  # up is up
    assert x3 - x0 == pytest.approx(3 * (x1 - x0), abs=0.3)  # time is even
    assert "altitude, ft" in svg


def test_a_heading_is_read_as_on_the_compass() -> None:
    svg = plot_svg([0, 10, 20], [350.0, 360.0, 370.0], Plot("heading, °", 1.0, (0.0, 20.0), compass=True))
    shown = re.findall(r'text-anchor="end">([^<]*)<', svg)
    assert "360" in shown
    assert "010" in shown
    assert "370" not in shown


def test_the_axes_have_round_numbers() -> None:
    assert steps(0.0, 98.0, 4) == [0.0, 25.0, 50.0, 75.0]
    assert clock_ticks(3.0, 61.0, clock, 4) == [(15.0, "0:15"), (30.0, "0:30"), (45.0, "0:45"), (60.0, "1:00")]
    assert steps(-0.5, 0.5, 4) == [-0.5, -0.25, 0.0, 0.25, 0.5]


def test_a_text_that_means_something_to_the_typesetter_is_only_text(found, tmp_path: Path) -> None:
    evil = '#panic("x") $1$ *b* @m1 <m2> \\ "quoted"'
    words = _words(debrief_pdf(found, marks={0: [("student", evil)]}), tmp_path)
    assert '#panic("x")' in words


def test_a_flight_without_maneuvers_and_an_unknown_zone() -> None:
    from flightbuilder import Builder

    still = Builder()
    still.hold_on_ground(20.0)
    bare = debrief(still.flight(), standard=load_standard("easa_ppl"))
    assert bare.episodes == ()
    assert debrief_pdf(bare).startswith(b"%PDF-")
    with pytest.raises(InputError, match="no time zone"):
        debrief_pdf(bare, zone="Mars/Olympus")
    assert paper_for("easa_ppl") == "a4"
    assert paper_for("private") == "letter"
