"""Reading an airplane file: TOML in, a validated `AirplaneFile` out, or one clear error."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from airwork import typed_file
from airwork.airplane.file.lines import line_numbers
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import as_printed, read_printed, spellings
from airwork.errors import InputError, Where
from airwork.fitting import in_words, keys_at

SHOWN = 20  # a screen; the rest is counted


def explain(
    details: ErrorDetails,
    root: type[BaseModel],
    lines: dict[str, int],
    printed: Mapping[str, Mapping[str, str]] | None = None,
    *,
    file: str = "",
) -> InputError:
    """One finding with its place: "[performance.stall] row 3 (line 163), kcas: found 'fifty', expected a number".

    printed : by table, how the file writes a key of the model (see `printed`).
    """
    location = [part for part in details["loc"] if not _is_branch(part)]
    table = ".".join(part for part in location[:-1] if isinstance(part, str))
    written = (printed or {}).get(table, {}).get(str(location[-1])) if location else None
    key = str(location[-1]) if location else ""
    printed_as = None if written is None else partial(as_printed, key=key, unit=dict(spellings(key))[written])
    problem = in_words({**details, "loc": tuple(location)}, _keys_at(root, location[:-1]), printed=printed_as)
    if written is not None:
        location = [*location[:-1], written]
    return InputError(problem, where=Where.of(file, tuple(location) or ("file",), _line(location, lines)))


def _line(location: list[int | str], lines: dict[str, int]) -> int | None:
    """Line of a row (the first number ends its path), else of the key."""
    first = next((i for i, part in enumerate(location) if isinstance(part, int)), len(location) - 1)
    return lines.get(".".join(str(part) for part in location[: first + 1]))


def _is_branch(part: int | str) -> bool:
    """Pydantic names the branch of a union it tried; that is no part of the file."""
    return isinstance(part, str) and (not part.isidentifier() or part[:1].isupper() or part == "str")


def _keys_at(root: type[BaseModel], location: list[int | str]) -> list[str]:
    """Names of the keys allowed at a place in the file, in every unit."""
    keys = keys_at(root, location)
    return keys + [name for key in keys for name, _ in spellings(key)]


SCHEMA_VERSION = 1
BLANK = Path(__file__).with_name("blank.toml")  # a file to start from: what is needed says FILL IN


def read_airplane_file(path: Path) -> AirplaneFile:
    """Read and validate an airplane file.

    Raises
    ------
    InputError : the file can't be read, is no TOML, or its content doesn't fit; names table, row, key and what was
        expected, one line each, the first few and how many more.
    """
    return parse_airplane_file(read_text(path), where=str(path))


def blank_text(airplane_id: str, name: str) -> str:
    """The file to start from under a name, without the tables a book may have: a form offers those itself."""
    text = BLANK.read_text(encoding="utf-8").partition("# [fuel]")[0].rstrip() + "\n"
    text = text.replace('id = "my_airplane" ', f'id = "{airplane_id}" ')
    quoted = name.replace("\\", "\\\\").replace('"', '\\"')
    return text.replace('name = "FILL IN" ', f'name = "{quoted}" ', 1)


def read_text(path: Path) -> str:
    """The text of an airplane file; a big handbook is 0.1 MB, and anything far above 5 MB is some other file."""
    return typed_file.read_text(path, "airplane file", most_mb=5)


def identity_of(text: str) -> dict[str, Any]:
    """What a file says under [airplane], read without the tables behind it, which take thirty times as long; {} where
    it has none, or is no TOML as far as that.

    >>> identity_of('[airplane]\\nid = "larkmoor_155"\\n\\n[engine]\\nrated_power_hp = ')
    {'id': 'larkmoor_155'}
    """
    for part in f"\n{text}".replace("\r\n", "\n").split("\n["):
        if part.startswith("airplane]"):
            try:
                return dict(tomllib.loads(f"[{part}")["airplane"])
            except (ValueError, RecursionError):  # a list of lists is in it, or a slip
                break
    try:
        found = tomllib.loads(text.replace("\r\n", "\n")).get("airplane")
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def parse_airplane_file(text: str, *, where: str = "airplane file") -> AirplaneFile:
    """As `read_airplane_file`, from the text itself. One text is one value, wherever it lies."""
    try:
        return _parsed(text)
    except InputError:
        return _parse(text, where)  # says where


@lru_cache(maxsize=16)  # what comes of it can't be changed, and pages read the same file again and again
def _parsed(text: str) -> AirplaneFile:
    return _parse(text, "airplane file")


def _parse(text: str, where: str) -> AirplaneFile:
    data = typed_file.tables(text, where)
    _check_version(data, where)
    if "printed" in data:
        raise InputError("is made by airwork, not typed; take it out.", where=Where(where, "printed"))
    try:
        data, printed = read_printed(data, AirplaneFile)
    except InputError as problem:
        at, lines = problem.where, line_numbers(text)
        place = f"{at.table}.{at.field if at.row is None else f'{at.rows}.{at.row}'}"
        raise InputError(problem.problem, where=replace(at, file=where, line=lines.get(place))) from None
    try:
        return AirplaneFile.model_validate({**data, "printed": printed})
    except ValidationError as problem:
        lines = line_numbers(text)
        errors = problem.errors(include_url=False)
        each = [explain(e, AirplaneFile, lines, printed, file=where) for e in errors]
    found = _each_once(each)
    if len(found) == 1:
        raise each[0] from None
    more = f"\n  and {len(found) - SHOWN} more" if len(found) > SHOWN else ""
    message = f"{len(found)} things don't fit:\n  " + "\n  ".join(found[:SHOWN]) + more
    raise InputError(message, where=where, each=each) from None


def _each_once(errors: list[InputError]) -> list[str]:
    """Each finding in a line; the same of a column in many rows in one."""
    alike: dict[tuple[str, str, str], list[InputError]] = {}
    for e in errors:
        alike.setdefault((e.where.table, e.where.field, e.problem), []).append(e)
    lines = []
    for same in alike.values():
        rows = len({e.where.row for e in same})
        lines.append(f"{same[0].where.within}: {same[0].problem}{f' ({rows} rows have it)' if rows > 1 else ''}")
    return lines


def _check_version(data: dict[str, Any], where: str) -> None:
    airplane = data.get("airplane")
    if not isinstance(airplane, dict):
        raise InputError("has no [airplane] table; is it an airplane file?", where=where)
    version = airplane.get("schema_version")
    if isinstance(version, int) and not isinstance(version, bool) and version != SCHEMA_VERSION:
        raise InputError(
            f"found {version}, this airwork reads version {SCHEMA_VERSION}; a newer file needs a newer airwork.",
            where=Where(where, "airplane", field="schema_version"),
        )
