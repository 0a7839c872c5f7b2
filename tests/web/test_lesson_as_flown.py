"""The lesson as flown is kept with the flight: editing its file afterwards changes no debrief."""

from __future__ import annotations

import io
from pathlib import Path

import airwork
from airwork.web.desk import Desk, new_about
from airwork.web.folder import Folder

DEMO = Path(airwork.__file__).parent / "demo_files" / "lessons" / "stalls_over_the_lake.toml"


def desk_with(folder: Path, recording: bytes) -> tuple[Desk, Path]:
    lesson = folder / "lessons" / "own.toml"
    lesson.parent.mkdir(parents=True)
    lesson.write_text(DEMO.read_text(encoding="utf-8").replace("../airplanes/", ""), encoding="utf-8")
    return Desk(folder / "desk", Folder(folder)), lesson


def test_editing_the_lesson_changes_no_debrief_until_it_is_asked_for(tmp_path: Path, short_csv: bytes) -> None:
    """Another title and order in the file: the debrief stays, also for a desk opened anew; asked for, it follows."""
    desk, lesson = desk_with(tmp_path, short_csv)
    about = desk.add(io.BytesIO(short_csv), "short.csv", new_about(lesson="own"))
    before = desk.debrief(about)
    assert before.plan.order
    lesson.write_text('title = "Another"\n' + lesson.read_text(encoding="utf-8").partition("\n")[2], encoding="utf-8")
    again = Desk(desk.path, Folder(tmp_path))
    assert again.debrief(about).plan == before.plan
    assert again.debrief(about).as_json()["lesson"] == before.as_json()["lesson"]
    lesson.unlink()
    assert Desk(desk.path, Folder(tmp_path)).debrief(about).plan == before.plan


def test_the_files_new_state_is_taken_when_asked_for(tmp_path: Path, short_csv: bytes) -> None:
    desk, lesson = desk_with(tmp_path, short_csv)
    about = desk.add(io.BytesIO(short_csv), "short.csv", new_about(lesson="own"))
    title = desk.debrief(about).plan.title
    text = lesson.read_text(encoding="utf-8")
    assert title in text
    lesson.write_text(text.replace(title, "Flown another day"), encoding="utf-8")
    desk.forget_lesson(about)
    assert desk.debrief(about).plan.title == "Flown another day"


def test_a_debriefs_own_data_bring_the_lesson_back(tmp_path: Path, short_csv: bytes) -> None:
    """As the logbook keeps them: debriefed from them, without the file, it is the same lesson."""
    desk, _ = desk_with(tmp_path, short_csv)
    first = desk.debrief(desk.add(io.BytesIO(short_csv), "short.csv", new_about(lesson="own")))
    other = Desk(tmp_path / "other", Folder(tmp_path / "empty"))
    about = other.add(io.BytesIO(short_csv), "short.csv", new_about(), first.as_json()["lesson"])
    assert other.debrief(about).plan == first.plan
