"""Join another logbook into this one: what only it has is added, the later correction stands.

airwork logbook merge laptop.sqlite
airwork logbook merge laptop.sqlite --same-names
"""

from __future__ import annotations

import argparse

from airwork.cli.logbook_tools import agree_option, joined
from airwork.logbook.merging import merge
from airwork.logbook.store import Store, open_store

BOOK, CREATES = "store", True


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("other", metavar="PATH|URL", help="the logbook to bring in; it is not changed")
    parser.add_argument(
        "--same-names", action="store_true", help="a person of the same name in both is the same person"
    )
    agree_option(parser)


def run(args: argparse.Namespace, book: Store) -> str:
    other = open_store(args.other)
    try:
        done = merge(book, other, same_names=args.same_names, agreed=args.agree)
    finally:
        other.close()
    nothing = "nothing was changed: all it has is here already, or was forgotten here and stays so"
    return joined(done, "added", "corrected", nothing)
