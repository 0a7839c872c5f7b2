"""What the faces are given: a student's page, a flight's page, lists."""

from __future__ import annotations

import json
from datetime import date

import pytest

from airwork.cli.logbook_flight import flight_text
from airwork.logbook import flights, keeping, marks, pages, people
from airwork.logbook.as_json import plain
from airwork.logbook.attempts import said_first
from airwork.logbook.debrief_json import read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.records import Movement
from airwork.logbook.standing import LessonAsked
from airwork.logbook.store import Store
from logbook import school

H = 3600.0


@pytest.fixture
def s(store: Store) -> school.School:
    with store.change() as connection:
        return school.found(connection)


def fly(store: Store, s: school.School, days_ago: int) -> str:
    about = FlightEntry(s.student, "dual", instructor=s.instructor, airplane=s.larkmoor, route=(s.home, s.near, s.home))
    return import_debrief(
        store, school.debriefed(school.NOW - days_ago * 86400.0), about, now_utc_s=school.NOW
    ).flight_id


def test_a_students_page_has_everything_before_a_lesson(store: Store, s: school.School) -> None:
    last = [fly(store, s, days) for days in (9, 5, 2)][-1]
    with store.change() as connection:
        school.note_date(connection, s.student, "medical.third", date(2021, 7, 20))
        keeping.add_note(
            connection, s.student, "flares high", now_utc_s=school.NOW, by=s.instructor, for_instructors=True
        )
        keeping.add_note(connection, s.student, "bring a hood", now_utc_s=school.NOW + 1, by=s.instructor)
    with store.read() as connection:
        page = pages.student_page(connection, s.student.id, now_utc_s=school.NOW, newest=2)
        for_student = pages.student_page(connection, s.student.id, now_utc_s=school.NOW, instructor_notes=False)
    assert page.today == date(2026, 6, 15)
    assert (page.totals.flights, page.totals.time_s("dual"), page.totals.landings) == (3, 3 * 4680.0, 3)
    assert page.flights[0].logged.flight.id == last
    assert len(page.flights) == 2
    assert page.flights[0].route == ("HOME", "NEAR", "HOME")
    assert page.flights[0].instructor == "Ike Teacher"
    assert page.flights[0].tasks == ("takeoff", "steep_turn", "slow_flight", "landing")
    total = next(p for p in page.left if p.rule.id == "us.private.total")
    assert total.have == pytest.approx(3.9)
    assert [v.held.kind for v in page.running_out] == ["us.medical.third"]  # to 31 July 2026
    turn = page.progress.task("steep_turn")
    assert turn is not None
    assert (turn.attempts, turn.flights, turn.weakest) == (3, 3, "altitude")
    assert len(page.progress.next_three) == 3
    assert [n.words for n in page.notes] == ["bring a hood", "flares high"]
    assert [n.words for n in for_student.notes] == ["bring a hood"]


def test_what_a_debrief_said_first_stays_until_it_is_flown_without(store: Store, s: school.School) -> None:
    """Of the newest flight with that maneuver; a line with no moment, or beside every task, is of no maneuver."""
    about = FlightEntry(s.student, "dual", instructor=s.instructor, airplane=s.larkmoor, route=(s.home, s.near, s.home))

    def flown(days_ago: int, *lines: tuple[str, float | None]) -> dict[str, tuple[date, str]]:
        content = school.debrief_dict(school.NOW - days_ago * 86400.0)
        content["first"] = [
            {"heading": "first", "text": text, "start_s": at, "end_s": at} for text, at in lines
        ]  # fmt: skip
        import_debrief(store, read_debrief(json.dumps(content)), about, now_utc_s=school.NOW)
        with store.read() as connection:
            return said_first(connection, s.student.id)

    steep = flown(9, ("70° of bank at 700 ft. Also: pushed to 0 g.", 930.0), ("A file without an end.", None))
    assert steep == {"steep_turn": (date(2026, 6, 6), "70° of bank at 700 ft.")}
    assert flown(5, ("Gone between two maneuvers.", 1300.0)) == {}


def test_a_flights_page_has_marks_movements_and_the_debrief(store: Store, s: school.School) -> None:
    flight_id = fly(store, s, 2)
    with store.change() as connection:
        marks.give_mark(
            connection, s.student, "steep_turn", "practice", given_by="instructor", by=s.instructor,
            now_utc_s=school.NOW, flight_id=flight_id, position=1,
        )  # fmt: skip
        page = pages.flight_page(connection, flight_id[:8])
    assert (page.pilot, page.instructor, page.standard) == (
        "Ann Example",
        "Ike Teacher",
        "Private pilot, airplane, single-engine land, FAA-S-ACS-6C",
    )
    assert [p.ident for p in page.route] == ["HOME", "NEAR", "HOME"]
    assert page.debrief is not None
    assert page.debrief["episodes"][1]["kind"] == "steep_turn"
    assert [m.stands for m in page.marks if m.kind == "steep_turn"] == ["practice"]
    assert not page.recording_kept


