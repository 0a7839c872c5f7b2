"""Enter a student or an instructor.

airwork logbook add student "Ann Example" --born 1990-02-03 --zone America/Denver --aimed private
airwork logbook add instructor "Ike Teacher" --held commercial --zone America/Denver
"""

from __future__ import annotations

import argparse

from airwork.cli.logbook_tools import lines, now_s, typed
from airwork.logbook import people
from airwork.logbook.store import Store
from airwork.logbook.typed import person

BOOK, CREATES = "store", True
PERSON = (
    ("born", "birth date, which medical dates depend on: 1990-02-03"),
    ("zone", "time zone where they fly: America/Denver"),
    ("held", "certificate held: none, student, private, commercial, instructor"),
    ("aimed", "standard aimed at: private, commercial, easa_ppl, …"),
    ("authority", "whose rules: us, eu"),
    ("contact", "telephone, mail, whatever helps"),
)


def person_options(parser: argparse._ActionsContainer) -> None:
    """What stands in a person's entry."""
    for name, words in PERSON:
        parser.add_argument(f"--{name}", help=words)
    parser.add_argument("--certificate-number", dest="number", help="of the certificate held")


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    parser.add_argument("name", metavar="NAME", help="as it shall stand on records")
    person_options(parser)
    parser.set_defaults(zone="UTC", held="commercial" if what == "instructor" else "student")


def run(args: argparse.Namespace, book: Store, what: str) -> str:
    facts = person(typed(args), "--")
    with book.change() as connection:
        entry = people.add_person(
            connection, facts.pop("name"), now_utc_s=now_s(), student=what == "student",
            instructor=what == "instructor", **facts,
        )  # fmt: skip
    more = ["without a birth date the shorter duration of a medical is taken; add it with airwork logbook change"]
    unborn = what == "student" and entry.born_on is None
    return lines(f"{what} {entry.name} entered in {book.where}", *(more if unborn else ()))
