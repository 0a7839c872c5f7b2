"""Taking debriefs in: once, whole, with the recording; marks beside the measurement."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import sqlalchemy as sa
from hypothesis import given
from hypothesis import strategies as st

from airwork.errors import AirworkError, InputError
from airwork.logbook import flights, marks, recordings
from airwork.logbook.debrief_json import CriterionJson, limit_ratio, read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import Imported, import_debrief
from airwork.logbook.schema import criterion, debrief, episode, flight, recording, recording_bytes
from airwork.logbook.store import Store, open_store
from airwork.recording.flight import Column, Flight, GroundContact, Mend
from airwork.units import from_unit
from logbook import school

RAW = b"time,altitude\n" + b"".join(b"%d,6500\n" % n for n in range(2000))


def rows(store: Store) -> dict[str, int]:
    from airwork.logbook.carry import counts

    with store.read() as connection:
        return counts(connection)


def take_in(store: Store, s: school.School, **more: Any) -> Imported:
    facts = more.pop("facts", None) or school.debriefed(recording=RAW)
    packed = more.pop("recording", recordings.pack(RAW, "flight.csv"))
    about = FlightEntry(s.student, "dual", instructor=s.instructor, airplane=s.larkmoor, route=(s.home, s.home))
    return import_debrief(store, facts, about, now_utc_s=school.NOW, recording=packed, **more)


@pytest.fixture
def s(store: Store) -> school.School:
    with store.change() as connection:
        return school.found(connection)


def test_what_stood_unseen_is_no_flight_time(store: Store, s: school.School) -> None:
    """1.3 hours recorded, half an hour of them on the ground where nothing received it."""
    take_in(store, s, facts=replace(school.debriefed(recording=RAW), unseen_s=1_800.0))
    with store.read() as connection:
        (logged,) = flights.flights_of(connection, s.student.id)
    assert logged.flight.total_s == pytest.approx(0.8 * 3600)


def test_a_debrief_is_taken_in_whole(store: Store, s: school.School) -> None:
    done = take_in(store, s)
    assert done.changed
    with store.read() as connection:
        (logged,) = flights.flights_of(connection, s.student.id)
        kinds = connection.execute(sa.select(episode.c.kind).order_by(episode.c.position)).scalars().all()
        about = connection.execute(sa.select(debrief)).one()
        found = {r.name: r for r in connection.execute(sa.select(criterion).where(criterion.c.position == 1))}
        winds = connection.execute(sa.select(episode.c.wind_mps).order_by(episode.c.position)).scalars().all()
    assert logged.flight.total_s == 1.3 * 3600
    assert logged.flight.dual_s == logged.flight.total_s
    assert [(m.what, m.full_stop) for m in logged.movements] == [("takeoff", False), ("landing", True)]
    assert kinds == ["takeoff", "steep_turn", "slow_flight", "landing"]
    assert (about.standard_name, about.standard_edition, about.program_version) == (
        "us_private",
        "FAA-S-ACS-6C",
        "0.1.0",
    )
    assert found["altitude"].limit_ratio == pytest.approx(1.4)
    assert found["airspeed"].limit_ratio == pytest.approx(0.6)
    assert winds == pytest.approx([from_unit(10, "kt"), from_unit(12, "kt"), from_unit(12, "kt"), from_unit(10, "kt")])


def test_a_clock_of_no_known_zone_is_entered_with_a_word(store: Store, s: school.School) -> None:
    told = school.debrief_dict(recording=RAW)
    told["flight"]["source"] = {**told["flight"].get("source", {}), "zone_open": True}
    assert any("no time zone" in line for line in take_in(store, s, facts=read_debrief(told)).said)


def test_the_debriefs_of_these_tests_are_what_the_contract_says() -> None:
    """The JSON Schema that ships with the debrief."""
    import jsonschema

    import airwork.debrief

    contract = json.loads((Path(airwork.debrief.__file__).parent / "debrief.schema.json").read_text("utf-8"))
    jsonschema.validate(school.debrief_dict(recording=RAW), contract)


def test_the_same_flight_twice_changes_nothing_and_says_so(store: Store, s: school.School) -> None:
    first = take_in(store, s)
    before = rows(store)
    again = take_in(store, s)
    assert (again.flight_id, again.changed) == (first.flight_id, False)
    assert "already" in again.said[0]
    assert "nothing was changed" in again.said[0]
    assert rows(store) == before


def test_without_its_recording_the_same_debrief_is_still_the_same_flight(store: Store, s: school.School) -> None:
    facts = school.debriefed()
    first = take_in(store, s, facts=facts, recording=None)
    again = take_in(store, s, facts=facts, recording=None)
    assert (first.changed, again.changed) == (True, False)
    assert rows(store)["recording"] == 0


def test_a_recording_that_comes_later_is_added_to_its_flight(store: Store, s: school.School) -> None:
    take_in(store, s, recording=None)
    later = take_in(store, s)
    assert later.changed
    assert "is now" in " ".join(later.said)
    assert rows(store)["recording_bytes"] == 1


def test_a_recording_of_another_flight_is_refused(store: Store, s: school.School) -> None:
    before = rows(store)
    with pytest.raises(InputError, match="not the recording"):
        take_in(store, s, recording=recordings.pack(b"something else", "other.csv"))
    assert rows(store) == before


def test_one_recording_of_two_pilots_is_kept_once(store: Store, s: school.School) -> None:
    take_in(store, s)
    about = FlightEntry(s.instructor, "pic", airplane=s.larkmoor)
    other = import_debrief(
        store, school.debriefed(recording=RAW), about, now_utc_s=school.NOW, recording=recordings.pack(RAW, "copy.csv")
    )
    assert other.changed
    assert rows(store)["recording"] == 1
    assert rows(store)["flight"] == 2


def test_a_newer_debrief_replaces_the_measurement_and_never_a_mark(store: Store, s: school.School) -> None:
    done = take_in(store, s)
    with store.change() as connection:
        marks.give_mark(
            connection, s.student, "steep_turn", "practice", given_by="instructor", by=s.instructor,
            now_utc_s=school.NOW, flight_id=done.flight_id, position=1, remark="look outside",
        )  # fmt: skip
    better = [
        school.episode("climb", 200.0, []),
        school.episode("slow_flight", 1500.0, []),
        school.episode("steep_turn", 900.0, [school.criterion("altitude", "±100 ft", 60.0, "ft", "held")]),
    ]
    new = school.debriefed(recording=RAW, episodes=better)
    assert not take_in(store, s, facts=new).changed
    assert take_in(store, s, facts=new, renew=True).changed
    with store.read() as connection:
        found = {m.kind: m for m in marks.marks_of_flight(connection, done.flight_id)}
    turn = found["steep_turn"]
    assert (turn.position, turn.measured) == (2, "held")
    assert turn.instructor is not None
    assert (turn.instructor.level, turn.instructor.remark, turn.stands) == ("practice", "look outside", "practice")


def test_the_original_comes_back_byte_for_byte(store: Store, s: school.School) -> None:
    take_in(store, s)
    with store.read() as connection:
        assert recordings.original(connection, recordings.sha256_of(RAW)) == ("flight.csv", RAW)


def test_a_damaged_recording_is_noticed(store: Store, s: school.School) -> None:
    take_in(store, s)
    with store.change() as connection:
        connection.execute(sa.update(recording_bytes).values(original=b"rotten", packing="none"))
    with store.read() as connection, pytest.raises(AirworkError, match="damaged"):
        recordings.original(connection, recordings.sha256_of(RAW))


@given(st.binary(max_size=3000))
def test_any_bytes_come_back(raw: bytes) -> None:
    packed = recordings.pack(raw, "x")
    assert recordings.unpack(packed.packing, packed.original) == raw


def a_flight(n: int = 500) -> Flight:
    t = np.arange(n) * 0.5
    altitude = np.where(t < 50, np.nan, 1981.2 + 30.0 * np.sin(t / 20.0))
    return Flight(
        start_utc_s=school.NOW,
        time_s=t,
        columns={
            "latitude_rad": Column(np.full(n, math.radians(40.0)) + t * 1e-7, "measured"),
            "altitude_m": Column(altitude, "derived", 3.0, "mended at the start"),
        },
        mends=(Mend("spikes removed", 3, 10.0, 12.0, "altitude_m"),),
        contacts=(GroundContact("takeoff", 60.0),),
        source={"name": "flight.csv", "format": "CSV", "sha256": recordings.sha256_of(RAW)},
    )


def test_the_clean_flight_comes_back_to_seven_digits(store: Store, s: school.School) -> None:
    flown = a_flight()
    take_in(store, s, recording=recordings.pack(RAW, "flight.csv", flown))
    with store.read() as connection:
        back = recordings.columns(connection, recordings.sha256_of(RAW))
    assert back is not None
    np.testing.assert_array_equal(back.time_s, flown.time_s)
    np.testing.assert_array_equal(back["latitude_rad"], flown["latitude_rad"])
    np.testing.assert_allclose(back["altitude_m"], flown["altitude_m"], rtol=1e-6)
    assert (back.columns["altitude_m"].known, back.columns["altitude_m"].note) == ("derived", "mended at the start")
    assert (back.mends, back.contacts, back.start_utc_s) == (flown.mends, flown.contacts, flown.start_utc_s)


# How far from the middle of the limits, over half their width. Worked by hand.
@pytest.mark.parametrize(
    ("low", "high", "worst", "ratio"),
    [
        (-100.0, 100.0, 140.0, 1.4),
        (-100.0, 100.0, -100.0, 1.0),
        (0.0, 10.0, -1.0, 1.2),
        (0.0, 10.0, 10.0, 1.0),
        (-5.0, 10.0, 2.5, 0.0),
        (-500.0, 1500.0, 1500.0, 1.0),
        (None, 15.0, 12.0, 0.8),
        (None, None, 3.0, None),
        (-100.0, 100.0, None, None),
    ],
)
def test_a_deviation_over_its_limit(
    low: float | None, high: float | None, worst: float | None, ratio: float | None
) -> None:
    found = limit_ratio(CriterionJson(name="x", low=low, high=high, worst=worst, verdict="held"))
    assert found == (None if ratio is None else pytest.approx(ratio))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d.pop("episodes"), "is no debrief"),
        (lambda d: d["episodes"][0].update(kind="Steep Turn!"), "kind"),
        (lambda d: d["episodes"][0].update(end_s=-5.0), "ends before"),
        (lambda d: d["episodes"][1]["criteria"][0].update(verdict="great"), "no verdict"),
        (lambda d: d["episodes"][1]["criteria"][0].update(worst="high"), "worst"),
        (
            lambda d: d["flight"].update(start_utc="noon"),
            "flight.start_utc: found 'noon': input should be a valid datetime",
        ),
        (lambda d: d["flight"].pop("contacts"), "flight.contacts: this key is missing"),
    ],
)
def test_a_debrief_that_can_not_be_read_is_refused_in_words(change: Any, said: str) -> None:
    data = school.debrief_dict()
    change(data)
    with pytest.raises(InputError, match=said):
        read_debrief(json.dumps(data))


@pytest.mark.parametrize("raw", [b"", b"\xff\xfe", b"[]", b"{", b"null", b"[" * 5000])
def test_what_is_no_debrief_is_refused_in_words(raw: bytes) -> None:
    with pytest.raises(InputError, match="debrief"):
        read_debrief(raw)


def test_a_recording_without_a_date_asks_for_the_start(store: Store, s: school.School) -> None:
    data = school.debrief_dict()
    data["flight"]["start_utc"] = None
    with pytest.raises(InputError, match="--start"):
        take_in(store, s, facts=read_debrief(data), recording=None)


def _import_from_another_program(path: str, pilot_id: str, instructor_id: str) -> None:
    from airwork.logbook import people

    store = open_store(path)
    with store.read() as connection:
        pilot, teacher = (people.person_by_id(connection, i) for i in (pilot_id, instructor_id))
    import_debrief(
        store, school.debriefed(recording=RAW), FlightEntry(pilot, "dual", instructor=teacher), now_utc_s=school.NOW,
        recording=recordings.pack(RAW, "flight.csv"),
    )  # fmt: skip
    store.close()


def test_two_programs_that_import_the_same_flight_leave_one(store: Store, s: school.School) -> None:
    where = str(store.path or store.engine.url.render_as_string(hide_password=False).replace("+psycopg", ""))
    context = school.programs()
    programs = [
        context.Process(target=_import_from_another_program, args=(where, s.student.id, s.instructor.id))
        for _ in range(2)
    ]
    for program in programs:
        program.start()
    for program in programs:
        program.join(600)
        assert program.exitcode == 0
    found = rows(store)
    assert (found["flight"], found["recording"], found["episode"], found["criterion"]) == (1, 1, 4, 3)


def test_taking_the_flight_out_takes_all_of_it(store: Store, s: school.School) -> None:
    done = take_in(store, s)
    with store.change() as connection:
        flights.remove_flight(connection, done.flight_id, now_utc_s=school.NOW)
    gone = ("flight", "debrief", "episode", "criterion", "movement", "stop", "recording_bytes")
    assert {name: rows(store)[name] for name in gone} == dict.fromkeys(gone, 0)
    with store.read() as connection:
        assert connection.execute(sa.select(sa.func.count()).select_from(flight)).scalar() == 0
        assert connection.execute(sa.select(sa.func.count()).select_from(recording)).scalar() == 0


def test_every_file_of_the_package_it_needs_is_a_package_file() -> None:
    """The wheel carries rules and migrations: they are beside the code."""
    import airwork.logbook

    folder = Path(airwork.logbook.__file__).parent
    assert (folder / "rules" / "us.toml").is_file()
    assert list((folder / "migrations" / "versions").glob("v*.py"))
