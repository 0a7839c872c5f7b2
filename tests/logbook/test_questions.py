"""A school's questions, from an invented year; the interval against a published example."""

from __future__ import annotations

import pytest

from airwork.logbook import people
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.questions import ask, questions, wilson
from airwork.logbook.store import Store
from logbook import school

DAY = 86400.0


def _year(store: Store) -> school.School:
    """Eight flights of two quarters with two instructors: steep turns held under Ike alone."""
    with store.change() as connection:
        s = school.found(connection)
        ida = people.add_person(connection, "Ida Vance", now_utc_s=school.NOW, instructor=True)
    for n in range(8):
        teacher = s.instructor if n % 2 else ida
        worst, verdict = (60.0, "held") if n % 2 else (240.0, "not held")
        steep = school.episode(
            "steep_turn", 900.0, [school.criterion("altitude", "±100 ft", worst, "ft", verdict)], 12.0
        )
        climb = school.episode("climb", 300.0, [school.criterion("airspeed", "±10 kt", 2.0, "kt", "held")])
        start = school.NOW - (150.0 - 20.0 * n) * DAY
        facts = school.debriefed(start, episodes=[steep, climb], recording=b"%d" % n)
        about = FlightEntry(s.student, "dual", instructor=teacher, airplane=s.larkmoor, route=(s.home, s.home))
        import_debrief(store, facts, about, now_utc_s=school.NOW)
    return s


def test_the_interval_is_wilsons() -> None:
    """Against the reference library's own."""
    from scipy.stats import binomtest

    for held, attempts in ((81, 263), (15, 148), (0, 20), (1, 29), (7, 8)):
        known = binomtest(held, attempts).proportion_ci(confidence_level=0.9, method="wilson")
        assert wilson(held, attempts) == pytest.approx((known.low, known.high), abs=1e-5)
    assert wilson(0, 3)[0] == 0.0
    assert wilson(3, 3)[1] == 1.0
    assert wilson(0, 0) == (0.0, 1.0)


def test_weak_tasks_come_first_with_their_interval(store: Store) -> None:
    _year(store)
    with store.read() as connection:
        rows = ask(connection, "weak").frame.to_dicts()
    assert [r["task"] for r in rows] == ["Steep turn"]
    assert (rows[0]["attempts"], rows[0]["held"], rows[0]["held_percent"]) == (8, 4, 50.0)
    assert rows[0]["low_percent"] < 50 < rows[0]["high_percent"]
    with store.read() as connection:  # held each time is no weakness
        assert "Climb" in ask(connection, "tasks").frame["task"]


def test_by_instructor_people_are_letters_unless_names_are_asked_for(store: Store) -> None:
    _year(store)
    with store.read() as connection:
        hidden = ask(connection, "teaching").frame
        named = ask(connection, "teaching", names=True).frame
    assert set(hidden["instructor"]) == {"instructor A", "instructor B"}
    steep = {r["instructor"]: r["held_percent"] for r in named.to_dicts() if r["task"] == "Steep turn"}
    assert steep == {"Ike Teacher": 100.0, "Ida Vance": 0.0}


def test_hours_and_flights_of_an_airplane_add_up(store: Store) -> None:
    _year(store)
    with store.read() as connection:
        hours = ask(connection, "hours").frame.to_dicts()
    assert sum(r["flights"] for r in hours) == 8
    assert {r["airplane"] for r in hours} == {"INV155"}


def test_an_empty_logbook_answers_every_question(store: Store) -> None:
    with store.read() as connection:
        for question in questions():
            assert ask(connection, question).frame.height == 0  # type: ignore[arg-type]
