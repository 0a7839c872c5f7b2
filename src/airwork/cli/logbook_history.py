"""Who changed what, when: the newest entries of the history, or those of one thing.

  airwork logbook history
  airwork logbook history 3f2a9c --json

Each entry is chained to the one before it by its hash; airwork logbook check finds what was changed behind it.
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import Told, table
from airwork.logbook.changes import changes

BOOK = "read"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("thing", nargs="?", default="", metavar="ID", help="of a flight, a person, a mark …")
    parser.add_argument("--most", type=int, default=40, metavar="N", help="40 if not given")


def run(args: argparse.Namespace, book: Connection) -> Told:
    """The entries, newest first."""
    found = changes(book, thing=args.thing, most=max(1, args.most))
    rows = [(one.when, one.by, f"{one.what} {one.called}", one.action, one.told) for one in found]
    return Told(found, lambda: table(("when (UTC)", "by", "what", "", "from → to"), rows))
