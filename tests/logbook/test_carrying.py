"""Carrying a logbook: backup and restore, merging, a student's export, forgetting, looking it over."""

from __future__ import annotations

import zipfile
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from airwork.errors import AirworkError, InputError
from airwork.logbook import carry, flights, forgetting, keeping, people, recordings
from airwork.logbook.backup import back_up, restore
from airwork.logbook.checking import check
from airwork.logbook.entering import FlightEntry
from airwork.logbook.exporting import export_student
from airwork.logbook.forgetting import forget_student
from airwork.logbook.importing import import_debrief
from airwork.logbook.merging import merge
from airwork.logbook.schema import TABLES, endorsement, flight, history, person, recording_bytes
from airwork.logbook.store import Store, open_store
from logbook import school
from logbook.conftest import Full, MakeStore
from logbook.school import NOON, RAW, H


def content(store: Store) -> dict[str, list[dict[str, Any]]]:
    """Every row of every table but the history, which also tells of the carrying itself."""
    with store.read() as connection:
        return {
            t.name: [row for batch in carry.rows(connection, t) for row in batch] for t in TABLES if t is not history
        }


def test_the_filled_logbook_has_a_row_in_every_table(full: Full) -> None:
    store, _ = full
    assert [name for name, rows in content(store).items() if not rows] == []
    assert check(store).wrong == ()


# --- backup and restore ---------------------------------------------------------------------------------------------


def test_a_backup_restored_elsewhere_is_the_same_logbook(make_store: MakeStore, tmp_path: Path) -> None:
    (store, _), other = make_store.full("one"), make_store("two")
    done = back_up(store, tmp_path / "backup.sqlite")
    assert done.rows["flight"] == 2
    restore(tmp_path / "backup.sqlite", other)
    assert content(other) == content(store)
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith("backup")) == ["backup.sqlite"]


def test_a_backup_is_itself_a_logbook(full: Full, tmp_path: Path) -> None:
    store, _ = full
    back_up(store, tmp_path / "backup.sqlite")
    opened = open_store(tmp_path / "backup.sqlite")
    assert content(opened) == content(store)
    opened.close()


def test_restoring_over_people_needs_to_be_asked_for(make_store: MakeStore, tmp_path: Path) -> None:
    (store, _), other = make_store.full("one"), make_store("two")
    with other.change() as connection:
        people.add_person(connection, "Somebody Else", now_utc_s=0.0, student=True)
    back_up(store, tmp_path / "b.sqlite")
    before = content(other)
    with pytest.raises(InputError, match="--replace"):
        restore(tmp_path / "b.sqlite", other)
    assert content(other) == before
    restore(tmp_path / "b.sqlite", other, replace=True)
    assert content(other) == content(store)


def test_a_damaged_backup_changes_nothing(full: Full, tmp_path: Path) -> None:
    store, _ = full
    before = content(store)
    back_up(store, tmp_path / "b.sqlite")
    raw = bytearray((tmp_path / "b.sqlite").read_bytes())
    raw[4096 * 3 : 4096 * 8] = b"\x55" * (4096 * 5)
    (tmp_path / "b.sqlite").write_bytes(bytes(raw))
    with pytest.raises(AirworkError, match=r"damaged|no backup"):
        restore(tmp_path / "b.sqlite", store, replace=True)
    assert content(store) == before


