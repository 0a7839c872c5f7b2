"""airwork recording map: settle columns by options or by asking, checked before anything is written."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from airwork.cli import COULD_NOT, DONE, main
from airwork.recording import read_flight
from airwork.recording.mapping import FILE_NAME, checked_meaning
from recording.test_layouts import MADE
from recording.test_mapping import ODD
from recording.writing import GET, save, table


@pytest.fixture(autouse=True)
def _no_user_mapping(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("airwork.recording.mapping.user_file", lambda: tmp_path / "none" / "recording-layouts.toml")


@pytest.fixture
def odd(tmp_path: Path) -> Path:
    return save(tmp_path, table(MADE, ODD))


def test_options_settle_a_layout_for_every_file_with_that_header(odd: Path, capsys: pytest.CaptureFixture[str]) -> None:
    options = [
        "--set",
        "qx=latitude:deg",
        "--set",
        "Qy=longitude:deg",
        "--set",
        "Qv=indicated_airspeed:km/h",
        "--ignore",
        "Qh",
    ]
    assert main(["recording", "map", str(odd), *options]) == DONE
    assert "4 columns settled" in capsys.readouterr().out
    assert (odd.parent / FILE_NAME).is_file()
    flight = read_flight(odd)
    assert flight["ias_mps"] == pytest.approx(GET["ias_kmh"](MADE) / 3.6, abs=0.01)
    # a second call adds to the first
    assert main(["recording", "map", str(odd), "--set", "Qh=indicated_altitude:m"]) == DONE
    assert read_flight(odd).has("ias_mps", "indicated_altitude_m")


def test_everywhere_writes_to_the_users_settings(odd: Path, tmp_path: Path) -> None:
    assert (
        main(["recording", "map", str(odd), "--set", "Qx=latitude:deg", "--set", "Qy=longitude:deg", "--everywhere"])
        == DONE
    )
    assert not (odd.parent / FILE_NAME).exists()
    assert read_flight(odd).has("latitude_rad")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["{file}"], "not understood: Qx, Qy, Qh, Qv"),
        (["{file}", "--set", "Nope=bank:deg"], "has no column 'Nope'"),
        (["{file}", "--set", "Qx"], "write COLUMN=QUANTITY"),
        (["{file}", "--set", "Qx=bank:gal"], "no unit of bank"),
        (["{file}", "--set", "UTC Time=ignore"], "no column tells the time"),
        ([], "name a recording"),
    ],
)
def test_mistakes_are_one_line_and_nothing_is_written(
    odd: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, arguments: list[str], message: str
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    assert main(["recording", "map", *[a.format(file=odd) for a in arguments]]) == COULD_NOT
    err = capsys.readouterr().err
    assert message in err
    assert len(err.strip().splitlines()) == 1
    assert not (odd.parent / FILE_NAME).exists()


def test_a_fixed_format_has_nothing_to_map(recordings_igc: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["recording", "map", str(recordings_igc)]) == COULD_NOT
    assert "fixed by the format" in capsys.readouterr().err


@pytest.fixture
def recordings_igc() -> Path:
    return Path(__file__).parents[1] / "sources" / "recordings" / "fai_appendix_a.igc"


def test_the_quantities_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["recording", "map", "--quantities"]) == DONE
    text = capsys.readouterr().out
    assert "manifold_pressure" in text
    assert "inHg, hPa" in text


@pytest.mark.parametrize(("said", "meant"), [("ias:kt", "indicated_airspeed:kt"), ("oat", "outside_temperature")])
def test_a_quantity_may_be_named_as_recording_show_lists_it(said: str, meant: str) -> None:
    assert checked_meaning(said, "--set") == meant
