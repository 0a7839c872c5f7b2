"""`airwork lesson new`: a file to start from, that reads once what only the user knows is filled in."""

from __future__ import annotations

from pathlib import Path

import pytest

from airwork.airplane import find_airplane_file
from airwork.cli import main
from airwork.errors import InputError
from airwork.lesson.file import load_lesson

WHERE = ["--airplane", "larkmoor_155", "--airport", "KOGA", "--zone", "America/Denver"]
FILLED = ["--student-weight", "150 lb", "--instructor-weight", "180 lb", "--bags", "10 lb", "--fuel", "15 gal", *WHERE]


def test_a_filled_lesson_reads_back(tmp_path: Path, capsys):
    path = tmp_path / "x.toml"
    args = ["--student", "Nora", "--exercise", "steep-turns", "--exercise", "Slow flight"]
    assert main(["lesson", "new", str(path), *args, *FILLED]) == 0
    lesson = load_lesson(path)
    assert lesson.student.name == "Nora"
    assert [e.kind for e in lesson.exercises] == ["steep_turn", "slow_flight"]
    assert set(lesson.fuel_m3) == {"left wing", "right wing"}
    assert "airwork brief" in capsys.readouterr().out


def test_weights_and_fuel_nobody_gave_are_never_assumed(tmp_path: Path):
    path = tmp_path / "x.toml"
    assert main(["lesson", "new", str(path), *WHERE]) == 0
    with pytest.raises(InputError, match=r"people 1\.weight: is still to be filled in"):
        load_lesson(path)


@pytest.mark.parametrize("airplane", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_every_demo_airplanes_tanks_and_stations_are_written(airplane: str, tmp_path: Path):
    path = tmp_path / "x.toml"
    args = ["--metric", *FILLED, "--airplane", airplane, "--fuel", "30 L"]
    assert main(["lesson", "new", str(path), *args]) == 0
    assert load_lesson(path).units == "metric"
    assert main(["brief", str(path), "--no-card"]) == 0


def test_an_airplanes_path_is_taken_from_where_one_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "airplanes").mkdir()
    (tmp_path / "lessons").mkdir()
    (tmp_path / "airplanes" / "mine.toml").write_text(find_airplane_file("larkmoor_155").read_text())
    monkeypatch.chdir(tmp_path)
    assert main(["lesson", "new", "lessons/x.toml", *FILLED, "--airplane", "airplanes/mine.toml"]) == 0
    assert 'file = "../airplanes/mine.toml"' in Path("lessons/x.toml").read_text()
    assert load_lesson(Path("lessons/x.toml")).airplane_path.name == "mine.toml"


def test_names_with_quotes_and_odd_letters_survive(tmp_path: Path):
    path = tmp_path / "x.toml"
    name = 'Ünal "Ace" \\ O\'Neil\t#1'
    assert main(["lesson", "new", str(path), "--student", name, *FILLED]) == 0
    assert load_lesson(path).student.name == name


def test_a_file_that_is_there_is_kept_without_force(tmp_path: Path, capsys):
    path = tmp_path / "x.toml"
    path.write_text("mine")
    assert main(["lesson", "new", str(path)]) == 2
    assert path.read_text() == "mine"
    assert "is there already" in capsys.readouterr().err
    assert main(["lesson", "new", str(path), "--force", *WHERE]) == 0
    assert path.read_text() != "mine"


@pytest.mark.parametrize(
    ("args", "expected"),
    [
        (["--airport", "XXXX"], "no airport XXXX"),
        (["--airplane", "nothing"], "larkmoor_155"),
        (["--date", "tomorrow"], "2025-09-20"),
        (["--time", "soon"], "09:30"),
        (["--zone", "Mars"], "no time zone"),
        (["--exercise", "loop"], "no maneuver 'loop'"),
        (["--airport", " "], "from which airport"),
    ],
)
def test_a_wrong_answer_is_one_line_and_writes_nothing(args: list[str], expected: str, tmp_path: Path, capsys):
    path = tmp_path / "x.toml"
    assert main(["lesson", "new", str(path), *WHERE, *args]) == 2
    err = capsys.readouterr().err
    assert expected in err
    assert err.strip().count("\n") == 0
    assert not path.exists()


def test_questions_are_asked_at_a_terminal_and_enter_takes_the_last_lessons(tmp_path: Path, monkeypatch, capsys):
    path = tmp_path / "x.toml"
    assert main(["lesson", "new", str(path)]) == 2  # no field, airplane or zone stands for one nobody named
    assert not path.exists()
    assert main(["lesson", "new", str(tmp_path / "last.toml"), *FILLED, "--instructor", "Emmett Dray"]) == 0
    answers = iter(["", "", "2025-09-20", "9:15", "", "Nora", "", "", "150 lb", "180 lb", "10 lb", "15 gal"])
    asked = []
    monkeypatch.setattr("sys.stdin", type("T", (), {"isatty": lambda self: True})())
    monkeypatch.setattr("builtins.input", lambda words: asked.append(words) or next(answers))
    assert main(["lesson", "new", str(path)]) == 0
    assert len(asked) == 12
    assert "[larkmoor_155]" in asked[0]
    lesson = load_lesson(path)
    assert (lesson.student.name, lesson.instructor.name, lesson.zone) == ("Nora", "Emmett Dray", "America/Denver")


def test_end_of_input_writes_nothing(tmp_path: Path, monkeypatch):
    path = tmp_path / "x.toml"
    monkeypatch.setattr("sys.stdin", type("T", (), {"isatty": lambda self: True})())

    def end(_words: str) -> str:
        raise EOFError

    monkeypatch.setattr("builtins.input", end)
    assert main(["lesson", "new", str(path)]) == 2
    assert not path.exists()
