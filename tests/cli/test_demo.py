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


def test_at_a_terminal_the_page_is_opened_unless_it_is_not_wanted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The commands that follow the copying are told apart from it: here the logbook stands and nothing is flown.

    What somebody has changed meanwhile stays.
    """
    import airwork.cli.demo as demo

    asked: list[list[str]] = []
    monkeypatch.setattr(demo, "_brief", lambda lesson: None)
    monkeypatch.setattr(demo, "_debrief", lambda folder, entry: None)
    monkeypatch.setattr(demo, "main", lambda argv: asked.append(argv) or 0)
    folder = str(tmp_path / "demo")
    (tmp_path / "demo").mkdir()
    (tmp_path / "demo" / "logbook.sqlite").touch()
    assert main(["demo", "--into", folder]) == 0
    assert asked == []  # no terminal
    lesson = tmp_path / "demo" / "lessons" / "stalls_over_the_lake.toml"
    lesson.write_text(lesson.read_text().replace('time = "08:30"', 'time = "09:30"'))
    capsys.readouterr()
    for stream in ("stdin", "stdout"):
        monkeypatch.setattr(f"sys.{stream}.isatty", lambda: True, raising=False)
    assert main(["demo", "--into", folder, "--no-page"]) == 0
    assert asked == []
    assert 'time = "09:30"' in lesson.read_text()
    assert "is there already" in capsys.readouterr().out
    assert main(["demo", "--into", folder]) == 0
    assert [argv[0] for argv in asked] == ["serve"]
    assert asked[0][1:3] == ["--folder", folder]
    assert "--open" in asked[0]
