"""Sign a training flight as its instructor.

airwork logbook sign 3f2a9c --instructor Ike
"""

from __future__ import annotations

import argparse

from airwork.cli import DONE
from airwork.cli.logbook_tools import data_option, now_s, opened


def configure(parser: argparse.ArgumentParser) -> None:
    """Arguments."""
    parser.add_argument("flight", nargs="+", metavar="ID")
    parser.add_argument("--instructor", required=True, metavar="NAME")
    data_option(parser)


def run(args: argparse.Namespace) -> int:
    """Sign them, all or none."""
    from airwork.logbook import flights, people

    with opened(args) as store, store.change() as connection:
        by = people.find_person(connection, args.instructor, instructor=True)
        for identity in args.flight:
            flights.sign_flight(connection, identity, by, now_utc_s=now_s())
    print(f"{len(args.flight)} flight{'s' if len(args.flight) > 1 else ''} signed by {by.name}")
    return DONE
