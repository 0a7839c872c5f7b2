"""Letters on paper: what a font has, and what stands where none has it."""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from airwork.jobs.briefing import brief_lesson
from airwork.output import letters, typeset
from airwork.output.card import card_pdf, make_card

FONTS = typeset._FONTS


def test_a_font_s_letters_are_read_as_a_reference_library_reads_them() -> None:
    """fontTools 4, getBestCmap: the same letters of the fonts that come with airwork."""
    library = pytest.importorskip("fontTools.ttLib")
    theirs = {chr(c) for font in FONTS.glob("*.ttf") for c in library.TTFont(font).getBestCmap()}
    assert letters._letters_of(FONTS) - {"\0"} == theirs - {"\0"}


def test_only_what_the_fonts_lack_is_looked_for() -> None:
    assert letters.lacking("Søren: é ø → ✗ ½ −3° Ł ő", FONTS) == frozenset()
    assert letters.lacking("steep turns 漢字 é", FONTS) == {"漢", "字"}
    assert letters.as_numbers("é 漢", {"漢"}) == "é [U+6F22]"


@pytest.mark.parametrize("raw", [b"", b"no font", b"ttcf\0\0\0\1\xff\xff\xff\xff\xff\xff\xff\xff"])
def test_a_file_that_is_no_font_has_no_letters(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / "x.ttf").write_bytes(raw)
    assert letters._ranges(tmp_path / "x.ttf") == ()


def test_a_letter_of_no_font_here_is_printed_as_its_number_and_one_of_the_machine_s_is_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(letters, "_machines_fonts", lambda: ())
    assert letters.had_elsewhere({"漢"}) == ((), frozenset({"漢"}))
    monkeypatch.setattr(letters, "_machines_fonts", lambda: tuple(sorted(FONTS.glob("*.ttf"))))
    assert letters.had_elsewhere({"é", "漢"}) == ((FONTS,), frozenset({"漢"}))


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
def test_a_name_is_on_the_card_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(letters, "_machines_fonts", lambda: ())
    card = make_card(replace(brief_lesson("demo", currency=()), title="Søren 漢"))
    (tmp_path / "card.pdf").write_bytes(card_pdf(card, "a5"))
    done = subprocess.run(["pdftotext", str(tmp_path / "card.pdf"), "-"], capture_output=True, check=True)
    assert "Søren [U+6F22]" in done.stdout.decode()
