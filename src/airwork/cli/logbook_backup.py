"""Write a backup of the logbook to one file, and open it to see that every row is in it.

  airwork logbook backup backups/2026-06-15.sqlite
  airwork logbook backup --into backups --keep 30

With --into it is named by its moment, and of those so named in the folder only the newest stay: for a timer, see
docs/logbook.md.

A backup is itself a logbook: --data opens it. A school's PostgreSQL logbook is backed up to the same kind of file.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import COULD_NOT, DONE
from airwork.cli.logbook_tools import counted, opened
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("out", metavar="FILE", type=Path, nargs="?")
    parser.add_argument("--into", metavar="FOLDER", type=Path, help="a folder of backups, each named by its moment")
    parser.add_argument("--keep", metavar="N", type=int, default=30, help="with --into: how many stay; 30 if not given")


def run(args: argparse.Namespace) -> int:
    """Write it."""
    from airwork.logbook.backup import back_up, back_up_in

    if (args.out is None) == (args.into is None):
        raise InputError("name a file, or a folder with --into.", where="backup")
    if args.keep < 1:
        raise InputError("1 or more.", where="--keep")
    gone: tuple[str, ...] = ()
    with opened(args) as store:
        if args.into is None:
            done = back_up(store, args.out)
        else:
            done, gone = back_up_in(store, args.into, args.keep)
    held = ", ".join(counted(done.rows[thing], thing) for thing in ("person", "flight", "recording"))
    print(f"{done.path}: {done.size_bytes / 1e6:.1f} MB, {held}; {'NOT WHOLE' if done.wrong else 'checked'}")
    for line in done.wrong:
        print(f"  WRONG: {line}")
    print(f"  newest entry of its history: {done.newest[:16]}")
    for name in gone:
        print(f"  taken away: {name}")
    return COULD_NOT if done.wrong else DONE
