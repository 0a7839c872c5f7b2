"""What somebody would try who has read the documents and can write files: each tried, each held."""

from __future__ import annotations

import os
import time
import zipfile
from pathlib import Path

import pytest
import sqlalchemy as sa

from airwork.errors import InputError
from airwork.jobs import many
from airwork.logbook import flights, history, keeping, people
from airwork.logbook.checking import check
from airwork.logbook.merging import merge
from airwork.logbook.schema import endorsement, flight, signature
from airwork.logbook.store import Store
from logbook import school
from logbook.conftest import Full, MakeStore
from logbook.school import DAY, H
from logbook.test_seal import sealed, signed_id

# What is found here is worked out from rows; that both kinds give the same rows is test_seal's and test_carrying's.
DATABASES = ("sqlite",)


# --- what a file brings ---------------------------------------------------------------------------------------------


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
