"""The full briefing: the document's data, the terminal, the PDF and the page with its plots."""

from __future__ import annotations

import re
import shutil
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from airwork.jobs.files import load_airplane, load_lesson
from airwork.lesson.plan import build_briefing
from airwork.output.briefing_doc import BriefingDoc, Listing, Table, make_doc, value_text
from airwork.output.briefing_html import briefing_html
from airwork.output.briefing_pdf import briefing_pdf
from airwork.output.briefing_plots import briefing_plots
from airwork.output.briefing_text import WIDTH, briefing_text
from airwork.values import Value
from output.briefings import demo_briefing


@pytest.fixture(scope="module")
def doc() -> BriefingDoc:
    return make_doc(demo_briefing())


def cells(doc: BriefingDoc, title: str) -> list[tuple[str, ...]]:
    section = next(s for s in doc.sections if s.title == title)
    return [row for block in section.blocks if isinstance(block, Table) for row in block.rows]


def test_every_reason_of_the_verdict_is_there(doc: BriefingDoc):
    rows = cells(doc, "Verdict, reason by reason")
    reasons = demo_briefing().verdict.reasons
    assert {(r[0], r[2]) for r in rows} == {(r.level, r.text) for r in reasons if r.level != "not checked"}
    assert all(r[3] and r[4] for r in rows if r[0] in {"think", "no-go"}), "source, and what would change it"
    unchecked = next(s for s in doc.sections if s.title == "Verdict, reason by reason").blocks[1]
    assert unchecked.items == tuple(r.text for r in reasons if r.level == "not checked")
    assert {"NOTAM", "airworthiness", "fitness", "terrain", "airspace"} <= {
        w for i in unchecked.items for w in i.split()
    } | {w.rstrip(":,") for i in unchecked.items for w in i.split()}


def test_what_is_said_aloud_is_there_by_exercise(doc: BriefingDoc):
    section = next(s for s in doc.sections if s.title == "Say aloud")
    said = " ".join(section.blocks[0].items)
    for words in ("I have", "abort", "engine failure after takeoff from runway 26", "no turning back below",
                  "spin recovery", "minimum height"):  # fmt: skip
        assert words in said
    (heights,) = (line for line in section.blocks[0].items if line.startswith("minimum height"))
    assert heights == "minimum height: the floor beside each exercise, broken off there"


def test_a_floor_of_its_own_is_said_with_the_exercise():
    """One minimum height stood over an exercise planned 700 ft below it."""
    lesson = load_lesson("demo")
    said = build_briefing(lesson, load_airplane(lesson.airplane_path)).cockpit.aloud
    (heights,) = (line for line in said if line.startswith("minimum height"))
    assert heights == "minimum height: 5,200 ft; turns around a point 4,300 ft, broken off there"


def test_the_plan_names_every_leg_with_its_local_time(doc: BriefingDoc):
    rows = cells(doc, "The lesson in time")
    assert len(rows) == len(demo_briefing().legs)
    assert rows[0][:2] == ("08:30", "start, taxi, run-up")


def test_an_exercise_has_numbers_with_source_steps_errors_cautions_and_tables(doc: BriefingDoc):
    section = next(s for s in doc.sections if s.title == "Slow flight")
    text = repr(section)
    for words in ("1,950 ± 60 rpm", "fitted to the handbook", "clear the area", "chasing the needle",
                  "carburetor heat first", "downwind", "PA.VII.A"):  # fmt: skip
        assert words in text, words
    assert "floor" in section.remark
    assert next(b for b in section.blocks if isinstance(b, Listing)).numbered


def test_cautions_and_program_are_stated(doc: BriefingDoc):
    assert "Not for navigation" in " ".join(doc.cautions)
    assert doc.footer.startswith("airwork ")


def test_an_invented_airplane_is_called_one(doc: BriefingDoc):
    assert any("invented" in line for line in doc.subtitle)


def test_metric_lessons_are_in_kilograms_and_liters():
    zone = 'zone = "America/Denver"'
    text = briefing_text(demo_briefing(((zone, f'{zone}\nunits = "metric"'),)), full=True)
    assert " kg" in text
    assert " L" in text
    assert " hPa" in text
    assert " gal" not in text.replace("gallon", "")


@pytest.mark.parametrize("full", [False, True])
def test_the_terminal_is_no_wider_than_a_hundred_columns(full: bool):
    text = briefing_text(demo_briefing(), full=full)
    assert max(map(len, text.splitlines())) <= WIDTH
    assert "THINK" in text
    assert "Not for" in text


def test_all_plots_are_drawn_and_are_black_on_white():
    plots = briefing_plots(demo_briefing())
    assert set(plots) == {"map", "close", "profile", "fuel", "envelope"}
    for svg in plots.values():
        assert svg.startswith("<svg")
        colors = {c.lower() for c in re.findall(r"#[0-9a-fA-F]{6}", svg)}
        assert all(c[1:3] == c[3:5] == c[5:7] for c in colors), colors


def test_the_map_names_field_and_landing_places():
    svg = briefing_plots(demo_briefing())["map"]
    for words in ("KOGA", "hay meadow, west road", "stubble, windmill", "wind "):
        assert words in svg


class Outline(HTMLParser):
    """Counts tags and checks that they close."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append(tag)
        self.links += [v for k, v in attrs if k in {"src", "href"} and v]
        if tag not in {"meta", "br", "img", "link", "input"}:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_is_whole_self_contained_and_every_link_stays_inside():
    page = briefing_html(demo_briefing())
    outline = Outline()
    outline.feed(page)
    assert outline.open == []
    assert outline.seen.count("figure") == 5
    assert "script" not in outline.seen
    assert all(link.startswith("#") for link in outline.links)


def test_text_from_the_lesson_is_escaped_on_the_page():
    odd = demo_briefing((('title = "Slow flight, stalls, steep turns"', 'title = "<script>alert(1)</script> & co"'),
                         ('name = "stubble, windmill"', 'name = "<b>barn</b>"')))  # fmt: skip
    page = briefing_html(odd)
    assert "<script>" not in page
    assert "<b>barn" not in page
    assert "&lt;script&gt;" in page


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
def test_the_pdf_holds_every_section(doc: BriefingDoc, tmp_path: Path):
    path = tmp_path / "briefing.pdf"
    path.write_bytes(briefing_pdf(demo_briefing()))
    text = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, check=True).stdout.decode()
    for section in doc.sections:
        assert section.title in text
    facts = subprocess.run(["pdfinfo", str(path)], capture_output=True, check=True).stdout.decode()
    assert "612 x 792" in facts


@pytest.mark.parametrize(
    ("number", "unit", "spread", "expected"),
    [
        (3.0, "notch", None, "3 notch"),
        (1.41, "g", None, "1.41 g"),
        (2170.0, "rpm", 30.0, "2,170 ± 30 rpm"),
        (-1.0, "deg", 3.0, "−1 ± 3°"),
        (10.25, "deg/s", None, "10.2 deg/s"),
        (0.0, "s", None, "0 s"),
    ],
)
def test_numbers_keep_the_digits_they_came_with(number: float, unit: str, spread: float | None, expected: str):
    assert value_text(Value(number, unit, "formula", "x", spread)) == expected


def test_a_dollar_in_a_name_is_a_dollar_and_no_formula():
    """Two of them once made the drawing library read a formula, and `^$` is none."""
    named = "strip $_ or ^$ east"
    plots = briefing_plots(demo_briefing((('"Arthur strip"', f'"{named}"'), ('"hay meadow, west road"', '"$x$"'))))
    assert named in plots["map"]
    assert "$x$" in plots["map"]
