"""Enter an endorsement, a date or a note.

  airwork logbook add endorsement --student Ann --instructor Ike --kind endorsement.solo --airplane "Larkmoor 155"
  airwork logbook add endorsement --student Ann --instructor Ike --kind solo_other_airport --place NEAR
  airwork logbook add date --person Ann --kind medical.third --on 2026-01-05
  airwork logbook add note "flares high" --student Ann --by Ike --for-instructors

The endorsements and dates there are: airwork logbook list kinds. A date of your own needs --expires.
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import lines, now_s, typed
from airwork.logbook import flights, keeping, people
from airwork.logbook import typed as read

BOOK = "change"


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    add = parser.add_argument
    if what in {"endorsement", "date"}:
        add("--kind", required=True, help="which: airwork logbook list kinds")
        add("--on", metavar="DATE", help="when given; today if not given")
        add("--expires", metavar="DATE", help="when written on it; else as the rules say")
    if what == "endorsement":
        add("--student", required=True, metavar="NAME")
        add("--instructor", required=True, metavar="NAME")
        add("--airplane", dest="model", metavar="MODEL", help="make and model, or a registration in the logbook")
        add("--place", metavar="IDENT")
        add("--words", help="conditions and limits")
        add("--result", help="of the test endorsed for")
    elif what == "date":
        add("--person", "--student", dest="student", required=True, metavar="NAME")
        add("--remark")
    else:
        add("words", metavar="WORDS")
        add("--student", required=True, metavar="NAME")
        add("--by", metavar="NAME")
        add("--flight", metavar="ID")
        add("--for-instructors", action="store_true", help="not for the student's eyes")


def run(args: argparse.Namespace, book: Connection, what: str) -> str:
    who, now = people.find_person(book, args.student), now_s()
    teacher = getattr(args, "instructor", None)
    by = people.find_person(book, teacher, instructor=True) if teacher else None
    if what in {"endorsement", "date"}:
        done = read.paper(book, who, typed(args), by=by, now_utc_s=now, mark="--")
        rule = [] if done.rule is None else ["; ".join(filter(None, [done.rule.known, done.rule.note]))]
        lacks = keeping.lacking(book, who, done.rule, done.held.on_date, done.held.make_model) if by else ()
        first = f"{'endorsed ' if by else ''}{who.name}: {done.text}, {done.how_long}"
        return lines(first, *rule, *lacks, *filter(None, [done.remark]))
    author = people.find_person(book, args.by) if args.by else None
    on = flights.flight_by_id(book, args.flight).id if args.flight else None
    keeping.add_note(
        book, who, args.words, now_utc_s=now, by=author, flight_id=on, for_instructors=args.for_instructors
    )
    return f"noted for {who.name}"
