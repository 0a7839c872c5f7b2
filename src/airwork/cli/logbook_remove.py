"""Take a flight out of the logbook, with its debrief, marks and notes.

airwork logbook remove 3f2a9c --yes
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import now_s
from airwork.errors import InputError
from airwork.logbook import flights
from airwork.logbook.records import hours

BOOK = "change"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("flight", metavar="ID")
    parser.add_argument("--yes", action="store_true", help="really; it can't be undone")


def run(args: argparse.Namespace, book: Connection) -> str:
    row = flights.flight_by_id(book, args.flight)
    about = f"flight {row.id[:8]} of {row.local_date}, {row.role} {hours(row.total_s) or '0.0'} h"
    if not args.yes:
        raise InputError(f"this takes out {about}; add --yes.", where="remove")
    flights.remove_flight(book, row.id, now_utc_s=now_s())
    return f"{about}: removed"
