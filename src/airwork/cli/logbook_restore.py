"""Bring a backup back, into an empty logbook or, with --replace, instead of everything in it.
A damaged logbook is then moved aside and kept.

  airwork logbook restore backups/2026-06-15.sqlite
  airwork logbook restore backups/2026-06-15.sqlite --replace
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli.logbook_tools import held, opened
from airwork.logbook.backup import restore, set_aside
from airwork.logbook.store import Damaged, file_of

BOOK = "own"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("backup", metavar="FILE", type=Path)
    parser.add_argument("--replace", action="store_true", help="the logbook's own rows are taken out")
    parser.add_argument("--agree", action="store_true", help="restore it though check finds something wrong in it")


def run(args: argparse.Namespace, book: None) -> str:
    aside = ""
    try:
        with opened(args, create=True) as store:
            done = restore(args.backup, store, replace=args.replace, agreed=args.agree)
    except Damaged as found:
        damaged = file_of(args.data)
        if not args.replace or damaged is None or found.where != str(damaged):
            raise
        aside = f"the damaged logbook is kept as {set_aside(damaged, args.backup)}\n"
        with opened(args, create=True) as store:
            done = restore(args.backup, store, agreed=args.agree)
    kept = f"; what was here is kept as {done.kept}" if done.kept else ""
    return f"{aside}{done.path}: {held(done.rows)} restored{kept}"
