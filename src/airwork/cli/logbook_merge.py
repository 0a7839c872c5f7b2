"""Join another logbook into this one: what only it has is added, the later correction stands.

airwork logbook merge laptop.sqlite
airwork logbook merge laptop.sqlite --same-names
"""

from __future__ import annotations

import argparse

from airwork.cli import DONE
from airwork.cli.logbook_tools import agree_option, counted, opened, said


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("other", metavar="PATH|URL", help="the logbook to bring in; it is not changed")
    parser.add_argument(
        "--same-names", action="store_true", help="a person of the same name in both is the same person"
    )
    agree_option(parser)


def run(args: argparse.Namespace) -> int:
    """Merge it."""
    from airwork.logbook.merging import merge
    from airwork.logbook.store import open_store

    with opened(args, create=True) as store:
        other = open_store(args.other)
        try:
            done = merge(store, other, same_names=args.same_names, agreed=args.agree)
        finally:
            other.close()
    if done.nothing_new:
        print("nothing was changed: all it has is here already, or was forgotten here and stays so")
    else:
        added = ", ".join(counted(n, thing) for thing, n in done.added.items() if n) or "nothing"
        changed = ", ".join(counted(n, thing) for thing, n in done.changed.items() if n)
        print(f"added: {added}" + (f"; corrected: {changed}" if changed else ""))
    said(done.changes)
    said(done.said)
    return DONE
