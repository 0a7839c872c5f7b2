"""Somebody with the file, a database's tools, an old copy or a key of their own wants another record: each tried."""

from __future__ import annotations

import hashlib
import shutil
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from airwork.cli import COULD_NOT, main
from airwork.errors import AirworkError, InputError
from airwork.logbook import flights, history, keeping, people, recordings, schema, seal, things
from airwork.logbook.backup import back_up, restore
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.forgetting import forget_student
from airwork.logbook.merging import NotAgreed, merge
from airwork.logbook.schema import endorsement, flight, signature, signing_key
from airwork.logbook.store import Store, open_store
from logbook import school
from logbook.conftest import Full, MakeStore
from logbook.test_importing import a_flight
from logbook.test_seal import sealed, signed_id
from logbook.test_store import released

H = history.history
# What is found here is worked out from rows; that both kinds give the same rows is test_seal's and test_carrying's.
DATABASES = ("sqlite",)


def _newest(store: Store) -> str:
    with store.read() as connection:
        return history.newest(connection)


def _made_to_fit(raw: sa.Connection) -> None:
    """The whole chain written anew over the things as they stand: what a patient forger does."""
    now = {(what, identity): state for what in things.kinds() for identity, state in things.states(raw, what)}
    previous, last = "", {(r.what, r.thing_id): r.number for r in raw.execute(sa.select(H).order_by(H.c.number))}
    for row in raw.execute(sa.select(H).where(H.c.own).order_by(H.c.number)).mappings().all():
        new = dict(row)
        key = (row["what"], row["thing_id"])
        if last[key] == row["number"] and key in now:
            new["state_json"] = things.canonical(now[key]).decode()
            new["state_sha256"] = hashlib.sha256(new["state_json"].encode()).hexdigest()
        new["previous_hash"] = previous
        previous = new["hash"] = history._hash(new)
        raw.execute(sa.update(H).where(H.c.number == row["number"]).values(new))


def test_a_signed_flight_edited_and_the_whole_chain_made_to_fit(full: Full) -> None:
    store, _ = full
    which, noted = signed_id(store), _newest(store)
    with store.engine.begin() as raw:
        raw.execute(sa.update(flight).where(flight.c.id == which).values(total_s=72_000.0))
        _made_to_fit(raw)
        assert history.verify(raw) == []  # the chain itself tells nothing
    assert sealed(store, which).state == "broken"
    assert any("total_s" in line for line in check(store).wrong)
    assert any("noted down" in line for line in check(store, noted=noted).wrong)


def test_a_key_put_in_the_place_of_the_instructors_and_all_signed_again(full: Full) -> None:
    """Nothing inside can tell it; the hash noted down outside does, and the student's own export."""
    store, _ = full
    which, noted = signed_id(store), _newest(store)
    with store.read() as connection:  # an entry that stays as it is when the chain is written anew
        first = connection.execute(sa.select(H.c.hash).where(H.c.number == 1)).scalar_one()
    forged = Ed25519PrivateKey.generate()
    public = forged.public_key().public_bytes_raw().hex()
    key = seal._key_id(public)
    with store.engine.begin() as raw:
        raw.exec_driver_sql("PRAGMA defer_foreign_keys = ON") if store.is_sqlite else None
        old = raw.execute(sa.select(signing_key)).mappings().first()
        assert old is not None
        raw.execute(sa.insert(signing_key).values({**old, "id": key, "public_hex": public}))
        raw.execute(sa.update(flight).where(flight.c.id == which).values(total_s=72_000.0, dual_s=72_000.0))
        for row in raw.execute(sa.select(signature)).mappings().all():
            who = people.person_by_id(raw, old["person_id"])
            form = things.canonical(seal.form_of(raw, row["what"], row["thing_id"], who)).decode()
            new = {**row, "key_id": key, "form_json": form, "form_sha256": hashlib.sha256(form.encode()).hexdigest()}
            new["history_hash"] = first
            new["signature_hex"] = forged.sign(seal._signed_words(new)).hex()
            raw.execute(sa.update(signature).where(signature.c.id == row["id"]).values(new))
        raw.execute(sa.delete(signing_key).where(signing_key.c.id == old["id"]))
    assert sealed(store, which).state == "sealed"  # the forgery is good …
    wrong = " ".join(check(store).wrong)
    assert "signing_key" in wrong  # … but the history knows the key, the signature and the flight
    assert "signature" in wrong
    with store.engine.begin() as raw:
        raw.execute(sa.delete(H).where(H.c.what == "signing_key", H.c.thing_id == old["id"]))
        row = raw.execute(sa.select(H).order_by(H.c.number.desc()).limit(1)).mappings().one()
        new = {**row, "number": row["number"] + 1, "hash": "0" * 64, "what": "signing_key", "thing_id": key}
        raw.execute(sa.insert(H).values(new))
        _made_to_fit(raw)
    assert check(store).wrong == ()
    assert any("noted down" in line for line in check(store, noted=noted).wrong)


