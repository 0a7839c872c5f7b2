"""Keys of handbooks and documents are written out where people read them."""

from __future__ import annotations

import re
from pathlib import Path

from airwork.output.handbooks import HANDBOOKS, named_in
from airwork.standards import load_standard

ROOT = Path(__file__).parents[2]


def test_every_key_that_is_printed_has_its_title_and_the_bibliographys() -> None:
    pages = (ROOT / "docs" / "bibliography.md").read_text(encoding="utf-8").replace("*", "")
    for key, title in HANDBOOKS.items():
        assert f"| [{key}] | {title}" in pages
    printed: set[str] = set()
    for folder in ("maneuvers", "lesson", "airplane"):
        for path in (ROOT / "src" / "airwork" / folder).rglob("*.py"):
            code = re.sub(r"(?s)\"\"\".*?\"\"\"|#.*?$", "", path.read_text(encoding="utf-8"), flags=re.M)
            printed |= set(re.findall(r"\[([A-Z]{3,4})\](?![?*+])", code))  # not the letters a pattern takes
    assert printed - {"RPM"} <= set(HANDBOOKS)


def test_a_text_without_keys_names_nothing() -> None:
    assert named_in("wings level [1], [ft], [AFHX]") == ()
    assert [key for key, _ in named_in("[AFH] ch. 3, [PHAK] ch. 5 and [AFH] ch. 7")] == ["PHAK", "AFH"]


def test_a_standards_document_is_named_and_not_its_key() -> None:
    standard = load_standard("private")
    assert standard.in_words("S2") == "FAA-S-ACS-6B, June 2018"
    assert (
        standard.in_words("full stall (S1, notes on stalls)")
        == "full stall (FAA-S-ACS-6C, November 2023, notes on stalls)"
    )
    assert standard.in_words("our handbook, S99") == "our handbook, S99"
