"""A folder of recordings into the logbook: whose flight each is, each once, also when killed, copied, on a cluster."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import polars as pl
import pytest
import sqlalchemy as sa

from airwork.cli import COULD_NOT, DONE, main
from airwork.jobs import entering_many, many
from airwork.jobs.verdict_tables import write_tables
from airwork.logbook import fleet, people, schema
from airwork.logbook.store import Store, open_store
from jobs.dask_cluster import dask_cluster
from jobs.test_many import _short

ANN, BEN, IKE = "Ann Example", "Ben Sample", "Ike Teacher"


@pytest.fixture
def school(tmp_path: Path) -> Path:
    """A logbook with two students, an instructor and two airplanes of one model."""
    path = tmp_path / "school" / "logbook.sqlite"
    store = open_store(path, create=True)
    with store.change() as connection:
        for name in (ANN, BEN):
            aims = "commercial" if name == BEN else "private"
            people.add_person(connection, name, student=True, certificate_aimed=aims, now_utc_s=1.0)
        people.add_person(connection, IKE, instructor=True, now_utc_s=1.0)
        for registration in ("INV155", "INV156"):
            fleet.add_airplane(connection, registration, now_utc_s=1.0, make_model="Larkmoor 155",
                               airplane_file="larkmoor_155")  # fmt: skip
    store.close()
    return path


@pytest.fixture
def recordings(tmp_path: Path) -> Path:
    """One in each student's folder, a copy of one, one of nobody, one that is none, and one with a lesson beside it."""
    folder = tmp_path / "recordings"
    for name in (ANN, BEN.upper(), "found"):
        (folder / name).mkdir(parents=True)
    first = _of_day(folder / ANN, 1, rows=300)
    _of_day(folder / BEN.upper(), 2, rows=300)
    (folder / ANN / "copy.csv").write_bytes(first.read_bytes())
    _of_day(folder / "found", 3, rows=300)
    (folder / ANN / "shopping.csv").write_text("item,price\nmilk,1\nbread,2\n", "utf-8")
    return folder


def _of_day(folder: Path, number: int, rows: int = 300) -> Path:
    """The demo's first minutes, flown on a day of their own."""
    path = _short(folder, number, rows)
    path.write_bytes(path.read_bytes().replace(b"2025-09-20", b"2025-10-%02d" % (number + 10)))
    return path