def test_the_newest_entries_cut_off_with_what_they_tell(full: Full) -> None:
    store, s = full
    with store.change() as connection:
        keeping.add_note(connection, s.student, "must not fly alone yet", now_utc_s=time.time())
    noted = _newest(store)
    assert check(store, noted=noted[:16]).wrong == ()
    with store.engine.begin() as raw:
        last = raw.execute(sa.select(sa.func.max(H.c.number))).scalar_one()
        gone = raw.execute(sa.select(H.c.thing_id).where(H.c.number == last)).scalar_one()
        raw.execute(sa.delete(H).where(H.c.number == last))
        raw.execute(sa.delete(schema.note).where(schema.note.c.id == gone))
    assert check(store).wrong == ()  # as docs/signatures.md says
    assert any("noted down" in line for line in check(store, noted=noted[:16]).wrong)


def test_an_older_backup_that_still_has_an_endorsement_taken_out_since(full: Full, tmp_path: Path) -> None:
    store, _ = full
    back_up(store, tmp_path / "old.sqlite")
    with store.change() as connection:
        signed = sa.select(signature.c.thing_id).where(signature.c.what == "endorsement")
        one = connection.execute(sa.select(endorsement.c.id).where(endorsement.c.id.not_in(signed))).scalars().first()
        one = one or connection.execute(sa.select(endorsement.c.id)).scalars().first()
        connection.execute(sa.delete(endorsement).where(endorsement.c.id == one))
    noted = _newest(store)
    restore(tmp_path / "old.sqlite", store, replace=True)
    with store.read() as connection:
        mark = connection.execute(sa.select(H).where(H.c.action == "restored")).mappings().one()
    assert noted in mark["state_json"]  # through airwork it says itself in whose place it came
    assert any("noted down" in line for line in check(store, noted=noted).wrong)


@pytest.mark.parametrize(
    "planted",
    [
        "CREATE TRIGGER longer AFTER INSERT ON flight BEGIN UPDATE flight SET total_s = 72000 WHERE id = NEW.id; END",
        "CREATE TRIGGER quiet AFTER INSERT ON history BEGIN DELETE FROM history WHERE number = NEW.number; END",
        "ALTER TABLE dated RENAME TO hidden; CREATE VIEW dated AS SELECT * FROM hidden WHERE 0",
    ],
)
def test_a_trigger_or_view_planted_in_the_file_is_refused_when_it_is_opened(tmp_path: Path, planted: str) -> None:
    path = tmp_path / "logbook.sqlite"
    open_store(path, create=True).close()
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(planted)
    with pytest.raises(AirworkError, match="put in by something other than airwork") as found:
        open_store(path)
    assert "\n" not in str(found.value)
    assert main(["logbook", "check", "--data", str(path)]) == COULD_NOT


