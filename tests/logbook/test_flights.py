"""Entering flights: hours by role, distances, night, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from airwork.errors import InputError
from airwork.logbook import flights, seal
from airwork.logbook.entering import FlightEntry, complete
from airwork.logbook.records import AirplaneEntry, Movement, Person, Place
from airwork.logbook.store import Store, memory_store
from airwork.units import NM_M
from logbook import school

ANN = Person("ann", "Ann", is_student=True, time_zone="America/Denver")
IKE = Person("ike", "Ike", is_instructor=True)
PER_NM = math.radians(1.0 / 59.9591)  # worked-examples P4
HOME = Place("h", "HOME", "", math.radians(40.0), math.radians(-105.0), None, "America/Denver", True)
FAR = Place("f", "FARR", "", math.radians(40.0) + 60.0 * PER_NM, math.radians(-105.0), None, "America/Denver", None)
NEAR = Place("n", "NEAR", "", math.radians(40.0) + 24.0 * PER_NM, math.radians(-105.0))
NOON = datetime(2026, 6, 15, 18, 0, tzinfo=UTC).timestamp()
H = 3600.0


def entry(**facts: object) -> FlightEntry:
    base: dict[str, object] = {
        "pilot": ANN, "role": "dual", "instructor": IKE, "start_utc_s": NOON, "end_utc_s": NOON + 1.3 * H,
        "route": (HOME, HOME),
    }  # fmt: skip
    return FlightEntry(**(base | facts))  # type: ignore[arg-type]


def test_dual_solo_and_pic_log_their_own_hours() -> None:
    dual = complete(entry()).row
    assert (dual.total_s, dual.dual_s, dual.solo_s, dual.pic_s) == (4680, 4680, 0, 0)
    solo = complete(entry(role="solo", instructor=None)).row
    assert (solo.dual_s, solo.solo_s, solo.pic_s) == (0, 4680, 4680)
    pic = complete(entry(role="pic", instructor=None, passengers=2)).row
    assert (pic.dual_s, pic.solo_s, pic.pic_s) == (0, 0, 4680)


def test_distances_are_straight_lines_over_the_ellipsoid() -> None:
    """Worked-examples P4: a degree of latitude at 40° N is 59.9591 NM; here 60 NM of it, there and back."""
    row = complete(entry(route=(HOME, FAR, NEAR, HOME))).row
    assert row.distance_m is not None
    assert row.distance_m / NM_M == pytest.approx(120.0, abs=0.05)
    assert (row.farthest_landing_m or 0) / NM_M == pytest.approx(60.0, abs=0.05)
    assert (row.longest_leg_m or 0) / NM_M == pytest.approx(60.0, abs=0.05)
    assert row.landing_points == 3


def test_a_landing_beyond_50_nm_makes_it_cross_country_published() -> None:
    """14 CFR 61.1: a landing more than 50 NM in a straight line from the first departure. [V]"""
    assert complete(entry(route=(HOME, FAR, HOME))).row.cross_country_s == 4680
    assert complete(entry(route=(HOME, NEAR, HOME))).row.cross_country_s == 0
    assert complete(entry(route=(HOME, FAR, HOME), times_s={"cross_country": 0.0})).row.cross_country_s == 0


def test_night_is_worked_out_and_logged_in_tenths() -> None:
    """Row N7: civil dusk at 03:05:18 UTC on 22 June 2025; of 02:35–03:35, 29.7 min: 0.5 h."""
    start = datetime(2025, 6, 22, 2, 35, tzinfo=UTC).timestamp()
    done = complete(entry(start_utc_s=start, end_utc_s=start + H, movements=(Movement("landing", 2),)))
    assert done.row.night_s == 0.5 * H
    assert any("civil twilight" in n for n in done.notes)
    assert any("taken as by day" in n for n in done.notes)


def test_a_flight_wholly_in_the_dark_has_its_landings_at_night() -> None:
    start = datetime(2025, 6, 22, 4, 30, tzinfo=UTC).timestamp()  # 22:30 local, two hours after sunset
    done = complete(entry(start_utc_s=start, end_utc_s=start + H, movements=(Movement("landing", 3, full_stop=True),)))
    assert done.movements == (Movement("landing", 3, None, True, True, True, True),)


def test_a_landing_seen_in_a_recording_is_judged_at_its_own_time() -> None:
    """Row N7: sunset 02:32:26; 40 min later it is night and does not count for passengers, 70 min later it does."""
    sunset = datetime(2025, 6, 22, 2, 32, 26, tzinfo=UTC).timestamp()
    moves = tuple(Movement("landing", 1, sunset + m * 60.0) for m in (-10, 40, 70))
    done = complete(entry(start_utc_s=sunset - H, end_utc_s=sunset + 1.5 * H, movements=moves))
    assert [(m.night, m.late_night) for m in done.movements] == [(False, False), (True, False), (True, True)]


def test_the_day_is_the_local_one() -> None:
    late = datetime(2026, 6, 16, 4, 0, tzinfo=UTC).timestamp()
    assert complete(entry(start_utc_s=late, end_utc_s=late + H)).row.local_date == date(2026, 6, 15)


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"instructor": None}, "needs its instructor"),
        ({"role": "solo", "passengers": 1}, "alone aboard"),
        ({"end_utc_s": NOON - 1.0}, "after the start"),
        ({"end_utc_s": NOON + 25 * H}, "within 24 h"),
        ({"end_utc_s": None}, "end or its hours"),
        ({"start_utc_s": None, "end_utc_s": None}, "at least the date"),
        ({"times_s": {"night": 2.0 * H}}, "more than the flight's"),
        ({"times_s": {"total": float("nan")}}, "total hours"),
        ({"times_s": {"nonsense": 1.0}}, "no such time"),
        ({"instructor": ANN}, "same person"),
        ({"movements": (Movement("landing", -1),)}, "number of landings"),
        ({"remarks": "bell \x07"}, "control character"),
        ({"remarks": "turned \u202edeppilf"}, "control character"),
    ],
)
def test_what_can_not_be_is_refused_in_words(facts: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        complete(entry(**facts))


def test_flights_come_back_as_they_were_entered(store: Store) -> None:
    with store.change() as connection:
        s = school.found(connection)
        moves = (Movement("takeoff", 3), Movement("landing", 3, full_stop=True))
        done = flights.add_flight(
            connection,
            FlightEntry(
                s.student, "dual", NOON, NOON + H, instructor=s.instructor, airplane=s.larkmoor, route=(s.home, s.home),
                movements=moves, remarks="wind across; good\u00ad flare",
            ),
            now_utc_s=school.NOW,
        )  # fmt: skip
    with store.read() as connection:
        (back,) = flights.flights_of(connection, s.student.id)
    assert back.flight == done.row
    assert back.flight.remarks == "wind across; good flare"  # a soft hyphen out of a PDF is no letter
    assert back.airplane == s.larkmoor
    assert back.movements == moves


def test_a_flight_that_overlaps_another_is_refused_and_leaves_nothing(store: Store) -> None:
    def enter(start: float) -> None:
        with store.change() as connection:
            flights.add_flight(
                connection,
                FlightEntry(s.student, "dual", start, start + H, instructor=s.instructor),
                now_utc_s=school.NOW,
            )

    with store.change() as connection:
        s = school.found(connection)
    enter(NOON)
    enter(NOON + H)  # the next begins as the last ends
    with pytest.raises(InputError, match="overlaps the flight of 2026-06-15 12:00 MDT"):
        enter(NOON + 0.5 * H)
    with store.read() as connection:
        assert len(flights.flights_of(connection, s.student.id)) == 2


def test_a_flight_is_found_by_the_start_of_its_identity_and_can_be_taken_out(store: Store) -> None:
    with store.change() as connection:
        s = school.found(connection)
        done = flights.add_flight(
            connection, FlightEntry(s.student, "solo", NOON, NOON + H, airplane=s.larkmoor), now_utc_s=school.NOW
        )
        assert flights.flight_by_id(connection, done.row.id[:8]) == done.row
        with pytest.raises(InputError, match="at least 6"):
            flights.flight_by_id(connection, "%")
        flights.remove_flight(connection, done.row.id[:8], now_utc_s=school.NOW)
        assert flights.flights_of(connection, s.student.id) == ()


def test_only_the_instructor_of_a_flight_signs_it(store: Store) -> None:
    with store.change() as connection:
        s = school.found(connection)
        done = flights.add_flight(
            connection, FlightEntry(s.student, "dual", NOON, NOON + H, instructor=s.instructor), now_utc_s=school.NOW
        )
        seal.make_key(connection, s.instructor, school.PASSWORD, now_utc_s=school.NOW)
        with pytest.raises(InputError, match="did not give"):
            flights.sign_flight(connection, done.row.id, s.student, school.PASSWORD, now_utc_s=school.NOW)
        with pytest.raises(InputError, match="password"):
            flights.sign_flight(connection, done.row.id, s.instructor, "another password", now_utc_s=school.NOW)
        flights.sign_flight(connection, done.row.id, s.instructor, school.PASSWORD, now_utc_s=school.NOW)
        assert flights.flight_by_id(connection, done.row.id).signed_by_id == s.instructor.id


def test_a_day_only_entry_counts_against_the_instructors_day_at_its_worst(store: Store) -> None:
    with store.change() as connection:
        s = school.found(connection)
        day = FlightEntry(
            s.student, "dual", local_date=date(2026, 6, 15), instructor=s.instructor, times_s={"total": 2.0 * H}
        )
        flights.add_flight(connection, day, now_utc_s=school.NOW)
        given_ = flights.training_given(connection, s.instructor.id, NOON, school.ZONE)
    assert given_ == ((NOON - 2.0 * H, NOON),)


TURNED = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"  # the direction of reading: refused
TEXTS = st.text(st.characters(exclude_categories=("Cc", "Cs"), exclude_characters=TURNED), max_size=40)
TIMES = st.integers(0, 480).map(lambda n: n * 36.0)


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    start=st.integers(0, 4_000_000_000), minutes=st.integers(1, 600), remarks=TEXTS, night=TIMES, instrument=TIMES,
    moves=st.lists(
        st.builds(
            Movement, st.sampled_from(["takeoff", "landing"]), st.integers(1, 30), st.none(), st.booleans(),
            st.booleans(), st.booleans(), st.booleans(),
        ),
        max_size=4,
    ),
    role=st.sampled_from(["dual", "solo", "pic"]), passengers=st.integers(0, 3),
)  # fmt: skip
def test_what_is_stored_comes_back(
    start: int,
    minutes: int,
    remarks: str,
    night: float,
    instrument: float,
    moves: list[Movement],
    role: str,
    passengers: int,
) -> None:
    """Any flight that is accepted is read back as it was completed."""
    length = minutes * 60.0
    with_passengers = passengers if role == "pic" else 0
    store = memory_store()
    with store.change() as connection:
        s = school.found(connection)
        asked = FlightEntry(
            s.student, role, float(start), start + length, instructor=s.instructor if role == "dual" else None,  # type: ignore[arg-type]
            airplane=s.caldmere, times_s={"night": min(night, length), "instrument_simulated": min(instrument, length)},
            movements=tuple(moves), remarks=remarks, passengers=with_passengers,
        )  # fmt: skip
        done = flights.add_flight(connection, asked, now_utc_s=school.NOW)
    with store.read() as connection:
        (back,) = flights.flights_of(connection, s.student.id)
    assert (back.flight, back.movements) == (done.row, done.movements)
    store.close()


def test_what_an_airplane_file_says_is_taken_over() -> None:
    from pathlib import Path

    import airwork
    from airwork.airplane import load_airplane
    from airwork.logbook.fleet import airplane_facts

    folder = Path(airwork.__file__).parent / "demo_files" / "airplanes"
    facts = airplane_facts(load_airplane(folder / "larkmoor_155.toml"))
    assert facts["make_model"] == "Larkmoor 155"
    assert not facts["complex"]
    assert not facts["high_performance"]
    assert replace(AirplaneEntry("x", "N1", ""), **facts).airplane_file == "larkmoor_155"
