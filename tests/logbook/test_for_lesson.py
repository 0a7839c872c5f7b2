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
from airwork.lesson.verdict import Reason, combine
from airwork.logbook import fleet, keeping, people
from airwork.logbook.entering import FlightEntry
from airwork.logbook.flights import add_flight
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


# Common practice, no source: after weeks without a flight a student goes with an instructor first.
@pytest.mark.parametrize(
    ("days", "level"), [(10, "go"), (29, "go"), (30, "think"), (59, "think"), (60, "no-go"), (111, "no-go")]
)
def test_how_long_a_student_alone_has_not_flown_is_said(store: Store, lesson: Lesson, days: int, level: str) -> None:
    alone = replace(lesson, student=replace(lesson.student, solo=True))
    _fly(store, lesson, days)
    assert _last(store, alone).level == level
    assert f"{days} days before" in _last(store, alone).text


def test_with_an_instructor_a_long_pause_is_a_thought_and_a_school_sets_its_own(store: Store, lesson: Lesson) -> None:
    _fly(store, lesson, 60)
    assert _last(store, lesson).level == "go"
    alone = replace(lesson, student=replace(lesson.student, solo=True))
    own = {"since_flight": {"solo_think": 70.0, "solo_stop": 120.0}}
    assert _last(store, replace(alone, school=replace(lesson.school, cautions=own))).level == "go"


def _fly(store: Store, lesson: Lesson, days: int) -> None:
    start = lesson.start_utc_s - days * 86400.0
    with store.change() as connection:
        student = people.find_person(connection, lesson.student.name)
        flown = FlightEntry(student, "solo", start, start + 3600.0, time_zone=lesson.zone)
        add_flight(connection, flown, now_utc_s=lesson.start_utc_s)


def _last(store: Store, lesson: Lesson) -> Reason:
    with store.read() as connection:
        return next(r for r in lesson_reasons(connection, lesson) if r.topic == "record: last flight")
