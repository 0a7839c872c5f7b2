"""What is held of everybody's progress says what the whole says, after every kind of change."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import sqlalchemy as sa

from airwork.logbook import flights, marks, people, worked_out
from airwork.logbook import school as chief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.pages import progress_of
from airwork.logbook.records import Person
from airwork.logbook.store import Store
from logbook import school

DAY = 86400.0
TODAY = date(2026, 6, 16)


def _year(store: Store) -> tuple[school.School, Person]:
    """Two students; the first with ten flights, steep turns that get no better."""
    with store.change() as connection:
        s = school.found(connection)
        other = people.add_person(connection, "Otto Other", now_utc_s=school.NOW, student=True)
    for n in range(10):
        _flown(store, s, n)
    return s, other


def _flown(store: Store, s: school.School, n: int, *, feet: float = 180.0) -> str:
    steep = school.criterion("altitude", "±100 ft", feet + 20.0 * (n % 3), "ft", "held" if feet < 50 else "not held")
    slow = school.criterion("airspeed", "+10/−0 kt", 4.0, "kt", "held")
    episodes = [school.episode("steep_turn", 900.0, [steep], 12.0), school.episode("slow_flight", 1500.0, [slow])]
    facts = school.debriefed(school.NOW - (40.0 - 3.0 * n) * DAY, episodes=episodes, recording=b"%d" % n)
    about = FlightEntry(s.student, "dual", instructor=s.instructor, airplane=s.larkmoor)
    return import_debrief(store, facts, about, now_utc_s=school.NOW).flight_id


def _brief(store: Store, monkeypatch: pytest.MonkeyPatch) -> tuple[dict[str, object], set[str]]:
    """Every student's progress in brief, and who had to be worked out anew."""
    new = set()

    def counted(connection: sa.Connection, student: Person, today: date) -> object:
        new.add(student.id)
        return progress_of(connection, student, today)

    monkeypatch.setattr(worked_out, "progress_of", counted)
    with store.read() as connection:
        days = [(one, TODAY) for one in people.people(connection) if one.is_student]
        return dict(worked_out.progress_in_brief(connection, days)), new


def _holds(store: Store, found: dict[str, object]) -> None:
    """Against the whole progress, but for what is left out of it."""
    with store.read() as connection:
        for one in people.people(connection):
            if one.is_student:
                whole = progress_of(connection, one, TODAY)
                short = tuple(replace(t, criteria=(), instructor=None, student=None) for t in whole.tasks)
                assert found[one.id] == replace(whole, tasks=short)


def test_only_what_a_change_touched_is_worked_out_again(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    s, other = _year(store)
    found, new = _brief(store, monkeypatch)
    assert new == {s.student.id, other.id}
    assert any(t.forecast_why or t.forecast for t in found[s.student.id].tasks)  # type: ignore[attr-defined]
    _holds(store, found)
    assert _brief(store, monkeypatch) == (found, set())

    last = _flown(store, s, 10, feet=30.0)  # a flight entered
    after, new = _brief(store, monkeypatch)
    assert new == {s.student.id}
    assert after != found
    _holds(store, after)

    with store.change() as connection:  # a mark given
        marks.give_mark(connection, s.student, "steep_turn", "perform", given_by="instructor", by=s.instructor,
                        now_utc_s=school.NOW, flight_id=last)  # fmt: skip
    marked, new = _brief(store, monkeypatch)
    assert new == {s.student.id}
    assert marked != after
    _holds(store, marked)

    with store.change() as connection:  # a flight taken out, and the mark with it
        flights.remove_flight(connection, last, now_utc_s=school.NOW)
    without, new = _brief(store, monkeypatch)
    assert (without, new) == (found, {s.student.id})

    with store.change() as connection:  # another certificate aimed at
        people.change_person(connection, s.student, now_utc_s=school.NOW, certificate_aimed="commercial")
    aimed, new = _brief(store, monkeypatch)
    assert new == {s.student.id}
    _holds(store, aimed)


def test_the_chief_sees_the_same_at_every_look(store: Store) -> None:
    s, _ = _year(store)
    with store.read() as connection:
        first, again = (chief.school(connection, now_utc_s=school.NOW) for _ in range(2))
    assert first == again
    stuck = next(d for d in first.students if d.student.id == s.student.id)
    assert [title for title, _ in stuck.stuck] == ["Steep turns"]
