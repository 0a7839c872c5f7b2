"""A pilot's flights with their hours, as a table, or printed as a PDF with sums.

airwork logbook hours Ann
airwork logbook hours Ann --pdf hours.pdf --paper letter
"""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from sqlalchemy import Connection

from airwork.cli.logbook_tools import Told, counted, now_s, table
from airwork.days import local_date, read_date
from airwork.files import write_whole
from airwork.logbook import pages, people
from airwork.logbook.records import hours
from airwork.output.hours import HEAD, hours_pdf, hours_rows

BOOK = "read"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("--pdf", metavar="FILE.pdf", type=Path, help="print as a PDF")
    parser.add_argument("--paper", choices=["a4", "letter"], default="letter")
    parser.add_argument("--from", dest="first", metavar="DATE")
    parser.add_argument("--to", dest="last", metavar="DATE")


def run(args: argparse.Namespace, book: Connection) -> Told:
    """The table; the PDF is written."""
    first = read_date(args.first, "--from") if args.first else date.min
    last = read_date(args.last, "--to") if args.last else date.max
    who = people.find_person(book, args.student)
    flown = [x for x in pages.flight_lines(book, who.id)[::-1] if first <= x.logged.flight.local_date <= last]
    sums = pages.totals([line.logged for line in flown])
    if args.pdf is not None:
        write_whole(args.pdf, hours_pdf(who, flown, sums, local_date(now_s(), who.time_zone), args.paper))

    def text() -> str:
        rows, total = hours_rows(flown, sums)
        out = [f"{who.name}: {hours(sums.time_s('total')) or '0.0'} h in {counted(sums.flights, 'flight')}",
               table(HEAD, [*rows, total], right=tuple(range(4, len(HEAD) - 1)))]  # fmt: skip
        return "\n".join(out if args.pdf is None else [*out, f"printed: {args.pdf}"])

    return Told({"pilot": who.name, "flights": flown, "totals": sums}, text)
