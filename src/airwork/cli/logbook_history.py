"""Who changed what, when: the newest entries of the history, or those of one thing.

  airwork logbook history
  airwork logbook history 3f2a9c --json

Each entry is chained to the one before it by its hash; airwork logbook check finds what was changed behind it.
"""

from __future__ import annotations

import argparse

from airwork.cli import DONE
from airwork.cli.logbook_tools import json_option, opened, print_json, table


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("thing", nargs="?", default="", metavar="ID", help="of a flight, a person, a mark …")
    parser.add_argument("--most", type=int, default=40, metavar="N", help="40 if not given")
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print it, newest first."""
    from airwork.logbook.changes import changes

    with opened(args) as store, store.read() as connection:
        found = changes(connection, thing=args.thing, most=max(1, args.most))
    if args.json:
        print_json(found)
        return DONE
    rows = [(one.when, one.by, f"{one.what} {one.called}", one.action, one.told) for one in found]
    print(table(("when (UTC)", "by", "what", "", "from → to"), rows))
    return DONE
