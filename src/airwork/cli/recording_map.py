"""Settle once what the columns of a file mean.

Names the columns that were not understood; what --set says of them is written to recording-layouts.toml beside the
file, under the fingerprint of its header: every recording with the same header is then read by it. (The pages point at
them: airwork serve.)

  airwork recording map flight.csv
  airwork recording map flight.csv --set "P1=manifold_pressure:inHg" --set "X9=bank:deg" --ignore Foo
  airwork recording map flight.csv --set "column 1=elapsed:s" --everywhere
  airwork recording map --quantities
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from airwork.cli import DONE
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.recording.table import RawTable


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE", nargs="?", help="a recording (CSV and its kin, Parquet)")
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="COLUMN=QUANTITY[:UNIT]",
        help="what a column is, e.g. A7=bank:deg",
    )
    parser.add_argument("--ignore", action="append", default=[], metavar="COLUMN", help="a column not to use")
    parser.add_argument("--everywhere", action="store_true", help="write to the user's settings, for every folder")
    parser.add_argument("--to", type=Path, metavar="TOML", help="write to this mapping file instead")
    parser.add_argument("--quantities", action="store_true", help="list the quantities and their units")


def run(args: argparse.Namespace) -> int:
    """Take what was set, try it on the file, write it."""
    from airwork.recording.layout import interpret
    from airwork.recording.mapping import FILE_NAME, fingerprint, known_layouts, user_file, write_mapping
    from airwork.recording.open_file import open_recording
    from airwork.recording.read_table import raw_table

    if args.quantities:
        print(quantities_text())
        return DONE
    if args.file is None:
        raise InputError("name a recording, or list the quantities with --quantities.", where="FILE")
    opened = open_recording(args.file)
    if opened.kind in {"igc", "nmea"}:
        raise InputError(
            f"is {opened.kind.upper()}: its fields are fixed by the format, there is nothing to map.",
            where=str(args.file),
        )
    table = raw_table(opened)
    target = args.to or (user_file() if args.everywhere else args.file.parent / FILE_NAME)
    settled = dict(known_layouts(target).get(fingerprint(table.names), {}))
    settled.update(from_options(args.set, args.ignore, table.names))
    if not args.set and not args.ignore:
        raise InputError(_unknown(table, settled), where=args.file.name)
    interpret(table, settled, opened.where)  # one that can't be read by is refused before it is written
    write_mapping(target, table.names, settled, args.file.name)
    print(f"{len(settled)} columns settled in {target}, for every file with this header.")
    return DONE


def quantities_text() -> str:
    """The quantities a column can be set to, with the units usual for each."""
    from airwork.recording.quantities import QUANTITIES

    rows = [f"  {q.name:<28}{', '.join(q.units) or q.dimension}" for q in QUANTITIES.values() if q.name != "not_needed"]
    return "\n".join(
        [
            "quantity                      units",
            *rows,
            "  local_time:UTC-7            how far a local clock is ahead of UTC, or its zone: America/Toronto",
            "  ignore                      leave the column out",
        ]
    )


def from_options(pairs: Sequence[str], ignored: Sequence[str], names: Sequence[str]) -> dict[str, str]:
    """--set and --ignore as a mapping, checked against the file's columns and the known quantities and units."""
    from airwork.recording.mapping import checked_meaning

    out: dict[str, str] = {}
    for pair in pairs:
        name, found, meaning = pair.rpartition("=")
        if not found or not meaning.strip():
            raise InputError("write COLUMN=QUANTITY or COLUMN=QUANTITY:UNIT.", where=f"--set {pair}")
        out[checked_name(name.strip(), names, f"--set {pair}")] = checked_meaning(meaning.strip(), f"--set {pair}")
    for name in ignored:
        out[checked_name(name, names, f"--ignore {name}")] = "ignore"
    return out


def checked_name(name: str, names: Sequence[str], where: str) -> str:
    """A column's name as the file writes it, forgiving case; refuses one that isn't there."""
    for column in names:
        if column.strip().lower() == name.strip().lower():
            return column
    shown = ", ".join(n for n in names if n)[:300]
    raise InputError(f"the file has no column {name!r}; it has: {shown}.", where=where)


def _unknown(table: RawTable, settled: dict[str, str]) -> str:
    """What is not understood, and how it is settled."""
    from airwork.recording.names import common_words, understand

    common = common_words(table.names)
    unknown = [
        name
        for i, name in enumerate(table.names)
        if name and name not in settled and understand(name, table.unit_cells[i], common) is None
    ]
    if not unknown:
        return "every column is understood; change one with --set COLUMN=QUANTITY:UNIT."
    return f"not understood: {', '.join(unknown)}. Settle each with --set COLUMN=QUANTITY:UNIT or --ignore COLUMN."