def test_an_instructor_who_left_signs_in_an_old_copy_with_the_clock_set_back(make_store: MakeStore) -> None:
    (one, s), copy = make_store.full("one"), make_store("copy")
    merge(copy, one)
    with one.read() as connection:
        key = connection.execute(sa.select(signing_key)).mappings().one()
        old = connection.execute(sa.select(signature).where(signature.c.what == "flight")).mappings().first()
    assert old is not None
    then = old["utc_s"] + 60.0
    with one.change() as connection:
        assert seal.end_keys(connection, s.instructor, now_utc_s=then + 60.0) == 1
    with copy.change() as connection:
        unsigned = connection.execute(sa.select(flight.c.id).where(flight.c.signed_utc_s.is_(None))).scalars().first()
        connection.execute(sa.update(flight).where(flight.c.id == unsigned).values(
            instructor_id=s.instructor.id, dual_s=3600.0, changed_utc_s=time.time()))  # fmt: skip
        # whoever left has the packed key and its password in a copy of the whole file
        connection.execute(sa.update(signing_key).values(private_pem=key["private_pem"], known_here=True))
        seal.sign(connection, "flight", [str(unsigned)], s.instructor, school.PASSWORD, now_utc_s=then)
    with pytest.raises(NotAgreed, match="which has ended here"):
        merge(one, copy, agreed=False)


def test_two_schools_instructors_of_one_name_and_their_keys(make_store: MakeStore) -> None:
    """Joined as one by name, what the other's key signed is claimed until the chief has accepted that key."""
    (one, _), (two, t) = make_store.full("one"), make_store.full("two")
    with two.change() as connection:  # another school's Ike, another key, another student
        connection.execute(sa.delete(signature))
        connection.execute(sa.delete(signing_key))
        seal.make_key(connection, t.instructor, "another's password", now_utc_s=time.time())
        which = connection.execute(sa.select(flight.c.id).where(flight.c.signed_utc_s.is_not(None))).scalar_one()
        new = "5" * 32
        connection.execute(sa.update(flight).where(flight.c.id == which).values(signed_utc_s=None, signed_by_id=None))
        row = connection.execute(sa.select(flight).where(flight.c.id == which)).mappings().one()
        later = {"start_utc_s": row["start_utc_s"] + 9e4, "end_utc_s": row["end_utc_s"] + 9e4}
        connection.execute(sa.insert(flight).values({**row, **later, "id": new, "recording_sha256": ""}))
        seal.sign(connection, "flight", [new], t.instructor, "another's password", now_utc_s=time.time())
    done = merge(one, two, same_names=True)
    assert any("nobody here has accepted" in line for line in done.said)
    assert sealed(one, new).state == "claimed"


def test_a_backup_copied_with_its_log_beside_it_is_restored_whole(tmp_path: Path) -> None:
    """A folder copied while the logbook was open: the newest rows lie in the write-ahead log alone."""
    store = open_store(tmp_path / "open.sqlite", create=True)
    with store.change() as connection:
        people.add_person(connection, "Ann Example", student=True, now_utc_s=1.0)
    for end in ("", "-wal"):
        shutil.copy(f"{store.path}{end}", tmp_path / f"copy.sqlite{end}")
    store.close()
    new = open_store(tmp_path / "new.sqlite", create=True)
    assert restore(tmp_path / "copy.sqlite", new).rows["person"] == 1
    new.close()


def test_a_log_of_another_logbook_laid_beside_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """SQLite takes it for the file's own: whoever can do that can as well put another file there. Noted, it is told."""
    paths, noted = [], []
    for name in ("mine", "theirs"):
        store = open_store(tmp_path / f"{name}.sqlite", create=True)
        with store.change() as connection:
            people.add_person(connection, f"{name.title()} Example", student=True, now_utc_s=1.0)
        noted.append(_newest(store))
        if name == "theirs":
            shutil.copy(f"{store.path}-wal", tmp_path / "theirs.wal")
        store.close()
        paths.append(tmp_path / f"{name}.sqlite")
    shutil.copy(tmp_path / "theirs.wal", f"{paths[0]}-wal")
    assert main(["logbook", "check", "--data", str(paths[0]), "--noted", noted[0]]) == COULD_NOT
    assert "noted down" in capsys.readouterr().out


