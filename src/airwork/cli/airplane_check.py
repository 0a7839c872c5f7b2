"""Look for a typist's mistakes in an airplane file.

Each complaint says where it is, what stands there and why it is suspicious. Complaints are questions, not verdicts: a
misprint of the handbook that stands in the file just so is answered once, and not asked before each flight.

  airwork airplane check larkmoor_155.toml
  airwork airplane check --read-back larkmoor_155.toml
  airwork airplane check my_airplane.toml --stands-so 2 --by "Emmett Dray"
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from airwork.cli import DONE, NOT_MET, print_json
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.airplane.check import Complaint


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", help="airplane file, or the id of an invented airplane (larkmoor_155)")
    parser.add_argument("--strict", action="store_true", help="exit with 1 when there is any complaint")
    parser.add_argument(
        "--read-back",
        action="store_true",
        help="also what the file says of a usual day, and the numbers no check can see",
    )
    parser.add_argument(
        "--stands-so", type=int, metavar="N", help="the handbook has it so: answers complaint N for good"
    )
    parser.add_argument("--by", default="", metavar="NAME", help="who has seen it there, with --stands-so")
    parser.add_argument("--json", action="store_true", help="complaints as JSON")


def run(args: argparse.Namespace) -> int:
    """Print the complaints. Exit 0, or with --strict 1 if there are any; 2 when the file can't be read."""
    from airwork.airplane import find_airplane_file
    from airwork.airplane.check import check_file, printed_so

    path: Path = find_airplane_file(args.file)
    airplane, complaints = check_file(path)
    if args.stands_so is not None:
        _answer(path, complaints, args.stands_so, args.by)
        airplane, complaints = check_file(path)
    answers = printed_so(airplane)
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
        print_json({"file": str(path), "airplane": airplane.name, "complaints": found, "printed_so": answers})
    elif complaints:
        print(f"{airplane.name}: {len(complaints)} thing{'s' if len(complaints) > 1 else ''} to look at in {path}")
        for n, c in enumerate(complaints, 1):
            print(f"\n{n}. {c.where}\n  {c.what}.\n  {c.why}")
        print("\nHandbooks have misprints too: the printed page decides, not this list.")
    else:
        print(
            f"{airplane.name}: nothing suspicious in {path}. That is no proof: compare it with the handbook once more."
        )
    if answers and not args.json:
        print("\nAnswered by the handbook's page:")
        for answer in answers:
            print(f"  {answer}")
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


def _answer(path: Path, complaints: Sequence[Complaint], number: int, by: str) -> None:
    from airwork.airplane import shipped_file
    from airwork.airplane.check.in_print import answered
    from airwork.airplane.file.load import read_text
    from airwork.files import write_whole

    if path == shipped_file(path.name):
        raise InputError("comes with airwork and stays as it is; answer it in a copy of your own.", where=path.name)
    if not 1 <= number <= len(complaints):
        raise InputError(f"found {number}; the check asks {len(complaints)} questions.", where="--stands-so")
    write_whole(path, answered(read_text(path), complaints[number - 1], by, date.today().isoformat()))
