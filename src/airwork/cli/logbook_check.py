"""Look the logbook over: is it whole, do recordings match their hashes, do the flights make sense.

  airwork logbook check
  airwork logbook check --noted 3f9a02c41b7e8d55

--noted is the newest entry's hash as an earlier check or backup printed it, written down outside the logbook: it shows
whether entries were cut off at the end, all of it was written anew, or an older backup put in its place.
"""

from __future__ import annotations

import argparse

from airwork.cli import COULD_NOT, DONE
from airwork.cli.logbook_tools import Told, held, json_option, lines
from airwork.logbook.checking import check
from airwork.logbook.store import Store

BOOK = "store"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--noted", metavar="HASH", default="", help="a newest entry's hash noted down earlier")
    json_option(parser)


def run(args: argparse.Namespace, book: Store) -> Told:
    """Check it; exit code 2 when it is damaged."""
    found = check(book, noted=args.noted)
    text = lines(
        f"{book.where}: {held(found.rows)}",
        *(f"WRONG: {line}" for line in found.wrong),
        *(f"look at: {line}" for line in found.look_at),
        *([] if found.wrong else ["the logbook is whole; every change in it is in its history"]),
        f"newest entry of the history: {found.newest[:16]} (note it down elsewhere: check --noted)",
    )
    return Told(found, lambda: text, COULD_NOT if found.wrong else DONE)
