"""Debrief a recording: what was flown, held against the standard, and why it drifted.

  airwork debrief flight.csv
  airwork debrief flight.csv --airplane larkmoor_155 --weight 2150lb --standard commercial
  airwork debrief track.gpx --elevation 820ft --json > debrief.json
  airwork debrief flight.csv --report debrief.html --zone America/Denver
  airwork debrief flight.csv --airplane larkmoor_155 --pdf debrief.pdf
  airwork debrief flight.csv --lesson lesson.toml --standard school.toml --strict
  airwork debrief flight.csv --student Ann
  airwork debrief recordings/ --into debriefed/ --airplane larkmoor_155

RECORDING is any file a recorder, tracker or simulator wrote: CSV, IGC, GPX, NMEA, KML, Parquet ... Without an airplane
everything is judged that needs none. Standards: private, commercial, sport, instructor, easa_ppl, easa_lapl, easa_cpl,
or a school's own file. A flight of an airplane with a file of its own is learned: see airwork airplane fit.

Where no elevation is known and a height above ground matters, it is asked for.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from airwork.cli import CAUTION, DONE, NOT_MET
from airwork.cli.reading_options import add_reading_options, reading_options
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.debrief import Debrief


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("recording", metavar="RECORDING", type=Path, nargs="*", help="the recording; several, or folders, with --into")
    add("--into", metavar="FOLDER", help="debrief many: into a folder of results")
    add("--workers", type=int, metavar="N", help="with --into: processes; as many as there are cores if not given")
    add_reading_options(parser)
    add("--weight", help="weight at takeoff: 2150lb, 980kg; the greatest allowed if not given")
    add("--standard", default=None, metavar="STANDARD", help="private (if not given), commercial ... or a file")
    add("--lesson", metavar="LESSON.toml", type=Path, help="the lesson flown: targets, order, area, fuel plan")
    add("--report", metavar="OUT.html", type=Path, help="also write the whole debrief as one page, to read or print")
    add(
        "--pdf",
        metavar="OUT.pdf",
        type=Path,
        help="also write it for paper: a summary, then each maneuver with its plots",
    )
    add("--student", metavar="NAME", help="whose flight: says whether earlier ones in the logbook were better")
    add("--data", metavar="PATH|URL", help="with --student: the logbook (else AIRWORK_DATA, else yours)")
    add("--zone", default="UTC", help="time zone of the clock times in report and PDF: America/Denver")
    add("--all", action="store_true", help="print every number and criterion, not only what matters first")
    add("--no-learning", action="store_true", help="leave what is known of the airplane as it is")
    add("--json", action="store_true", help="the whole debrief as JSON on stdout, nothing else")
    add("--strict", action="store_true", help="exit with 1 when a criterion of the standard was not held")


def run(args: argparse.Namespace) -> int:
    """Print the debrief, as a table or as JSON."""
    from airwork import days
    from airwork.jobs.debriefing import debrief_flight

    if args.into is not None:
        from airwork.cli.debrief_many import run_many

        return run_many(args)
    if len(args.recording) != 1 or args.workers:
        raise InputError("give one recording, or --into FOLDER for many.", where="debrief")
    (recording,) = args.recording
    if args.zone != "UTC":
        days.zone(args.zone, "--zone")

    def debriefed(elevation: str | None) -> Debrief:
        given = {**reading_options(args), "elevation": elevation}
        return debrief_flight(recording, lesson=args.lesson, standard=args.standard, weight=args.weight, **given)

    found = debriefed(args.elevation)
    if args.elevation is None and found.wants_elevation and sys.stdin.isatty() and not args.json:
        print("Heights above ground matter here, and the elevation is not known.", file=sys.stderr)
        told = input("Elevation of the ground flown over, e.g. 820ft (Enter: not judged): ").strip()
        found = debriefed(told) if told else found
    if args.student:
        from airwork.cli.logbook_tools import opened
        from airwork.jobs.so_far import with_so_far
        from airwork.logbook.people import find_person

        with opened(args) as store, store.read() as connection:
            found = with_so_far(found, connection, find_person(connection, args.student).id)
    _write(args, found)
    if not args.no_learning:
        _learn(args, found)
    if args.json:
        print(json.dumps(found.as_json(), indent=1, ensure_ascii=False, allow_nan=False))
    else:
        from airwork.output.debrief_doc import make_debrief_doc
        from airwork.output.debrief_text import debrief_text

        doc = make_debrief_doc(found, zone=args.zone, every=args.all)
        print(debrief_text(doc, everything=args.all))
        print(f"\n{CAUTION}")
    return NOT_MET if args.strict and not found.met else DONE


def _learn(args: argparse.Namespace, found: Debrief) -> None:
    """What this flight teaches of a known airplane goes beside its file."""
    from airwork.jobs.learning import learn_from_debrief

    file: str | Path | None = args.airplane
    if file is None and args.lesson is not None:
        from airwork.jobs.files import load_lesson

        file = load_lesson(args.lesson).airplane_path
    for line in learn_from_debrief(found, file):
        print(line, file=sys.stderr)


def _write(args: argparse.Namespace, found: Debrief) -> None:
    """The page and the paper, where they are asked for."""
    if args.report is None and args.pdf is None:
        return
    from airwork.debrief.ideals import ideals_of
    from airwork.files import write_whole

    ideals = ideals_of(found)
    if args.report is not None:
        from airwork.output.report import report_html
        from airwork.web.land import surroundings

        write_whole(args.report, report_html(found, zone=args.zone, ideals=ideals, around=surroundings))
        print(f"wrote {args.report}", file=sys.stderr)
    if args.pdf is not None:
        from airwork.output.debrief_pdf import debrief_pdf

        write_whole(args.pdf, debrief_pdf(found, zone=args.zone, ideals=ideals))
        print(f"wrote {args.pdf}", file=sys.stderr)
