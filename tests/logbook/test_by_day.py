"""Flights entered by their day alone, and flights that put somebody in two places at once."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from airwork.errors import InputError
from airwork.logbook import flights, people
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.merging import merge
from airwork.logbook.records import Person, Role
from airwork.logbook.schema import dated, endorsement, flight
from airwork.logbook.store import Store, open_store
from logbook import school
from logbook.conftest import Full, MakeStore
from logbook.school import DAY, NOON, H
from logbook.test_seal import signed_id


def _hours(store: Store, who: people.Person) -> float:
    with store.read() as connection:
        return sum(one.flight.total_s for one in flights.flights_of(connection, who.id))


def _enter(store: Store, entry: FlightEntry, *, overlap: bool = False) -> str:
    with store.change() as connection:
        return flights.add_flight(connection, entry, now_utc_s=school.NOW, overlap=overlap).row.id


def _by_day(who: Person, day: date = DAY, hours: float = 0.9, role: Role = "solo") -> FlightEntry:
    return FlightEntry(who, role, local_date=day, times_s={"total": hours * H})


_DAYS = st.lists(st.tuples(st.integers(0, 4), st.booleans(), st.integers(1, 40)), min_size=1, max_size=6)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(_DAYS)
def test_flights_by_day_or_time_come_through_a_merge(
    files: tuple[Path, school.School], tmp_path: Path, flown: list[tuple[int, bool, int]]
) -> None:
    """Whatever a student has flown, elsewhere it comes to the same hours, and a second time to nothing."""
    folder, _ = files
    for name in ("one", "two"):
        (tmp_path / f"{name}.sqlite").write_bytes((folder / "empty.sqlite").read_bytes())
    one, two = (open_store(tmp_path / f"{name}.sqlite") for name in ("one", "two"))
    try:
        with one.change() as connection:
            who = people.add_person(connection, "Ann Example", student=True, now_utc_s=school.NOW)
        for n, (day, timed, tenths) in enumerate(flown):
            start = NOON + day * 86400.0 - n * 5 * H
            entry = FlightEntry(who, "solo", start, start + tenths * 360.0)
            _enter(one, entry if timed else _by_day(who, DAY - timedelta(days=day), tenths / 10), overlap=True)
        assert merge(two, one, agreed=False).added["flight"] == len(flown)
        assert _hours(two, who) == pytest.approx(sum(tenths for *_, tenths in flown) * 360.0)
        assert merge(two, one, agreed=False).nothing_new
        assert merge(one, two, agreed=False).nothing_new
        assert check(two).wrong == ()
    finally:
        one.close()
        two.close()


# --- in two places at once ------------------------------------------------------------------------------------------


def _at_once(store: Store) -> list[str]:
    return [said for said in check(store).look_at if "two flights" in said]


def _second_student(store: Store) -> Person:
    with store.change() as connection:
        return people.add_person(connection, "Per Second", student=True, now_utc_s=school.NOW)


def test_a_corrected_flight_does_not_overlap_its_correction(full: Full) -> None:
    store, s = full
    entry = FlightEntry(s.student, "dual", NOON + 60.0, NOON + H, instructor=s.instructor, corrects_id=signed_id(store))
    _enter(store, entry)
    assert _at_once(store) == []


@pytest.mark.parametrize(
    ("teacher", "plane", "later_h", "said"),
    [
        (True, False, 0.1, "Ike Teacher is in two flights"),
        (False, True, 0.1, "INV155 is in two flights"),
        (True, True, 0.1, "Ike Teacher and INV155 are in two flights"),
        (True, True, 1.25, ""),  # the first lasts 1.3 h: tenths of an hour, as they are logged
        (True, True, 1.15, "Ike Teacher and INV155 are in two flights"),
        (True, True, -5.0, ""),
        (False, False, 0.1, ""),
    ],
)
def test_an_instructor_or_an_airplane_in_two_places_is_named(
    full: Full, teacher: bool, plane: bool, later_h: float, said: str
) -> None:
    store, s = full
    start = NOON + later_h * H
    more = {"instructor": s.instructor} if teacher else {}
    _enter(
        store,
        FlightEntry(
            _second_student(store), "dual" if teacher else "solo", start, start + H,
            airplane=s.larkmoor if plane else None, **more,
        ),
    )  # fmt: skip
    found = _at_once(store)
    assert len(found) == bool(said)
    assert all(said in line and "2026-06-14" in line and signed_id(store)[:8] in line for line in found)


@pytest.mark.parametrize(("other_airplane", "named"), [(False, 0), (True, 1)])
def test_an_instructors_own_entry_of_a_lesson_is_that_flight_unless_in_another_airplane(
    full: Full, other_airplane: bool, named: int
) -> None:
    store, s = full
    plane = s.caldmere if other_airplane else s.larkmoor
    _enter(store, FlightEntry(s.instructor, "pic", NOON, NOON + H, airplane=plane))
    assert len(_at_once(store)) == named


def test_a_merge_says_that_its_flight_puts_an_instructor_in_two_places(make_store: MakeStore) -> None:
    """What was at once before is not said again."""
    (one, s), two = make_store.full("one"), make_store("two")
    merge(two, one)
    for store, who in ((two, _second_student(two)), (one, s.student)):
        _enter(store, FlightEntry(who, "dual", NOON + 72 * H, NOON + 73 * H, instructor=s.instructor))
    done = merge(two, one, agreed=False)
    assert sum("Ike Teacher is in two flights" in line for line in done.said) == 1
    assert not any("two flights" in line for line in merge(two, one).said)


@pytest.mark.parametrize(("table", "column"), [(flight, "local_date"), (endorsement, "given_on"), (dated, "on_date")])
def test_a_day_to_come_is_refused_by_a_merge(make_store: MakeStore, table: sa.Table, column: str) -> None:
    (one, _), two = make_store.full("one"), make_store("two")
    with one.engine.begin() as raw:
        raw.execute(sa.update(table).values({column: date.today() + timedelta(days=3)}))
    with pytest.raises(InputError, match=f"a {table.name} in it is of a day in the future"):
        merge(two, one)


@pytest.mark.parametrize(("more_h", "named"), [(0.9, 0), (1.1, 1)])
def test_hours_far_over_a_flights_own_times_are_to_be_looked_at(full: Full, more_h: float, named: int) -> None:
    store, s = full
    times = {"total": (1.0 + more_h) * H}
    _enter(store, FlightEntry(s.student, "solo", NOON + 72 * H, NOON + 73 * H, times_s=times))
    assert sum("over an hour more than from its start to its end" in line for line in check(store).look_at) == named
