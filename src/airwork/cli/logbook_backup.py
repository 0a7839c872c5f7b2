"""Write a backup of the logbook to one file, and open it to see that every row is in it.

  airwork logbook backup backups/2026-06-15.sqlite

A backup is itself a logbook: --data opens it. A school's PostgreSQL logbook is backed up to the same kind of file.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import DONE
from airwork.cli.logbook_tools import counted, data_option, opened


def configure(parser: argparse.ArgumentParser) -> None:
    """Arguments."""
    parser.add_argument("out", metavar="FILE", type=Path)
    data_option(parser)


def run(args: argparse.Namespace) -> int:
    """Write it."""
    from airwork.logbook.backup import back_up

    with opened(args) as store:
        done = back_up(store, args.out)
    held = ", ".join(counted(done.rows[thing], thing) for thing in ("person", "flight", "recording"))
    print(f"{done.path}: {done.size_bytes / 1e6:.1f} MB, {held}; checked")
    print(f"  newest entry of its history: {done.newest[:16]}")
    return DONE
