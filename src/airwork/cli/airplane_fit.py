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
from typing import TYPE_CHECKING

from airwork import units
from airwork.cli import CAUTION, DONE
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.airplane.performance import Reading


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
    from airwork.airplane import find_airplane_file, load_airplane
    from airwork.airplane.performance.fitted_file import compose, fitted_path, refuse_over_typed
    from airwork.airplane.performance.report import fit_report

    typed = find_airplane_file(args.file)
    airplane = load_airplane(typed)
    more, lines = _from_recordings(args, airplane)
    text = typed.read_text(encoding="utf-8-sig")
    _, first = compose(text, more, says=[], keep_outliers=args.keep_outliers, where=str(typed))
    report = fit_report(first, against_book=args.against_book, segments=lines)
    written = ""
    if not args.dry_run:
        target = args.out or (fitted_path(typed) if Path(args.file).exists() else Path.cwd() / fitted_path(typed).name)
        refuse_over_typed(target, typed)
        out, _ = compose(
            text, more, says=[d.words for d in report.differences], keep_outliers=args.keep_outliers, where=str(typed)
        )
        _write(target, out)
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


def _from_recordings(args: argparse.Namespace, airplane: Airplane) -> tuple[list[Reading], list[str]]:
    """Readings found in the recordings, and one line about each recording."""
    if not args.recordings:
        return [], []
    from airwork.recording import read_flight
    from airwork.recording.segments import missing_for_segments, stabilised_segments

    mass = airplane.handbook_mass_kg
    if args.weight:
        mass = units.parse(args.weight, "mass", where="--weight")
    else:
        print(f"no --weight: {units.write(mass, 'lb')} is taken for the recordings' start.", file=sys.stderr)
    if not 0.3 * airplane.max_takeoff_mass_kg < mass <= 1.05 * airplane.max_takeoff_mass_kg:
        top = units.write(airplane.max_takeoff_mass_kg, "lb")
        raise InputError(
            f"{units.write(mass, 'lb')} can't be this airplane's weight (at most {top}).", where="--weight"
        )
    setting = units.parse(args.altimeter, "pressure", where="--altimeter") if args.altimeter else None
    readings: list[Reading] = []
    lines = []
    for path in args.recordings:
        flight = read_flight(path, airplane=airplane, setting_pa=setting, mass_kg=mass)
        missing = missing_for_segments(flight, airplane)
        found = stabilised_segments(flight, airplane, mass)
        readings += [segment.reading for segment in found]
        if missing:
            lines.append(f"{path.name}: nothing to learn from, it has no {', no '.join(missing)}")
        else:
            kinds = [s.reading.kind for s in found]
            parts = [f"{kinds.count(k)} {w}" for k, w in _WORDS.items() if kinds.count(k)]  # type: ignore[arg-type]
            what = ", ".join(parts) if parts else "no steady stretch of 45 s or more"
            lines.append(f"{path.name}: {what}")
    return readings, lines


_WORDS = {"level": "level", "full_throttle_climb": "full-throttle climb", "idle_glide": "idle glide"}
