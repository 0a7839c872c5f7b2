"""Students, flights, marks, endorsements: what each has shown, what is left, what forbids today's lesson.

  airwork logbook add instructor "Ike Teacher" --zone America/Denver
  airwork logbook add student "Ann Example" --born 1990-02-03 --zone America/Denver
  airwork logbook add airplane INV155 --file larkmoor_155
  airwork logbook import debrief.json --recording flight.csv --student Ann --instructor Ike
  airwork logbook show Ann
  airwork logbook standing Ann --start "2026-06-16 09:00" --hours 1.2 --role solo --airplane INV155

The logbook is one file in your data folder, or what --data or AIRWORK_DATA names: a file, or a school's postgresql://….
A command's options and an example: airwork logbook COMMAND --help.
"""

# Each command's module has `configure(parser)`, BOOK and `run(args, book)`, which gives what is said: text, or the same
# facts as text and data. BOOK says what is opened for it: "read" or "change" (a connection; all of it is kept or none),
# "store", or "own": it opens what it needs. Nothing is printed before a change is kept.

from __future__ import annotations

import argparse
import importlib
import sys
from types import ModuleType

from airwork.cli import CAUTION, COULD_NOT, DONE, meant, parser_of, print_json
from airwork.cli.logbook_tools import Told, data_option, json_option, opened

# command -> (module, one line)
COMMANDS: dict[str, tuple[str, str]] = {
    "add": ("logbook_add", "enter a student, instructor, airplane, place, flight, endorsement, date or note"),
    "change": ("logbook_change", "put an entry right"),
    "import": ("logbook_import", "take in a debriefed flight, or a student's export"),
    "mark": ("logbook_mark", "give the instructor's or the student's mark for a task"),
    "key": ("logbook_key", "make, guard, end or accept an instructor's signing key"),
    "sign": ("logbook_sign", "sign training flights or endorsements"),
    "history": ("logbook_history", "who changed what, when"),
    "list": ("logbook_list", "students, instructors, airplanes, places, flights, or the kinds of endorsements"),
    "show": ("logbook_show", "a student: hours, progress, what is left, what expires"),
    "flight": ("logbook_flight", "one flight with its marks side by side"),
    "hours": ("logbook_hours", "the flights with their hours, as a table or a PDF"),
    "left": ("logbook_left", "what is left to fly for the certificate aimed at"),
    "standing": ("logbook_standing", "what forbids a lesson, or is not on record for it"),
    "progress": ("logbook_progress", "the trend of each task, what to fly next, the picture"),
    "school": ("logbook_school", "what the school's flights say: weak tasks, climbs, approaches, hours"),
    "export": ("logbook_export", "everything of one student as a zip"),
    "forget": ("logbook_forget", "take a student out, but for what the law makes one keep"),
    "remove": ("logbook_remove", "take a flight out"),
    "backup": ("logbook_backup", "write a backup and check it"),
    "restore": ("logbook_restore", "bring a backup back"),
    "merge": ("logbook_merge", "join another logbook into this one"),
    "check": ("logbook_check", "is the logbook whole, do its flights make sense"),
}


def configure(parser: argparse.ArgumentParser) -> None:
    """One parser for each command; its module is only loaded when it is called."""
    parser.usage = "airwork logbook COMMAND [options]"
    lines = [f"  {name:<12}{text}" for name, (_, text) in COMMANDS.items()]
    parser.epilog = "\n".join(["commands:", *lines, "", CAUTION])
    parser.add_argument("command", metavar="COMMAND", help=argparse.SUPPRESS)
    parser.add_argument("rest", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)


def run(args: argparse.Namespace) -> int:
    """Load the command's module and run it."""
    name, rest = args.command, args.rest
    if name not in COMMANDS:
        hint = meant(name, {known: line for known, (_, line) in COMMANDS.items()})
        print(f"airwork logbook: no command {name!r}; {hint}airwork logbook --help lists them.", file=sys.stderr)
        return COULD_NOT
    module = _module(COMMANDS[name][0])
    if name != "add":
        return _answer(name, module, rest)
    parser = parser_of("logbook add", module)
    module.configure(parser)
    given = parser.parse_args(rest)
    return _answer(f"add {given.what}", _module(module.WHAT[given.what]), given.rest, given.what)


def _module(name: str) -> ModuleType:
    return importlib.import_module(f"airwork.cli.{name}")


def _answer(name: str, module: ModuleType, rest: list[str], *what: str) -> int:
    """Open the logbook as the command asks, let it work, say what came of it. what : of several things, which."""
    parser = parser_of(f"logbook {name}", module)
    module.configure(parser, *what)
    data_option(parser)
    if module.BOOK == "read":
        json_option(parser)
    args = parser.parse_args(rest)
    with opened(args, module.BOOK, create=getattr(module, "CREATES", False)) as book:
        said = module.run(args, book, *what)
    if not isinstance(said, Told):
        print(said)
        return DONE
    if getattr(args, "json", False):
        print_json(said.data)
    else:
        print(said.text())
    return said.code
