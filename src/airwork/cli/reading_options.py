"""The options of commands that read one recording, and the arguments they become."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any


def add_reading_options(parser: argparse.ArgumentParser) -> None:
    """What a recording may not say by itself."""
    add = parser.add_argument
    add("--airplane", metavar="AIRPLANE", help="its file, or an id: larkmoor_155; its tables give more to judge by")
    add("--altimeter", help="altimeter setting flown, where the file has none: 30.05inHg, 1018hPa")
    add("--elevation", help="elevation of the ground, where the recording never stands on it: 820ft")
    add("--mapping", metavar="FILE", type=Path, help="what the columns mean (airwork recording map writes it)")
    add("--aircraft", metavar="ID", help="which aircraft, in a recording that holds several")


def reading_options(args: argparse.Namespace) -> dict[str, Any]:
    """These options as arguments of `read_flight` and `debrief_flight`."""
    return {name: getattr(args, name) for name in ("airplane", "altimeter", "elevation", "mapping", "aircraft")}