def test_what_an_instructor_said_of_the_grading_stands_in_the_record(store: Store, s: school.School) -> None:
    raw = json.loads(school.debriefed(school.NOW - 2 * 86400.0).content)
    raw["episodes"][1]["said"] = ["bank wanted: 30° (Ike Teacher)"]
    about = FlightEntry(s.student, "dual", instructor=s.instructor, airplane=s.larkmoor)
    done = import_debrief(store, read_debrief(raw), about, now_utc_s=school.NOW)
    with store.read() as connection:
        page = pages.flight_page(connection, done.flight_id)
    assert page.told == {1: "bank wanted: 30° (Ike Teacher)"}
    assert "2: bank wanted: 30° (Ike Teacher)" in flight_text(page)


def test_students_are_listed_with_hours_and_last_flight(store: Store, s: school.School) -> None:
    fly(store, s, 2)
    with store.change() as connection:
        people.add_person(connection, "Bert New", now_utc_s=0.0, student=True)
        found = pages.students(connection)
    assert [(x.student.name, x.flights, x.total_s, x.last_flown) for x in found] == [
        ("Ann Example", 1, 1.3 * H, date(2026, 6, 13)),
        ("Bert New", 0, 0.0, None),
    ]


def test_a_lesson_is_held_against_the_whole_record(store: Store, s: school.School) -> None:
    """Q20 through the database, 14 CFR 61.195(a): 7.6 h given in the 24 h before, and 0.6 h more, exceed 8. [V]"""
    with store.change() as connection:
        other = people.add_person(connection, "Bert New", now_utc_s=0.0, student=True)
        for start, length in ((-20.0, 4.0), (-6.0, 3.6)):
            flights.add_flight(
                connection,
                FlightEntry(
                    other, "dual", school.NOW + start * H, school.NOW + (start + length) * H, instructor=s.instructor
                ),
                now_utc_s=school.NOW,
            )

        def answer(hours: float) -> str:
            lesson = LessonAsked(school.NOW, school.NOW + hours * H, school.ZONE, "dual", s.larkmoor)
            found = pages.lesson_standing(connection, s.student.id, lesson, instructor_id=s.instructor.id)
            return next(f.level for f in found.findings if f.rule_id == "us.instructor.day")

        assert (answer(0.6), answer(0.4)) == ("forbids", "fine")


def test_commercial_experience_counts_from_the_certificates_date(store: Store, s: school.School) -> None:
    fly(store, s, 9)
    fly(store, s, 2)
    with store.change() as connection:
        who = people.change_person(
            connection, s.student, now_utc_s=school.NOW, certificate_held="private", certificate_aimed="commercial"
        )
        school.note_date(connection, who, "certificate.private", date(2026, 6, 10))
        page = pages.student_page(connection, who.id, now_utc_s=school.NOW)
    dual = next(p for p in page.left if p.rule.id == "us.commercial.dual")
    assert (dual.have, dual.remark) == (pytest.approx(1.3), "")
    assert page.progress.standard.startswith("Commercial")


def test_a_page_becomes_json(store: Store, s: school.School) -> None:
    fly(store, s, 2)
    with store.read() as connection:
        page = pages.student_page(connection, s.student.id, now_utc_s=school.NOW)
    data = json.loads(json.dumps(plain(page), allow_nan=False))
    assert data["student"]["name"] == "Ann Example"
    assert data["flights"][0]["logged"]["flight"]["total_s"] == 1.3 * H


def test_movements_of_a_day_count_to_currency_on_the_page(store: Store, s: school.School) -> None:
    """14 CFR 61.57(a): three in 90 days; the page says until when. [V]"""
    with store.change() as connection:
        moves = (Movement("takeoff", 3), Movement("landing", 3))
        flights.add_flight(
            connection,
            FlightEntry(
                s.student, "pic", local_date=date(2026, 6, 1), airplane=s.larkmoor, times_s={"total": H},
                movements=moves,
            ),
            now_utc_s=school.NOW,
        )  # fmt: skip
        page = pages.student_page(connection, s.student.id, now_utc_s=school.NOW)
    found = {r.rule.id: r.until for r in page.recent}
    assert found == {"us.recent.passengers": date(2026, 8, 30), "us.recent.passengers_night": None}


def test_a_logbook_on_both_kinds_of_database_lists_flights_in_one_order(store: Store, s: school.School) -> None:
    """A flight with no time of day comes first on its day on either."""
    with store.change() as connection:
        for start in (school.NOW, None):
            flights.add_flight(
                connection,
                FlightEntry(
                    s.student, "solo", start, start + H if start else None, date(2026, 6, 15), times_s={"total": H}
                ),
                now_utc_s=school.NOW,
            )  # fmt: skip
        found = flights.flights_of(connection, s.student.id)
    assert [one.flight.start_utc_s for one in found] == [None, school.NOW]
