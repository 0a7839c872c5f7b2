"""airwork recording show: what is in it, what is missing, what it can be graded on, and a picture."""

from __future__ import annotations

import gzip
import json
import re
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


def test_a_cut_off_packed_file_is_said_to_be_cut_off(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    whole = gzip.compress(save(tmp_path, table(MADE, FULL)).read_bytes())
    for name, data, cut in (("cut.csv.gz", whole[: len(whole) // 2], True), ("whole.csv.gz", whole, False)):
        (tmp_path / name).write_bytes(data)
        assert main(["recording", "show", str(tmp_path / name)]) == DONE
        assert ("the packed file is cut off" in capsys.readouterr().out) is cut


def test_people_read_words_and_no_names_of_the_code(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = table(MADE, FULL).splitlines()
    speed = next(i for i, name in enumerate(rows[0].split(",")) if "Indicated Airspeed" in name or "IAS" in name)
    for at in range(500, 900):  # an airspeed stuck at nothing sensible, which is said
        cells = rows[at].split(",")
        rows[at] = ",".join([*cells[:speed], "999", *cells[speed + 1 :]])
    path = save(tmp_path, "\n".join(rows))
    assert main(["recording", "show", str(path), "--all"]) == DONE
    text = capsys.readouterr().out
    assert "\n  ias: " in text[text.index("Found and mended") :]
    assert not re.search(r"\b\w+_(mps|rad|m|pa|k|m3ps|radps)\b", text)
    few = save(tmp_path, "time,IAS (kt)\n" + "".join(f"{i},80\n" for i in range(60)), "few.csv")
    assert main(["recording", "show", str(few)]) == DONE
    assert "Missing: position; " in (text := capsys.readouterr().out)
    assert "engine speed;" in text


def test_airplane_setting_and_elevation_are_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = save(tmp_path, table(MADE, FULL))
    options = ["--airplane", "larkmoor_155", "--altimeter", "30.10inHg", "--elevation", "1200ft", "--all"]
    assert main(["recording", "show", str(path), *options]) == DONE
    text = capsys.readouterr().out
    assert "the power chart of" in text
    assert "from indicated altitude and the given setting" in text


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["nowhere.csv"], "can't be read"),
        (["{file}", "--altimeter", "high"], "--altimeter"),
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


def test_what_is_no_number_is_null_in_every_json(capsys: pytest.CaptureFixture[str]) -> None:
    """RFC 8259, section 6: numbers such as Infinity and NaN are not permitted. [M]"""
    from airwork.cli import print_json

    print_json({"a": [float("nan"), 1.0, (float("-inf"), "nan")], "b": {"c": float("inf"), "d": 0, "e": False}})
    assert json.loads(capsys.readouterr().out) == {
        "a": [None, 1.0, [None, "nan"]],
        "b": {"c": None, "d": 0, "e": False},
    }


def test_commands_print_json_in_one_way() -> None:
    """A command that prints JSON by itself would print NaN, which is no JSON."""
    import airwork.cli

    for path in Path(airwork.cli.__file__).parent.glob("*.py"):
        text = path.read_text("utf-8")
        assert not re.search(r"print\(\s*json\.dumps\((?![^\n]*allow_nan=False)", text), path.name
