"""Learn this airplane from its handbook, readings noted in flight, and recordings.

Reports what is known and how well, how the airplane differs from its book, which readings lie too far off, and what to
fly next; writes NAME.fitted.toml beside the typed file, never over it. Readings are [[observations]] in the file.

  airwork airplane fit my_airplane.toml
  airwork airplane fit my_airplane.toml monday.csv tuesday.csv --weight 2150lb
  airwork airplane fit larkmoor_155 --against-book --dry-run
  airwork airplane fit my_airplane.toml --json --out learned.fitted.toml
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from airwork.cli import CAUTION, DONE
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    add = parser.add_argument
    add("file", metavar="FILE", help="airplane file, or the id of an invented airplane (larkmoor_155)")
    add("recordings", metavar="RECORDING", nargs="*", type=Path, help="recordings of this airplane, any known format")
    add("--weight", help="weight at the start of the recordings: 2150lb (handbook weight if not given)")
    add("--altimeter", help="altimeter setting of the recordings, where they have none: 30.05inHg")
    add("--keep-outliers", action="store_true", help="use readings that lie more than 4 standard deviations off")
    add("--against-book", action="store_true", help="hold the fitted physics against every row of the handbook")
    add("--out", type=Path, metavar="FILE", help="where to write; NAME.fitted.toml beside the typed file if not given")
    add("--dry-run", action="store_true", help="report only, write nothing")
    add("--json", action="store_true", help="the report as JSON on stdout")


def run(args: argparse.Namespace) -> int:
    """Fit, report, write."""
    from airwork.airplane.performance.fitted_file import fitted_path, refuse_over_typed
    from airwork.jobs.learning import learn_airplane

    if args.recordings and not args.weight:
        print("no --weight: the handbook's is taken for the recordings' start.", file=sys.stderr)
    learned = learn_airplane(
        args.file, args.recordings, weight=args.weight, altimeter=args.altimeter, keep_outliers=args.keep_outliers,
        against_book=args.against_book,
    )  # fmt: skip
    report, typed, written = learned.report, learned.typed, ""
    if not args.dry_run:
        target = args.out or (fitted_path(typed) if Path(args.file).exists() else Path.cwd() / fitted_path(typed).name)
        refuse_over_typed(target, typed)
        _write(target, learned.fitted_text)
        written = str(target)
    if args.json:
        import json

        data = {**report.as_json(), "written": written or None, "caution": CAUTION}
        print(json.dumps(data, indent=2, ensure_ascii=False))
        return DONE
    from airwork.output.fit_text import fit_text

    print(fit_text(report))
    print(f"\n{f'Written: {written}. ' if written else ''}Speeds are calibrated. {CAUTION}")
    return DONE


def _write(target: Path, text: str) -> None:
    from airwork.files import write_whole

    if target.is_dir() or not target.parent.exists():
        raise InputError("can't be written: give a file name in a folder that exists.", where=str(target))
    write_whole(target, text)
