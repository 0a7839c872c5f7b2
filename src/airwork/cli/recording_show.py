"""What is in a recording, what is missing, what it can be graded on.

CSV and its kin, IGC, GPX, KML, NMEA 0183, ADS-B state vectors, Parquet and Arrow, also inside gz or zip; the content
decides, not the name.

  airwork recording show flight.csv
  airwork recording show flight.csv --airplane larkmoor_155
  airwork recording show states.parquet --aircraft a1b2c3 --json
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import CAUTION, DONE, print_json
from airwork.cli.reading_options import add_reading_options, reading_options


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE", help="the recording")
    add_reading_options(parser)
    parser.add_argument("--standard", default="private", help="standard to say what can be graded (default: private)")
    parser.add_argument("--all", action="store_true", help="list every column")
    parser.add_argument("--json", action="store_true", help="the same as JSON, units in the keys or beside them")


def run(args: argparse.Namespace) -> int:
    """Print the summary, as text or JSON."""
    from airwork.jobs.debriefing import read_flight
    from airwork.recording.summary import summarize
    from airwork.standards import load_standard

    standard = load_standard(args.standard)
    summary = summarize(read_flight(args.file, **reading_options(args)), standard)
    if args.json:
        print_json({**summary.as_json(), "caution": CAUTION})
        return DONE
    from airwork.output.recording_text import recording_text

    print(recording_text(summary, wide=args.all))
    print(f"\n{CAUTION}")
    return DONE
