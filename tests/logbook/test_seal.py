"""What is signed stays, what is forged is only claimed, what is changed behind the program's back is found."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from airwork.errors import InputError
from airwork.logbook import flights, history, keeping, marks, people, seal
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.forgetting import forget_student
from airwork.logbook.held import Validity, best
from airwork.logbook.importing import import_debrief
from airwork.logbook.merging import NotAgreed, merge
from airwork.logbook.schema import endorsement, flight, mark, signature, signing_key
from airwork.logbook.store import Store, memory_store
from logbook import school
from logbook.conftest import Full, MakeStore
from logbook.school import DAY, NOON, RAW, H


def signed_id(store: Store) -> str:
    with store.read() as connection:
        return str(connection.execute(sa.select(flight.c.id).where(flight.c.signed_utc_s.is_not(None))).scalar_one())


def sealed(store: Store, flight_id: str) -> seal.Seal:
    with store.read() as connection:
        return seal.seal_of(connection, "flight", flight_id)


# --- the signature itself -------------------------------------------------------------------------------------------


def test_the_signing_algorithm_is_that_of_rfc_8032() -> None:
    """RFC 8032, section 7.1, TEST 2 [M]: the key, the message 72 and its signature."""
    private = Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    )
    assert private.public_key().public_bytes_raw().hex() == (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
    )
    assert private.sign(b"\x72").hex() == (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )


def test_a_stranger_can_verify_a_signature_by_the_documented_format(full: Full) -> None:
    """Only the standard library's JSON and the algorithm, as docs/signatures.md says; one letter changed is noticed."""
    import hashlib

    store, _ = full
    with store.read() as connection:
        row = connection.execute(sa.select(signature).where(signature.c.what == "flight")).mappings().one()
        public = connection.execute(sa.select(signing_key.c.public_hex)).scalar_one()
    form = json.loads(row["form_json"])
    assert form["pilot"]["name"] == "Ann Example"
    assert form["signer"]["name"] == "Ike Teacher"
    assert form["airplane"]["registration"] == "INV155"
    assert [m["level"] for m in form["marks"]] == ["practice"]
    words = "\n".join([
        "seal 1 of an airwork logbook", "flight", row["thing_id"],
        hashlib.sha256(row["form_json"].encode()).hexdigest(),
        hashlib.sha256(bytes.fromhex(public)).hexdigest()[:32], f"{row['utc_s']:.3f}", row["history_hash"],
    ])  # fmt: skip
    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
    key.verify(bytes.fromhex(row["signature_hex"]), words.encode())
    with pytest.raises(InvalidSignature):
        key.verify(bytes.fromhex(row["signature_hex"]), words.replace("flight", "fright").encode())


def test_a_key_opens_with_its_own_password_only_and_not_with_the_old_one(store: Store) -> None:
    with store.change() as connection:
        s = school.found(connection)
        with pytest.raises(InputError, match="12 to 1000 letters"):
            seal.make_key(connection, s.instructor, "short", now_utc_s=school.NOW)
        with pytest.raises(InputError, match="only instructors sign"):
            seal.make_key(connection, s.student, school.PASSWORD, now_utc_s=school.NOW)
        seal.make_key(connection, s.instructor, school.PASSWORD, now_utc_s=school.NOW)
        seal.repack_key(connection, s.instructor, school.PASSWORD, "another long word")
        done = flights.add_flight(
            connection, FlightEntry(s.student, "dual", NOON, NOON + H, instructor=s.instructor), now_utc_s=school.NOW
        )
        with pytest.raises(InputError, match="password"):
            flights.sign_flight(connection, done.row.id, s.instructor, school.PASSWORD, now_utc_s=school.NOW)
        flights.sign_flight(connection, done.row.id, s.instructor, "another long word", now_utc_s=school.NOW)
        assert seal.seal_of(connection, "flight", done.row.id).state == "sealed"
        assert school.PASSWORD not in connection.execute(sa.select(signing_key.c.private_pem)).scalar_one()


