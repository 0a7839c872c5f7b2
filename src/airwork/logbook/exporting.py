"""Everything of one student in one zip: JSON, CSV and the recordings as they came; and taking such a zip in again."""

from __future__ import annotations

import csv
import io
import json
import math
import zipfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Table

from airwork.errors import InputError
from airwork.logbook import carry, recordings, sqlite_files
from airwork.logbook.merging import Merged, merge
from airwork.logbook.plausible import refuse_implausible
from airwork.logbook.records import Person, clean_name
from airwork.logbook.schema import (
    OF_FLIGHT,
    TABLES,
    WHOSE,
    airplane,
    endorsement,
    flight,
    history,
    note,
    person,
    place,
    recording,
    recording_bytes,
    removed,
    signature,
    signing_key,
)
from airwork.logbook.store import Store, memory_store

FORMAT, VERSION = "airwork student", 2
_READ = (1, 2)  # 1: from before signatures
# What a hundred megabytes of JSON come to in memory: some hundred bytes to a text, a list or a table of it.
_LARGEST_JSON, _MOST_TEXTS, _MOST_LISTS = 100_000_000, 5_000_000, 3_000_000
_LARGEST_RECORDING = 512_000_000
_README = """Everything this logbook holds about one student, written by airwork.

student.json   every row, as airwork logbook import takes it in again
*.csv          the same as tables; units stand in the column names, times are seconds since 1970-01-01 UTC
recordings/    the recordings as they came, named by the SHA-256 of their bytes

Of instructors only name and certificate number are in it.
"""


def export_student(store: Store, student: Person, path: Path, *, instructor_notes: bool = True) -> dict[str, int]:
    """Write the zip, whole or not at all; returns rows by table.

    instructor_notes : also the notes meant for instructors only.
    """
    with sqlite_files.beside(path) as draft:
        with zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as out, store.read() as connection:
            tables = _tables(connection, student, instructor_notes=instructor_notes)
            _write(out, connection, tables)
        sqlite_files.settle(draft, path)
    return {name: len(rows) for name, rows in tables.items()}


def _tables(connection: Connection, student: Person, *, instructor_notes: bool) -> dict[str, list[dict[str, Any]]]:
    mine = flight.c.pilot_id == student.id
    ids = sa.select(flight.c.id).where(mine)
    notes = note.c.person_id == student.id
    if not instructor_notes:
        notes = sa.and_(notes, note.c.for_instructors.is_(False))
    which: dict[Table, sa.ColumnElement[bool]] = {
        **{table: table.c[column] == student.id for table, column in WHOSE.items()},
        **{table: table.c.flight_id.in_(ids) for table in OF_FLIGHT},
        note: notes,
        recording: recording.c.sha256.in_(sa.select(flight.c.recording_sha256).where(mine)),
        signature: sa.or_(
            sa.and_(signature.c.what == "flight", signature.c.thing_id.in_(ids)),
            sa.and_(
                signature.c.what == "endorsement",
                signature.c.thing_id.in_(sa.select(endorsement.c.id).where(endorsement.c.student_id == student.id)),
            ),
        ),
        history: history.c.thing_id.in_(ids),
    }
    found = {t.name: [row for batch in carry.rows(connection, t, w) for row in batch] for t, w in which.items()}
    keys = _referred(connection, signing_key, {r["key_id"] for r in found["signature"]})
    found["signing_key"] = [{**row, "private_pem": ""} for row in keys]
    found["airplane"] = _referred(connection, airplane, {r["airplane_id"] for r in found["flight"]})
    found["place"] = _referred(connection, place, {r["place_id"] for r in found["stop"]})
    people = {
        row[name]
        for rows in found.values()
        for row in rows
        for name in ("instructor_id", "by_id", "signed_by_id", "person_id")
        if row.get(name)
    }
    # of an instructor the name alone; changed_utc_s 0: it never overwrites the whole entry elsewhere
    only_name = {"born_on": None, "contact": "", "is_student": False, "changed_utc_s": 0.0}
    found["person"] = [
        row if row["id"] == student.id else {**row, **only_name}
        for row in _referred(connection, person, people | {student.id})
    ]
    return {t.name: found[t.name] for t in TABLES if t.name in found}


def _referred(connection: Connection, table: Table, ids: set[Any]) -> list[dict[str, Any]]:
    wanted = sorted(i for i in ids if i)
    return [row for batch in carry.rows(connection, table, table.c.id.in_(wanted)) for row in batch]


def _write(out: zipfile.ZipFile, connection: Connection, tables: dict[str, list[dict[str, Any]]]) -> None:
    content = {"format": FORMAT, "version": VERSION, "tables": tables}
    out.writestr("README.txt", _README)
    out.writestr("student.json", json.dumps(content, ensure_ascii=False, indent=1, default=date.isoformat))
    for name, rows in tables.items():
        if rows:
            out.writestr(f"{name}.csv", _csv(rows))
    for row in tables["recording"]:
        file_name, raw = recordings.original(connection, row["sha256"])
        out.writestr(f"recordings/{row['sha256']}{Path(file_name).suffix[:12]}", raw)


