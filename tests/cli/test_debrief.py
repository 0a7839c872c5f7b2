"""`airwork debrief` as a person uses it: table, JSON, options, exit codes, one clear line for what can't be done."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from airwork.cli import main
from airwork.output import debrief_text
from airwork.output.debrief_doc import CriterionLine
from airwork.units import FT_M, KT_MPS
from flightbuilder import lesson

HEADER = ["Time (s)", "Latitude (deg)", "Longitude (deg)", "Indicated Altitude (ft)", "Indicated Airspeed (kt)",
          "True Airspeed (kt)", "Groundspeed (kt)", "Ground Track (deg)", "Magnetic Heading (deg)", "Pitch (deg)",
          "Roll (deg)", "Engine Speed (RPM)", "Stall Warning"]  # fmt: skip


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A panel-like CSV of a private lesson, 2 Hz."""
    flight = lesson(wind_kt=9.0, skill=0.6).flight(rate_hz=2.0)
    deg = 180.0 / 3.141592653589793
    path = tmp_path_factory.mktemp("recording") / "lesson.csv"
    with path.open("w", newline="") as file:
        out = csv.writer(file)
        out.writerow(HEADER)
        for k in range(len(flight)):
            out.writerow([
                f"{1.75e9 + flight.time_s[k]:.1f}", f"{47.0 + flight['north_m'][k] / 111_195.0:.7f}",
                f"{8.0 + flight['east_m'][k] / 75_834.0:.7f}", f"{flight['altitude_m'][k] / FT_M:.0f}",
                f"{flight['ias_mps'][k] / KT_MPS:.1f}", f"{flight['tas_mps'][k] / KT_MPS:.1f}",
                f"{flight['groundspeed_mps'][k] / KT_MPS:.1f}", f"{flight['track_rad'][k] * deg:.1f}",
                f"{flight['heading_rad'][k] * deg:.1f}", f"{flight['pitch_rad'][k] * deg:.2f}",
                f"{flight['bank_rad'][k] * deg:.2f}", f"{flight['rpm'][k]:.0f}", f"{flight['stall_warning'][k]:.0f}",
            ])  # fmt: skip
    return path


