"""Everything of one student as a zip: JSON, CSV tables and the recordings as they came.

airwork logbook export Ann ann.zip
airwork logbook import ann.zip --data another_logbook.sqlite
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import DONE
from airwork.cli.logbook_tools import counted, opened


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("out", metavar="FILE.zip", type=Path)
    parser.add_argument(
        "--without-instructors-notes", action="store_true", help="leave out notes meant for instructors"
    )


def run(args: argparse.Namespace) -> int:
    """Write the zip."""
    from airwork.logbook import people
    from airwork.logbook.exporting import export_student

    with opened(args) as store:
        with store.read() as connection:
            who = people.find_person(connection, args.student)
        counts = export_student(store, who, args.out, instructor_notes=not args.without_instructors_notes)
    print(f"{args.out}: " + ", ".join(counted(n, thing) for thing, n in counts.items() if n))
    print("  it holds personal data; keep it where only the student and you can read it")
    return DONE
