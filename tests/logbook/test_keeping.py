"""People, endorsements, dates, marks: what is accepted, what is refused, what stands."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from airwork.errors import InputError
from airwork.logbook import keeping, marks, people
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.rules import authorities, load_rules
from airwork.logbook.store import Store, memory_store
from logbook import school

DAY = date(2026, 6, 10)


@pytest.fixture
def s(store: Store) -> school.School:
    with store.change() as connection:
        return school.found(connection)


def flown(store: Store, s: school.School) -> str:
    return import_debrief(
        store, school.debriefed(), FlightEntry(s.student, "dual", instructor=s.instructor), now_utc_s=school.NOW
    ).flight_id


def give(store: Store, s: school.School, flight_id: str, by: str, level: str, at: float = 0.0, **more: Any) -> None:
    who = s.instructor if by == "instructor" else s.student
    with store.change() as connection:
        marks.give_mark(
            connection, s.student, "steep_turn", level, given_by=by, by=who, now_utc_s=school.NOW + at,  # type: ignore[arg-type]
            flight_id=flight_id, position=1, **more,
        )  # fmt: skip


def turn(store: Store, flight_id: str) -> marks.TaskMarks:
    with store.read() as connection:
        return next(m for m in marks.marks_of_flight(connection, flight_id) if m.kind == "steep_turn")


def test_three_marks_stand_side_by_side(store: Store, s: school.School) -> None:
    flight_id = flown(store, s)
    give(store, s, flight_id, "instructor", "practice", remark="late roll-out")
    give(store, s, flight_id, "student", "perform")
    found = turn(store, flight_id)
    assert (found.measured, found.missed) == ("not held", ("altitude",))
    assert found.instructor is not None
    assert found.student is not None
    assert (found.instructor.level, found.instructor.by, found.instructor.remark) == (
        "practice", "Ike Teacher", "late roll-out",
    )  # fmt: skip
    assert found.student.level == "perform"
    assert found.stands == "practice"


def test_the_later_mark_of_the_same_hand_is_shown_and_the_earlier_stays_on_record(
    store: Store, s: school.School
) -> None:
    flight_id = flown(store, s)
    give(store, s, flight_id, "instructor", "explain", at=0)
    give(store, s, flight_id, "instructor", "practice", at=5)
    found = turn(store, flight_id)
    assert found.instructor is not None
    assert found.instructor.level == "practice"
    with store.read() as connection:
        from airwork.logbook.carry import counts

        assert counts(connection)["mark"] == 2


def test_without_marks_the_measurement_stands(store: Store, s: school.School) -> None:
    assert turn(store, flown(store, s)).stands == "not held"


def test_nobody_marks_with_anothers_hand(store: Store, s: school.School) -> None:
    flight_id = flown(store, s)
    with store.change() as connection:
        for given_by, by in (("student", s.instructor), ("instructor", s.student)):
            with pytest.raises(InputError):
                marks.give_mark(
                    connection, s.student, "steep_turn", "perform", given_by=given_by, by=by,  # type: ignore[arg-type]
                    now_utc_s=0.0, flight_id=flight_id,
                )  # fmt: skip
        with pytest.raises(InputError, match="no flight of"):
            marks.give_mark(
                connection, s.instructor, "steep_turn", "perform", given_by="instructor", by=s.instructor,
                now_utc_s=0.0, flight_id=flight_id,
            )  # fmt: skip


def test_a_task_airwork_did_not_see_can_be_marked(store: Store, s: school.School) -> None:
    flight_id = flown(store, s)
    with store.change() as connection:
        marks.give_mark(
            connection, s.student, "radio_work", "explain", given_by="instructor", by=s.instructor, now_utc_s=0.0,
            flight_id=flight_id,
        )  # fmt: skip
    with store.read() as connection:
        found = next(m for m in marks.marks_of_flight(connection, flight_id) if m.kind == "radio_work")
    assert (found.measured, found.stands) == (None, "explain")


@pytest.mark.parametrize(
    ("word", "level"), [("Perform", "perform"), ("desc", "describe"), ("not-observed", "not observed")]
)
def test_levels_are_read_from_their_words(word: str, level: str) -> None:
    assert marks.read_level(word) == level


@pytest.mark.parametrize("word", ["", "p", "excellent", "5"])
def test_other_words_are_no_level(word: str) -> None:
    with pytest.raises(InputError, match="mark"):
        marks.read_level(word)


def test_an_endorsement_comes_back_with_its_last_good_day(store: Store, s: school.School) -> None:
    """14 CFR 61.87(n): 90 days. [V] 10 June + 90 days = 8 September, by hand: 20 + 31 + 31 + 8."""
    with store.change() as connection:
        solo = {"make_model": "Larkmoor 155", "words": "wind below 10 kt"}
        school.endorse(connection, s.student, s.instructor, "endorsement.solo", DAY, **solo)
        (found,) = keeping.holdings(connection, s.student)
    assert (found.held.kind, found.until) == ("us.endorsement.solo", date(2026, 9, 8))
    assert found.held.words == "wind below 10 kt"


@pytest.mark.parametrize(
    ("kind", "facts", "said"),
    [
        ("endorsement.solo", {}, "make and model"),
        ("solo_other_airport", {}, "which place"),
        ("flying_submarines", {}, "no endorsement"),
        ("presolo", {"make_model": "x"}, "could be"),
        ("complex", {"given_on": date(2027, 1, 1)}, "in the future"),
        ("complex", {"given_on": date(1980, 1, 1)}, "before Ann Example was born"),
        ("complex", {"expires_on": date(2026, 1, 1)}, "before it begins"),
    ],
)
def test_an_endorsement_that_can_not_be_is_refused(
    store: Store, s: school.School, kind: str, facts: dict[str, Any], said: str
) -> None:
    with store.change() as connection, pytest.raises(InputError, match=said):
        school.endorse(connection, s.student, s.instructor, kind, **({"given_on": DAY} | facts))


def test_nobody_endorses_without_being_an_instructor(store: Store, s: school.School) -> None:
    with store.change() as connection:
        for student, instructor in ((s.student, s.student), (s.instructor, s.student)):
            with pytest.raises(InputError):
                school.endorse(connection, student, instructor, "complex")


def test_a_date_of_ones_own_needs_its_expiry(store: Store, s: school.School) -> None:
    with store.change() as connection:
        with pytest.raises(InputError, match="no date"):
            school.note_date(connection, s.student, "club checkout", DAY)
        found = school.note_date(connection, s.student, "club checkout", DAY, date(2026, 12, 31))
    assert (found.text, found.until) == ("club checkout", date(2026, 12, 31))


def test_a_person_is_found_by_a_part_of_the_name_that_fits_one(store: Store, s: school.School) -> None:
    with store.change() as connection:
        people.add_person(connection, "Anna Other", now_utc_s=0.0, student=True)
        assert people.find_person(connection, "example").id == s.student.id
        assert people.find_person(connection, "ANN EXAMPLE").id == s.student.id
        assert people.find_person(connection, s.student.id[:8]).id == s.student.id
        with pytest.raises(InputError, match="fits Ann Example, Anna Other"):
            people.find_person(connection, "ann")
        with pytest.raises(InputError, match="no student"):
            people.find_person(connection, "Zoe", student=True)
        with pytest.raises(InputError, match="entered already"):
            people.add_person(connection, "ann example", now_utc_s=0.0)


@settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    name=st.text(min_size=1, max_size=60), contact=st.text(max_size=40),
    born=st.none() | st.dates(date(1900, 1, 1), date(2020, 1, 1)), student=st.booleans(), instructor=st.booleans(),
)  # fmt: skip
def test_a_person_comes_back_or_is_refused_in_words(
    name: str, contact: str, born: date | None, student: bool, instructor: bool
) -> None:
    store = memory_store()
    try:
        with store.change() as connection:
            entered = people.add_person(
                connection, name, now_utc_s=0.0, student=student, instructor=instructor, born_on=born, contact=contact
            )
    except InputError:
        return
    with store.read() as connection:
        assert people.person_by_id(connection, entered.id) == entered
        assert people.find_person(connection, entered.name) == entered
    store.close()


def test_every_rule_says_its_source_and_how_it_is_known() -> None:
    for name in authorities():
        rules = load_rules(name)
        for row in (*rules.experience, *rules.recency, *rules.held, *rules.need):
            assert row.source
            assert row.label in {"V", "M", "P"}
            assert ("from memory" in row.known) == (row.label == "M")


def test_a_rules_file_that_names_what_it_does_not_describe_is_refused(tmp_path: Any) -> None:
    from importlib import resources

    text = resources.files("airwork.logbook").joinpath("rules", "eu.toml").read_text("utf-8")
    bad = tmp_path / "school.toml"
    bad.write_text(text.replace('any_of = [["eu.rating.sep"]]', 'any_of = [["eu.rating.none"]]'), "utf-8")
    with pytest.raises(InputError, match=r"eu\.rating\.none"):
        load_rules(bad)
    bad.write_text(text.replace("[[recency]]", "[[recentcy]]"), "utf-8")
    with pytest.raises(InputError, match="recentcy"):
        load_rules(str(bad))
