"""`airwork demo` does the whole job in an empty folder and leaves a user's changes alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from airwork.cli import main


def test_the_demo_briefs_debriefs_and_records(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "demo"
    assert main(["demo", "--into", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "Brief    stalls_over_the_lake.toml: Think" in said
    assert (folder / "lessons" / "stalls_over_the_lake.card.pdf").read_bytes().startswith(b"%PDF")
    reports = list((folder / "recordings").glob("*.debrief.html"))
    assert len(reports) == len(list((folder / "recordings").glob("2025-*.csv.gz"))) + 1  # and the GPX
    assert said.count("taken in") == 4
    assert main(["logbook", "show", "Nora Whitlock", "--data", str(folder / "logbook.sqlite")]) == 0
    assert "Nora Whitlock" in capsys.readouterr().out

    lesson = folder / "lessons" / "stalls_over_the_lake.toml"
    lesson.write_text(lesson.read_text().replace('time = "08:30"', 'time = "09:30"'))
    assert main(["demo", "--into", str(folder)]) == 0
    assert 'time = "09:30"' in lesson.read_text()
    assert "is there already" in capsys.readouterr().out
