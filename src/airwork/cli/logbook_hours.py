"""A pilot's flights with their hours, as a table, or printed as a PDF with sums.

airwork logbook hours Ann
airwork logbook hours Ann --pdf hours.pdf --paper letter
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import DONE
from airwork.cli.logbook_tools import counted, hours, json_option, now_s, opened, print_json, table


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("--pdf", metavar="FILE.pdf", type=Path, help="print as a PDF")
    parser.add_argument("--paper", choices=["a4", "letter"], default="letter")
    parser.add_argument("--from", dest="first", metavar="DATE")
    parser.add_argument("--to", dest="last", metavar="DATE")
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print the table and write the PDF."""
    from airwork.logbook import pages, people
    from airwork.logbook.days import local_date, read_date
    from airwork.output.hours import HEAD, hours_rows

    first = read_date(args.first, "--from") if args.first else None
    last = read_date(args.last, "--to") if args.last else None
    with opened(args) as store, store.read() as connection:
        who = people.find_person(connection, args.student)
        lines = [
            line
            for line in pages.flight_lines(connection, who.id)[::-1]
            if (first is None or line.logged.flight.local_date >= first)
            and (last is None or line.logged.flight.local_date <= last)
        ]
    sums = pages.totals([line.logged for line in lines])
    if args.json:
        print_json({"pilot": who.name, "flights": lines, "totals": sums})
    else:
        rows, total = hours_rows(lines, sums)
        print(f"{who.name}: {hours(sums.time_s('total')) or '0.0'} h in {counted(sums.flights, 'flight')}")
        print(table(HEAD, [*rows, total], right=tuple(range(4, len(HEAD) - 1))))
    if args.pdf is not None:
        from airwork.files import write_whole
        from airwork.output.hours import hours_pdf

        write_whole(args.pdf, hours_pdf(who, lines, sums, local_date(now_s(), who.time_zone), args.paper))
        if not args.json:
            print(f"printed: {args.pdf}")
    return DONE
