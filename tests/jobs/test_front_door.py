"""`import airwork`: the jobs by name, loaded when asked for, telling in words what they can't do."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import airwork
from airwork.errors import InputError
from airwork.recording.flight import Column, Flight
from airwork.units import KT_MPS
from flightbuilder import lesson

SHIPPED = Path(airwork.__file__).parent / "demo_files"


def test_every_name_is_there_and_none_is_a_package_of_ours() -> None:
    for name in set(airwork.__all__) - {"__version__"}:
        assert callable(getattr(airwork, name))
        assert not (SHIPPED.parent / name).exists()
        assert not (SHIPPED.parent / f"{name}.py").exists()
        assert name in dir(airwork)


def test_importing_it_loads_nothing_but_itself() -> None:
    code = (
        "import sys; import airwork; print(sorted(m for m in sys.modules if m.startswith('airwork') or m == 'numpy'))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['airwork', 'airwork.version']"


def test_a_name_that_is_not_there_is_answered_with_those_that_are() -> None:
    with pytest.raises(AttributeError, match="brief_lesson, debrief_flight"):
        airwork.brief  # noqa: B018


def test_an_airplane_is_read_once_for_each_state_of_its_file(tmp_path: Path) -> None:
    """By id, by path; another text in the file is another airplane."""
    shipped = airwork.load_airplane("larkmoor_155")
    assert airwork.load_airplane(shipped) is shipped
    own = tmp_path / "own.toml"
    text = (SHIPPED / "airplanes" / "larkmoor_155.toml").read_text(encoding="utf-8")
    own.write_text(text, encoding="utf-8")
    first = airwork.load_airplane(own)
    assert first == shipped
    assert airwork.load_airplane(str(own)) is first
    own.write_text(text.replace(shipped.name, f"{shipped.name} of the club"), encoding="utf-8")
    assert airwork.load_airplane(own).name == f"{shipped.name} of the club"


def test_conditions_replace_the_files_values_and_need_a_file() -> None:
    lesson = airwork.load_lesson("demo", conditions={"wind": "260/31G44 kt"})
    windy = airwork.brief_lesson(lesson)
    assert windy.weather.wind is not None
    assert windy.weather.wind.speed_mps == pytest.approx(31 * KT_MPS)
    assert airwork.brief_lesson("demo").weather.wind != windy.weather.wind
    with pytest.raises(InputError, match="read already"):
        airwork.brief_lesson(lesson, conditions={"wind": "260/5 kt"})


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"weight": "2150"}, "weight: .*no unit"),
        ({"weight": "2150 kg", "airplane": "larkmoor_155"}, "weight: .*maximum takeoff weight is 2,300 lb"),
        ({"altimeter": "30.05 ft"}, "altimeter"),
        ({"airplane": "larkmoor"}, "larkmoor_155"),
    ],
)
def test_what_cannot_be_used_is_said_in_words(given: dict[str, str], says: str) -> None:
    recording = next((SHIPPED / "recordings").glob("*.csv.gz"))
    with pytest.raises(InputError, match=says):
        airwork.read_flight(recording, **given)


def test_a_frame_says_the_same_in_both_units() -> None:
    """Exact factors: foot 0.3048 m, knot 1,852 m/h, degree π/180, inHg 3,386.389 Pa, US gallon 3.785411784 l."""
    values = {"altitude_m": 0.3048, "ias_mps": 1852 / 3600, "bank_rad": math.pi / 180, "setting_pa": 3386.389,
              "fuel_left_m3": 3.785411784e-3, "oat_k": 288.15, "vertical_speed_mps": 0.3048 / 60, "power_ratio": 0.65,
              "east_m": 1852.0, "rpm": 2400.0, "fuel_flow_m3ps": 3.785411784e-3 / 3600}  # fmt: skip
    columns = {name: Column(np.array([value, np.nan]), "measured") for name, value in values.items()}
    flight = Flight(0.0, np.array([0.0, 1.0]), columns)
    printed = flight.frame(units="printed")
    expected = {"altitude_ft": 1.0, "ias_kt": 1.0, "bank_deg": 1.0, "setting_inhg": 1.0, "fuel_left_gal": 1.0,
                "oat_c": 15.0, "vertical_speed_fpm": 1.0, "power_pct": 65.0, "east_nm": 1.0, "rpm": 2400.0,
                "fuel_flow_gph": 1.0}  # fmt: skip
    assert set(printed.columns) == {"time_s", *expected}
    for name, value in expected.items():
        assert printed[name][0] == pytest.approx(value), name
        assert printed[name][1] is None
    assert flight.frame()["altitude_m"][0] == 0.3048
    with pytest.raises(InputError, match="printed"):
        flight.frame("metric")  # type: ignore[arg-type]


def test_a_debriefs_table_is_its_data_and_shows_itself() -> None:
    found = airwork.debrief_flight(lesson(wind_kt=9.0, skill=0.6).flight(rate_hz=2.0))
    table, episodes = found.table(), found.as_json()["episodes"]
    assert table["kind"].to_list() == [e["kind"] for e in episodes]
    for missed, episode in zip(table["missed"], episodes, strict=True):
        assert list(missed) == [c["name"] for c in episode["criteria"] if c["verdict"] == "not held"]
    assert set(table["verdict"]) <= {"held", "briefly out and corrected", "not held", "can't be judged", ""}
    assert "<table" in found._repr_html_()
    assert len(repr(found)) < 160
