"""`airwork brief` asks the logbook where there is one, and says so where there is none."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from airwork.cli import main


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.sqlite"
    assert main(["logbook", "add", "student", "Nora Whitlock", "--data", str(path)]) == 0
    return path


def test_without_a_logbook_currency_is_not_checked_and_it_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["brief", "demo", "--no-card", "--no-logbook"]) == 0
    assert "no logbook was asked" in " ".join(capsys.readouterr().out.split())


def test_what_the_logbook_lacks_is_not_known_and_never_go(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["brief", "demo", "--no-card", "--data", str(book)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "no logbook was asked" not in said
    assert re.search(r"Emmett Dray is not in the logbook[^→]*→ what is missing entered in the logbook", said)
    assert said.startswith(("THINK", "NO-GO"))


def test_a_missing_logbook_named_by_the_user_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["brief", "demo", "--no-card", "--data", str(tmp_path / "none.sqlite")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
