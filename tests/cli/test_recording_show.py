"""airwork recording show: what is in it, what is missing, what it can be graded on, and a picture."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from airwork.cli import COULD_NOT, DONE, main
from recording.made_flight import lesson
from recording.writing import FULL, GPS, save, table

MADE = lesson(1500.0, 1.0)


@pytest.fixture(autouse=True)
def _no_user_mapping(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwork.recording.mapping.user_file", lambda: tmp_path / "none" / "recording-layouts.toml")


def test_a_full_recording_is_summed_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = save(tmp_path, table(MADE, FULL))
    assert main(["recording", "show", str(path)]) == DONE
    text = capsys.readouterr().out
    assert "delimited text" in text
    assert "2026-05-28T20:26:40.000Z, 0:25:00 long" in text
    assert "Contacts: takeoff 0:00:" in text
    assert "ias                 yes             indicated airspeed recorded" in text
    assert "Missing: " in text
    assert "stall warning       no" in text
    assert "Not for navigation" in text


def test_json_has_the_same_facts_with_units(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = save(tmp_path, table(MADE, GPS))
    assert main(["recording", "show", str(path), "--json", "--standard", "commercial"]) == DONE
    out = capsys.readouterr()
    data = json.loads(out.out)
    assert out.err == ""
    assert data["duration_s"] == 1500.0
    columns = {c["name"]: c for c in data["columns"]}
    assert columns["gps_altitude_m"]["unit"] == "ft"
    assert columns["gps_altitude_m"]["min"] == pytest.approx(1200.0, abs=1.0)
    assert columns["ias_mps"]["known"] == "derived"
    assert columns["ias_mps"]["standard_error"] > 0
    assert {c["kind"] for c in data["contacts"]} == {"takeoff", "landing"}
    assert abs(data["wind"][-1]["speed_kt"] - 15.0) < 2.0
    answers = {c["quantity"]: c["answer"] for c in data["gradable"]["criteria"]}
    assert answers["ias"] == "estimate"
    assert answers["stall_warning"] == "no"
    assert "Commercial" in data["gradable"]["standard"]


@pytest.mark.parametrize(("ending", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_the_picture_is_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str], ending: str, start: bytes) -> None:
    path = save(tmp_path, table(MADE, GPS))
    target = tmp_path / f"out.{ending}"
    assert main(["recording", "show", str(path), "--plot", str(target)]) == DONE
    assert target.read_bytes().startswith(start)
    assert "drawn" in capsys.readouterr().out


def test_airplane_setting_and_elevation_are_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = save(tmp_path, table(MADE, FULL))
    options = ["--airplane", "larkmoor_155", "--altimeter", "30.10inHg", "--elevation", "1200ft", "--all"]
    assert main(["recording", "show", str(path), *options]) == DONE
    text = capsys.readouterr().out
    assert "by the power chart of" in text
    assert "from indicated altitude and the given setting" in text


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["nowhere.csv"], "can't be read"),
        (["{file}", "--altimeter", "high"], "--altimeter"),
        (["{file}", "--plot", "x.gif"], ".png or .svg"),
        (["{file}", "--standard", "nobody"], "nobody"),
        (["{file}", "--aircraft", "abc"], "no column that names the aircraft"),
        (["{file}", "--mapping", "missing.toml"], "missing.toml"),
    ],
)
def test_what_cannot_be_done_is_one_line_and_exit_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], message: str
) -> None:
    path = save(tmp_path, table(MADE, FULL))
    assert main(["recording", "show", *[a.format(file=path) for a in arguments]]) == COULD_NOT
    out = capsys.readouterr()
    assert message in out.err
    assert len(out.err.strip().splitlines()) == 1
