"""The page on standards names every shipped standard, quantity and threshold with its value."""

from __future__ import annotations

from pathlib import Path

from airwork.standards import available, load_standard
from airwork.standards.load import QUANTITIES

PAGE = (Path(__file__).parents[2] / "docs" / "standards.md").read_text("utf-8")


def test_the_page_names_every_standard_and_quantity() -> None:
    """What can be written in a file is in the page."""
    for name in (*available(), *QUANTITIES):
        assert f"`{name}`" in PAGE, name


def test_the_page_gives_every_threshold_with_its_value() -> None:
    """Name and number in one row."""
    for t in load_standard("private").judging.thresholds.values():
        row = next((line for line in PAGE.splitlines() if line.startswith(f"| `{t.name}` |")), "")
        assert f"{t.value:g}" in row or f"{t.value:.2f}" in row, t.name
