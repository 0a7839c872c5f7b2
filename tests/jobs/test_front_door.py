"""`import airwork`: the jobs by name, loaded when asked for, telling in words what they can't do."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import airwork
from airwork.errors import InputError
from airwork.units import KT_MPS

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