CLAIMS: tuple[Callable[[sa.Connection], None], ...] = (
    lambda raw: raw.execute(sa.update(signing_key).values(known_here=True)),
    lambda raw: raw.execute(sa.update(signing_key).values(ended_utc_s=None)),
)  # fmt: skip


@pytest.mark.parametrize("number", range(len(CLAIMS)))
def test_what_is_claimed_made_to_look_accepted_with_a_databases_tools(make_store: MakeStore, number: int) -> None:
    (one, _), two = make_store.full("one"), make_store("two")
    merge(two, one)
    if number == 1:
        with two.change() as connection:
            connection.execute(sa.update(signing_key).values(ended_utc_s=1.0))
    assert check(two).wrong == ()
    with two.engine.begin() as raw:
        CLAIMS[number](raw)
    assert any("changed by something other than airwork" in line for line in check(two).wrong)


# --- what `check` has to find ---------------------------------------------------------------------------------------


def test_a_chain_written_anew_over_an_edited_flight_is_told_by_every_signature(full: Full) -> None:
    """An entry is another, its history fits, no key was needed: the signatures name entries that are gone."""
    store, s = full
    with store.engine.begin() as raw:
        raw.execute(sa.update(schema.person).where(schema.person.c.id == s.student.id).values(contact="elsewhere"))
        _made_to_fit(raw)
        assert history.verify(raw) == []
        named = len(raw.execute(sa.select(signature.c.id)).all())
    wrong = check(store).wrong
    assert len(wrong) == named
    assert all("is not in the history: entries were cut off, or all was written anew" in line for line in wrong)


def test_the_old_entries_kept_as_if_brought_in_are_no_history_of_their_own(full: Full) -> None:
    """Only those the signatures name: each fits its hash, and leads to none before it."""
    store, s = full
    with store.engine.begin() as raw:
        named = set(raw.execute(sa.select(signature.c.history_hash)).scalars())
        old = [dict(r) for r in raw.execute(sa.select(H).where(H.c.hash.in_(named))).mappings()]
        raw.execute(sa.update(schema.person).where(schema.person.c.id == s.student.id).values(contact="elsewhere"))
        _made_to_fit(raw)
        raw.execute(sa.insert(H), [{**r, "own": False, "number": 9000 + n} for n, r in enumerate(old)])
    assert any("is not in the history" in line for line in check(store).wrong)


def test_signatures_that_came_with_a_merge_name_entries_nobody_misses(make_store: MakeStore) -> None:
    (one, _), two, three = make_store.full("one"), make_store("two"), make_store("three")
    merge(two, one)
    merge(three, two)
    merge(one, three)
    for store in (one, two, three):
        found = check(store)
        assert found.wrong == ()
        assert not any("not in the history" in line for line in found.look_at)


@pytest.mark.parametrize(
    ("table", "column", "value", "what"),
    [
        (schema.recording_bytes, "columns_parquet", None, "recording"),
        (schema.recording_bytes, "columns_parquet", b"another", "recording"),
        (schema.recording_bytes, "facts_json", '{"start_utc_s": 1.0}', "recording"),
        (schema.recording_bytes, "facts_json", "{}", "recording"),
        (schema.signing_key, "private_pem", "another's", "signing_key"),
        (schema.signing_key, "private_pem", "", "signing_key"),
    ],
)
def test_what_pages_read_and_a_packed_key_put_in_anothers_place_are_found(
    full: Full, table: sa.Table, column: str, value: object, what: str
) -> None:
    store, s = full
    with store.change() as connection:
        recordings.keep(connection, recordings.pack(school.RAW, "f.csv", a_flight(20)), now_utc_s=school.NOW)
        seal.repack_key(connection, s.instructor, school.PASSWORD, "another long word")
    assert check(store).wrong == ()
    with store.engine.begin() as raw:
        raw.execute(sa.update(table).values({column: value}))
    (wrong,) = check(store).wrong
    assert wrong.startswith(what)
    assert wrong.endswith("was changed by something other than airwork")


