"""Everything of one student as a zip: JSON, CSV tables and the recordings as they came.

airwork logbook export Ann ann.zip
airwork logbook export Ann ann.zip --without-instructors-notes
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli.logbook_tools import counted_all, lines
from airwork.logbook.exporting import export_student
from airwork.logbook.people import find_person
from airwork.logbook.store import Store

BOOK = "store"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("out", metavar="FILE.zip", type=Path)
    parser.add_argument(
        "--without-instructors-notes", action="store_true", help="leave out notes meant for instructors"
    )


def run(args: argparse.Namespace, book: Store) -> str:
    with book.read() as connection:
        who = find_person(connection, args.student)
    counts = export_student(book, who, args.out, instructor_notes=not args.without_instructors_notes)
    private = "it holds personal data; keep it where only the student and you can read it"
    return lines(f"{args.out}: {counted_all(counts)}", private)