# --- what is signed stays -------------------------------------------------------------------------------------------


def test_a_signed_flight_is_not_removed_changed_renewed_or_signed_again(full: Full) -> None:
    store, s = full
    which = signed_id(store)

    def remove(c: sa.Connection) -> None:
        flights.remove_flight(c, which, now_utc_s=school.NOW)

    def change(c: sa.Connection) -> None:
        flights.change_flight(c, which, now_utc_s=school.NOW, remarks="better than it was")

    def sign(c: sa.Connection) -> None:
        flights.sign_flight(c, which, s.instructor, school.PASSWORD, now_utc_s=school.NOW)

    for attempt in (remove, change, sign):
        with pytest.raises(InputError, match="signed entry stays"), store.change() as connection:
            attempt(connection)
    other = school.debriefed(NOON, recording=RAW, duration_s=4000.0)
    about = FlightEntry(s.student, "dual", instructor=s.instructor, airplane=s.larkmoor)
    with pytest.raises(InputError, match="signed entry stays"):
        import_debrief(store, other, about, now_utc_s=school.NOW, renew=True)
    assert sealed(store, which).state == "sealed"


def test_a_correction_is_a_new_entry_that_counts_in_its_place(full: Full) -> None:
    store, s = full
    which = signed_id(store)
    with store.change() as connection:
        hours = sum(one.flight.total_s for one in flights.flights_of(connection, s.student.id))
        old = flights.flight_by_id(connection, which)
        entry = FlightEntry(
            s.student, "dual", old.start_utc_s, (old.start_utc_s or 0.0) + old.total_s + 360.0,
            instructor=s.instructor, corrects_id=which,
        )  # fmt: skip
        done = flights.add_flight(connection, entry, now_utc_s=school.NOW)
        flights.sign_flight(connection, done.row.id, s.instructor, school.PASSWORD, now_utc_s=school.NOW)
        counted = flights.flights_of(connection, s.student.id)
        assert which not in {one.flight.id for one in counted}
        assert sum(one.flight.total_s for one in counted) == pytest.approx(hours + 360.0)
        assert seal.seal_of(connection, "flight", which).state == "sealed"
        with pytest.raises(InputError, match="corrected by"):
            flights.add_flight(connection, entry, now_utc_s=school.NOW)
        other = flights.add_flight(
            connection, FlightEntry(s.student, "dual", NOON - 9 * H, NOON - 8 * H, instructor=s.instructor),
            now_utc_s=school.NOW,
        )  # fmt: skip
        with pytest.raises(InputError, match="is not signed"):
            flights.add_flight(connection, replace(entry, corrects_id=other.row.id), now_utc_s=school.NOW)


def test_a_later_mark_and_a_later_name_leave_the_signature_whole(full: Full) -> None:
    store, s = full
    which = signed_id(store)
    with store.change() as connection:
        people.change_person(connection, s.student, now_utc_s=school.NOW, name="Ann Married")
        marks.give_mark(
            connection, s.student, "slow_flight", "perform", given_by="instructor", by=s.instructor,
            now_utc_s=school.NOW, flight_id=which,
        )  # fmt: skip
    assert sealed(store, which).state == "sealed"
    assert check(store).wrong == ()


@pytest.mark.parametrize(
    ("table", "values"),
    [
        (flight, {"total_s": 72000.0}),
        (flight, {"remarks": "flew very well"}),
        (flight, {"pilot_id": None, "instructor_id": None}),
        (mark, {"level": "perform"}),
    ],
)
def test_an_edit_behind_the_programs_back_is_found(full: Full, table: sa.Table, values: dict[str, Any]) -> None:
    store, _ = full
    which = signed_id(store)
    assert check(store).wrong == ()
    with store.engine.begin() as raw:
        key = table.c.id if table is flight else table.c.flight_id
        raw.execute(sa.update(table).where(key == which).values(**values))
    wrong = " ".join(check(store).wrong)
    assert "was changed by something other than airwork" in wrong


