"""What somebody would try who has read the documents and can write files: each tried, each held."""

from __future__ import annotations

import json
import os
import time
import zipfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from airwork.errors import InputError
from airwork.jobs import many
from airwork.logbook import exporting, flights, history, keeping, marks, people, seal
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.exporting import export_student, import_student
from airwork.logbook.merging import NotAgreed, merge
from airwork.logbook.schema import endorsement, flight, signature, signing_key
from airwork.logbook.store import Store
from logbook import school
from logbook.conftest import Full, MakeStore
from logbook.school import DAY, NOON, H
from logbook.test_seal import OTHER_DAY, rezipped, sealed, signed_id

# What is found here is worked out from rows; that both kinds give the same rows is test_seal's and test_carrying's.
DATABASES = ("sqlite",)

Tables = dict[str, list[dict[str, Any]]]


def _forged(store: Store, who: people.Person, folder: Path, change: Callable[[Tables], None]) -> Path:
    export_student(store, who, folder / "ann.zip")
    return rezipped(folder / "ann.zip", change)


def _correction(of: str, **more: Any) -> Callable[[Tables], None]:
    """A forged entry that is to count in the place of another."""

    def forge(tables: Tables) -> None:
        mine = tables["flight"][0]
        tables["flight"].append({
            **mine, "id": "e" * 32, "recording_sha256": "", "start_utc_s": OTHER_DAY, "end_utc_s": OTHER_DAY + 20 * H,
            "total_s": 20 * H, "dual_s": 20 * H, "solo_s": 0.0, "pic_s": 0.0, "role": "dual", "signed_utc_s": None,
            "signed_by_id": None, "corrects_id": of, "local_date": str(DAY + timedelta(days=3)), **more,
        })  # fmt: skip

    return forge


def _hours(store: Store, who: people.Person) -> float:
    with store.read() as connection:
        return sum(one.flight.total_s for one in flights.flights_of(connection, who.id))


# --- what a file brings ---------------------------------------------------------------------------------------------


def test_a_file_does_not_set_aside_a_signed_flight_by_correcting_it_unless_agreed(full: Full, tmp_path: Path) -> None:
    store, s = full
    which, before = signed_id(store), _hours(store, s.student)
    forged = _forged(store, s.student, tmp_path, _correction(which))
    with pytest.raises(NotAgreed, match="eeeeeeee is to count in its place once a key known here signs it"):
        import_student(store, forged, agreed=False)
    assert _hours(store, s.student) == before
    assert any("is to count" in line for line in import_student(store, forged, agreed=True).changes)
    assert _hours(store, s.student) == before  # nobody known here has signed it
    assert sealed(store, which).state == "sealed"


def test_a_file_does_not_correct_a_flight_of_somebody_elses_or_one_corrected_already(
    full: Full, tmp_path: Path
) -> None:
    store, s = full
    which = signed_id(store)
    with store.change() as connection:
        jan = people.add_person(connection, "Jan Other", now_utc_s=school.NOW, student=True)
        entry = FlightEntry(jan, "solo", OTHER_DAY, OTHER_DAY + H)
        theirs = flights.add_flight(connection, entry, now_utc_s=school.NOW).row.id
    done = import_student(store, _forged(store, s.student, tmp_path, _correction(theirs)), agreed=True)
    assert any("is somebody else's; it does not" in line for line in done.said)
    assert _hours(store, jan) == H

    with store.change() as connection:
        own = FlightEntry(s.student, "dual", NOON, NOON + 2 * H, instructor=s.instructor, corrects_id=which)
        flights.add_flight(connection, own, now_utc_s=school.NOW)
    again = _forged(store, s.student, tmp_path, _correction(which, id="d" * 32))
    done = import_student(store, again, agreed=True)
    assert any("is corrected by" in line for line in done.said)
    assert check(store).wrong == ()


def test_a_file_does_not_speak_in_an_instructors_name_unless_agreed(full: Full, tmp_path: Path) -> None:
    store, s = full

    def forge(tables: Tables) -> None:
        given = tables["mark"][0]
        tables["mark"].append({**given, "id": "d" * 32, "kind": "slow_flight", "episode_position": None,
                               "level": "perform", "utc_s": school.NOW})  # fmt: skip

    forged = _forged(store, s.student, tmp_path, forge)
    with pytest.raises(NotAgreed, match="Ike Teacher: 1 mark given in their name, says the file"):
        import_student(store, forged, agreed=False)
    with store.read() as connection:
        given = [m for m in marks.marks_of_flight(connection, signed_id(store)) if m.instructor is not None]
    assert [m.kind for m in given] == ["steep_turn"]


