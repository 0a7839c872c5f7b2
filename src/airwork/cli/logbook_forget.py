"""Take a student out of the logbook, but for what the law makes one keep.

  airwork logbook forget Ann --yes

Flights with an instructor stay as the instructor's time, without the name. Backups made before still hold the student.
"""

from __future__ import annotations

import argparse

from airwork.cli.logbook_tools import counted, lines, now_s
from airwork.errors import InputError
from airwork.logbook.forgetting import forget_student
from airwork.logbook.people import find_person
from airwork.logbook.store import Store

BOOK = "store"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("--yes", action="store_true", help="really; it can't be undone")


def run(args: argparse.Namespace, book: Store) -> str:
    """Forget, and say what stays."""
    with book.read() as connection:
        who = find_person(connection, args.student)
    if not args.yes:
        raise InputError(
            f"this takes {who.name} out for good. Export first if they want their record; then add --yes.",
            where="forget",
        )
    done = forget_student(book, who, now_utc_s=now_s())
    gone = f"{counted(done.flights_removed, 'flight')} and {counted(done.recordings_removed, 'recording')} removed"
    unnamed = f"{counted(done.flights_without_name, 'flight')} kept without the name as instructors' time"
    more = ["backups and exports made before still hold the student"]
    if not done.cleared:
        more.insert(0, "another program has the logbook open; its journal is cleared when that has closed")
    if done.endorsements_kept:
        more.insert(0, f"{done.endorsements_kept} endorsements stay until {done.keep_until}: {done.why}")
    return lines(f"{who.name} is forgotten: {gone}, {unnamed}", *more)
