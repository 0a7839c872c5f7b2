"""Results kept between runs: the same as made anew, made anew at any doubt, never in anybody's way."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from airwork import kept
from airwork.airplane import load_airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.performance.stored import inputs_digest
from airwork.errors import InputError
from airwork.lesson.file import load_lesson, parse_lesson
from airwork.standards import load_standard
from airwork.standards.load import _shipped

DEMO = Path(kept.__file__).parent / "demo_files"
LESSON = DEMO / "lessons" / "stalls_over_the_lake.toml"
AIRPLANES = sorted((DEMO / "airplanes").glob("*.toml"))


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "kept"
    monkeypatch.setenv("AIRWORK_CACHE", str(folder))
    return folder


def _files(folder: Path, kind: str = "") -> list[Path]:
    return sorted(folder.glob(f"{kind}*.json"))


@pytest.mark.parametrize("path", AIRPLANES, ids=lambda p: p.stem)
def test_a_kept_airplane_is_the_one_its_file_gives(path: Path, own_folder: Path) -> None:
    first, again = load_airplane(path), load_airplane(path)
    assert len(_files(own_folder, "airplane")) == 1
    fresh = parse_airplane_file(path.read_text("utf-8"))
    for airplane in (first, again):
        assert airplane.file.model_dump() == fresh.model_dump(mode="json")
        assert AirplaneFile.model_validate(airplane.file.model_dump()) == fresh
    assert first == again
    assert inputs_digest(again) == inputs_digest(first)


def test_a_checked_table_cannot_be_changed() -> None:
    file = load_airplane(AIRPLANES[0]).file
    with pytest.raises(AttributeError, match="frozen"):
        file.airplane.id = "other"
    with pytest.raises(AttributeError, match="frozen"):
        del file.airplane.id
    assert file.airplane.model_copy(update={"id": "other"}).id == "other"
    assert file.airplane.id != "other"


def test_a_kept_lesson_is_the_one_its_file_gives(own_folder: Path) -> None:
    load_lesson(LESSON)
    again = load_lesson(LESSON)
    (file,) = _files(own_folder, "lesson")
    assert file.stat().st_mode & 0o077 == 0  # it names people
    assert again == parse_lesson(LESSON.read_text("utf-8"), where=str(LESSON), folder=LESSON.parent)


def test_other_conditions_are_another_lesson() -> None:
    plain = load_lesson(LESSON)
    changed = load_lesson(LESSON, {"wind": "260/18 kt"})
    assert changed.weather.wind != plain.weather.wind
    assert load_lesson(LESSON, {"wind": "260/18 kt"}) == changed


def test_an_airplane_file_that_appears_beside_a_kept_lesson_is_found(tmp_path: Path) -> None:
    lesson = tmp_path / "lesson.toml"
    lesson.write_bytes(LESSON.read_bytes())
    before = load_lesson(lesson).airplane_path
    own = tmp_path / f"{before.stem}.toml"
    own.write_bytes(before.read_bytes())
    assert before != own
    assert load_lesson(lesson).airplane_path == own


def test_a_kept_standard_is_the_one_its_file_gives(tmp_path: Path, own_folder: Path) -> None:
    kinds = []
    for _ in range(2):
        _shipped.cache_clear()
        kinds.append(load_standard("private"))
    assert kinds[0] == kinds[1]
    assert kinds[0] is not kinds[1]
    assert _files(own_folder, "standard")
    own = tmp_path / "school.toml"
    own.write_text('extends = "us_private"\n[standard]\nid = "school"\ntitle = "School"\n')
    assert load_standard(own) == load_standard(own)
    own.write_text('extends = "us_private"\n[standard]\nid = "school"\ntitle = "Other"\n')
    assert load_standard(own).title == "Other"


@pytest.mark.parametrize("damage", [b"", b"\n", b"{}", b"\xff\xfe", b"[" * 100_000])
def test_a_damaged_file_is_read_anew_and_mended(damage: bytes, own_folder: Path) -> None:
    sound = load_airplane(AIRPLANES[0])
    (file,) = _files(own_folder, "airplane")
    good = file.read_bytes()
    file.write_bytes(damage)
    assert load_airplane(AIRPLANES[0]) == sound
    assert file.read_bytes() == good


def test_one_changed_digit_in_a_kept_file_is_noticed(own_folder: Path) -> None:
    sound = load_airplane(AIRPLANES[0])
    (file,) = _files(own_folder, "airplane")
    weight = f"{sound.file.airplane.maximum_takeoff_weight_lb:.1f}".encode()
    assert weight in file.read_bytes()
    file.write_bytes(file.read_bytes().replace(weight, b"9" + weight[1:]))
    assert load_airplane(AIRPLANES[0]) == sound


def test_an_edited_airplane_is_checked_again(tmp_path: Path) -> None:
    text = AIRPLANES[0].read_text("utf-8")
    path = tmp_path / "own.toml"
    path.write_text(text)
    load_airplane(path)
    path.write_text(text.replace("fixed_pitch", "no_pitch").replace("constant_speed", "no_pitch"))
    with pytest.raises(InputError, match="no_pitch"):
        load_airplane(path)


def test_nothing_is_kept_when_it_is_turned_off(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AIRWORK_CACHE", "off")
    assert kept.folder() is None
    load_airplane(AIRPLANES[0])
    assert not own_folder.exists()


def test_a_folder_that_cannot_be_written_is_in_nobodys_way(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv("AIRWORK_CACHE", str(blocked))
    assert load_airplane(AIRPLANES[0]) == load_airplane(AIRPLANES[0])


def test_the_folder_does_not_grow_without_end(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "MOST_FILES", 3)
    for i in range(6):
        kept.write("x", f"{i}", i)
    assert len(_files(own_folder)) == 3
    assert kept.read("x", "5") == 5


@dataclass(frozen=True)
class _Leaf:
    path: Path
    numbers: tuple[float, ...]


@dataclass(frozen=True)
class _Branch:
    leaf: _Leaf | None
    named: dict[str, tuple[int, str]]


def test_records_come_back_the_same_and_only_of_known_classes() -> None:
    tree = _Branch(_Leaf(Path("a/b"), (0.1, -0.0, 1e-300)), {"is": (1, "x"), "of": (2, "y")})
    plain = kept.to_plain(tree)
    assert kept.from_plain(plain, {"_Branch": _Branch, "_Leaf": _Leaf}) == tree
    with pytest.raises(KeyError):
        kept.from_plain(plain, {"_Branch": _Branch})
    with pytest.raises(kept.NotPlain):
        kept.to_plain([1, 2])  # a list would come back as a tuple


def test_what_json_cannot_hold_is_made_each_time(own_folder: Path) -> None:
    made = [kept.record("x", "1", (_Leaf,), lambda: _Leaf(Path("a"), (float("nan"),))) for _ in range(2)]
    assert made[0] is not made[1]
    assert not _files(own_folder)
