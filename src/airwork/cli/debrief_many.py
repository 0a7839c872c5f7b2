"""`airwork debrief … --into FOLDER`: many recordings, a bar of progress, a table of what failed and why."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from airwork.airplane import find_airplane_file
from airwork.cli import CAUTION, COULD_NOT, DONE, NOT_MET, print_json
from airwork.cli.logbook_tools import counted, table
from airwork.errors import InputError
from airwork.jobs import many
from airwork.jobs.files import load_airplane, standard_named
from airwork.jobs.verdict_tables import write_tables

_ONE = ("report", "pdf", "lesson", "altimeter", "elevation", "mapping", "weight")


def run_many(args: argparse.Namespace) -> int:
    """Debrief them all; 2 when one of them could not be, 1 with --strict when a standard was not met."""
    for name in _ONE:
        if getattr(args, name) is not None:
            raise InputError("goes with one recording alone.", where=f"--{name}")
    if not args.recording:
        raise InputError("name recordings or folders.", where="--into")
    if args.workers is not None and not 1 <= args.workers <= 256:
        raise InputError("1 to 256.", where="--workers")
    into = Path(args.into).expanduser().resolve()
    if into.is_file() or "://" in args.into:
        raise InputError("is no folder; a logbook takes recordings by airwork logbook import.", where="--into")
    airplane = str(find_airplane_file(args.airplane).resolve()) if args.airplane else ""
    if airplane:
        load_airplane(airplane)
    order = many.Order(str(into), airplane, args.standard or "private")
    standard_named(order.standard)  # what is wrong with it is said once, not for each file
    files = many.recordings_in(args.recording, into)
    into.mkdir(parents=True, exist_ok=True)
    done = list(_shown(many.debrief_many(files, order, workers=args.workers), len(files)))
    rows = write_tables(into, workers=args.workers)
    failed = [o for o in done if o.problem]
    if args.json:
        print_json(done)
    else:
        _say(done, failed, rows, str(into))
    unmet = any(o.met < o.judged for o in done)
    return COULD_NOT if failed else NOT_MET if args.strict and unmet else DONE


def _say(done: list[many.Outcome], failed: list[many.Outcome], rows: dict[str, int], into: str) -> None:
    good = [o for o in done if not o.problem]
    before = sum(o.done_before for o in good)
    each = list({o.sha256: o for o in good}.values())
    twice = len(good) - len(each)
    print(
        f"{counted(len(each), 'flight')}, {sum(o.hours for o in each):.1f} h in the air, "
        f"{counted(sum(o.maneuvers for o in each), 'maneuver')}; {sum(o.met for o in each)} of the "
        f"{sum(o.judged for o in each)} that could be judged met the standard"
        + (f"; {before} were judged before" if before else "")
        + (f"; {counted(twice, 'file')} held the same flight as another" if twice else "")
    )
    print(f"tables in {into}: " + ", ".join(f"{name}.parquet ({n:,} rows)" for name, n in rows.items()))
    if failed:
        print(f"\n{counted(len(failed), 'file')} could not be debriefed:")
        print(table(("file", "why"), [(o.path, o.problem) for o in sorted(failed, key=lambda o: o.path)]))
    print(f"\n{CAUTION}")


def _shown(outcomes: Iterable[many.Outcome], number: int) -> Iterator[many.Outcome]:
    """The outcomes, a bar of progress on stderr at a terminal."""
    from tqdm import tqdm

    yield from tqdm(outcomes, total=number, unit="flight", disable=not sys.stderr.isatty(), leave=False)