def test_the_seal_finds_a_change_even_where_the_history_was_made_to_fit(full: Full) -> None:
    store, _ = full
    which = signed_id(store)
    with store.change() as connection:  # tracked: the history now tells of it as if airwork had done it
        connection.execute(sa.update(flight).where(flight.c.id == which).values(total_s=72000.0))
    found = sealed(store, which)
    assert (found.state, "total_s" in found.why) == ("broken", True)
    assert any("total_s" in line for line in check(store).wrong)


# --- the history ----------------------------------------------------------------------------------------------------


def _drop_entry(raw: sa.Connection) -> None:
    raw.execute(sa.delete(history.history).where(history.history.c.number == 5))


def _edit_entry(raw: sa.Connection) -> None:
    raw.execute(sa.update(history.history).where(history.history.c.number == 5).values(by="somebody else"))


def _edit_state(raw: sa.Connection) -> None:
    raw.execute(sa.update(history.history).where(history.history.c.number == 5).values(state_json="{}"))


def _add_row(raw: sa.Connection) -> None:
    one = raw.execute(sa.select(endorsement)).mappings().first()
    assert one is not None
    raw.execute(sa.insert(endorsement).values({**one, "id": "f" * 32}))


def _take_row(raw: sa.Connection) -> None:
    raw.execute(sa.delete(mark))


@pytest.mark.parametrize(
    ("tamper", "said"),
    [
        (_drop_entry, "was taken out or put in"), (_edit_entry, "does not fit its own hash"),
        (_edit_state, "its state was edited"), (_add_row, "was put in by something other"),
        (_take_row, "was taken out by something other"),
    ],
)  # fmt: skip
def test_the_chain_tells_what_was_tampered_with(full: Full, tamper: Callable[[sa.Connection], None], said: str) -> None:
    store, _ = full
    with store.engine.begin() as raw:
        tamper(raw)
    assert any(said in line for line in check(store).wrong)


def test_every_change_is_written_down_with_who_made_it(full: Full) -> None:
    from airwork.logbook.changes import changes

    store, s = full
    with history.acting("Ike Teacher"), store.change() as connection:
        people.change_person(connection, s.student, now_utc_s=school.NOW, contact="ann@example.org")
    with store.read() as connection:
        first = changes(connection, most=1)[0]
    assert (first.by, first.what, first.called, first.action) == ("Ike Teacher", "person", "Ann Example", "changed")
    assert first.told == "contact nothing → ann@example.org"


def test_a_change_that_fails_leaves_no_entry(full: Full) -> None:
    store, _ = full
    with store.read() as connection:
        before = history.newest(connection)

    def fails() -> None:
        with store.change() as connection:
            connection.execute(sa.delete(mark))
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fails()
    with store.read() as connection:
        assert history.newest(connection) == before
    assert check(store).wrong == ()


def test_a_forgotten_students_words_leave_history_and_signatures_the_chain_stays(full: Full) -> None:
    store, s = full
    which = signed_id(store)
    forget_student(store, s.student, now_utc_s=school.NOW + 10 * 366 * 86400.0)
    with store.read() as connection:
        kept = json.dumps([dict(r) for r in connection.execute(sa.select(history.history)).mappings()])
        forms = [r[0] for r in connection.execute(sa.select(signature.c.form_json))]
    assert "Ann" not in kept
    assert forms == [None] * len(forms)
    assert sealed(store, which).state == "sealed"
    assert [line for line in check(store).wrong if "endorsement" not in line] == []


# --- what others bring ----------------------------------------------------------------------------------------------


