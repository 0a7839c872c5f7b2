"""Letters on paper: what a font has, and what stands where none has it."""

from __future__ import annotations

import shutil
import subprocess
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest

from airwork.jobs.briefing import brief_lesson
from airwork.output import typeset
from airwork.output.card import card_pdf, make_card
from airwork.web.brief_view import view

FONTS = typeset._FONTS


def test_what_is_called_familiar_the_fonts_have() -> None:
    """Every letter that Unicode has there, but what isn't drawn."""
    assigned = (chr(n) for first, last in typeset.FAMILIAR for n in range(first, last + 1))
    drawn = {c for c in assigned if unicodedata.category(c) not in typeset.UNSEEN | {"Cn"}}
    assert len(drawn) > 1000
    assert drawn - typeset._letters_of(FONTS) == set()


def test_only_what_the_fonts_lack_is_looked_for() -> None:
    assert typeset.lacking("Søren: é ø → ✗ ½ −3° Ł ő", FONTS) == frozenset()
    assert typeset.lacking("steep turns 漢字 é", FONTS) == {"漢", "字"}
    assert typeset.as_numbers("é 漢", {"漢"}) == "é [U+6F22]"


@pytest.mark.parametrize("raw", [b"", b"no font", b"ttcf\0\0\0\1\xff\xff\xff\xff\xff\xff\xff\xff"])
def test_a_file_that_is_no_font_has_no_letters(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / "x.ttf").write_bytes(raw)
    assert typeset._letters(tmp_path / "x.ttf") == frozenset()


def test_a_letter_of_no_font_here_is_printed_as_its_number_and_one_of_the_machine_s_is_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(typeset, "_machines_fonts", lambda: ())
    assert typeset.had_elsewhere({"漢"}) == ((), frozenset({"漢"}))
    monkeypatch.setattr(typeset, "_machines_fonts", lambda: tuple(sorted(FONTS.glob("*.ttf"))))
    assert typeset.had_elsewhere({"é", "漢"}) == ((FONTS,), frozenset({"漢"}))


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
def test_a_name_is_on_the_card_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(typeset, "_machines_fonts", lambda: ())
    card = make_card(replace(brief_lesson("demo", currency=()), title="Søren 漢"))
    (tmp_path / "card.pdf").write_bytes(card_pdf(card, "a5"))
    done = subprocess.run(["pdftotext", str(tmp_path / "card.pdf"), "-"], capture_output=True, check=True)
    assert "Søren [U+6F22]" in done.stdout.decode()


def test_the_page_says_before_one_prints_which_letters_no_font_has(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(typeset, "_machines_fonts", lambda: ())
    briefing = brief_lesson("demo", currency=())
    assert view(replace(briefing, student="Søren 漢字"))["unprintable"] == "字漢"
    assert not view(replace(briefing, student="José Ørsted"))["unprintable"]
