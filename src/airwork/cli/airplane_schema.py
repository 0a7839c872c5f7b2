"""Print the JSON Schema of the airplane file, for editors that complete and check TOML.

  airwork airplane schema > airplane.schema.json

Then put this line at the top of an airplane file:  #:schema ./airplane.schema.json
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from airwork.cli import DONE


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--output", type=Path, metavar="FILE", help="write it to a file instead of printing it")


def run(args: argparse.Namespace) -> int:
    """Print or write the schema."""
    from airwork.airplane.file.json_schema import json_schema
    from airwork.files import write_whole

    text = json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"
    if args.output is None:
        print(text, end="")
    else:
        write_whole(args.output, text)
        print(f"wrote {args.output}")
    return DONE
