"""Look for a typist's mistakes in an airplane file.

Each complaint says where it is, what stands there and why it is suspicious. Complaints are questions, not verdicts.

  airwork airplane check larkmoor_155.toml
  airwork airplane check --read-back larkmoor_155.toml
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import DONE, NOT_MET, print_json


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", help="airplane file, or the id of an invented airplane (larkmoor_155)")
    parser.add_argument("--strict", action="store_true", help="exit with 1 when there is any complaint")
    parser.add_argument(
        "--read-back",
        action="store_true",
        help="also what the file says of a usual day, and the numbers no check can see",
    )
    parser.add_argument("--json", action="store_true", help="complaints as JSON")


def run(args: argparse.Namespace) -> int:
    """Print the complaints. Exit 0, or with --strict 1 if there are any; 2 when the file can't be read."""
    from airwork.airplane import find_airplane_file
    from airwork.airplane.check import check_file

    path: Path = find_airplane_file(args.file)
    airplane, complaints = check_file(path)
    if args.json:
        found = [
            {
                "where": str(c.where),
                "what": c.what,
                "why": c.why,
                "table": c.table,
                "rows": [r + 1 for r in c.rows],
                "key": c.key,
            }
            for c in complaints
        ]
        print_json({"file": str(path), "airplane": airplane.name, "complaints": found})
    elif complaints:
        print(f"{airplane.name}: {len(complaints)} thing{'s' if len(complaints) > 1 else ''} to look at in {path}")
        for c in complaints:
            print(f"\n{c.where}\n  {c.what}.\n  {c.why}")
        print("\nHandbooks have misprints too: the printed page decides, not this list.")
    else:
        print(
            f"{airplane.name}: nothing suspicious in {path}. That is no proof: compare it with the handbook once more."
        )
    if args.read_back and not args.json:
        from airwork.airplane.check.proof import proof
        from airwork.airplane.check.reading_back import read_back

        print("\nIs that your book?")
        for sentence in proof(airplane):
            print(f"  {sentence}")
        print("\nTo be compared with the page, for no check can see them:")
        for number in read_back(airplane):
            print(f"  {number}")
    return NOT_MET if complaints and args.strict else DONE
