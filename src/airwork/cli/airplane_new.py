"""Be walked through writing an airplane file, in the order of a handbook.

Quantities are taken in any unit ("980 kg", "66 mph"); a bare number is in the unit the question names. An empty answer
skips what is optional. "back" returns to the question before, "stop" keeps the answers for another evening, "?" helps.

  airwork airplane new my_airplane.toml
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from airwork.cli import COULD_NOT, DONE
from airwork.errors import AirworkError, InputError

HELP = 'An empty answer skips what is in (brackets); "back" goes one question back; "stop" keeps the answers for later.'


class _Stop(Exception):
    """The person wants to go on another time."""


class _Back(Exception):
    """The person wants the question before."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("file", type=Path, help="file to write; an unfinished one is continued")


def run(args: argparse.Namespace) -> int:
    """Ask, check, write. Exit 2 when the input ends early or the file exists."""
    path: Path = args.file
    if path.suffix != ".toml":
        raise InputError("give a name that ends in .toml.", where=str(path))
    if path.exists():
        raise InputError("exists already; mend it in an editor, or give another name.", where=str(path))
    if not path.parent.is_dir():
        raise InputError("there is no such folder.", where=str(path.parent))
    kept = path.with_name(path.name + ".unfinished")
    answers = _resume(kept)
    print(HELP)
    if answers:
        print(f"Going on after {len(answers)} answers kept in {kept}.")
    try:
        _ask_all(answers, kept if sys.stdin.isatty() else None)
    except (_Stop, KeyboardInterrupt):
        return _keep(kept, answers)
    except EOFError:
        if sys.stdin.isatty():
            return _keep(kept, answers)
        print("airwork airplane new: the input ended before the last question; nothing was written.", file=sys.stderr)
        return COULD_NOT
    return _finish(path, kept, answers)


def _resume(kept: Path) -> dict[str, Any]:
    if not kept.exists():
        return {}
    try:
        answers = json.loads(kept.read_text("utf-8"))
    except ValueError:
        answers = None
    if not isinstance(answers, dict):
        raise InputError("is not a file of kept answers; move it away to start anew.", where=str(kept))
    return answers


def _write(kept: Path, answers: dict[str, Any]) -> None:
    from airwork.files import write_whole

    write_whole(kept, json.dumps(answers, ensure_ascii=False, indent=1) + "\n")


def _keep(kept: Path, answers: dict[str, Any]) -> int:
    print()
    if not answers:
        print("Nothing answered, nothing kept.")
        return DONE
    _write(kept, answers)
    print(f"{len(answers)} answers kept in {kept}; the same command goes on from here.")
    return DONE


def _ask_all(answers: dict[str, Any], kept: Path | None) -> None:
    """Ask what is left. Each answer is kept at once: a terminal that is closed must not cost an evening."""
    from airwork.airplane.writing import next_question, problems

    section = ""
    if answers and next_question(answers) is None:  # all answered, but not yet a file: ask the last one again
        answers.popitem()
    while (question := next_question(answers)) is not None:
        if question.section != section:
            section = question.section
            print(f"\n{section}")
        try:
            answers[question.key] = _rows(question) if question.columns else _one(question)
            for problem in problems(answers):  # only the new answer can be at fault
                answers.pop(question.key, None)
                print(f"    {problem}")
            if kept is not None:
                _write(kept, answers)
        except _Back:
            if answers:
                answers.popitem()  # dictionaries keep the order of the answers


def _line(prompt: str) -> str:
    text = input(prompt).strip()
    if text == "stop":
        raise _Stop
    if text == "back":
        raise _Back
    return text


def _one(question: Any) -> Any:
    words = f"{question.text} [{question.default}]" if question.default else question.text
    prompt = f"  ({words}): " if question.optional else f"  {words}: "
    while True:
        text = _line(prompt) or question.default
        if text == "?":
            print(f"    {question.hint or HELP}")
        elif not text and question.optional:
            return None
        elif not text:
            print("    This is needed.")
        else:
            try:
                return question.read(text)
            except AirworkError as problem:
                print(f"    {problem}")


def _rows(question: Any) -> list[dict[str, Any]]:
    columns = ", ".join(f"({c.name})" if c.optional else c.name for c in question.columns)
    print(f"  {question.text}, one row a line, an empty line ends: {columns}")
    print(f"    e.g. {question.hint}")
    rows: list[dict[str, Any]] = []
    while True:
        text = _line(f"    row {len(rows) + 1}: ")
        if text == "?":
            print('    Commas between the columns; "-" where the handbook prints nothing.')
        elif not text and len(rows) < question.least_rows:
            print("    At least one row is needed.")
        elif not text:
            return rows
        else:
            try:
                rows.append(question.read_row(text))
            except AirworkError as problem:
                print(f"    {problem}")


def _finish(path: Path, kept: Path, answers: dict[str, Any]) -> int:
    """Write the file if it can be read back; else keep the answers and say what doesn't fit."""
    from airwork.airplane import Airplane
    from airwork.airplane.check import check_airplane
    from airwork.airplane.file.load import parse_airplane_file
    from airwork.airplane.writing import assemble, toml_text
    from airwork.files import write_whole

    text = toml_text(assemble(answers))
    try:
        airplane = Airplane(parse_airplane_file(text, where="the answers"))
    except InputError as problem:
        _keep(kept, answers)
        print(f'airwork airplane new: {problem}\nGo on with the same command and "back".', file=sys.stderr)
        return COULD_NOT
    write_whole(path, text)
    kept.unlink(missing_ok=True)
    print(f"\nwrote {path}")
    complaints = check_airplane(airplane)
    for complaint in complaints:
        print(f"  to look at: {complaint}")
    print(f"Next: airwork airplane check {path}; airwork numbers {path}")
    return DONE