def _of_another(tables: Tables) -> None:
    tables["person"].append({**tables["person"][0], "id": "9" * 32, "name": "Jan", "is_student": False})
    tables["flight"][0]["pilot_id"] = "9" * 32


def _two_students(tables: Tables) -> None:
    tables["person"].append({**tables["person"][0], "id": "9" * 32, "name": "Jan", "is_student": True})


def _poisoned(tables: Tables) -> None:
    tables["removed"] = [{"id": "7" * 32, "what": "flight", "utc_s": NOON, "keep_until": None}]


def _note_about_another(tables: Tables) -> None:
    tables["note"][0]["person_id"] = next(r["id"] for r in tables["person"] if not r["is_student"])


def _turned_round(tables: Tables) -> None:
    tables["person"][0]["name"] = "Ike \u202erehcaeT"


def _mixed(tables: Tables) -> None:
    tables["person"][0]["name"] = "Ik\u0435 Teacher"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_of_another, "holds a flight of somebody else"), (_two_students, "holds 2 students"),
        (_poisoned, "no export of a student holds 'removed'"), (_note_about_another, "a note of somebody else"),
        (_turned_round, r"control character \(U\+202E\)"), (_mixed, "mixes CYRILLIC and LATIN"),
    ],
)  # fmt: skip
def test_a_students_export_speaks_of_that_student_alone(
    full: Full, tmp_path: Path, change: Callable[[Tables], None], said: str
) -> None:
    store, s = full
    with pytest.raises(InputError, match=said):
        import_student(store, _forged(store, s.student, tmp_path, change), agreed=True)
    assert check(store).wrong == ()


