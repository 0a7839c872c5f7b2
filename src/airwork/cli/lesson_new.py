"""Write a lesson file to start from: commented, every quantity with its unit, ready to be changed.

Asks for what isn't given as an option; press Enter for what stands in brackets: airplane, airport, zone and instructor
of the newest lesson in that folder. A weight or fuel left empty is written as FILL IN, never assumed. Nothing is
overwritten without --force.

  airwork lesson new
  airwork lesson new monday.toml --airplane larkmoor_155 --airport KOGA --student "Nora" --exercise slow_flight
  airwork lesson new my_demo/lessons/monday.toml --no-questions
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from airwork.cli import COULD_NOT, DONE
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("file", metavar="FILE.toml", nargs="?", type=Path, help="where to write it; lesson.toml if not given")
    add("--airplane", help="airplane file, or the id of a demo airplane")
    add("--airport", help="identifier of the departure airport")
    add("--date", help="2025-09-20; today if not given")
    add("--time", help="engine start, local: 09:30")
    add("--zone", help="time zone: America/Denver")
    add("--student", help="name of the student")
    add("--instructor", help="name of the instructor")
    add("--certificate", help="what the student aims at: private, commercial, sport, easa_ppl ...")
    add("--student-weight", help="150 lb, 68 kg")
    add("--instructor-weight", help="the same of the instructor")
    add("--bags", help="weight of the bags")
    add("--fuel", help="usable fuel in each tank: 15 gal, 57 L")
    add("--exercise", action="append", default=[], metavar="KIND", help="an exercise, in flying order; may be repeated")
    add("--metric", action="store_true", help="kilograms, liters, hectopascals in the file and on the card")
    add("--no-questions", action="store_true", help="ask nothing; take what is in brackets")
    add("--force", action="store_true", help="overwrite a file that is there")


def run(args: argparse.Namespace) -> int:
    """Ask, write, and say what to do next."""
    from airwork.files import write_whole
    from airwork.lesson.blank import QUESTIONS, Answers, last_lesson, lesson_text

    path: Path = args.file or Path("lesson.toml")
    if path.exists() and not args.force:
        raise InputError("is there already; choose another name or --force.", where=str(path))
    answers = Answers.today(last_lesson(path.resolve().parent), metric=args.metric)
    for field, words in QUESTIONS:
        given = getattr(args, field)
        if given is None and not args.no_questions and sys.stdin.isatty():
            given = _ask(words, getattr(answers, field))
            if given is None:
                return COULD_NOT
        if given and field == "airplane" and Path(given).is_file():  # a path as one stands; in the lesson as it lies
            given = Path(os.path.relpath(Path(given).resolve(), path.resolve().parent)).as_posix()
        if given:
            answers = answers.with_field(field, given)
    if args.exercise:
        answers = answers.with_exercises(tuple(args.exercise))
    write_whole(path, lesson_text(answers, path.resolve().parent))
    print(f"wrote {path}")
    print("Fill in what says FILL IN (weights, fuel, weather, practice area), then:")
    print(f"  airwork brief {path}")
    return DONE


def _ask(words: str, default: str) -> str | None:
    """One question; Enter takes the default, end of input gives up."""
    try:
        return input(f"{words} [{default}]: " if default else f"{words}: ").strip() or default
    except EOFError:
        print()
        return None
