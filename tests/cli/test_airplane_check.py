"""`airwork airplane check`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from airwork.cli import main

BROKEN = sorted((Path(__file__).parent.parent / "sources" / "broken_airplanes").glob("*.toml"))


@pytest.mark.parametrize("path", BROKEN[::8], ids=lambda p: p.stem)  # each of them: airplane/test_check.py
def test_a_broken_file_is_complained_about_with_exit_0_and_with_strict_1(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["airplane", "check", str(path)]) == 0
    assert "to look at" in capsys.readouterr().out
    assert main(["airplane", "check", str(path), "--strict"]) == 1


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_a_sound_file_passes_strictly(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["airplane", "check", name, "--strict"]) == 0
    assert "nothing suspicious" in capsys.readouterr().out


def test_json_lists_where_what_and_why(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["airplane", "check", str(BROKEN[9]), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert all(set(c) == {"where", "what", "why", "table", "rows", "key"} for c in data["complaints"])
    assert data["printed_so"] == []
    assert any("tanks row 2" in c["where"] for c in data["complaints"])


def test_a_file_that_cannot_be_read_is_exit_2_and_no_traceback(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "half.toml"
    path.write_text('[airplane]\nname = "half')
    assert main(["airplane", "check", str(path)]) == 2
    said = capsys.readouterr()
    assert "half.toml: not valid TOML" in said.err
    assert "Traceback" not in said.err
    assert said.out == ""


@pytest.mark.parametrize(
    ("number", "by", "said"), [("9", "Ann Bo", "the check asks 1 questions"), ("1", "", "who has seen it")]
)
def test_an_answer_to_nothing_or_by_nobody_changes_nothing(number, by, said, tmp_path: Path, capsys) -> None:
    path = tmp_path / "mine.toml"
    path.write_bytes(BROKEN[15].read_bytes())
    assert main(["airplane", "check", str(path), "--stands-so", number, "--by", by]) == 2
    assert said in capsys.readouterr().err
    assert path.read_bytes() == BROKEN[15].read_bytes()
    assert main(["airplane", "check", "larkmoor_155", "--stands-so", "1", "--by", "Ann Bo"]) == 2
    assert "comes with airwork" in capsys.readouterr().err
