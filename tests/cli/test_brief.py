"""`airwork brief` as a person runs it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from airwork.cli import main
from lesson.lessons import DEMO

FAST = ["--no-card"]


def test_a_lesson_prints_verdict_and_plan_and_writes_the_card_beside_it(tmp_path: Path, capsys):
    lesson = tmp_path / "monday.toml"
    shutil.copy(DEMO, lesson)
    assert main(["brief", str(lesson)]) == 0
    out = capsys.readouterr().out
    assert "Slow flight" in out
    assert "turn for home" in out
    assert (tmp_path / "monday.card.pdf").read_bytes().startswith(b"%PDF")
    assert f"card: {tmp_path / 'monday.card.pdf'}" in out


def test_card_briefing_and_paper_go_where_they_are_sent(tmp_path: Path, capsys):
    card, page, pdf = tmp_path / "c.pdf", tmp_path / "b.html", tmp_path / "b.pdf"
    assert main(["brief", "demo", "--card", str(card), "--paper", "a5", "--briefing", str(page)]) == 0
    assert main(["brief", "demo", *FAST, "--briefing", str(pdf)]) == 0
    assert card.exists()
    assert page.read_text().startswith("<!doctype html>")
    assert pdf.read_bytes().startswith(b"%PDF")


def test_json_is_alone_on_stdout_and_chatter_on_stderr(tmp_path: Path, capsys):
    assert main(["brief", "demo", "--json", "--card", str(tmp_path / "c.pdf")]) == 0
    found = capsys.readouterr()
    data = json.loads(found.out)
    assert data["verdict"]["level"] in {"go", "think", "no-go"}
    assert "card: " in found.err


def test_strict_says_with_one_that_the_verdict_is_not_go(capsys):
    assert main(["brief", "demo", *FAST, "--strict", "--condition", "wind=240/30G45 kt"]) == 1
    assert "NO-GO" in capsys.readouterr().out


def test_conditions_change_the_day_for_this_run(capsys):
    assert main(["brief", "demo", *FAST, "--condition", "runway=13", "--condition", "temperature=31 °C"]) == 0
    assert "runway 13" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("args", "expected"),
    [
        (["none.toml"], "none.toml: no such file"),
        (["demo", "--condition", "wind"], "NAME=VALUE"),
        (["demo", "--condition", "moon=full"], "can't be changed"),
        (["demo", "--condition", "wind=fast"], "weather.wind"),
        (["demo", "--condition", "runway=99"], "no runway '99'"),
        (["demo", "--briefing", "x.doc"], ".pdf or .html"),
        (["demo", "--card", "no/such/folder/card.pdf"], "make it first"),
    ],
)
def test_what_is_wrong_is_one_line_and_exit_2(args: list[str], expected: str, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["brief", *args]) == 2
    err = capsys.readouterr().err
    assert expected in err
    assert err.strip().count("\n") == 0
    assert list(tmp_path.iterdir()) == []
