"""`airwork serve`: starts, says where, refuses what is unsafe, and costs the other commands nothing."""

from __future__ import annotations

import re
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from airwork.cli import COULD_NOT, DONE, main
from airwork.web.accounts import Accounts
from airwork.web.settings import ACCOUNTS_FILE

COMMAND = [sys.executable, "-c", "from airwork.cli import main; raise SystemExit(main())", "serve"]


@pytest.fixture(autouse=True)
def _no_logbook(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("AIRWORK_DATA", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "none"))


def test_it_starts_and_says_where(tmp_path: Path) -> None:
    running = subprocess.Popen([*COMMAND, "--port", "0", "--folder", str(tmp_path)], stdout=subprocess.PIPE, text=True)
    try:
        assert running.stdout is not None
        found = re.search(r"(http://127\.0\.0\.1:\d+/)", running.stdout.readline())
        assert found
        with urllib.request.urlopen(found[1], timeout=120) as answer:
            assert b"airwork" in answer.read()
    finally:
        running.terminate()
        running.communicate(timeout=120)


def test_another_address_is_refused_without_a_password(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "--folder", str(tmp_path), "--host", "0.0.0.0"]) == COULD_NOT
    assert "--invite" in capsys.readouterr().err


def test_a_port_in_use_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen(1)
        port = taken.getsockname()[1]
        assert main(["serve", "--folder", str(tmp_path), "--port", str(port)]) == COULD_NOT
    assert capsys.readouterr().err.count("\n") == 1


def test_an_invitation_is_printed_as_a_link(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = str(tmp_path / "l.sqlite")
    assert main(["logbook", "add", "instructor", "Ike Teacher", "--data", book]) == DONE
    assert main(["logbook", "add", "student", "Ann Example", "--data", book]) == DONE
    words = ["serve", "--folder", str(tmp_path), "--data", book]
    assert main([*words, "--invite", "Ann"]) == COULD_NOT  # from then on nobody could get in who may invite
    assert "invite the chief instructor first" in capsys.readouterr().err
    assert not (tmp_path / ACCOUNTS_FILE).exists()
    assert main([*words, "--invite", "Ike", "--role", "chief", "--public", "fly.example.org"]) == DONE
    said = capsys.readouterr().out
    assert re.search(r"Ike Teacher, chief: https://fly\.example\.org/join/[\w-]{30,}", said)
    assert main([*words, "--invite", "Ann", "--role", "chief"]) == COULD_NOT
    accounts = Accounts(tmp_path / ACCOUNTS_FILE)
    assert [(a.name, a.role) for a in accounts.all()] == [("Ike Teacher", "chief")]
    accounts.accept(said.split("/join/")[1].split()[0], "stubble and two rivers")
    assert main([*words, "--invite", "Ann"]) == DONE
    assert main([*words, "--remove-account", "Ann Example"]) == DONE
    assert accounts.find("Ann Example") is None


def test_the_overview_loads_nothing_of_the_pages() -> None:
    code = (
        "import sys; from airwork.cli import main; main(['--help']); "
        "print([m for m in sys.modules if 'fastapi' in m or 'airwork.web' in m])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("[]")
