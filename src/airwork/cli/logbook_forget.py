"""Take a student out of the logbook, but for what the law makes one keep.

  airwork logbook forget Ann --yes

Flights with an instructor stay as the instructor's time, without the name. Backups made before still hold the student.
"""

from __future__ import annotations

import argparse

from airwork.cli import DONE
from airwork.cli.logbook_tools import counted, now_s, opened
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("--yes", action="store_true", help="really; it can't be undone")


def run(args: argparse.Namespace) -> int:
    """Forget, and say what stays."""
    from airwork.jobs.entering_many import tidy
    from airwork.logbook import people
    from airwork.logbook.forgetting import forget_student

    with opened(args) as store:
        with store.read() as connection:
            who = people.find_person(connection, args.student)
        if not args.yes:
            raise InputError(
                f"this takes {who.name} out for good. Export first if they want their record; then add --yes.",
                where="forget",
            )
        done = forget_student(store, who, now_utc_s=now_s())
        tidy(store)  # what `debrief --into` kept beside the logbook
    gone = f"{counted(done.flights_removed, 'flight')} and {counted(done.recordings_removed, 'recording')} removed"
    print(f"{who.name} is forgotten: {gone}, "
          f"{counted(done.flights_without_name, 'flight')} kept without the name as instructors' time")  # fmt: skip
    if done.endorsements_kept:
        print(f"  {done.endorsements_kept} endorsements stay until {done.keep_until}: {done.why}")
    if not done.cleared:
        print("  another program has the logbook open; its journal is cleared when that has closed")
    print("  backups and exports made before still hold the student")
    return DONE
