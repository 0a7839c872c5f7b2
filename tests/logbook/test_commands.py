"""Every logbook command once over a logbook with a row in every table: an answer, or a line that says why not."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from airwork.cli import COULD_NOT, DONE, logbook, main
from airwork.cli.logbook_add import WHAT as ADDED
from airwork.cli.logbook_list import WHAT as LISTED
from airwork.logbook.questions import questions
from logbook import school

ASKED = (
    "list students", "list instructors", "list airplanes", "list places", "list kinds", "list flights --student Ann",
    "show Ann", "flight SIGNED", "flight OTHER", "hours Ann", "left Ann", "progress Ann", "history", "history SIGNED",
    "standing Ann --start 2026-06-16T09:00 --role solo --airplane INV155", "check",
    *(f"school {question}" for question in questions()),
)  # fmt: skip
DONE_TO_IT = (
    "add student New", "add instructor Nora", "add airplane INV200 --model Larkmoor",
    "add place THERE --lat 41 --lon -105", "add flight --student Ann --date 2026-06-10 --hours 0.9 --role solo",
    "add flights PAGES --student Ann", "add endorsement --kind complex --student Ann --instructor Ike",
    "add date --person Ann --kind medical.third --on 2026-06-01", "add note flew --student Ann",
    "change person Ann --contact post",
    "change airplane INV155 --category airplane", "change place HOME --tower no",
    "change flight OTHER --airplane N200CM --remarks windy",
    "mark practice --flight OTHER --task steep_turn --student Ann",
    "sign SIGNED --instructor Ike --password-file WORD", "key Ike --new-password --password-file WORD",
    "key --accept 00000000", "import DEBRIEF --student Ann --role solo", "export Ann ZIP", "import ZIP",
    "backup COPY", "merge COPY", "restore COPY --replace", "remove SIGNED --yes", "remove OTHER --yes",
    "key Ike --end", "forget Ann --yes",
)  # fmt: skip


@pytest.fixture
def words(files: tuple[Path, school.School], tmp_path: Path) -> dict[str, str]:
    """A copy of the full logbook, and what the commands' words in capitals stand for."""
    data = shutil.copy(files[0] / "full.sqlite", tmp_path / "full.sqlite")
    with closing(sqlite3.connect(data)) as raw:
        found = dict(raw.execute("SELECT signed_utc_s IS NULL, id FROM flight").fetchall())
    (tmp_path / "word").write_text(school.PASSWORD + "\n", "utf-8")
    (tmp_path / "pages.csv").write_text("date,hours,role\n2026-05-01,1.1,solo\n", "utf-8")
    (tmp_path / "debrief.json").write_text(json.dumps(school.debrief_dict(school.NOW - 9 * school.DAY_S)), "utf-8")
    paths = {"WORD": "word", "PAGES": "pages.csv", "DEBRIEF": "debrief.json"}
    paths |= {"ZIP": "ann.zip", "COPY": "copy.sqlite", "DATA": "full.sqlite"}
    return {"SIGNED": found[0], "OTHER": found[1], **{k: str(tmp_path / v) for k, v in paths.items()}}


def _run(line: str, words: dict[str, str], capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str, str]:
    code = main(["logbook", *(words.get(word, word) for word in line.split()), *more, "--data", words["DATA"]])
    said = capsys.readouterr()
    assert "a fault in airwork itself" not in said.err, f"{line}: {said.err}"
    return code, said.out, said.err


def test_every_question_is_answered_as_words_and_as_data(
    words: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    for line in ASKED:
        code, out, err = _run(line, words, capsys)
        assert (code, bool(out.strip())) == (DONE, True), f"{line}: {err}"
        code, out, err = _run(line, words, capsys, "--json")
        assert code == DONE, f"{line}: {err}"
        json.loads(out)


def test_every_change_is_made_or_refused_in_one_line(words: dict[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    refused = set()
    for line in DONE_TO_IT:
        code, out, err = _run(line, words, capsys)
        if code == COULD_NOT:
            assert err.count("\n") == 1, f"{line}: {err}"
            refused.add(line)
        else:
            assert (code, bool(out.strip())) == (DONE, True), line
    assert refused >= {line for line in DONE_TO_IT if line.split()[1] == "SIGNED"}
    assert len(refused) < 8, refused


def test_no_command_is_left_out() -> None:
    lines = [line.split() for line in (*ASKED, *DONE_TO_IT)]
    assert {line[0] for line in lines} == set(logbook.COMMANDS)
    assert {line[1] for line in lines if line[0] == "list"} == set(LISTED)
    assert {line[1] for line in lines if line[0] == "add"} == set(ADDED)
