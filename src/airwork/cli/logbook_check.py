"""Look the logbook over: is it whole, do recordings match their hashes, do the flights make sense.

  airwork logbook check
  airwork logbook check --noted 3f9a02c41b7e8d55

--noted is the newest entry's hash as an earlier check or backup printed it, written down outside the logbook: it shows
whether entries were cut off at the end, all of it was written anew, or an older backup put in its place.
"""

from __future__ import annotations

import argparse

from airwork.cli import COULD_NOT, DONE
from airwork.cli.logbook_tools import counted, json_option, opened, print_json


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--noted", metavar="HASH", default="", help="a newest entry's hash noted down earlier")
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Check it; exit code 2 when it is damaged."""
    from airwork.logbook.checking import check

    with opened(args) as store:
        found = check(store, noted=args.noted)
        where = store.where
    if args.json:
        print_json(found)
        return COULD_NOT if found.wrong else DONE
    rows = found.rows
    print(f"{where}: " + ", ".join(counted(rows[thing], thing) for thing in ("person", "flight", "recording")))
    for line in found.wrong:
        print(f"  WRONG: {line}")
    for line in found.look_at:
        print(f"  look at: {line}")
    if not found.wrong:
        print("  the logbook is whole; every change in it is in its history")
    print(f"  newest entry of the history: {found.newest[:16]} (note it down elsewhere: check --noted)")
    return COULD_NOT if found.wrong else DONE
