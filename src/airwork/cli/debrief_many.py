"""`airwork debrief … --into LOGBOOK|FOLDER`: many recordings, a bar of progress, a table of what failed and why."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from airwork.airplane import find_airplane_file
from airwork.cli import CAUTION, COULD_NOT, DONE, NOT_MET, print_json
from airwork.cli.logbook_tools import counted, opened, table
from airwork.errors import InputError
from airwork.jobs import entering_many, many
from airwork.jobs.files import load_airplane, standard_named
from airwork.jobs.verdict_tables import write_tables

_ONE = ("report", "pdf", "lesson", "altimeter", "elevation", "mapping", "weight")


def run_many(args: argparse.Namespace) -> int:
    """Debrief them all; 2 when one of them could not be, 1 with --strict when a standard was not met."""
    for name in _ONE:
        if getattr(args, name) is not None:
            raise InputError("goes with one recording alone.", where=f"--{name}")
    if args.again == bool(args.recording):
        raise InputError("name recordings or folders, or say --again.", where="--into")
    if args.workers is not None and not 1 <= args.workers <= 256:
        raise InputError("1 to 256.", where="--workers")
    if entering_many.is_logbook(args.into) and not args.again:
        done, into = _into_logbook(args)
    else:
        for name in ("student", "instructor", "role"):
            if getattr(args, name) is not None:
                raise InputError("goes with --into LOGBOOK.", where=f"--{name}")
        done, into = _into_folder(args)
    rows = write_tables(into, workers=args.workers)
    failed = [o for o in done if o.problem]
    if args.json:
        print_json(done)
    else:
        _say(done, failed, rows, str(into))
    unmet = any(o.met < o.judged for o in done)
    return COULD_NOT if failed else NOT_MET if args.strict and unmet else DONE


def _into_folder(args: argparse.Namespace) -> tuple[list[many.Outcome], Path]:
    airplane = str(find_airplane_file(args.airplane).resolve()) if args.airplane else ""
    if airplane:
        load_airplane(airplane)
    standard = args.standard or ("" if args.again else "private")
    if standard:
        standard_named(standard)  # what is wrong with it is said once, not for each file
    if entering_many.is_logbook(args.into):  # --again
        with opened(argparse.Namespace(data=args.into)) as store:
            into = entering_many.results_of(store)
    else:
        into = Path(args.into).expanduser().resolve()
    into.mkdir(parents=True, exist_ok=True)
    order = many.Order(str(into), airplane, standard)
    if args.again:
        return list(_shown(many.judge_all_again(order, workers=args.workers), len(many.kept(into)))), into
    files = many.recordings_in(args.recording, into)
    return list(_shown(_work(args)(files, order), len(files))), into


def _into_logbook(args: argparse.Namespace) -> tuple[list[many.Outcome], Path]:
    """Judged beside the logbook, each flight entered in it as it comes."""
    if args.standard:
        standard_named(args.standard)
    with opened(argparse.Namespace(data=args.into)) as store:
        into = entering_many.results_of(store)
        files = [path.resolve() for path in many.recordings_in(args.recording, into)]
        flown, unknown = entering_many.who_flew(
            store, files, student=args.student or "", instructor=args.instructor or "", role=args.role,
            airplane=args.airplane or "", standard=args.standard or "",
        )  # fmt: skip
        into.mkdir(mode=0o700, parents=True, exist_ok=True)
        entered = entering_many.enter_many(store, entering_many.judged(flown, into, _work(args)), flown)
        done = [*unknown, *_shown(entered, len(flown))]
    if not args.json:
        new, good = sum(o.entered for o in done), sum(not o.problem for o in done)
        print(f"{counted(new, 'flight')} entered in {store.where}"
              + (f"; {good - new} were there already" if good > new else ""))  # fmt: skip
    return done, into


def _work(args: argparse.Namespace) -> entering_many.Work:
    """On this machine's cores, or on a cluster."""
    if args.cluster:
        return lambda files, order: many.debrief_on_cluster(files, order, args.cluster)
    return lambda files, order: many.debrief_many(files, order, workers=args.workers)


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
