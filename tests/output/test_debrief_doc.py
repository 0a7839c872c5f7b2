"""The debrief's document: one set of words, which terminal, page and paper all print."""

from __future__ import annotations

import html
import json
import re
from dataclasses import asdict, replace

import pytest

from airwork.debrief import Debrief, debrief
from airwork.debrief.margin import Margin
from airwork.output import debrief_words as words
from airwork.output.debrief_doc import DebriefDoc, make_debrief_doc
from airwork.output.debrief_pdf import debrief_data
from airwork.output.debrief_text import debrief_text
from airwork.output.report import report_html
from airwork.standards import load_standard
from flightbuilder import lesson


@pytest.fixture(scope="module")
def found() -> Debrief:
    return debrief(lesson(wind_kt=9.0, skill=0.6).flight(rate_hz=2.0), standard=load_standard("private"))


@pytest.fixture(scope="module")
def doc(found: Debrief) -> DebriefDoc:
    return make_debrief_doc(found, zone="America/Denver", every=True)


def test_it_is_plain_data(doc: DebriefDoc) -> None:
    back = json.loads(json.dumps(asdict(doc), allow_nan=False))
    assert len(back["rows"]) == len(doc.rows) > 5
    assert back["maneuvers"][0]["criteria"][0]["name"] == doc.maneuvers[0].criteria[0].name


def test_terminal_page_and_paper_say_the_same_of_every_maneuver(found: Debrief, doc: DebriefDoc) -> None:
    """Titles, verdicts, limits, worst values, causes and what they are held against, to the letter."""

    def flat(text: str) -> str:
        return " ".join(re.sub(r"<[^>]*>", " ", html.unescape(text)).split())

    all_of_them = dict.fromkeys(range(99), ())
    paper = debrief_data(found, marks=all_of_them)
    shown = {
        "terminal": flat(debrief_text(doc, everything=True)).casefold(),
        "page": flat(report_html(found, zone="America/Denver", marks=all_of_them)).casefold(),
        "paper": flat(json.dumps(paper, ensure_ascii=False)).casefold(),
    }
    for where, text in shown.items():
        for part in doc.maneuvers:
            said = [part.title, part.target, *(c.text for c in part.causes), *(c.next for c in part.causes)]
            for c in part.criteria:
                said += [c.word, c.worst, c.why]
            for phrase in said:
                assert flat(phrase).casefold() in text, (where, part.title, phrase)
        for line in (*doc.notes, *(text for _, text in doc.fuel), doc.summary):
            assert flat(line).casefold() in text, (where, line)


def test_a_limit_passed_stands_in_its_own_maneuver_too_the_worst_of_its_kind(found: Debrief) -> None:
    """What is said first of the flight, where one opens the maneuver it lies in: a cause without its drill."""
    e = found.episodes[0].episode
    pushed = tuple(  # worst first
        Margin(text, e.start_s + 1.0, e.start_s + 2.0, 60.0 - rank, kind=e.kind)
        for rank, text in enumerate(("Pushed to −0.3 g in it.", "2.5 g, a limit.", "Pushed to 0.1 g in it."))
    )
    doc = make_debrief_doc(replace(found, margins=pushed), zone="America/Denver", every=True)
    row, part = doc.rows[0], doc.maneuvers[0]
    assert row.cause == part.causes[0].text == "Pushed to −0.3 g in it."
    assert not row.plain
    said = debrief_text(doc, everything=True)
    assert "→ Pushed to −0.3 g in it." in said
    assert "0.1 g" not in said
    assert part.causes[1].text == "2.5 g, a limit."
    assert "next time: \n" not in said
    assert [c.text for m in doc.maneuvers[1:] for c in m.causes if "Pushed" in c.text] == []


def test_a_row_names_what_was_missed_and_by_how_much(found: Debrief, doc: DebriefDoc) -> None:
    for row, graded in zip(doc.rows, found.episodes, strict=True):
        missed = [f.name for f in graded.grade.findings if f.verdict == "not held"]
        assert (row.mark == "out") == bool(missed)
        if missed:
            assert row.missed == ", ".join(missed)
            assert row.section


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [(-52.4, "ft", "−52 ft"), (4.94, "kt", "+4.9 kt"), (0.02, "kt", "0.0 kt"), (-0.2, "ft", "0 ft"),
     (33.0, "s", "33.0 s"), (120.0, "kt", "+120 kt"), (-6.2, "deg", "−6°"), (None, "ft", "")],
)  # fmt: skip
def test_a_deviation_has_its_sign_and_unit_and_nothing_has_none(value: float | None, unit: str, said: str) -> None:
    assert words.deviation(value, unit) == said


def test_an_indicated_speed_is_said_as_the_dial_shows_it() -> None:
    """86 mph is 86 × 1,609.344 m/h = 74.7 kt (1,852 m/h)."""
    assert words.key_value("min_ias_kt", 74.7, "mph") == "86 mph (74.7 kt)"
    assert words.key_value("mean_tas_kt", 74.7, "mph") == "74.7 kt"