def test_the_table_says_what_was_flown_and_how(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every maneuver in a line, verdicts as words, no line over 100 columns, the caution at the end."""
    assert main(["debrief", str(recording)]) == 0
    text = capsys.readouterr().out
    for words in (
        "Takeoff",
        "Slow flight",
        "Power-off stall",
        "Power-on stall",
        "Steep turn",
        "Landing",
        "Private pilot",
    ):
        assert words in text
    assert "airwork's own" in text
    assert "instructor decide" in text
    lines = text.split("\n")
    assert max(len(line) for line in lines[:-2]) <= 100
    assert text.count("STEEP TURN") == 2


def test_json_is_the_whole_debrief_and_nothing_else(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Stdout parses; the standard asked for is in it."""
    assert main(["debrief", str(recording), "--json", "--standard", "commercial"]) == 0
    captured = capsys.readouterr()
    data = json.loads(captured.out)
    assert data["flight"]["standard"]["id"] == "us_commercial"
    assert data["flight"]["name"] == "lesson.csv"
    assert len(data["flight"]["sha256"]) == 64
    assert captured.err == ""


def test_an_airplane_and_a_weight_improve_it(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The margin to the stall appears."""
    assert main(["debrief", str(recording), "--airplane", "larkmoor_155", "--weight", "2000lb", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    steep = next(e for e in data["episodes"] if e["kind"] == "steep_turn")
    assert "min_stall_margin_kt" in steep["measured"]


def test_strict_says_by_its_exit_code_that_the_standard_was_not_met(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A school that allows 1 ft: 1 with --strict, 0 without."""
    own = tmp_path / "own.toml"
    own.write_text(
        'extends = "us_private"\n[standard]\nid = "own"\ntitle = "Own"\n[[task]]\nkind = "steep_turn"\n'
        'criteria = [{ name = "altitude", quantity = "altitude", low = -1, high = 1, unit = "ft" }]\n'
    )
    assert main(["debrief", str(recording), "--standard", str(own), "--strict", "--json"]) == 1
    assert main(["debrief", str(recording), "--standard", str(own), "--json"]) == 0
    capsys.readouterr()


def test_what_a_person_reads_is_in_words_and_whole(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No limit cut off, no name of the code, no negative nothing; speeds as the airplane's dial shows them."""
    options = ["--airplane", "larkmoor_155", "--weight", "2150lb", "--all", "--standard", "commercial"]
    assert main(["debrief", str(recording), *options]) == 0
    text = capsys.readouterr().out
    assert not re.search(r"\bias\b|[a-z]_[a-z]|(?<!/)−0(\.0)? ", text.partition("\n")[2])
    for mph, kt in re.findall(r"(\d+) mph \((\d+(?:\.\d)?) kt\)", text):
        assert float(mph) == pytest.approx(float(kt) * 1.150779, abs=1.2)  # 1,852 m over 1,609.344 m; both rounded
    assert "entry speed" in text
    assert not re.search(r"(entry speed|slowest indicated|fastest indicated) [\d.]+ kt", text)


def test_a_long_limit_goes_on_in_the_next_line() -> None:
    """The words of a limit are never cut off."""
    limit = "none, or momentary and corrected at once"
    lines = debrief_text.criterion_lines(CriterionLine("stall warning", limit, "2.0 s", "", "held", "✓", "held", ""))
    assert " ".join(lines[0][33:59].split() + [line.strip() for line in lines[1:]]) == limit
    assert max(map(len, lines)) <= debrief_text.WIDTH


def test_no_stall_margin_is_taken_on_the_wheels(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Standing still is 50 kt below the stall and no cause for alarm, nor the slowest it was flown."""
    assert main(["debrief", str(recording), "--airplane", "larkmoor_155", "--json"]) == 0
    found = {e["kind"]: e["measured"] for e in json.loads(capsys.readouterr().out)["episodes"]}
    assert found["takeoff"]["min_stall_margin_kt"] > -5.0
    assert found["takeoff"]["min_ias_kt"] > 40.0


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--standard", "privat"], "did you mean 'private'"),
        (["--airplane", "larkmor_155"], "larkmoor_155"),
        (["--weight", "2000"], "no unit"),
        (["--weight", "2000kg", "--airplane", "larkmoor_155"], "the maximum takeoff weight is 2,300 lb"),
        (["--zone", "Mars"], "'Mars' is no time zone"),
        (["--altimeter", "30 furlongs"], "unknown unit"),
        (["--lesson", "nowhere.toml"], "nowhere.toml"),
    ],
)
def test_a_wrong_option_gets_one_line_and_exit_two(
    recording: Path, options: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was wrong and what to do, on stderr."""
    assert main(["debrief", str(recording), *options]) == 2
    captured = capsys.readouterr()
    assert says in captured.err
    assert captured.err.count("\n") == 1


def test_a_missing_or_empty_recording_gets_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No traceback."""
    empty = tmp_path / "empty.csv"
    empty.write_text("")
    for path in (tmp_path / "none.csv", empty):
        assert main(["debrief", str(path)]) == 2
        captured = capsys.readouterr()
        assert captured.err.count("\n") == 1
        assert captured.out == ""


def test_the_paper_and_the_page_are_written_whole_with_the_ideal_in_them(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page, paper = tmp_path / "d.html", tmp_path / "d.pdf"
    options = ["--airplane", "larkmoor_155", "--report", str(page), "--pdf", str(paper), "--json"]
    assert main(["debrief", str(recording), *options]) == 0
    said = capsys.readouterr()
    assert said.err.splitlines() == [f"wrote {page}", f"wrote {paper}"]
    json.loads(said.out)
    assert paper.read_bytes().startswith(b"%PDF-")
    blob = json.loads(re.search(r'id="flight-data">(.*?)</script>', page.read_text("utf-8"), re.DOTALL)[1])
    assert sum("ideal" in episode for episode in blob["episodes"]) >= 3


def test_nobody_is_asked_where_there_is_no_terminal(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The elevation is asked for at a terminal alone."""
    assert main(["debrief", str(recording)]) == 0
    assert "Elevation of the ground" not in capsys.readouterr().err