def test_a_key_swapped_in_a_file_is_not_taken_for_the_instructors(full: Full, tmp_path: Path) -> None:
    """The attacker's public key under the identity of a key that is known, its signature over a made-up form."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    store, s = full
    which = signed_id(store)
    own = Ed25519PrivateKey.generate()

    def forge(tables: Tables) -> None:
        key = tables["signing_key"][0]
        key |= {"public_hex": own.public_key().public_bytes_raw().hex(), "known_here": True}
        old = next(r for r in tables["signature"] if r["what"] == "flight")
        new = {**old, "id": "c" * 32}
        new["signature_hex"] = own.sign(seal._signed_words(new)).hex()
        tables["signature"].append(new)

    with store.read() as connection:
        before = connection.execute(sa.select(signing_key.c.public_hex)).scalar_one()
    done = import_student(store, _forged(store, s.student, tmp_path, forge), agreed=True)
    assert any("does not fit its key; left out" in line for line in done.said)
    with store.read() as connection:
        assert connection.execute(sa.select(signing_key.c.public_hex)).scalar_one() == before
    assert sealed(store, which).state == "sealed"
    assert check(store).wrong == ()


@pytest.mark.parametrize(
    "filler", ["[],", '"ab",', "{},"], ids=["lists", "texts", "tables"]
)  # each a few bytes that cost fifty in memory
def test_an_export_larger_than_any_is_refused_before_it_fills_the_memory(
    tmp_path: Path, filler: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(exporting, "_MOST_TEXTS", 50_000)
    monkeypatch.setattr(exporting, "_MOST_LISTS", 30_000)
    path = tmp_path / "big.zip"
    text = f'{{"format": "airwork student", "version": 2, "tables": {{"flight": [{filler * 60_000}0]}}}}'
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr("student.json", text)
    with zipfile.ZipFile(path) as zipped, pytest.raises(InputError, match="more than any logbook's"):
        exporting._content(zipped, "big.zip")


def test_names_in_an_export_lead_nowhere(full: Full, tmp_path: Path) -> None:
    """Its recordings are found by their hash; what else the zip holds, wherever it would lie, is not unpacked."""
    store, s = full
    export_student(store, s.student, tmp_path / "ann.zip")
    out = tmp_path / "in" / "led.zip"
    out.parent.mkdir()
    with zipfile.ZipFile(tmp_path / "ann.zip") as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name))
        new.writestr("../../escaped.txt", "x")
        new.writestr("recordings/../../escaped.csv", "x")
        new.writestr("/tmp/escaped.txt", "x")
    before = sorted(tmp_path.rglob("*"))
    assert import_student(store, out, agreed=False).nothing_new
    assert [p for p in sorted(tmp_path.rglob("*")) if p not in before and "sqlite" not in p.name] == []


# --- with a database's own tools ------------------------------------------------------------------------------------


def test_a_signature_replayed_onto_another_flight_does_not_fit_it(full: Full) -> None:
    store, _ = full
    which = signed_id(store)
    with store.engine.begin() as raw:
        other = raw.execute(sa.select(flight.c.id).where(flight.c.id != which)).scalar_one()
        one = raw.execute(sa.select(signature).where(signature.c.what == "flight")).mappings().first()
        assert one is not None
        raw.execute(sa.insert(signature).values({**one, "id": "b" * 32, "thing_id": other}))
    assert sealed(store, other).state == "broken"
    assert any("signature" in line for line in check(store).wrong)


def test_a_history_cut_off_before_a_signature_is_noticed(full: Full) -> None:
    """The newest entries and what they tell of taken out together; a signature names one of them."""
    store, _ = full
    signed_id(store)
    h = history.history.c
    with store.engine.begin() as raw:
        named = raw.execute(sa.select(signature.c.history_hash)).scalars().first()
        at = raw.execute(sa.select(h.number).where(h.hash == named)).scalar_one()
        raw.execute(sa.delete(history.history).where(h.number >= at))
    assert check(store).wrong != ()


def test_a_fork_that_went_on_by_itself_changes_nothing_signed_when_it_is_joined(make_store: MakeStore) -> None:
    """A copy in which the signed flight was rewritten with a database's tools, its history made to fit."""
    (one, _), fork = make_store.full("one"), make_store("fork")
    which = signed_id(one)
    merge(fork, one)
    with fork.change() as connection:
        connection.execute(sa.delete(signature))
        new = {"total_s": 20 * H, "dual_s": 20 * H, "signed_utc_s": None, "signed_by_id": None}
        one_row = sa.update(flight).where(flight.c.id == which)
        connection.execute(one_row.values(**new, changed_utc_s=time.time()))
    done = merge(one, fork, agreed=True)
    assert any("stays as it was signed" in line for line in done.said)
    assert sealed(one, which).state == "sealed"
    with one.read() as connection:
        assert flights.flight_by_id(connection, which).total_s < 20 * H
    assert check(one).wrong == ()


def test_a_clock_set_back_for_an_earlier_date_is_told(full: Full, monkeypatch: pytest.MonkeyPatch) -> None:
    store, s = full
    assert not any("clock was set back" in line for line in check(store).look_at)
    then = time.time() - 90 * 86400.0
    with monkeypatch.context() as patch:
        patch.setattr(history.time, "time", lambda: then)
        with store.change() as connection:
            keeping.add_note(connection, s.student, "written three months ago", now_utc_s=then)
    told = [line for line in check(store).look_at if "clock was set back" in line]
    assert len(told) == 1
    assert "added note" in told[0]
    assert check(store).wrong == ()


# --- names ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Ike \u202erehcaeT", "U\\+202E"), ("Ike\u200b Teacher", "U\\+200B"), ("Ike\x00Teacher", "U\\+0000"),
        ("Ik\u0435 Teacher", "mixes CYRILLIC and LATIN"), ("\u0399ke Teacher", "mixes GREEK and LATIN"),
        ("ike  TEACHER", "Ike Teacher is entered already"), ("\uff29\uff4b\uff45 Teacher", "Ike Teacher is entered"),
        ("Ike Teacher\u200d", "Ike Teacher is entered"), ("I" * 201, "201 characters"), ("I" * 10**7, "at most"),
    ],
)  # fmt: skip
def test_a_name_that_reads_as_anothers_is_refused_entered_and_changed(store: Store, name: str, said: str) -> None:
    with store.change() as connection:
        s = school.found(connection)
    with pytest.raises(InputError, match=said), store.change() as connection:
        people.add_person(connection, name, now_utc_s=school.NOW, instructor=True)
    with pytest.raises(InputError, match=said), store.change() as connection:
        people.change_person(connection, s.student, now_utc_s=school.NOW, name=name)


