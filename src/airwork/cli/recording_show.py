"""What is in a recording, what is missing, what it can be graded on.

CSV and its kin, IGC, GPX, KML, NMEA 0183, ADS-B state vectors, Parquet and Arrow, also inside gz or zip; the content
decides, not the name.

  airwork recording show flight.csv
  airwork recording show flight.csv --airplane larkmoor_155 --plot flight.png
  airwork recording show states.parquet --aircraft a1b2c3 --json
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from airwork.cli import CAUTION, DONE, print_json


def add_reading_options(parser: argparse.ArgumentParser) -> None:
    """Options for reading a recording, shared by the commands that take one."""
    add = parser.add_argument
    add("--airplane", metavar="AIRPLANE", help="airplane file or id: its tables give CAS, percent power, flap notches")
    add("--altimeter", help="altimeter setting flown, where the file has none: 30.05inHg, 1018hPa")
    add("--elevation", help="ground elevation, where the recording never stands on it: 1200ft")
    add("--mapping", type=Path, metavar="TOML", help="column mapping to use (else the one beside the file)")
    add("--aircraft", metavar="ID", help="which aircraft, in a file that holds several")


def read_with_options(args: argparse.Namespace, path: Path) -> Any:
    """The Flight of a file, read with the shared options.

    Raises
    ------
    InputError : the file or an option can't be used.
    """
    from airwork.jobs.debriefing import read_flight

    return read_flight(
        path, airplane=args.airplane, altimeter=args.altimeter, elevation=args.elevation, mapping=args.mapping,
        aircraft=args.aircraft,
    )  # fmt: skip


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE", help="the recording")
    add_reading_options(parser)
    parser.add_argument("--standard", default="private", help="standard to say what can be graded (default: private)")
    parser.add_argument("--plot", type=Path, metavar="OUT", help="also draw it: a .png or .svg file")
    parser.add_argument("--all", action="store_true", help="list every column")
    parser.add_argument("--json", action="store_true", help="the same as JSON, units in the keys or beside them")


def run(args: argparse.Namespace) -> int:
    """Print the summary, as text or JSON, and draw the plot if asked."""
    from airwork.recording.summary import summarize
    from airwork.standards import load_standard

    standard = load_standard(args.standard)
    flight = read_with_options(args, args.file)
    summary = summarize(flight, standard)
    if args.plot is not None:
        from airwork.output.recording_plot import plot_recording

        plot_recording(flight, args.plot)
    if args.json:
        print_json({**summary.as_json(), "caution": CAUTION})
        return DONE
    from airwork.output.recording_text import recording_text

    print(recording_text(summary, wide=args.all))
    if args.plot is not None:
        print(f"\ndrawn: {args.plot}")
    print(f"\n{CAUTION}")
    return DONE