def test_words_taken_out_of_the_history_are_found_unless_somebody_was_forgotten(full: Full) -> None:
    store, s = full
    with store.engine.begin() as raw:
        raw.execute(sa.update(H).where(H.c.what == "flight").values(state_json=None))
    wrong = check(store).wrong
    assert len(wrong) == 2
    assert all("its words were taken out, and nobody was forgotten" in line for line in wrong)
    forget_student(store, s.student, now_utc_s=school.NOW)
    assert check(store).wrong == ()
    with store.engine.begin() as raw:
        raw.execute(sa.update(H).where(H.c.what == "airplane").values(state_json=None))
    assert all("airplane" in line for line in check(store).wrong)
    assert len(check(store).wrong) == 2


def test_a_key_that_is_not_the_one_it_is_kept_as_signs_nothing(full: Full) -> None:
    store, s = full
    other = seal._packed(Ed25519PrivateKey.generate(), school.PASSWORD, "Nobody")
    with store.engine.begin() as raw:
        raw.execute(sa.update(signing_key).values(private_pem=other))
    with store.change() as connection:
        entry = FlightEntry(s.student, "dual", school.NOON + 90e3, school.NOON + 93e3, instructor=s.instructor)
        new = flights.add_flight(connection, entry, now_utc_s=school.NOW).row.id
    with pytest.raises(InputError, match="is another; nothing was signed"), store.change() as connection:
        flights.sign_flight(connection, new, s.instructor, school.PASSWORD, now_utc_s=school.NOW)
    assert sealed(store, new).state == "not signed"


def test_an_older_version_noted_in_the_file_does_not_take_an_edit_in(tmp_path: Path) -> None:
    """Bringing tables up to date writes down what states say since, not what was changed behind the program's back."""
    path = released(tmp_path, "0002")
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("UPDATE flight SET total_s = 9000 WHERE signed_utc_s IS NULL")
        raw.execute("UPDATE recording SET file_name = 'other.csv'")
        raw.commit()
    store = open_store(path)
    wrong = check(store).wrong
    assert [line.split()[0] for line in wrong] == ["flight", "recording"]
    store.close()


def test_a_logbook_that_is_not_whole_is_joined_only_when_that_is_agreed_to(make_store: MakeStore) -> None:
    (one, _), two = make_store.full("one"), make_store("two")
    merge(two, one)
    with one.engine.begin() as raw:
        unsigned = raw.execute(sa.select(flight.c.id).where(flight.c.signed_utc_s.is_(None))).scalar_one()
        raw.execute(sa.update(flight).where(flight.c.id == unsigned).values(remarks="longer than it was"))
    done = merge(two, one, agreed=False)  # by its time of change nothing in it is newer
    assert done.nothing_new
    assert "the other logbook is not whole" in done.said[0]
    with one.engine.begin() as raw:
        raw.execute(sa.update(flight).where(flight.c.id == unsigned).values(changed_utc_s=time.time()))
    with pytest.raises(NotAgreed, match=f"not whole .*flight {unsigned[:8]} was changed by something other"):
        merge(two, one, agreed=False)
    assert not merge(two, one).nothing_new


def test_a_key_ended_in_one_logbook_ends_in_the_other_when_agreed_to(make_store: MakeStore) -> None:
    """A copy of the whole file: the same key can sign in both."""
    one, s = make_store.full("one")
    two, _ = make_store.full("two")
    with two.change() as connection:
        assert seal.end_keys(connection, s.instructor, now_utc_s=school.NOW + 60.0) == 1

    def can_sign() -> bool:
        with one.read() as connection:
            return seal.has_key(connection, s.instructor)

    with pytest.raises(NotAgreed, match="has ended there, and ends here"):
        merge(one, two, agreed=False)
    assert can_sign()
    merge(one, two)
    assert not can_sign()
    assert sealed(one, signed_id(one)).state == "sealed"
    assert check(one).wrong == ()
    assert merge(one, two, agreed=False).nothing_new
