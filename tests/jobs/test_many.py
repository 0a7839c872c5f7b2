"""Many recordings: each once, resumable, a bad file or a dying worker stops nothing."""

from __future__ import annotations

import contextlib
import gzip
import io
import shutil
from importlib import resources
from pathlib import Path

import polars as pl
import pytest

from airwork.cli import COULD_NOT, DONE, main
from airwork.errors import InputError
from airwork.jobs import many, verdict_tables
from jobs.dying import dies_always, dies_once


def _short(folder: Path, number: int, rows: int = 500) -> Path:
    """The first minutes of the demo's invented recording; each file's bytes are its own."""
    demo = Path(
        str(resources.files("airwork").joinpath("demo_files/recordings/2025-09-20_stalls_over_the_lake.csv.gz"))
    )
    with gzip.open(demo, "rb") as whole:
        head = [line for _, line in zip(range(rows + number), whole, strict=False)]
    path = folder / f"flight_{number}.csv"
    path.write_bytes(b"".join(head))
    return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two flights, one of them twice, and two files that are none."""
    made = tmp_path_factory.mktemp("many") / "recordings"
    (made / "august").mkdir(parents=True)
    _short(made, 1)
    _short(made / "august", 2)
    (made / "copy_of_1.csv").write_bytes((made / "flight_1.csv").read_bytes())
    (made / "shopping.csv").write_text("item,price\nmilk,1\nbread,2\n", "utf-8")
    (made / "notes.md").write_text("no recording", "utf-8")
    return made


@pytest.fixture(scope="module")
def done(folder: Path) -> tuple[Path, int, str]:
    """Where they were debriefed into, the command's exit code and what it said; tests take copies to change."""
    into, said = folder.parent / "out", io.StringIO()
    with contextlib.redirect_stdout(said):
        code = main(["debrief", str(folder), "--into", str(into), "--workers", "1"])
    return into, code, said.getvalue()


def test_a_folder_is_debriefed_each_flight_once_and_what_failed_is_said(
    folder: Path, done: tuple[Path, int, str], tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    first, code, said = done
    assert code == COULD_NOT  # one of the files is no recording
    assert "2 flights" in said
    assert "1 file held the same flight as another" in said
    assert "shopping.csv" in said
    assert "Traceback" not in said
    flights = pl.read_parquet(first / "flights.parquet")
    assert flights.height == 2
    assert set(flights["judged"]) == {many.Order("", "", "private").judged}
    into = shutil.copytree(first, tmp_path / "out")
    good = [str(folder / "flight_1.csv"), str(folder / "copy_of_1.csv"), str(folder / "august")]
    here = lambda paths, order, **_: (many.debrief_one(str(path), order) for path in paths)  # noqa: E731
    monkeypatch.setattr(many, "debrief_many", here)  # what is known already is known without another process
    assert main(["debrief", *good, "--into", str(into), "--workers", "1"]) == DONE
    assert "3 were judged before" in capsys.readouterr().out


def test_tables_are_the_same_in_one_part_and_in_many(
    done: tuple[Path, int, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    into = shutil.copytree(done[0], tmp_path / "out")
    rows = verdict_tables.write_tables(into)
    whole = {name: pl.read_parquet(into / f"{name}.parquet") for name in verdict_tables.COLUMNS}
    monkeypatch.setattr(verdict_tables, "VERDICTS_A_PART", 1)
    assert verdict_tables.write_tables(into, workers=2) == rows  # now more than a part: in other processes
    for name, frame in whole.items():
        assert frame.height == rows[name] > 0
        assert pl.read_parquet(into / f"{name}.parquet").equals(frame)
        assert frame.null_count().sum_horizontal().item() < frame.height * frame.width
    assert not list(into.glob(".tables-*"))


def test_a_worker_that_dies_costs_its_file_another_try_and_nobody_else_anything(tmp_path: Path) -> None:
    files = [f"file {n}" for n in range(6)]
    done = list(many._on_cores(dies_once, files, str(tmp_path), 1))
    assert sorted(o.path for o in done) == files
    assert not any(o.problem for o in done)
    always = list(many._on_cores(dies_always, files[:4], str(tmp_path), 1))
    assert [o.path for o in always if o.problem] == ["file 2"]
    assert sorted(o.path for o in always) == files[:4]


def test_what_is_not_there_or_makes_no_sense_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(InputError, match="no recordings"):
        many.recordings_in([tmp_path / "empty"], tmp_path / "out")
    for words in (
        ["debrief", str(tmp_path / "none"), "--into", str(tmp_path / "o")],
        ["debrief", "--into", str(tmp_path / "o")],
        ["debrief", "a.csv", "b.csv"],
        ["debrief", "a.csv", "--into", str(tmp_path / "o"), "--standard", "privat"],
    ):
        assert main(words) == COULD_NOT
        assert capsys.readouterr().err.count("\n") == 1
