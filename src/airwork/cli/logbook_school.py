"""What the school's flights say, from everything in the logbook; people are letters unless --names asks for them.

  airwork logbook school weak
  airwork logbook school teaching --names
  airwork logbook school hours --json

tasks: how each task is flown, quarter by quarter; weak: which are weak; teaching: by who taught them; hours:
hours and fuel of each airplane. Shares carry their 90 % interval.
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import Told, table
from airwork.logbook.questions import ask, questions

BOOK = "read"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("question", choices=list(questions()))
    parser.add_argument("--names", action="store_true", help="instructors by name")


def run(args: argparse.Namespace, book: Connection) -> Told:
    found = ask(book, args.question, names=args.names)
    frame = found.frame
    head = [name.replace("_percent", " %").replace("_", " ") for name in frame.columns]
    rows = [["" if v is None else f"{v:g}" if isinstance(v, float) else str(v) for v in row] for row in frame.rows()]
    number = [n for n, kind in enumerate(frame.dtypes) if kind.is_numeric()]
    title = found.title + (f" ({found.remark})" if found.remark else "")
    return Told(frame.to_dicts(), lambda: f"{title}\n{table(head, rows, right=number)}")