def test_a_backup_is_not_written_over_something_else_or_over_the_logbook(store: Store, tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("three years of work")
    with pytest.raises(InputError, match="no logbook"):
        back_up(store, tmp_path / "thesis.txt")
    assert (tmp_path / "thesis.txt").read_text() == "three years of work"
    if store.path is not None:
        with pytest.raises(InputError, match="itself"):
            back_up(store, store.path)


def test_what_is_no_backup_is_refused(store: Store, tmp_path: Path) -> None:
    (tmp_path / "x.sqlite").write_bytes(b"no")
    for path, said in ((tmp_path / "x.sqlite", "no backup"), (tmp_path / "none.sqlite", "no such file")):
        with pytest.raises(InputError, match=said):
            restore(path, store)


@pytest.mark.parametrize("size", [1, 2])
def test_batches_that_a_table_is_read_in_hold_each_row_once_in_its_order(
    full: Full, monkeypatch: pytest.MonkeyPatch, size: int
) -> None:
    """However few rows a batch has; keys of several columns too."""
    store, _ = full
    whole = content(store)
    monkeypatch.setattr(carry, "_ROWS", size)
    monkeypatch.setattr(carry, "_ROWS_WITH_BYTES", size)
    assert content(store) == whole
    assert any(len(t.primary_key.columns) > 1 and len(whole[t.name]) > 2 for t in TABLES)


# --- merging --------------------------------------------------------------------------------------------------------


def test_merging_into_an_empty_logbook_brings_everything(make_store: MakeStore) -> None:
    (one, _), two = make_store.full("one"), make_store("two")
    merge(two, one)
    (key,) = content(two)["signing_key"]
    assert (key["private_pem"], key["known_here"]) == ("", False)
    assert {**content(two), "signing_key": []} == {**content(one), "signing_key": []}


def test_merging_twice_changes_nothing(make_store: MakeStore) -> None:
    (one, _), two = make_store.full("one"), make_store("two")
    merge(two, one)
    before = content(two)
    assert merge(two, one).nothing_new
    assert content(two) == before


def test_two_instructors_apart_join_their_logbooks(make_store: MakeStore) -> None:
    """Same student, airplane and recording entered on both sides: each is once in the joined logbook."""
    (one, _), two = make_store.full("one"), make_store("two")
    with two.change() as connection:
        theirs = school.found(connection)
    about = FlightEntry(theirs.student, "dual", instructor=theirs.instructor, airplane=theirs.larkmoor)
    import_debrief(
        two, school.debriefed(NOON, recording=RAW), about, now_utc_s=school.NOW, recording=recordings.pack(RAW, "f.csv")
    )
    with two.change() as connection:
        flights.add_flight(
            connection, FlightEntry(theirs.student, "solo", NOON + 50 * H, NOON + 51 * H), now_utc_s=NOON
        )
    with pytest.raises(InputError, match=r"Ann Example.*--same-names"):
        merge(one, two)
    done = merge(one, two, same_names=True)
    found = content(one)
    assert done.added == {"flight": 1}
    assert len(found["person"]) == 2
    assert len(found["airplane"]) == 2
    assert len(found["flight"]) == 3
    assert len({row["pilot_id"] for row in found["flight"]}) == 1


def test_people_of_one_name_born_on_different_days_are_never_joined(make_store: MakeStore) -> None:
    one, two = make_store("one"), make_store("two")
    for store, born in ((one, date(1990, 1, 1)), (two, date(1991, 1, 1))):
        with store.change() as connection:
            people.add_person(connection, "Ann Example", now_utc_s=0.0, student=True, born_on=born)
    with pytest.raises(InputError, match="different birth dates"):
        merge(one, two, same_names=True)


def test_the_later_correction_stands(make_store: MakeStore) -> None:
    (one, s), two = make_store.full("one"), make_store("two")
    merge(two, one)
    for store, contact, when in ((one, "early", school.NOW + 10), (two, "late", school.NOW + 20)):
        with store.change() as connection:
            people.change_person(connection, s.student, now_utc_s=when, contact=contact)
    merge(one, two)
    merge(two, one)
    for store in (one, two):
        with store.read() as connection:
            assert people.person_by_id(connection, s.student.id).contact == "late"


def test_what_was_taken_out_here_does_not_come_back(make_store: MakeStore) -> None:
    (one, s), two = make_store.full("one"), make_store("two")
    merge(two, one)
    forget_student(one, s.student, now_utc_s=school.NOW)
    before = content(one)
    merge(one, two)
    after = content(one)
    assert after["flight"] == before["flight"]
    assert after["recording"] == []
    assert after["note"] == []
    assert after["person"] == before["person"]


def test_a_flight_taken_out_here_does_not_come_back_and_theirs_is_pointed_out(make_store: MakeStore) -> None:
    (one, s), two = make_store.full("one"), make_store("two")
    merge(two, one)
    with one.change() as connection:
        solo = next(f for f in flights.flights_of(connection, s.student.id) if f.flight.role == "solo")
        flights.remove_flight(connection, solo.flight.id, now_utc_s=school.NOW)
    merge(one, two)
    assert len(content(one)["flight"]) == 1
    said = merge(two, one).said
    assert len(content(two)["flight"]) == 2
    assert any("taken out flight" in line for line in said)


def test_an_endorsement_taken_back_here_does_not_come_back_and_theirs_is_pointed_out(make_store: MakeStore) -> None:
    (source, _), target = make_store.full("a"), make_store("b")
    merge(target, source)
    with target.change() as connection:
        first = connection.execute(sa.select(endorsement.c.id)).scalars().first()
        assert first is not None
        keeping.take_back(connection, "endorsement", first, now_utc_s=school.NOW)
    merge(target, source)
    with target.read() as connection:
        assert first not in connection.execute(sa.select(endorsement.c.id)).scalars().all()
    said = merge(source, target).said
    assert any("taken out endorsement" in line for line in said)


def test_a_flight_typed_in_both_logbooks_is_pointed_out(make_store: MakeStore) -> None:
    one, two = make_store("one"), make_store("two")
    for store in (one, two):
        with store.change() as connection:
            s = school.found(connection)
            flights.add_flight(connection, FlightEntry(s.student, "solo", NOON, NOON + H), now_utc_s=NOON)
    done = merge(one, two, same_names=True)
    assert any("overlap" in said for said in done.said)


# --- one student's export -------------------------------------------------------------------------------------------


def test_an_export_holds_the_original_recording_and_tables_for_a_spreadsheet(full: Full, tmp_path: Path) -> None:
    store, s = full
    export_student(store, s.student, tmp_path / "ann.zip")
    with zipfile.ZipFile(tmp_path / "ann.zip") as zipped:
        names = zipped.namelist()
        assert zipped.read(f"recordings/{recordings.sha256_of(RAW)}.csv") == RAW
        assert "flight.csv" in names
        assert zipped.read("flight.csv").decode("utf-8-sig").startswith("id,pilot_id,")
        assert zipped.testzip() is None


def test_an_export_says_nothing_private_of_the_instructor(full: Full, tmp_path: Path) -> None:
    store, s = full
    with store.change() as connection:
        people.change_person(
            connection, s.instructor, now_utc_s=school.NOW, contact="ike@private.example", born_on=date(1960, 7, 8)
        )
    export_student(store, s.student, tmp_path / "ann.zip", instructor_notes=False)
    with zipfile.ZipFile(tmp_path / "ann.zip") as zipped:
        text = zipped.read("student.json").decode()
    assert "Ike Teacher" in text
    assert "ike@private" not in text
    assert "1960-07-08" not in text
    assert "afraid of stalls" not in text


def test_a_cell_a_spreadsheet_would_run_is_text(full: Full, tmp_path: Path) -> None:
    store, s = full
    with store.change() as connection:
        keeping.add_note(connection, s.student, "=HYPERLINK(1)", now_utc_s=school.NOW)
    export_student(store, s.student, tmp_path / "ann.zip")
    with zipfile.ZipFile(tmp_path / "ann.zip") as zipped:
        assert ",'=HYPERLINK(1)," in zipped.read("note.csv").decode("utf-8-sig")
        assert '"=HYPERLINK(1)"' in zipped.read("student.json").decode()


# --- forgetting -----------------------------------------------------------------------------------------------------


def test_forgetting_keeps_the_instructors_time_and_the_endorsements_of_three_years(full: Full) -> None:
    """14 CFR 61.189: name, kind and date of solo endorsements for 3 years. [V]"""
    store, s = full
    done = forget_student(store, s.student, now_utc_s=school.NOW)
    assert (done.flights_removed, done.flights_without_name, done.recordings_removed) == (1, 1, 1)
    assert (done.endorsements_kept, done.keep_until) == (1, date(2029, 6, 14))
    found = content(store)
    (kept,) = found["endorsement"]
    assert kept["kind"] == "us.endorsement.solo"
    (left,) = found["flight"]
    assert (left["pilot_id"], left["instructor_id"], left["dual_s"]) == (None, s.instructor.id, 1.3 * H)
    for name in ("note", "mark", "dated", "debrief", "episode", "criterion", "recording", "recording_bytes", "lesson"):
        assert found[name] == [], name
    ann = next(row for row in found["person"] if row["id"] == s.student.id)
    assert (ann["born_on"], ann["contact"], ann["is_student"]) == (None, "", False)


def test_an_endorsement_older_than_three_years_is_not_kept(store: Store) -> None:
    """14 CFR 61.189(c): at least 3 years. [V] Given on 14 June 2023 it is kept through 14 June 2026, not the 15th."""
    with store.change() as connection:
        s = school.found(connection)
        for given in (date(2023, 6, 14), date(2023, 6, 15)):
            school.endorse(connection, s.student, s.instructor, "endorsement.solo", given, make_model="Larkmoor 155")
    done = forget_student(store, s.student, now_utc_s=school.NOW)  # on 15 June 2026
    assert (done.endorsements_kept, done.keep_until) == (1, date(2026, 6, 15))


def test_what_had_to_be_kept_goes_when_the_time_is_over(full: Full) -> None:
    store, s = full
    done = forget_student(store, s.student, now_utc_s=school.NOW)
    assert done.keep_until is not None
    with store.change() as connection:
        assert forgetting.drop_kept(connection, today=done.keep_until) == 0
        assert forgetting.drop_kept(connection, today=done.keep_until + timedelta(days=1)) == 1
        assert connection.execute(sa.select(sa.func.count()).select_from(endorsement)).scalar() == 0
        assert [p.name for p in people.people(connection)] == ["Ike Teacher"]


def test_nothing_of_the_forgotten_is_left_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "l.sqlite"
    store = open_store(path, create=True)
    s = school.fill(store)
    assert b"Ann is afraid" in path.read_bytes() + (tmp_path / "l.sqlite-wal").read_bytes()
    forget_student(store, s.student, now_utc_s=school.NOW)
    with store.change() as connection:
        forgetting.drop_kept(connection, today=date(2040, 1, 1))
    forgetting.compact(store)
    store.close()
    left = b"".join(p.read_bytes() for p in tmp_path.iterdir())  # three letters stand in a random key by chance
    for word in (b"Ann Example", b"afraid", b"look outside", b"calm wind", b"flew well"):
        assert word not in left, word


def test_an_instructor_of_others_can_not_be_forgotten(full: Full) -> None:
    store, s = full
    with pytest.raises(InputError, match="instructor"):
        forget_student(store, s.instructor, now_utc_s=school.NOW)


# --- looking it over ------------------------------------------------------------------------------------------------


def test_a_sound_logbook_has_nothing_wrong(full: Full) -> None:
    store, s = full
    with store.change() as connection:
        flights.add_flight(
            connection, FlightEntry(s.student, "dual", NOON + 30 * H, NOON + 31 * H, instructor=s.instructor),
            now_utc_s=school.NOW,
        )  # fmt: skip
    found = check(store)
    assert found.wrong == ()
    assert any("not signed" in said for said in found.look_at)


def test_a_rotten_recording_is_found(full: Full) -> None:
    store, _ = full
    with store.change() as connection:
        connection.execute(sa.update(recording_bytes).values(original=b"rot", packing="none"))
    assert any("damaged" in said for said in check(store).wrong)


def test_the_student_of_a_kept_endorsement_is_not_listed_as_a_student(full: Full) -> None:
    store, s = full
    forget_student(store, s.student, now_utc_s=school.NOW)
    with store.read() as connection:
        assert people.people(connection, students=True) == ()
        assert connection.execute(sa.select(person.c.name).where(person.c.id == s.student.id)).scalar() == "Ann Example"
        assert connection.execute(sa.select(flight.c.remarks)).scalars().all() == [""]
