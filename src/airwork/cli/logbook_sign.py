"""Sign training flights, or endorsements, as their instructor, with the instructor's own key.

  airwork logbook sign 3f2a9c --instructor Ike
  airwork logbook sign --endorsements --student Ann --instructor Ike

A signed flight stays as it is: nothing changes, renews or removes it; a correction is a new entry that names it
(airwork logbook add flight --corrects). The key is made once: airwork logbook key.
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import counted, now_s, password, password_option
from airwork.errors import InputError
from airwork.logbook import flights, people, seal

BOOK = "change"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("flight", nargs="*", metavar="ID")
    parser.add_argument("--instructor", required=True, metavar="NAME")
    parser.add_argument(
        "--endorsements", action="store_true", help="what the instructor endorsed and hasn't signed yet"
    )
    parser.add_argument("--student", metavar="NAME", help="with --endorsements: of this student only")
    password_option(parser)


def run(args: argparse.Namespace, book: Connection) -> str:
    """Sign them, all or none."""
    if bool(args.flight) == args.endorsements:
        raise InputError("name flights, or say --endorsements.", where="sign")
    by = people.find_person(book, args.instructor, instructor=True)
    word = password(args, f"password of {by.name}'s key")
    for identity in args.flight:
        flights.sign_flight(book, identity, by, word, now_utc_s=now_s())
    if args.flight:
        return f"{counted(len(args.flight), 'flight')} signed by {by.name}"
    student = people.find_person(book, args.student, student=True) if args.student else None
    ids = seal.unsigned_endorsements(book, by, student)
    seal.sign(book, "endorsement", ids, by, word, now_utc_s=now_s())
    return f"{counted(len(ids), 'endorsement')} signed by {by.name}"
