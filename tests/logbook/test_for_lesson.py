"""The logbook's word in a lesson's verdict."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

import airwork
from airwork.days import local_date
from airwork.lesson.file import load_lesson
from airwork.lesson.lesson import Lesson, Load
from airwork.lesson.verdict import combine
from airwork.logbook import fleet, keeping, people
from airwork.logbook.for_lesson import lesson_reasons
from airwork.logbook.records import Held, new_id
from airwork.logbook.store import Store, memory_store

DEMO = Path(airwork.__file__).parent / "demo_files" / "lessons" / "stalls_over_the_lake.toml"


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    return load_lesson(DEMO)


@pytest.fixture
def store(lesson: Lesson) -> Store:
    """The people and the airplane of the demo's lesson, with nothing else on record."""
    store = memory_store()
    assert lesson.instructor is not None
    with store.change() as connection:
        zone = {"time_zone": lesson.zone, "now_utc_s": lesson.start_utc_s}
        people.add_person(connection, lesson.student.name, student=True, **zone)
        people.add_person(connection, lesson.instructor.name, instructor=True, certificate_held="commercial", **zone)
        fleet.add_airplane(connection, "INV155", now_utc_s=0.0, make_model="Larkmoor 155", airplane_file="larkmoor_155")
    return store


def test_with_nothing_on_record_the_verdict_is_think_never_go(store: Store, lesson: Lesson) -> None:
    with store.read() as connection:
        found = combine(lesson_reasons(connection, lesson))
    assert found.level == "think"
    assert any("medical" in r.text and r.level == "unknown" for r in found.reasons)


def test_a_student_alone_without_endorsement_is_no_go(store: Store, lesson: Lesson) -> None:
    alone = replace(lesson, student=replace(lesson.student, solo=True))
    with store.read() as connection:
        assert combine(lesson_reasons(connection, alone)).level == "no-go"


def test_with_the_papers_on_record_nothing_speaks_against_it(store: Store, lesson: Lesson) -> None:
    assert lesson.instructor is not None
    day = local_date(lesson.start_utc_s, lesson.zone) - timedelta(days=30)
    with store.change() as connection:
        teacher = people.find_person(connection, lesson.instructor.name)
        for kind in ("medical.third", "practical_test", "instructor.recent"):
            keeping.put_on_record(connection, teacher, Held(new_id(), kind, day), now_utc_s=lesson.start_utc_s)
        assert combine(lesson_reasons(connection, lesson)).level == "go"


def test_a_passenger_asks_for_the_instructors_landings(store: Store, lesson: Lesson) -> None:
    """14 CFR 61.57(a) binds who commands; the instructor's own flights may be kept elsewhere: asked, not refused."""
    third = Load("Aunt", "rear seats", 60.0, "passenger")
    with store.read() as connection:
        found = lesson_reasons(connection, replace(lesson, loads=(*lesson.loads, third)))
    assert any("takeoffs" in r.text and r.level == "unknown" for r in found)


def test_strangers_to_the_logbook_are_said(lesson: Lesson) -> None:
    store = memory_store()
    with store.read() as connection:
        (only,) = lesson_reasons(connection, lesson)
    assert only.level == "unknown"
    assert lesson.student.name in only.text


def test_the_briefing_takes_the_reasons(store: Store, lesson: Lesson) -> None:
    from airwork.airplane import load_airplane
    from airwork.lesson.plan import build_briefing

    with store.read() as connection:
        said = lesson_reasons(connection, lesson)
    briefing = build_briefing(lesson, load_airplane(lesson.airplane_path), currency=said)
    assert {r.text for r in said} <= {r.text for r in briefing.verdict.reasons}


def test_the_airplane_is_known_by_its_files_id_whatever_the_file_is_called(
    store: Store, lesson: Lesson, tmp_path: Path
) -> None:
    renamed = tmp_path / "our_airplane.toml"
    renamed.write_text(lesson.airplane_path.read_text(encoding="utf-8"), encoding="utf-8")
    with store.read() as connection:
        found = lesson_reasons(connection, replace(lesson, airplane_path=renamed))
        other = lesson_reasons(connection, replace(lesson, airplane_path=tmp_path / "gone.toml"))
    assert not [r for r in found if "not in the logbook" in r.text]
    assert [r.text for r in other if r.topic == "record: airplane"]
