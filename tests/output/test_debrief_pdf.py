"""The debrief on paper: what it says is what the debrief found, and its plots are the flight's own samples."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from airwork.airplane import find_airplane_file, load_airplane
from airwork.debrief import debrief
from airwork.debrief.ideals import ideals_of
from airwork.errors import InputError
from airwork.output.debrief_pdf import debrief_data, debrief_pdf, paper_for
from airwork.output.debrief_plots import plot_svg, ticks
from airwork.standards import load_standard
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


def test_a_full_sheet_leaves_out_what_was_held(found) -> None:
    data = debrief_data(found)
    assert {r["mark"] for r in data["rows"] if r["mark"] == "out"} <= {r["mark"] for r in data["sheet"]["rows"]}
    assert len(data["sheet"]["rows"]) <= 12


def test_every_section_of_the_page_stands_on_paper_with_its_plots(found) -> None:
    data = debrief_data(found, ideals=ideals_of(found))
    assert len(data["rows"]) == len(found.episodes)
    assert [m["number"] for m in data["maneuvers"]] == [r["number"] for r in data["rows"] if r["section"]]
    assert all(len(m["plots"]) >= 4 for m in data["maneuvers"])
    turn = next(m for m in data["maneuvers"] if m["title"] == "Steep turn")
    assert any('stroke-dasharray="5 3"' in plot for plot in turn["plots"])  # the ideal lies over it
    assert any("<rect" in plot for plot in turn["plots"])  # the limit's band


def test_a_plot_draws_the_samples_where_they_are_and_leaves_gaps() -> None:
    svg = plot_svg([0, 10, 20, 30, 40], [100.0, 110.0, None, 100.0, 110.0], name="altitude, ft", room=1.0,
                   start_s=10.0, end_s=30.0)  # fmt: skip
    lines = re.findall(r'<polyline points="([^"]*)"', svg)
    assert len(lines) == 2
    (x0, y0), (x1, y1) = (tuple(map(float, p.split(","))) for p in lines[0].split())
    (x3, y3), _ = (tuple(map(float, p.split(","))) for p in lines[1].split())
    assert y0 == y3 > y1  # up is up
    assert x3 - x0 == pytest.approx(3 * (x1 - x0), abs=0.3)  # time is even
    assert "altitude, ft" in svg


def test_a_heading_is_read_as_on_the_compass() -> None:
    svg = plot_svg([0, 10, 20], [350.0, 360.0, 370.0], name="heading, °", room=1.0, start_s=0, end_s=20, compass=True)
    shown = re.findall(r'text-anchor="end">([^<]*)<', svg)
    assert "360" in shown
    assert "010" in shown
    assert "370" not in shown


def test_the_axes_have_round_numbers() -> None:
    assert ticks(0.0, 98.0, 4) == [0.0, 50.0]
    assert ticks(3.0, 61.0, 4, sixties=True) == [15.0, 30.0, 45.0, 60.0]
    assert ticks(-0.5, 0.5, 4) == [-0.5, 0.0, 0.5]


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