def _flights(path: Path) -> list[tuple[str, str, str, str]]:
    """(pilot, airplane, standard, role) of each flight entered."""
    store = open_store(path)
    f, a, d = schema.flight.c, schema.airplane.c, schema.debrief.c
    with store.read() as connection:
        rows = connection.execute(
            sa.select(schema.person.c.name, sa.func.coalesce(a.registration, ""), d.standard_name, f.role)
            .join(schema.person, schema.person.c.id == f.pilot_id)
            .join(schema.debrief, d.flight_id == f.id)
            .outerjoin(schema.airplane, a.id == f.airplane_id)
        )
        found = sorted(tuple(row) for row in rows)
    store.close()
    return found  # type: ignore[return-value]


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Judged in this process: that workers do it is tried in test_many, and where one is killed below."""
    judge = lambda paths, order, **_: (many.debrief_one(str(path), order) for path in paths)  # noqa: E731
    again = lambda order, **_: (many.judge_again(sha256, order) for sha256 in many.kept(Path(order.into)))  # noqa: E731
    monkeypatch.setattr(many, "debrief_many", judge)
    monkeypatch.setattr(many, "judge_all_again", again)


@pytest.mark.usefixtures("here")
def test_each_recording_is_one_flight_of_who_flew_it(
    school: Path, recordings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["debrief", str(recordings), "--into", str(school), "--instructor", "Ike", "--airplane", "inv-156",
             "--workers", "1"]  # fmt: skip
    assert main(words) == COULD_NOT  # two of the files are said
    said = capsys.readouterr().out
    assert "2 flights entered" in said
    assert "shopping.csv" in said
    assert "--student NAME" in said
    assert _flights(school) == [(ANN, "INV156", "us_private", "dual"), (BEN, "INV156", "us_commercial", "dual")]
    assert pl.read_parquet(school.parent / "debriefed" / "flights.parquet").height == 2
    assert main(words) == COULD_NOT
    assert "0 flights entered" in capsys.readouterr().out
    assert len(_flights(school)) == 2
    stray = recordings / BEN.upper() / "stray.csv"
    stray.write_bytes((recordings / ANN / "flight_1.csv").read_bytes())
    assert main([*words[:1], str(stray), *words[2:]]) == COULD_NOT
    assert "somebody else's flight" in " ".join(capsys.readouterr().out.split())
    assert main(["logbook", "forget", "Ben", "--yes", "--data", str(school)]) == DONE
    assert pl.read_parquet(school.parent / "debriefed" / "flights.parquet")["sha256"].n_unique() == 1
    assert main(["logbook", "check", "--data", str(school)]) == DONE


@pytest.mark.usefixtures("here")
def test_the_lesson_beside_a_recording_says_who_and_what(school: Path, recordings: Path, tmp_path: Path) -> None:
    lesson = next((many.Path(entering_many.__file__).parents[1] / "demo_files" / "lessons").glob("*.toml"))
    text = lesson.read_text("utf-8").replace("Nora Whitlock", ANN).replace("Emmett Dray", IKE)
    (recordings / "found" / "flight_3.toml").write_text(text, "utf-8")
    words = ["debrief", str(recordings / "found"), "--into", str(school), "--workers", "1"]
    assert main(words) == COULD_NOT  # two airplanes of the lesson's model: which one has to be said
    assert main([*words, "--airplane", "INV155"]) == DONE
    assert _flights(school) == [(ANN, "INV155", "us_private", "dual")]
    (verdict,) = (school.parent / "debriefed" / "verdicts").rglob("*.json")
    first = json.loads(verdict.read_text("utf-8"))
    assert first["lesson"]["targets"]  # held against what the lesson asked
    verdict.unlink()
    shutil.rmtree(recordings)
    assert main(["debrief", "--again", "--into", str(school), "--workers", "1"]) == DONE
    again = json.loads(verdict.read_text("utf-8"))  # its place names standard and airplane
    assert again["lesson"] == first["lesson"]
    assert again["episodes"] == first["episodes"]


@pytest.mark.parametrize("wrong", [["--student", "Nobody"], ["--airplane", "INV999"], ["--standard", "privat"]])
def test_what_is_told_wrong_for_all_is_one_line(
    school: Path, recordings: Path, wrong: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["debrief", str(recordings), "--into", str(school), *wrong]) == COULD_NOT
    assert capsys.readouterr().err.count("\n") == 1
    assert not _flights(school)


@pytest.mark.usefixtures("here")  # begun again; killed it has processes of its own
def test_killed_in_mid_run_and_begun_again_each_flight_is_there_once(school: Path, tmp_path: Path) -> None:
    folder = tmp_path / "many"
    folder.mkdir()
    for number in range(3):
        _of_day(folder, number, rows=250)
    words = [sys.executable, "-m", "airwork", "debrief", str(folder), "--into", str(school), "--student", ANN,
             "--instructor", IKE, "--airplane", "INV155", "--workers", "1"]  # fmt: skip
    first = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while not _flights(school) and first.poll() is None:
        time.sleep(0.05)
    os.kill(first.pid, signal.SIGKILL)
    first.wait()
    assert 1 <= len(_flights(school)) <= 3
    assert main(words[3:]) == DONE
    assert len(_flights(school)) == 3


@pytest.mark.filterwarnings("ignore")  # the library's own, of a worker that went away
def test_a_cluster_that_loses_a_worker_enters_each_flight_once(
    school: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr(many, "ANSWERS_S", 300)  # a loaded machine's scheduler takes its time
    files = [_of_day(tmp_path, number, rows=250) for number in range(3)]
    store: Store = open_store(school)
    flown, unknown = entering_many.who_flew(store, files, student=ANN, instructor=IKE, airplane="INV155")
    assert not unknown
    with dask_cluster(tmp_path) as (address, started):
        outcomes, into = [], entering_many.results_of(store)
        judged = entering_many.judged(flown, into, lambda paths, order: many.debrief_on_cluster(paths, order, address))
        for outcome in entering_many.enter_many(store, judged, flown):
            outcomes.append(outcome)
            if len(outcomes) == 1:
                started[1].kill()
    store.close()
    assert sorted(Path(o.path).name for o in outcomes) == [f.name for f in files]
    assert [o.problem for o in outcomes if o.problem] == []
    assert write_tables(school.parent / "debriefed")["flights"] == 3
    assert sum(o.entered for o in outcomes) == 3 == len(_flights(school))