def test_an_endorsement_is_ended_by_a_signed_entry_and_not_by_a_forged_one(full: Full) -> None:
    """It ends the day it is signed, elsewhere too once the key is accepted, and stays while the endorsement is kept."""
    store, s = full

    def held(of: Store) -> Validity:
        with of.read() as connection:
            found = best("us.endorsement.complex", keeping.holdings(connection, s.student), DAY.replace(day=30))
        assert found is not None
        return found

    with store.change() as connection:
        complex_ = endorsement.c.kind.endswith("complex")
        given = connection.execute(sa.select(endorsement).where(complex_)).mappings().first()
        assert given is not None
        forged = {"id": "d" * 32, "kind": f"ends {given['id']}", "words": "so there", "came_from": "ann.zip"}
        connection.execute(sa.insert(endorsement).values({**given, **forged}))
    assert held(store).how_long == "does not run out"
    assert "no signature that can be verified here" in held(store).remark
    with store.change() as connection:
        keeping.end(
            connection, held(store).held.id, s.instructor, "gear never set", school.PASSWORD, now_utc_s=school.NOW
        )
    assert not held(store).good_on(DAY.replace(day=30))
    assert held(store).over == f"ended on {DAY + timedelta(days=1)} by Ike Teacher: gear never set"
    assert check(store).wrong == ()
    two = memory_store()
    merge(two, store)
    assert held(two).held.claimed
    which = held(two).held.id
    with two.change() as connection:
        seal.accept_key(connection, seal.seal_of(connection, "endorsement", which).key_id)
    assert held(two).over == held(store).over
    two.close()
    forget_student(store, s.student, now_utc_s=school.NOW)
    with store.read() as connection:
        kinds = {row.kind for row in connection.execute(sa.select(endorsement))}
    assert any(kind.startswith("ends ") for kind in kinds) == ("us.endorsement.complex" in kinds)


def test_what_was_signed_verifies_elsewhere_once_the_key_is_accepted(make_store: MakeStore) -> None:
    (one, _), two = make_store.full("one"), make_store("two")
    which = signed_id(one)
    merge(two, one)
    assert sealed(two, which).state == "claimed"
    with two.change() as connection:
        key = str(connection.execute(sa.select(signing_key.c.id)).scalar_one())
        assert seal.accept_key(connection, key[:8]).name == "Ike Teacher"
    assert sealed(two, which).state == "sealed"
    assert check(two).wrong == ()


def test_changes_to_what_is_here_are_listed_and_wait_for_agreement(make_store: MakeStore) -> None:
    (one, s), two = make_store.full("one"), make_store("two")
    merge(two, one)
    with one.change() as connection:
        people.change_person(connection, s.student, now_utc_s=school.NOW + 9.0, contact="new@example.org")
    with pytest.raises(NotAgreed, match=r"person Ann Example: contact nothing → new@example.org"):
        merge(two, one, agreed=False)
    with two.read() as connection:
        assert people.person_by_id(connection, s.student.id).contact == ""
    done = merge(two, one, agreed=True)
    assert done.changes == ["person Ann Example: contact nothing → new@example.org"]
    assert done.changed == {"person": 1}


def test_a_moment_in_the_future_is_refused_whole(make_store: MakeStore) -> None:
    (one, s), two = make_store.full("one"), make_store("two")
    with one.change() as connection:
        people.change_person(connection, s.student, now_utc_s=4.0e9, contact="from 2096")
    with pytest.raises(InputError, match="in the future"):
        merge(two, one)
    with two.read() as connection:
        assert people.people(connection) == ()


def test_the_history_comes_along_with_a_merge(make_store: MakeStore) -> None:
    (one, _), two = make_store.full("one"), make_store("two")
    merge(two, one)
    with two.read() as connection:
        brought = connection.execute(
            sa.select(sa.func.count()).select_from(history.history).where(history.history.c.own.is_(False))
        ).scalar_one()
    with one.read() as connection:
        assert brought == connection.execute(sa.select(sa.func.count()).select_from(history.history)).scalar_one()
    assert check(two).wrong == ()
