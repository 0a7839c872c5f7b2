"""Who stands for what is signed: corrections, keys, marks and names of another hand, found by somebody who tried."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
import sqlalchemy as sa

from airwork.cli.logbook_flight import flight_text
from airwork.errors import AirworkError, InputError
from airwork.logbook import attempts, flights, marks, pages, people, recordings, seal
from airwork.logbook.backup import back_up, back_up_in, restore
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import import_debrief
from airwork.logbook.merging import merge
from airwork.logbook.records import Person
from airwork.logbook.schema import debrief, flight, signing_key
from airwork.logbook.school import school
from airwork.logbook.store import Store, open_store
from logbook import school as invented
from logbook.conftest import Full, MakeStore
from logbook.school import NOON, NOW, PASSWORD, H
from logbook.test_seal import signed_id

# What is found here is worked out from rows; that both kinds give the same rows is test_seal's and test_carrying's.
DATABASES = ("sqlite",)


def _hours(store: Store, who: Person) -> float:
    with store.read() as connection:
        return sum(one.flight.total_s for one in flights.flights_of(connection, who.id))


def _correct(store: Store, s: invented.School, **more: object) -> str:
    entry = FlightEntry(s.student, "dual", NOON, NOON + 3 * H, instructor=s.instructor, corrects_id=signed_id(store))
    with store.change() as connection:
        return flights.add_flight(connection, replace(entry, **more), now_utc_s=NOW).row.id  # type: ignore[arg-type]


def _teacher(store: Store, name: str = "Tess Tutor") -> Person:
    with store.change() as connection:
        return people.add_person(connection, name, now_utc_s=NOW, instructor=True, certificate_held="commercial")


def test_a_correction_counts_once_it_is_signed_and_not_before(full: Full) -> None:
    store, s = full
    which, before = signed_id(store), _hours(store, s.student)
    new = _correct(store, s)
    assert _hours(store, s.student) == before
    with store.read() as connection:
        listed = {line.logged.flight.id: line for line in pages.flight_lines(connection, s.student.id, waiting=True)}
        assert listed[new].note == f"corrects {which[:8]}, signed 1.3 h; doesn't count until it is signed"
        assert new not in {line.logged.flight.id for line in pages.flight_lines(connection, s.student.id)}
        assert pages.flight_page(connection, which).counts
        assert not pages.flight_page(connection, new).counts
        assert pages.students(connection)[0].total_s == before
    with store.read() as connection:
        assert new in {one.flight_id for one in school(connection, now_utc_s=NOW).unsigned}
    assert any(f"flight {new[:8]} waits for its signature" in line for line in check(store).look_at)
    with store.change() as connection:
        flights.sign_flight(connection, new, s.instructor, PASSWORD, now_utc_s=NOW)
    assert _hours(store, s.student) == before - 1.3 * H + 3 * H
    found = check(store)
    assert found.wrong == ()
    assert not any("overlap" in line or "waits" in line for line in found.look_at)


def test_what_was_flown_goes_with_the_correction_and_counts_once(full: Full) -> None:
    """A signed correction takes attempts, marks and what was said first along: a tenth of an hour put right is no other
    flight. While it waits the signed one counts."""
    store, s = full
    old = signed_id(store)
    with store.read() as connection:
        tries = attempts.attempts_of(connection, s.student.id, None)
        given = marks.marks_of_flight(connection, old)
        assert tries
        rows = connection.execute(sa.select(debrief.c.flight_id, debrief.c.debrief_json)).all()
    first = [{"heading": "first", "text": "Too low.", "start_s": 0.0, "end_s": 1e5}]
    with store.change() as connection:
        for row in rows:
            told = json.dumps(json.loads(row.debrief_json) | {"first": first})
            connection.execute(sa.update(debrief).where(debrief.c.flight_id == row.flight_id).values(debrief_json=told))
        before = attempts.said_first(connection, s.student.id)
        assert before
    new = _correct(store, s)
    with store.read() as connection:
        assert attempts.attempts_of(connection, s.student.id, None) == tries
    with store.change() as connection:
        flights.sign_flight(connection, new, s.instructor, PASSWORD, now_utc_s=NOW)
    with store.read() as connection:
        for one, then in zip(attempts.attempts_of(connection, s.student.id, None), tries, strict=True):
            assert one == (replace(then, flight_id=new, airplane_id="") if then.flight_id == old else then)
        assert attempts.said_first(connection, s.student.id).keys() == before.keys()
        assert marks.marks_of_flight(connection, new) == given


def test_of_two_corrections_signed_apart_and_joined_the_one_signed_last_counts(make_store: MakeStore) -> None:
    (ours, s), (theirs, _) = make_store.full("ours"), make_store.full("theirs")
    before = _hours(ours, s.student) - 1.3 * H
    for store, hours, at_s in ((ours, 2, NOW + 60.0), (theirs, 3, NOW + 120.0)):
        new = _correct(store, s, end_utc_s=NOON + hours * H)
        with store.change() as connection:
            flights.sign_flight(connection, new, s.instructor, PASSWORD, now_utc_s=at_s)
    done = merge(ours, theirs)
    assert any("is corrected by" in line and "the one signed last counts" in line for line in done.said)
    assert _hours(ours, s.student) == before + 3 * H
    assert check(ours).wrong == ()


@pytest.mark.parametrize("more", [{"role": "solo", "instructor": None}, {"role": "pic", "instructor": None}])
def test_what_one_instructor_signed_nobody_puts_right_without_them(full: Full, more: dict[str, object]) -> None:
    store, s = full
    with pytest.raises(InputError, match="signed by Ike Teacher, who signs what is to count in its place"):
        _correct(store, s, **more)
    with pytest.raises(InputError, match="signed by Ike Teacher"):
        _correct(store, s, instructor=_teacher(store))
    solo = _correct(store, s, role="solo")
    other = FlightEntry(s.student, "dual", NOON, NOON + H, instructor=_teacher(store, "Tina Other"))
    with store.change() as connection, pytest.raises(InputError, match="signed by Ike Teacher"):
        flights.rewrite_flight(connection, solo, other, now_utc_s=NOW)


def test_of_an_instructor_who_has_left_another_may_and_it_is_named(full: Full) -> None:
    store, s = full
    tess = _teacher(store)
    with store.change() as connection:
        seal.end_keys(connection, s.instructor, now_utc_s=NOW)
        seal.make_key(connection, tess, PASSWORD, now_utc_s=NOW)
    new = _correct(store, s, instructor=tess)
    with store.change() as connection:
        flights.sign_flight(connection, new, tess, PASSWORD, now_utc_s=NOW)
    assert any("which somebody else has signed" in line for line in check(store).look_at)


def test_a_second_key_is_agreed_to_and_both_are_named(full: Full) -> None:
    store, s = full
    with store.change() as connection:
        (old,) = connection.execute(sa.select(signing_key.c.id)).scalars()
        with pytest.raises(InputError, match=f"signs with key {old[:8]}, which a new one would end"):
            seal.make_key(connection, s.instructor, "another calm word 7", now_utc_s=NOW, agreed=False)
        assert seal.has_key(connection, s.instructor)
        new = seal.make_key(connection, s.instructor, "another calm word 7", now_utc_s=NOW)
    said = next(line for line in check(store).look_at if "keys" in line)
    assert said.startswith(f"Ike Teacher has had 2 keys: {old[:8]} (ended 2026-06-15 18:00 UTC), {new[:8]}")


@pytest.mark.parametrize("word", ["password1234", "qwertyuiop12", "ike teacher ike", "short"])
def test_no_key_is_guarded_by_a_password_that_is_guessed(full: Full, word: str) -> None:
    store, s = full
    with store.change() as connection, pytest.raises(InputError, match="password"):
        seal.make_key(connection, s.instructor, word, now_utc_s=NOW)
    with store.change() as connection, pytest.raises(InputError, match="password"):
        seal.repack_key(connection, s.instructor, PASSWORD, word)


def _mark(store: Store, s: invented.School, by: Person, level: str, at_s: float) -> marks.TaskMarks:
    with store.change() as connection:
        marks.give_mark(
            connection, s.student, "", level, given_by="instructor", by=by, now_utc_s=at_s, flight_id=signed_id(store),
            position=1,
        )  # fmt: skip
        return next(m for m in marks.marks_of_flight(connection, signed_id(store)) if m.kind == "steep_turn")


def test_the_mark_of_the_flights_own_instructor_stands_and_anothers_is_shown_beside_it(full: Full) -> None:
    store, s = full
    found = _mark(store, s, _teacher(store), "perform", NOW + 60.0)
    assert (found.stands, found.instructor and found.instructor.by) == ("practice", "Ike Teacher")
    assert [(m.level, m.by) for m in found.also] == [("perform", "Tess Tutor")]
    later = _mark(store, s, s.instructor, "explain", NOW + 120.0)
    assert later.stands == "explain"
    assert [(m.level, m.after_signature) for m in (*later.instructor.each, *later.also)] == [
        ("practice", False), ("explain", True), ("perform", True),
    ]  # fmt: skip
    again = _mark(store, s, s.instructor, "describe", NOW + 180.0)
    assert [m.level for m in again.instructor.each] == ["practice", "describe"]  # what is signed stays in sight
    with store.read() as connection:
        page = pages.flight_page(connection, signed_id(store))
    assert re.search(r"practice[^\n]*; describe \(after the signature\)", flight_text(page))


def test_an_instructor_signs_no_mark_but_their_own_and_the_students(full: Full) -> None:
    store, s = full
    tess = _teacher(store)
    with store.change() as connection:
        done = flights.add_flight(
            connection, FlightEntry(s.student, "dual", NOON - 9 * H, NOON - 8 * H, instructor=s.instructor),
            now_utc_s=NOW,
        ).row.id  # fmt: skip
        for by, how in ((s.instructor, "instructor"), (tess, "instructor"), (s.student, "student")):
            marks.give_mark(connection, s.student, "radio_work", "practice", given_by=how, by=by, now_utc_s=NOW,
                            flight_id=done)  # fmt: skip
        form = seal.form_of(connection, "flight", done, s.instructor)
    assert {m["by_id"] for m in form["marks"]} == {s.instructor.id, s.student.id}


def test_a_recording_of_somebody_elses_flight_is_refused(full: Full) -> None:
    store, s = full
    with store.change() as connection:
        jan = people.add_person(connection, "Jan Other", now_utc_s=NOW, student=True)
    about = FlightEntry(jan, "dual", instructor=s.instructor, airplane=s.larkmoor)
    facts = invented.debriefed(NOON, recording=invented.RAW)
    packed = recordings.pack(invented.RAW, "f.csv")
    with pytest.raises(InputError, match=r"is that of flight \w{8}, of Ann Example"):
        import_debrief(store, facts, about, now_utc_s=NOW, recording=packed)


def test_what_is_called_otherwise_since_it_was_signed_is_said(full: Full) -> None:
    store, s = full
    with store.change() as connection:
        people.change_person(connection, s.instructor, now_utc_s=NOW, name="Ike Tutor")
    with store.read() as connection:
        found = seal.seal_of(connection, "flight", signed_id(store))
    assert (found.state, found.as_signed) == ("sealed", ("Ike Teacher, now Ike Tutor",))
    assert any("say Ike Teacher, now Ike Tutor" in line for line in check(store).look_at)
    with store.change() as connection, pytest.raises(InputError, match="Ike Teacher stands in what is signed"):
        people.add_person(connection, "ike  teacher", now_utc_s=NOW, student=True)
    with store.change() as connection:  # one's own old name may be taken again
        people.change_person(connection, people.person_by_id(connection, s.instructor.id), now_utc_s=NOW,
                             name="Ike Teacher")  # fmt: skip


def test_a_place_moved_under_a_signed_flight_is_said(full: Full) -> None:
    from airwork.logbook import fleet

    store, s = full
    with store.change() as connection:
        fleet.change_place(connection, s.home, now_utc_s=NOW, latitude_rad=0.2)
        assert seal.seal_of(connection, "flight", signed_id(store)).as_signed == (
            "HOME, entered at another position now",
        )


def test_a_backup_of_what_is_not_whole_says_so_and_takes_no_good_one_away(full: Full, tmp_path: Path) -> None:
    store, _ = full
    good, _ = back_up_in(store, tmp_path / "kept", 1)
    (tmp_path / "kept" / "logbook-20200101T000000Z.sqlite").write_bytes(Path(good.path).read_bytes())
    with store.engine.begin() as raw:
        raw.execute(sa.update(flight).where(flight.c.id == signed_id(store)).values(remarks="rewritten"))
    done, gone = back_up_in(store, tmp_path / "kept", 1)
    assert done.wrong
    assert gone == ()
    with pytest.raises(AirworkError, match="changed by something other than airwork"):
        restore(Path(done.path), store, replace=True)
    assert restore(Path(done.path), store, replace=True, agreed=True).wrong


def test_what_a_restored_backup_replaces_is_kept_beside_it(make_store: MakeStore, tmp_path: Path) -> None:
    store, s = make_store.full("logbook")
    done = back_up(store, tmp_path / "b.sqlite")
    with store.change() as connection:
        people.change_person(connection, s.student, now_utc_s=NOW, contact="new")
    kept = restore(Path(done.path), store, replace=True).kept
    if store.path is None:
        return
    aside = open_store(kept)
    with aside.read() as connection:
        assert people.person_by_id(connection, s.student.id).contact == "new"
    aside.close()


def test_a_recording_in_which_nothing_was_flown_is_no_flight(full: Full) -> None:
    store, s = full
    facts = invented.debriefed(NOON + 30 * H, duration_s=9.0, episodes=[])
    still = replace(facts, contacts=(), episodes=())
    about = FlightEntry(s.student, "dual", instructor=s.instructor)
    with pytest.raises(InputError, match="nothing was flown"):
        import_debrief(store, still, about, now_utc_s=NOW)