def _csv(rows: Sequence[dict[str, Any]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({k: _cell(v) for k, v in row.items()} for row in rows)
    return "\ufeff" + out.getvalue()  # so that a spreadsheet reads it as UTF-8


def _cell(value: Any) -> Any:
    """A spreadsheet takes text that begins with = + - @ for a formula; a leading apostrophe keeps it text."""
    return f"'{value}" if isinstance(value, str) and value[:1] in {"=", "+", "-", "@", "\t"} else value


def import_student(store: Store, path: Path, *, same_names: bool = False, agreed: bool = True) -> Merged:
    """Take a student's export into a logbook; what is signed there stays as it is, other changes want `agreed`.

    Raises
    ------
    InputError : not such a zip, or a row or a recording in it that can't be right.
    """
    try:
        with zipfile.ZipFile(path) as zipped:
            content = _content(zipped, str(path))
            carrier = memory_store()
            try:
                with carrier.change() as connection:
                    _fill(connection, content, zipped, str(path))
                return merge(store, carrier, same_names=same_names, came_from=path.name, agreed=agreed)
            finally:
                carrier.close()
    except zipfile.BadZipFile:
        raise InputError("is no zip file.", where=str(path)) from None


def _content(zipped: zipfile.ZipFile, where: str) -> dict[str, list[dict[str, Any]]]:
    try:
        about = zipped.getinfo("student.json")
    except KeyError:
        raise InputError("is no export of a student (no student.json in it).", where=where) from None
    if about.file_size > _LARGEST_JSON:
        raise InputError("student.json is larger than any logbook's.", where=where)
    raw = zipped.read(about)
    if (raw.count(b'"') - raw.count(b'\\"')) / 2 > _MOST_TEXTS or raw.count(b"[") + raw.count(b"{") > _MOST_LISTS:
        raise InputError("student.json holds more than any logbook's.", where=where)
    try:
        content = json.loads(raw)
    except (ValueError, RecursionError):
        raise InputError("student.json is not JSON.", where=where) from None
    if not isinstance(content, dict) or content.get("format") != FORMAT:
        raise InputError("is no export of a student.", where=where)
    if content.get("version") not in _READ:
        raise InputError(f"is of version {content.get('version')}; this airwork reads up to {VERSION}.", where=where)
    tables = content.get("tables")
    if not isinstance(tables, dict) or not all(isinstance(rows, list) for rows in tables.values()):
        raise InputError("student.json holds no tables.", where=where)
    _refuse_others(tables, where)
    return tables


_WHOSE = {table.name: column for table, column in WHOSE.items()}
_NEVER = {recording_bytes.name, removed.name}  # in an export


def _refuse_others(tables: dict[str, Any], where: str) -> None:
    """A student's export speaks of that student alone, whoever has had it in their hands."""
    held = {table.name for table in TABLES} - _NEVER
    strange = [name for name, rows in tables.items() if rows and name not in held]
    if strange:
        raise InputError(f"no export of a student holds {strange[0][:40]!r}.", where=where)
    rows = {name: [r for r in tables.get(name, []) if isinstance(r, dict)] for name in (*_WHOSE, "person")}
    students = {str(r.get("id")) for r in rows["person"] if r.get("is_student") is True}
    if len(students) != 1:
        raise InputError(f"holds {len(students)} students, not one.", where=where)
    for name, column in _WHOSE.items():
        if any(str(r.get(column)) not in students for r in rows[name]):
            raise InputError(f"holds a {name} of somebody else than its one student.", where=where)


def _fill(
    connection: Connection, content: dict[str, list[dict[str, Any]]], zipped: zipfile.ZipFile, where: str
) -> None:
    for table in TABLES:
        insert = sa.insert(table)
        for row in content.get(table.name, []):
            try:
                values = {c.name: _typed(c, row[c.name]) for c in table.columns if c.name in row or c.name not in _NEW}
                if table is person:
                    clean_name(values["name"], where)
                refuse_implausible(table.name, values)
                connection.execute(insert, values)
            except InputError as problem:
                raise InputError(f"a {table.name} in it can't be taken in: {problem}", where=where) from None
            except (KeyError, TypeError, ValueError, OverflowError) as problem:
                raise InputError(f"a row of {table.name} can't be read ({problem}).", where=where) from None
            except sa.exc.IntegrityError as problem:
                raise InputError(
                    f"a row of {table.name} doesn't fit the others ({problem.orig}).", where=where
                ) from None
        if table is recording:
            _fill_recordings(connection, zipped, where)


_NEW = {"corrects_id", "came_from"}  # columns that version 1 hadn't


def _typed(column: sa.Column[Any], value: Any) -> Any:
    if value is None:
        return None
    if isinstance(column.type, sa.Date):
        return date.fromisoformat(value)
    kind = column.type.python_type
    wanted = (int, float) if kind is float else (kind,)
    if not isinstance(value, wanted) or (isinstance(value, bool) and bool not in wanted):
        raise TypeError(f"{column.name} is {value!r:.40}")
    if isinstance(value, (int, float)) and not math.isfinite(value):  # an integer beyond any double overflows
        raise ValueError(f"{column.name} is {value!r:.40}")
    return value


def _fill_recordings(connection: Connection, zipped: zipfile.ZipFile, where: str) -> None:
    by_hash = {Path(name).stem: name for name in zipped.namelist() if name.startswith("recordings/")}
    for (sha256,) in connection.execute(sa.select(recording.c.sha256)).all():
        name = by_hash.get(sha256)
        if name is None:
            raise InputError(f"recording {sha256[:12]} is missing from it.", where=where)
        if zipped.getinfo(name).file_size > _LARGEST_RECORDING:
            raise InputError(f"recording {sha256[:12]} is larger than any recording.", where=where)
        raw = zipped.read(name)
        if recordings.sha256_of(raw) != sha256:
            raise InputError(f"recording {sha256[:12]} is damaged: its bytes don't match its hash.", where=where)
        packed = recordings.pack(raw, "")
        connection.execute(
            sa.insert(recording_bytes),
            {
                "sha256": sha256,
                "packing": packed.packing,
                "original": packed.original,
                "columns_parquet": None,
                "facts_json": "{}",
            },
        )
