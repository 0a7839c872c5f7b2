"""What is kept of everybody's progress says what the whole says, after every kind of change, and is no record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import sqlalchemy as sa

from airwork.logbook import flights, forgetting, marks, people, worked_out
from airwork.logbook import school as chief
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.pages import progress_of
from airwork.logbook.records import Person
from airwork.logbook.schema import person
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


def _brief(store: Store) -> tuple[dict[str, object], set[str]]:
    """Every student's progress in brief, and who had to be worked out anew; kept then."""
    with store.read() as connection:
        days = [(one, TODAY) for one in people.people(connection) if one.is_student]
        found, new = worked_out.progress_in_brief(connection, days)
    worked_out.keep(store, new)
    return dict(found), set(new)


def _holds(store: Store, found: dict[str, object]) -> None:
    """Against the whole progress, but for what is left out of it."""
    with store.read() as connection:
        for one in people.people(connection):
            if one.is_student:
                whole = progress_of(connection, one, TODAY)
                short = tuple(replace(t, criteria=(), instructor=None, student=None) for t in whole.tasks)
                assert found[one.id] == replace(whole, tasks=short)


def test_only_what_a_change_touched_is_worked_out_again(store: Store) -> None:
    s, other = _year(store)
    found, new = _brief(store)
    assert new == {s.student.id, other.id}
    assert any(t.forecast_why or t.forecast for t in found[s.student.id].tasks)  # type: ignore[attr-defined]
    _holds(store, found)
    assert _brief(store) == (found, set())

    last = _flown(store, s, 10, feet=30.0)  # a flight entered
    after, new = _brief(store)
    assert new == {s.student.id}
    assert after != found
    _holds(store, after)

    with store.change() as connection:  # a mark given
        marks.give_mark(connection, s.student, "steep_turn", "perform", given_by="instructor", by=s.instructor,
                        now_utc_s=school.NOW, flight_id=last)  # fmt: skip
    marked, new = _brief(store)
    assert new == {s.student.id}
    assert marked != after
    _holds(store, marked)

    with store.change() as connection:  # a flight taken out, and the mark with it
        flights.remove_flight(connection, last, now_utc_s=school.NOW)
    without, new = _brief(store)
    assert (without, new) == (found, {s.student.id})

    with store.change() as connection:  # another certificate aimed at
        people.change_person(connection, s.student, now_utc_s=school.NOW, certificate_aimed="commercial")
    aimed, new = _brief(store)
    assert new == {s.student.id}
    _holds(store, aimed)


def test_another_program_version_or_other_thresholds_work_out_anew(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    _year(store)
    _brief(store)
    monkeypatch.setattr(worked_out, "VERSION", "9.9")
    assert len(_brief(store)[1]) == 2


def test_what_is_kept_is_no_record(store: Store) -> None:
    """The history doesn't speak of it, the check finds nothing, and it goes with whom it is about."""
    s, other = _year(store)
    _brief(store)
    with store.read() as connection:
        assert connection.execute(sa.select(sa.func.count()).select_from(worked_out.KEPT)).scalar() == 2
    assert check(store).wrong == ()
    forgetting.forget_student(store, s.student, now_utc_s=school.NOW)
    with store.change() as connection:
        connection.execute(sa.delete(person).where(person.c.id == other.id))
    with store.read() as connection:
        assert connection.execute(sa.select(worked_out.KEPT)).all() == []
    worked_out.keep(store, {other.id: ("", "[]")})  # gone while their progress was worked out
    with store.read() as connection:
        assert connection.execute(sa.select(worked_out.KEPT)).all() == []


def test_the_chief_sees_the_same_where_nothing_can_be_kept(store: Store) -> None:
    s, _ = _year(store)
    bare = chief.school(replace(store, read_only=True), now_utc_s=school.NOW, planned={})
    with store.read() as connection:
        assert not sa.inspect(connection).has_table(worked_out.KEPT.name)
    assert [chief.school(store, now_utc_s=school.NOW, planned={}) for _ in range(2)] == [bare, bare]
    stuck = next(d for d in bare.students if d.student.id == s.student.id)
    assert [title for title, _ in stuck.stuck] == ["Steep turns"]
