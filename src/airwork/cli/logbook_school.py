"""What the school's flights say, from everything in the logbook; people are letters unless --names asks for them.

  airwork logbook school weak
  airwork logbook school teaching --names
  airwork logbook school climb --parquet climb.parquet

tasks: how each task is flown, quarter by quarter; weak: which are weak; teaching: by who taught them; climb: which
airplane climbs less than it did; approaches: unstable ones by runway and wind; hours: hours and fuel of each airplane.
Shares carry their 90 % interval.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import DONE
from airwork.cli.logbook_tools import json_option, opened, print_json, table


def configure(parser: argparse.ArgumentParser) -> None:
    from airwork.logbook.questions import questions

    parser.add_argument("question", choices=list(questions()))
    parser.add_argument("--names", action="store_true", help="instructors by name")
    parser.add_argument("--parquet", metavar="OUT", type=Path, help="also write the table as Parquet")
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Ask and print."""
    from airwork.logbook.questions import ask

    with opened(args) as store, store.read() as connection:
        found = ask(connection, args.question, names=args.names)
    if args.parquet is not None:
        draft = args.parquet.with_name(f".{args.parquet.name}.new")
        found.frame.write_parquet(draft)
        draft.replace(args.parquet)
    if args.json:
        print_json(found.frame.to_dicts())
        return DONE
    print(found.title + (f" ({found.remark})" if found.remark else ""))
    head = [name.replace("_percent", " %").replace("_", " ") for name in found.frame.columns]
    rows = [
        ["" if v is None else f"{v:g}" if isinstance(v, float) else str(v) for v in row] for row in found.frame.rows()
    ]
    number = [n for n, kind in enumerate(found.frame.dtypes) if kind.is_numeric()]
    print(table(head, rows, right=number))
    return DONE
