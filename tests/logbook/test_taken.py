"""Nobody sits in two airplanes at one time, and no airplane is in two places."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from airwork.errors import InputError
from airwork.logbook import flights, people
from airwork.logbook.entering import FlightEntry
from airwork.logbook.plausible import slips
from airwork.logbook.records import Movement
from airwork.logbook.store import memory_store
from airwork.logbook.taken import Aboard, Taken, at_once, flown_on, in_the_way, twice
from logbook import school

TEN = datetime(2026, 6, 1, 16, 0, tzinfo=UTC).timestamp()  # 10:00 in Denver
H = 3600.0


def taken(id: str, at_h: float, pilot: str, teacher: str = "Ike", plane: str = "INV155", planned: bool = True) -> Taken:
    beside = Aboard(teacher) if teacher else None
    begun = TEN + at_h * H
    return Taken(id, begun, begun + H, school.ZONE, Aboard(pilot), beside, plane, id, planned)


def test_two_lessons_at_one_time_share_whom_and_what_both_need() -> None:
    first = taken("first", 0.0, "Ann")
    assert first.shared(taken("second", 0.5, "Bo")) == ("Ike", "INV155")
    assert first.shared(taken("second", 0.5, "Bo", "Jan")) == ("INV155",)
    assert first.shared(taken("second", 0.5, "Ike", "", "N200CM")) == ("Ike",)  # the instructor's own flight
    assert first.shared(taken("second", 1.0, "Bo")) == ()  # one begins as the other is over
    assert first.shared(taken("second", 0.5, "Bo", "Jan", "N200CM")) == ()
    assert first.shared(taken("second", 0.5, "Bo", "", "")) == ()  # alone, in one of several of a kind
    assert [pair[2] for pair in twice([first, taken("b", 2.0, "Bo"), taken("c", 0.9, "Cy")])] == [("Ike", "INV155")]


def test_what_is_one_flight_is_not_asked_for_twice() -> None:
    """The plan and the flight it became; a flight that the instructor logged too, in command."""
    plan = taken("plan", 0.0, "Ann")
    assert plan.shared(taken("flown", 0.1, "ann", planned=False)) == ()
    assert plan.shared(taken("flown", 0.1, "Bo", planned=False)) == ("Ike", "INV155")
    dual = taken("dual", 0.0, "Ann", planned=False)
    assert dual.shared(taken("own", 0.0, "Ike", "", planned=False)) == ()
    assert dual.shared(taken("own", 0.0, "Ike", "", "N200CM", planned=False)) == ("Ike",)


def test_an_entry_is_asked_about_beside_another_and_refused_where_it_cannot_be() -> None:
    with memory_store().change() as connection:
        found = school.found(connection)
        bo = people.add_person(connection, "Bo", student=True, now_utc_s=school.NOW, time_zone=school.ZONE)

        def entry(pilot: object, at_h: float, plane: object = found.larkmoor) -> FlightEntry:
            return FlightEntry(pilot, "dual", TEN + at_h * H, TEN + (at_h + 1) * H, instructor=found.instructor,  # type: ignore[arg-type]
                               airplane=plane, route=(found.home, found.home))  # type: ignore[arg-type]  # fmt: skip

        flights.add_flight(connection, entry(found.student, 0.0), now_utc_s=school.NOW)
        (on_record,) = flown_on(connection, datetime(2026, 6, 1).date())
        assert (on_record.pilot.name, on_record.times) == ("Ann Example", "10:00 to 11:00")
        (asked,) = in_the_way(connection, entry(bo, 0.5))
        assert asked == (
            "Ike Teacher and INV155 are on record for a flight of Ann Example in INV155, 2026-06-01 10:00 to 11:00"
        )
        assert in_the_way(connection, entry(bo, 1.0)) == []
        assert in_the_way(connection, entry(bo, 0.5), but=on_record.id) == []
        with pytest.raises(InputError, match="nobody flies two flights at one time"):
            in_the_way(connection, entry(bo, 0.5, found.caldmere))
        alone = replace(entry(bo, 0.5, found.caldmere), role="solo")  # its instructor supervises from the ground
        assert in_the_way(connection, alone) == []
        flights.add_flight(connection, alone, now_utc_s=school.NOW)
        assert at_once(connection) == []
        with pytest.raises(InputError, match="nobody flies two flights at one time"):
            in_the_way(connection, entry(found.student, 0.5))


def test_hours_and_landings_that_do_not_fit_between_start_and_end_are_slips() -> None:
    def said(total_h: float | None, landings: int = 0) -> list[str]:
        moves = (Movement("landing", landings),) if landings else ()
        return [str(e) for e in slips(TEN, TEN + H, None if total_h is None else total_h * H, moves)]

    assert said(3.0) == ["flight time: 3.0 h is more than from start to end, 1.0 h."]
    assert said(1.1) == said(0.8) == said(None) == []  # logged in tenths
    assert said(1.0, 500) == ["landings: 500 in 1.0 h is more than one a minute."]
    assert said(1.0, 20) == said(0.0, 1) == []
    assert len(said(3.0, 500)) == 2
    assert slips(None, None, 3.0 * H, ()) == ()  # a day alone
