"""Learn this airplane from its handbook, readings noted in flight, and recordings.

Reports what is known and how well, how the airplane differs from its book, which readings lie too far off, and what to
fly next; writes NAME.fitted.toml beside the typed file, never over it, and keeps each flight in NAME.learning.jsonl.
Readings are [[observations]] in the file. Flights debriefed with the airplane's file are learned by themselves.

  airwork airplane fit my_airplane.toml
  airwork airplane fit my_airplane.toml monday.csv tuesday.csv --weight 2150lb
  airwork airplane fit larkmoor_155 --against-book --dry-run
  airwork airplane fit my_airplane.toml --history
  airwork airplane fit my_airplane.toml --forget monday.csv
  airwork airplane fit my_airplane.toml --json --out learned.fitted.toml
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from airwork.cli import CAUTION, DONE, print_json
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("file", metavar="FILE", help="airplane file, or the id of an invented airplane (larkmoor_155)")
    add("recordings", metavar="RECORDING", nargs="*", type=Path, help="recordings of this airplane, any known format")
    add("--weight", help="weight at the start of the recordings: 2150lb (unknown, and found, if not given)")
    add("--altimeter", help="altimeter setting of the recordings, where they have none: 30.05inHg")
    add("--forget", action="append", default=[], metavar="RECORDING", help="a flight that shall no longer count")
    add("--history", action="store_true", help="what was learned when, and what each flight changed; nothing else")
    add("--keep-outliers", action="store_true", help="use readings that lie more than 3 standard deviations off")
    add("--against-book", action="store_true", help="hold the fitted physics against every row of the handbook")
    add("--out", type=Path, metavar="FILE", help="where to write; NAME.fitted.toml beside the typed file if not given")
    add("--dry-run", action="store_true", help="report only, write nothing")
    add("--json", action="store_true", help="the report as JSON on stdout")


def run(args: argparse.Namespace) -> int:
    """Fit, report, write."""
    from airwork.airplane.file.beside import fitted_path
    from airwork.airplane.performance.fitted_file import refuse_over_typed
    from airwork.jobs.learning import learn_airplane

    if args.history:
        return _history(args.file)
    if args.recordings and not args.weight:
        why = "slow flight hangs on it, 100 lb are 20 to 45 RPM"
        print(f"no --weight: it is taken for unknown; give it if you can ({why}).", file=sys.stderr)
    learned = learn_airplane(
        args.file, args.recordings, weight=args.weight, altimeter=args.altimeter, forget=args.forget,
        keep_outliers=args.keep_outliers, against_book=args.against_book,
    )  # fmt: skip
    report, typed, written = learned.report, learned.typed, ""
    if not args.dry_run:
        target = args.out or fitted_path(learned.home)
        refuse_over_typed(target, typed)
        if target.is_dir() or not target.parent.exists():
            raise InputError("can't be written: give a file name in a folder that exists.", where=str(target))
        written = str(learned.keep(target))
    if args.json:
        print_json({"report": report, "written": written or None, "caution": CAUTION})
        return DONE
    from airwork.output.fit_text import fit_text

    print(fit_text(report))
    print(f"\n{f'Written: {written}. ' if written else ''}{CAUTION}")
    return DONE


def _history(file: str) -> int:
    """What each flight changed, oldest first."""
    from airwork.airplane import find_airplane_file
    from airwork.airplane.performance.flight_words import history_lines
    from airwork.airplane.performance.knowledge import read_knowledge

    typed = find_airplane_file(file)
    known = read_knowledge(typed if Path(file).expanduser().exists() else Path.cwd() / typed.name)
    lines = history_lines([(e.date, e.kind, e.name, e.changed) for e in known.history])
    print("\n".join(lines) if lines else "No flight was learned yet.")
    return DONE
