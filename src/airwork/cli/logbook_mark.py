"""Give the instructor's or the student's mark for a task of a flight; it stands beside what airwork measured.

  airwork logbook mark practice --flight 3f2a9c --task steep_turn --instructor Ike --remark "late roll-out"
  airwork logbook mark perform --flight 3f2a9c --episode 2 --student Ann

The scale is the learner-centered one of the FAA's instructor's handbook: not observed, describe, explain, practice,
perform (words of the handbook, meanings from memory). The instructor's mark always stands.
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import lines, now_s
from airwork.errors import InputError
from airwork.logbook import flights, marks, people

BOOK = "change"


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("level", metavar="LEVEL", help="not-observed, describe, explain, practice or perform")
    add("--flight", required=True, metavar="ID")
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("--task", metavar="KIND", help="steep_turn, slow_flight, …, or a task of your own")
    which.add_argument("--episode", type=int, metavar="N", help="the maneuver's number on the flight's page")
    who = parser.add_mutually_exclusive_group(required=True)
    who.add_argument("--instructor", metavar="NAME", help="who marks")
    who.add_argument("--student", metavar="NAME", help="the student marks")
    add("--remark", default="", metavar="WORDS")


def run(args: argparse.Namespace, book: Connection) -> str:
    """Write the mark down."""
    row = flights.flight_by_id(book, args.flight)
    if row.pilot_id is None:
        raise InputError("its student was forgotten.", where=f"flight {row.id[:8]}")
    marks.give_mark(
        book, people.person_by_id(book, row.pilot_id), (args.task or "x").strip().lower().replace(" ", "_"),
        args.level, given_by="instructor" if args.instructor else "student",
        by=people.find_person(book, args.instructor or args.student), now_utc_s=now_s(), flight_id=row.id,
        position=None if args.episode is None else args.episode - 1, remark=args.remark,
    )  # fmt: skip
    level = marks.read_level(args.level)
    later = "the flight is signed: this mark is no part of what is signed, and is shown as given after it"
    return lines(f"{level}: {marks.SCALE[level]}", *([] if row.signed_utc_s is None else [later]))
