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
from airwork.cli.logbook_tools import Told, held, lines
from airwork.errors import InputError
from airwork.logbook.backup import back_up, back_up_in
from airwork.logbook.store import Store

BOOK = "store"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("out", metavar="FILE", type=Path, nargs="?")
    parser.add_argument("--into", metavar="FOLDER", type=Path, help="a folder of backups, each named by its moment")
    parser.add_argument("--keep", metavar="N", type=int, default=30, help="with --into: how many stay; 30 if not given")


def run(args: argparse.Namespace, book: Store) -> Told:
    if (args.out is None) == (args.into is None):
        raise InputError("name a file, or a folder with --into.", where="backup")
    if args.keep < 1:
        raise InputError("1 or more.", where="--keep")
    done, gone = (back_up(book, args.out), ()) if args.into is None else back_up_in(book, args.into, args.keep)
    text = lines(
        f"{done.path}: {done.size_bytes / 1e6:.1f} MB, {held(done.rows)}; {'NOT WHOLE' if done.wrong else 'checked'}",
        *(f"WRONG: {line}" for line in done.wrong),
        f"newest entry of its history: {done.newest[:16]}",
        *(f"taken away: {name}" for name in gone),
    )
    return Told(done, lambda: text, COULD_NOT if done.wrong else DONE)
