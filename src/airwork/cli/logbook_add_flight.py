"""Enter a flight, or a whole CSV of them from an older logbook.

  airwork logbook add flight --student Ann --instructor Ike --airplane INV155 --start "2026-06-14 09:00" \\
      --end "2026-06-14 10:18" --route HOME HOME --takeoffs 4 --landings "3 full-stop" --landings 1
  airwork logbook add flight --student Ann --role solo --airplane INV155 --date 2026-05-02 --hours 0.9 --landings 3
  airwork logbook add flights old_pages.csv --student Ann

--landings and --takeoffs take a number and, of full-stop, night, late-night and towered, what they were; several times
if they differ. Night and tower are worked out where start, end and place tell. late-night is the period that counts for
carrying passengers. The CSV has one line for each flight and these columns, of which date and hours are needed:
date, start, end, hours, role, instructor, airplane, route, takeoffs, landings, night, instrument, actual,
cross_country, test_preparation, ground, passengers, distance_nm, farthest_nm, remarks. Either every line is entered
or none.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from sqlalchemy import Connection

from airwork.cli.logbook_tools import counted, lines, now_s, typed
from airwork.errors import InputError
from airwork.logbook import flights, people
from airwork.logbook.doubts import odd, require_possible
from airwork.logbook.paper import enter_csv
from airwork.logbook.records import hours
from airwork.logbook.taken import in_the_way
from airwork.logbook.typed import flight

BOOK = "change"


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    add = parser.add_argument
    if what == "flights":
        add("file", metavar="FILE.csv", type=Path)
        add("--student", required=True, metavar="NAME", help="whose flights they are")
        add("--overlap", action="store_true", help="enter them although one is like a flight on record")
        return
    add("--student", "--pilot", dest="student", required=True, metavar="NAME", help="whose flight it is")
    flight_options(parser)
    add("--start", help='"2026-06-14 09:00" local time at the departure, or with its offset')
    add("--end", help='"2026-06-14 10:18"')
    add("--date", help="the day alone, for an entry that has no times")
    add("--takeoffs", action="append", metavar="N…", help='4, or "2 night towered"')
    add("--landings", action="append", metavar="N…", help='4, or "3 full-stop night"')
    add("--distance", help='length of the route: "150 NM"; worked out where the places are known')
    add("--farthest", help='straight distance to the farthest landing: "60 NM"')
    add("--corrects", metavar="ID", help="the signed flight that this entry puts right and counts in place of")
    add("--overlap", action="store_true", help="enter it although it overlaps another flight, or is like one")


def flight_options(parser: argparse.ArgumentParser) -> None:
    """Options that a typed and an imported flight share."""
    add = parser.add_argument
    add("--instructor", metavar="NAME", help="who gave the training")
    add("--role", choices=["dual", "solo", "pic"], help="dual with an instructor if not given")
    add("--airplane", metavar="REGISTRATION")
    add("--route", nargs="+", default=[], metavar="PLACE", help="departure and every place landed at")
    for name, words in (
        ("hours", "of flight"), ("night", "at night"), ("instrument", "by reference to instruments, simulated"),
        ("actual", "in actual instrument conditions"), ("cross-country", "cross-country"), ("pic", "in command"),
        ("test-preparation", "in preparation for the test"), ("ground", "ground training"),
    ):  # fmt: skip
        add(f"--{name}", metavar="H", help=f"hours {words}: 1.3 or 1:18")
    add("--passengers", metavar="N")
    add("--remarks", default="", metavar="WORDS")


def run(args: argparse.Namespace, book: Connection, what: str) -> str:
    pilot = people.find_person(book, args.student)
    if what == "flights":
        raw, name = args.file.read_bytes(), args.file.name
        entered, look_at = enter_csv(book, pilot, raw, name, now_utc_s=now_s(), twice=args.overlap)
        total = hours(sum(one.row.total_s for one in entered)) or "0.0"
        return lines(f"{counted(len(entered), 'flight')} of {pilot.name} entered, {total} h", *look_at)
    teacher = people.find_person(book, args.instructor, instructor=True) if args.instructor else None
    texts = typed(args)
    if args.corrects:
        texts["corrects"] = flights.flight_by_id(book, args.corrects).id
    entry = flight(book, pilot, texts, now_utc_s=now_s(), instructor=teacher, mark="--")
    require_possible(entry, now_s())
    asked = [] if args.overlap else in_the_way(book, entry)
    if asked:
        raise InputError(f"{asked[0]}. If both were flown, enter it with --overlap.", where="flight")
    done = flights.add_flight(book, entry, now_utc_s=now_s(), overlap=args.overlap)
    row = done.row
    return lines(
        f"flight {row.id[:8]} of {row.local_date} entered: {row.role} {hours(row.total_s) or '0.0'} h",
        *done.notes,
        *(f"look at it: {one}" for one in odd(entry)),
    )
