"""Be walked through writing an airplane file, in the order of a handbook.

The file keeps the units the book prints, which are asked once; a quantity may be typed in any other ("980 kg", "66
mph"). An empty answer skips what is optional. "back" returns to the question before (in a table it takes the last row
back), "stop" keeps the answers for another evening, "?" helps. At the end the numbers no check can see are read back.

  airwork airplane new my_airplane.toml
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from airwork.cli import COULD_NOT, DONE
from airwork.errors import AirworkError, InputError

HELP = 'An empty answer skips what is in (brackets); "back" goes one question back; "stop" keeps the answers for later.'
IN_TABLE = (
    'In a table: "back" takes the last row back, "3: ..." types row 3 anew, "list" shows the rows, "grid" '
    "asks for what is printed at each weight, altitude and temperature."
)
PARTS = "rows of "  # before a table's key: rows typed so far, kept with the answers


class _Stop(Exception):
    """The person wants to go on another time."""


class _Back(Exception):
    """The person wants the question before."""


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file",
        type=Path,
        help="file to write; one that exists keeps all it has, missing tables are added",
    )


def run(args: argparse.Namespace) -> int:
    """Ask, check, write. Exit 2 when the input ends early."""
    path: Path = args.file
    if path.suffix != ".toml":
        raise InputError("give a name that ends in .toml.", where=str(path))
    if not path.parent.is_dir():
        raise InputError("there is no such folder.", where=str(path.parent))
    kept = path.with_name(path.name + ".unfinished")
    answers = _resume(kept)
    base = _base(path)
    print(HELP)
    if answers:
        print(f"Going on after {len(answers)} answers kept in {kept}.")
    if base:
        given = _given(path, base)
        answers = {**given, **answers}
    try:
        _ask_all(answers, kept if sys.stdin.isatty() else None, base)
    except (_Stop, KeyboardInterrupt):
        return _keep(kept, answers)
    except EOFError:
        if sys.stdin.isatty():
            return _keep(kept, answers)
        print("airwork airplane new: the input ended before the last question; nothing was written.", file=sys.stderr)
        return COULD_NOT
    return _finish(path, kept, answers, base)


def _base(path: Path) -> dict[str, Any]:
    """The tables of a file that exists already; none for a new one.

    Raises
    ------
    InputError : it can't be read, so nothing can be added to it.
    """
    if not path.exists():
        return {}
    import tomllib

    from airwork.airplane.file.load import parse_airplane_file, read_text

    text = read_text(path)
    parse_airplane_file(text, where=str(path))
    return tomllib.loads(text)


def _given(path: Path, base: dict[str, Any]) -> dict[str, Any]:
    """What the file answers, said."""
    from airwork.airplane.writing import answered_by, next_question

    answers = answered_by(base)
    question = next_question(answers)
    if question is None:
        raise InputError(
            "has every table there is a question for; mend it in an editor, or in the browser (airwork serve).",
            where=str(path),
        )
    print(f"{path} exists: what stands in it is not asked again and not changed; missing tables are added to it.")
    return answers


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


def _ask_all(answers: dict[str, Any], kept: Path | None, base: dict[str, Any]) -> None:
    """Ask what is left. Each answer and each row is kept at once: a closed terminal must not cost an evening."""
    from airwork.airplane.writing import assemble, next_question, problems, progress, together

    section = ""
    if answers and next_question(answers) is None:  # all answered, but not yet a file: ask the last one again
        _take_back(answers)
    while (question := next_question(answers)) is not None:
        if question.section != section:
            if section and question.section.startswith(("Weight", "Performance")):
                print(f"\n{progress(together(base, assemble(answers)))}")
            section = question.section
            print(f"\n{section}")
        try:
            answers[question.key] = _rows(question, answers, kept) if question.columns else _one(question)
            answers.pop(PARTS + question.key, None)
            if wrong := problems(answers, base):  # only the new answer can be at fault
                _take_back(answers)
                print("\n".join(f"    {words}" for said in wrong.values() for words in said))
            if kept is not None:
                _write(kept, answers)
        except _Back:
            _take_back(answers)


def _take_back(answers: dict[str, Any]) -> None:
    """The last answer is asked again; the rows of a table stay, to go on from."""
    keys = [key for key in answers if not key.startswith(PARTS)]
    if not keys:
        return
    value = answers.pop(keys[-1])
    if isinstance(value, list) and value and isinstance(value[0], dict):
        answers[PARTS + keys[-1]] = value


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


def _rows(question: Any, answers: dict[str, Any], kept: Path | None) -> list[dict[str, Any]]:
    columns = ", ".join(f"({c.name})" if c.optional else c.name for c in question.columns)
    print(f"  {question.text}, one row a line, an empty line ends: {columns}")
    print(f"    e.g. {question.hint}")
    rows: list[dict[str, Any]] = answers.setdefault(PARTS + question.key, [])
    if rows:
        _show(question, rows)
    while True:
        text = input(f"    row {len(rows) + 1}: ").strip()
        if text == "stop":
            raise _Stop
        if text == "back":
            if not rows:
                answers.pop(PARTS + question.key, None)
                raise _Back
            print(f"    taken back: {_row_text(question, rows.pop())}")
        elif text == "?":
            print(f'    Commas between the columns; "-" where the handbook prints nothing. {IN_TABLE}')
        elif text == "list":
            _show(question, rows)
        elif text == "grid" and question.inputs >= 2:
            _grid(question, rows, partial(_write, kept, answers) if kept is not None else None)
        elif not text and len(rows) < question.least_rows:
            print("    At least one row is needed.")
        elif not text:
            return rows
        else:
            _typed_row(question, rows, text)
        if kept is not None:
            _write(kept, answers)


def _typed_row(question: Any, rows: list[dict[str, Any]], text: str) -> None:
    """A row typed at the end, or "3: ..." in the place of another."""
    number, colon, rest = text.partition(":")
    anew = bool(colon) and number.strip().isdecimal()
    if anew and not 1 <= int(number) <= len(rows):
        print(f"    There is no row {number.strip()} yet.")
        return
    try:
        row = question.read_row(rest if anew else text)
    except AirworkError as problem:
        print(f"    {problem}")
        return
    if anew:
        rows[int(number) - 1] = row
        print(f"    row {int(number)} is now {_row_text(question, row)}")
    else:
        rows.append(row)


def _row_text(question: Any, row: dict[str, Any]) -> str:
    return ", ".join(_shown(row.get(c.key, "-")) for c in question.columns)


def _shown(value: Any) -> str:
    return (
        (" + ".join(value) or "none")
        if isinstance(value, list)
        else f"{value:,}"
        if isinstance(value, int)
        else str(value)
    )


def _show(question: Any, rows: list[dict[str, Any]]) -> None:
    for number, row in enumerate(rows, start=1):
        print(f"    row {number}: {_row_text(question, row)}")


def _grid(question: Any, rows: list[dict[str, Any]], keep: Callable[[], None] | None) -> None:
    """Ask for what is printed at each place of a table's left side, so that no number can slip into another row.

    keep : writes the answers so far, after each row.
    """
    from itertools import product

    inputs, rest = question.columns[: question.inputs], question.columns[question.inputs :]
    levels = []
    for column in inputs:
        while True:
            text = _line(f"      every {column.name}, blanks between: ")
            try:
                levels.append([column.read(word) for word in text.split()])
                break
            except AirworkError as problem:
                print(f"      {problem}")
    there = {tuple(row.get(c.key) for c in inputs) for row in rows}
    print(f"      Type {', '.join(c.name for c in rest)}; an empty line where the book prints nothing.")
    for place in product(*levels):
        if place in there:
            continue
        said = ", ".join(f"{c.name.partition(' (')[0]} {_shown(x)}" for c, x in zip(inputs, place, strict=True))
        while text := input(f"      {said}: ").strip():
            if text == "back":
                return
            if text == "stop":
                raise _Stop
            if text == "?":
                print('      An empty line where the book prints nothing; "back" ends the grid, its rows stay.')
                continue
            try:
                row = question.read_row("; ".join([*(str(x) for x in place), *split_rest(text, len(rest))]))
                rows.append(row)
                if keep is not None:
                    keep()
                break
            except AirworkError as problem:
                print(f"      {problem}")


def split_rest(text: str, most: int) -> list[str]:
    """The printed numbers of a place: blanks may stand between them too."""
    from airwork.airplane.writing.question import split_cells

    words = text.split()
    return words if "," not in text and ";" not in text and len(words) <= most else split_cells(text, most)


def _finish(path: Path, kept: Path, answers: dict[str, Any], base: dict[str, Any]) -> int:
    """Write the file if it can be read back; else keep the answers and say what doesn't fit."""
    from airwork.airplane import Airplane
    from airwork.airplane.check import check_airplane
    from airwork.airplane.file.load import parse_airplane_file
    from airwork.airplane.writing import added, assemble, progress, tables_text, together, toml_text
    from airwork.files import write_whole

    answers = {key: value for key, value in answers.items() if not key.startswith(PARTS)}
    new = assemble(answers)
    text = toml_text(new)
    if base:
        more = tables_text(added(base, new))
        text = path.read_text(encoding="utf-8-sig").rstrip() + ("\n\n" + more.lstrip() if more.strip() else "\n")
    try:
        airplane = Airplane(parse_airplane_file(text, where="the answers"))
    except InputError as problem:
        _keep(kept, answers)
        print(f'airwork airplane new: {problem}\nGo on with the same command and "back".', file=sys.stderr)
        return COULD_NOT
    write_whole(path, text)
    kept.unlink(missing_ok=True)
    print(f"\nwrote {path}")
    for complaint in check_airplane(airplane):
        print(f"  to look at: {complaint}")
    print(f"\n{progress(together(base, new))}")
    doubted = _confirm(airplane)
    if doubted:
        print(f"Not as in the book, to be put right in {path}: {'; '.join(doubted)}.")
    print(f"Next: airwork airplane check {path}; airwork numbers {path}")
    return DONE


def _confirm(airplane: Any) -> list[str]:
    """The proof, then the numbers no check can see, one by one; what is not as in the book."""
    from airwork.airplane.writing import proof, read_back

    for sentence in proof(airplane):
        print(f"  {sentence}")
    print("  Is that your book?")
    asked = sys.stdin.isatty()
    print(
        "\nRead back, for no check can see them"
        + (' (Enter: as in the book; "no": not; "stop" ends):' if asked else ":")
    )
    doubted = []
    for number in read_back(airplane):
        if not asked:
            print(f"  {number}")
            continue
        try:
            answer = input(f"  {number}   ").strip().lower()
        except (EOFError, KeyboardInterrupt):
            break
        if answer == "stop":
            break
        if answer.startswith("n"):
            doubted.append(f"{number.what} in [{number.table}]")
    return doubted
