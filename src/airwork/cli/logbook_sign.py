"""Sign training flights, or endorsements, as their instructor, with the instructor's own key.

  airwork logbook sign 3f2a9c --instructor Ike
  airwork logbook sign --endorsements --student Ann --instructor Ike

A signed flight stays as it is: nothing changes, renews or removes it; a correction is a new entry that names it
(airwork logbook add flight --corrects). The key is made once: airwork logbook key.
"""

from __future__ import annotations

import argparse

from airwork.cli import DONE
from airwork.cli.logbook_tools import counted, now_s, opened, password, password_option
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("flight", nargs="*", metavar="ID")
    parser.add_argument("--instructor", required=True, metavar="NAME")
    parser.add_argument(
        "--endorsements", action="store_true", help="what the instructor endorsed and hasn't signed yet"
    )
    parser.add_argument("--student", metavar="NAME", help="with --endorsements: of this student only")
    password_option(parser)


def run(args: argparse.Namespace) -> int:
    """Sign them, all or none."""
    from airwork.logbook import flights, people, seal

    if bool(args.flight) == args.endorsements:
        raise InputError("name flights, or say --endorsements.", where="sign")
    with opened(args) as store, store.change() as connection:
        by = people.find_person(connection, args.instructor, instructor=True)
        word = password(args, f"password of {by.name}'s key")
        if args.endorsements:
            student = people.find_person(connection, args.student, student=True) if args.student else None
            ids = seal.unsigned_endorsements(connection, by, student)
            seal.sign(connection, "endorsement", ids, by, word, now_utc_s=now_s())
        for identity in args.flight:
            flights.sign_flight(connection, identity, by, word, now_utc_s=now_s())
    what = counted(len(ids), "endorsement") if args.endorsements else counted(len(args.flight), "flight")
    print(f"{what} signed by {by.name}")
    return DONE
