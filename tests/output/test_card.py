"""The card: its words as data, then one page of each paper with all of them on it."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from airwork.errors import NotPossible
from airwork.output.card import CardData, make_card
from airwork.output.card_pdf import PAPERS, Paper, card_pdf
from output.briefings import demo_briefing

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")


@pytest.fixture(scope="module")
def card() -> CardData:
    return make_card(demo_briefing())


def text_of(pdf: bytes, folder: Path) -> str:
    path = folder / "card.pdf"
    path.write_bytes(pdf)
    done = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, check=True)
    return done.stdout.decode()


def facts_of(pdf: bytes, folder: Path) -> str:
    path = folder / "card.pdf"
    path.write_bytes(pdf)
    return subprocess.run(["pdfinfo", str(path)], capture_output=True, check=True).stdout.decode()


def words(text: str) -> str:
    """Letters and digits only: a PDF spaces its text as it likes."""
    return re.sub(r"[^0-9A-Za-z±°–]+", "", text)


def test_one_line_for_each_maneuver_in_flying_order_repeats_together(card: CardData):
    assert [(m.title, m.times) for m in card.maneuvers] == [
        ("Slow flight", ""), ("Power-off stall", "×2"), ("Power-on stall", "×2"), ("Steep turn", ""),
        ("Turns around a point", ""), ("Emergency descent", ""),
    ]  # fmt: skip
    assert [m.clock for m in card.maneuvers] == sorted(m.clock for m in card.maneuvers)
    assert card.maneuvers[0].altitude == "6,500 ft"
    assert card.maneuvers[0].limits == "altitude ±100 ft"


def test_speeds_are_as_on_this_dial(card: CardData):
    """mph for this airplane: best glide 71 mph is 62 kt."""
    assert card.dial_unit == "mph"
    glide = next(s for s in card.speeds if s.name == "best glide")
    assert 65 < float(glide.value) < 80


def test_headings_on_the_card_are_magnetic(card: CardData):
    b = demo_briefing()
    path = b.exercises[0].path
    shown = float(card.maneuvers[0].heading.rstrip("°"))
    magnetic = (path.heading_rad - b.weather.variation_rad) * 180 / 3.141592653589793
    assert abs((shown - magnetic + 180) % 360 - 180) <= 5.0


def test_the_verdict_and_what_decided_it_come_first(card: CardData):
    assert card.verdict in {"GO", "THINK", "NO-GO"}
    assert len(card.reasons) <= 4
    assert all(card.reasons)


def test_a_no_go_says_so():
    b = demo_briefing((("10SM FEW055", "1SM OVC004"),))
    assert make_card(b).verdict == "NO-GO"


def test_turn_for_home_has_a_time_and_a_fuel(card: CardData):
    assert re.fullmatch(r"\d\d:\d\d", card.home_clock)
    assert card.home_fuel.endswith(" gal")
    assert "fuel" in card.home_remark


def test_the_users_own_signals_are_on_it(card: CardData):
    assert [s.name for s in card.signals] == ["Ogallala traffic", "Weather, AWOS", "Lost radio"]


def test_edition_standard_and_caution_are_on_it(card: CardData):
    assert "airwork" in card.footer
    assert "Private pilot" in card.footer
    assert "Not for navigation" in card.footer


def test_an_exercise_without_a_set_up_says_why():
    b = demo_briefing()
    bare = replace(b.exercises[0], set_up=None, problem="level flight is not possible")
    card = make_card(replace(b, exercises=(bare, *b.exercises[1:])))
    assert card.maneuvers[0].line == "level flight is not possible"


@needs_poppler
@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_card_is_one_page_of_its_paper_with_every_word(card: CardData, paper: Paper, tmp_path: Path):
    pdf = card_pdf(card, paper)
    facts = facts_of(pdf, tmp_path)
    assert re.search(r"Pages:\s+1\b", facts)
    size = {"a5": "419.5", "half-letter": "396"}[paper]
    assert size in facts
    found = words(text_of(pdf, tmp_path))
    wanted = [card.verdict, card.title, card.home_clock, card.home_fuel, *(m.title for m in card.maneuvers),
              *(m.line for m in card.maneuvers), *(s.value for s in card.speeds), *(s.value for s in card.signals),
              *(t.tank for t in card.tanks), *(p.value for p in card.power)]  # fmt: skip
    for text in wanted:
        assert words(text) in found, text


@needs_poppler
def test_many_exercises_still_fit_one_page_in_smaller_type(tmp_path: Path):
    card = make_card(demo_briefing(more_exercises=2))
    assert len(card.maneuvers) == 10
    assert re.search(r"Pages:\s+1\b", facts_of(card_pdf(card), tmp_path))


def test_too_many_for_a_legible_page_are_refused_in_one_line(card: CardData):
    long = replace(card, maneuvers=card.maneuvers * 6)
    with pytest.raises(NotPossible, match="fewer exercises"):
        card_pdf(long)


def test_text_from_the_lesson_is_text_and_never_markup(card: CardData, tmp_path: Path):
    """A title with the typesetter's own signs is printed as it was typed."""
    odd = replace(card, title='#panic("x") *bold* _it_ $x$ \\ <a> @b [c]')
    pdf = card_pdf(odd)
    if shutil.which("pdftotext"):
        assert 'panic("x") *bold*' in text_of(pdf, tmp_path)
