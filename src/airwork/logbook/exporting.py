"""Everything of one student in one zip: JSON, CSV and the recordings as they came."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Table

from airwork.logbook import carry, recordings, sqlite_files
from airwork.logbook.records import Person
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
    signature,
    signing_key,
)
from airwork.logbook.store import Store

FORMAT, VERSION = "airwork student", 2
_README = """Everything this logbook holds about one student, written by airwork.

student.json   every row of the logbook's tables
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
