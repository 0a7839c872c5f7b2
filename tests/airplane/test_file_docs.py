"""docs/airplane-file.md says what the models say."""

from __future__ import annotations

import tomllib
from pathlib import Path

from airwork.airplane import Airplane
from airwork.airplane.file.load import parse_airplane_file

ROOT = Path(__file__).parent.parent.parent
PAGE = ROOT / "docs" / "airplane-file.md"


def test_every_key_has_its_meaning() -> None:
    rows = [line.split("|") for line in PAGE.read_text().splitlines() if line.startswith("| `")]
    assert len(rows) > 200
    assert [row[1] for row in rows if not row[4].strip()] == []


def test_the_examples_on_the_page_load() -> None:
    blocks = [block.split("```")[0] for block in PAGE.read_text().split("```toml\n")[1:]]
    least, reading = blocks
    assert Airplane(parse_airplane_file(least)).name == "Two pages"
    assert len(parse_airplane_file(least + reading).observations) == len(tomllib.loads(reading)["observations"]) == 1
