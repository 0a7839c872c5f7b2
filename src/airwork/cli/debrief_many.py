"""`airwork debrief … --into FOLDER`: many recordings, a line of progress, and a table of what failed and why."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator

from airwork.airplane import find_airplane_file
from airwork.cli import CAUTION, COULD_NOT, DONE, NOT_MET, print_json
from airwork.cli.logbook_tools import counted, table
from airwork.errors import InputError
from airwork.jobs import many
from airwork.jobs.files import load_airplane, standard_named

_ONE = ("report", "pdf", "lesson", "briefing", "altimeter", "elevation", "mapping", "weight")


def run_many(args: argparse.Namespace) -> int:
    """Debrief them all; 2 when one of them could not be, 1 with --strict when a standard was not met."""
    for name in _ONE:
        if getattr(args, name) is not None:
            raise InputError("goes with one recording alone.", where=f"--{name}")
    if args.again == bool(args.recording):
        raise InputError("name recordings or folders, or say --again.", where="--into")
    if args.workers is not None and not 1 <= args.workers <= 256:
        raise InputError("1 to 256.", where="--workers")
    airplane = str(find_airplane_file(args.airplane).resolve()) if args.airplane else ""
    if airplane:
        load_airplane(airplane)
    standard = args.standard or "private"
    standard_named(standard)  # what is wrong with it is said once, not for each file
    into = args.into.resolve()
    into.mkdir(parents=True, exist_ok=True)
    order = many.Order(str(into), airplane, standard)
    if args.again:
        files, outcomes = many.kept(into), many.judge_all_again(order, workers=args.workers)
    else:
        found = many.recordings_in(args.recording, into)
        files = [str(p) for p in found]
        outcomes = (
            many.debrief_on_cluster(found, order, args.cluster)
            if args.cluster
            else many.debrief_many(found, order, workers=args.workers)
        )
    done = list(_shown(outcomes, len(files)))
    rows = many.tables(into)
    failed = [o for o in done if o.problem]
    if args.json:
        from dataclasses import asdict

        print_json([asdict(o) for o in done])
    else:
        _say(done, failed, rows, str(args.into))
    unmet = any(o.met < o.maneuvers for o in done)
    return COULD_NOT if failed else NOT_MET if args.strict and unmet else DONE


def _say(done: list[many.Outcome], failed: list[many.Outcome], rows: dict[str, int], into: str) -> None:
    good = [o for o in done if not o.problem]
    before = sum(o.done_before for o in good)
    twice = len(good) - len({o.sha256 for o in good})
    print(
        f"{counted(len(good) - twice, 'flight')}, {sum(o.hours for o in good):.1f} h in the air, "
        f"{counted(sum(o.maneuvers for o in good), 'maneuver')}, {sum(o.met for o in good)} of them met the standard"
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
