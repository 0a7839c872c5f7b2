"""Write an airplane file to start from: commented, with what is needed as FILL IN, ready for a handbook's numbers.

Nothing is overwritten. In the browser (airwork serve, Airplanes) a book is typed in grids, a part at a time, each
number checked as it is typed.

  airwork airplane new my_airplane.toml
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import DONE
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="file to write; its name ends in .toml")


def run(args: argparse.Namespace) -> int:
    """Write the file and say what to do next.

    Raises
    ------
    InputError : another ending, no such folder, or a file that is there.
    """
    from airwork.airplane.file.load import BLANK
    from airwork.files import write_whole

    path: Path = args.file
    if path.suffix != ".toml":
        raise InputError("give a name that ends in .toml.", where=str(path))
    if not path.parent.is_dir():
        raise InputError("there is no such folder.", where=str(path.parent))
    if path.exists():
        raise InputError("is there already; mend it in an editor, or in the browser (airwork serve).", where=str(path))
    write_whole(path, BLANK.read_text(encoding="utf-8"))
    print(f"wrote {path}")
    print("Fill in what says FILL IN and the tables your book has, then:")
    print(f"  airwork airplane check --read-back {path}")
    return DONE