@pytest.mark.parametrize(
    "name",
    ["Иван Петров", "Иван (Ivan) Petrov", "Γιάννης Παππάς", "علی رضایی", "می‌خواهم", "山田 Taro", "O'Brien-Müller"],
)
def test_names_of_all_the_world_are_taken(store: Store, name: str) -> None:
    with store.change() as connection:
        assert people.add_person(connection, name, now_utc_s=school.NOW, student=True).name == name
    with store.change() as connection:
        people.add_person(connection, "Сара Capa", now_utc_s=school.NOW, student=True)
    with pytest.raises(InputError, match="is entered already"), store.change() as connection:
        people.add_person(connection, "Capa Сара", now_utc_s=school.NOW, student=True)


@pytest.mark.parametrize(
    "asked", ["../../etc/passwd", "..", "%2e%2e/", "0" * 10**6, "' OR 1=1 --", "%", "______", "\x00"]
)
def test_a_flights_identity_is_looked_up_never_opened(full: Full, asked: str) -> None:
    store, _ = full
    with pytest.raises(InputError), store.read() as connection:
        flights.flight_by_id(connection, asked)


def test_endorsements_are_not_given_for_a_day_to_come_or_before_birth(full: Full) -> None:
    store, s = full
    for day in (DAY.replace(year=2031), DAY.replace(year=1950)):
        with pytest.raises(InputError, match=r"in the future|was born"), store.change() as connection:
            school.endorse(connection, s.student, s.instructor, "complex", day)
    with store.read() as connection:
        assert connection.execute(sa.select(sa.func.count()).select_from(endorsement)).scalar_one() == 2


# --- a folder of recordings -----------------------------------------------------------------------------------------


def test_a_batch_folder_of_traps_is_passed_over_in_one_line_each(tmp_path: Path) -> None:
    """A file with holes that says it is a terabyte, a pipe, links to itself, to a device, out of the folder."""
    inside, into = tmp_path / "in", tmp_path / "out"
    inside.mkdir()
    with (inside / "holes.csv").open("wb") as sparse:
        sparse.truncate(1 << 40)
    os.mkfifo(inside / "pipe.csv")
    (inside / "round.csv").symlink_to(inside / "round.csv")
    (inside / "up").symlink_to(tmp_path)
    (inside / "zeros.csv").symlink_to("/dev/zero")
    secret = tmp_path / "secret.csv"
    secret.write_text("a password\n")
    (inside / "secret.csv").symlink_to(secret)
    begun = time.process_time()
    found = many.recordings_in([inside], into)
    assert {p.name for p in found} == {"holes.csv", "secret.csv"}
    named = [*found, inside / "pipe.csv", inside / "zeros.csv"]  # named alone they are tried
    said = [many.debrief_one(str(p), many.Order(str(into))).problem for p in named]
    assert all(line and "\n" not in line and "a fault in airwork" not in line for line in said), said
    assert "at most 120 MB" in said[0]
    assert "a device" in said[2]
    assert "a device" in said[3]
    assert not any("password" in line for line in said)
    assert time.process_time() - begun < 2.0


def test_a_zip_of_zips_is_refused(tmp_path: Path) -> None:
    raw = b"x"
    for _ in range(6):
        path = tmp_path / "nested.zip"
        with zipfile.ZipFile(path, "w") as out:
            for n in range(4):
                out.writestr(f"{n}.zip" if raw != b"x" else f"{n}.csv", raw)
        raw = path.read_bytes()
    said = many.debrief_one(str(path), many.Order(str(tmp_path / "out"))).problem
    assert said
    assert "fault in airwork" not in said


def test_json_that_says_a_thing_twice_is_one_thing(full: Full, tmp_path: Path) -> None:
    """Of a key said twice the last counts, as it is shown and as it is checked: no reader sees another."""
    store, s = full
    before = _hours(store, s.student)
    export_student(store, s.student, tmp_path / "ann.zip")
    out = tmp_path / "twice.zip"
    with zipfile.ZipFile(tmp_path / "ann.zip") as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            raw = old.read(name)
            if name == "student.json":
                total = json.loads(raw)["tables"]["flight"][0]["total_s"]
                raw = raw.replace(f'"total_s": {total}'.encode(), f'"total_s": {total}, "total_s": 72000.0'.encode(), 1)
            new.writestr(name, raw)
    import_student(store, out, agreed=True)
    assert _hours(store, s.student) == before
    assert check(store).wrong == ()
