"""Turning pydantic's findings into lines a typist can act on: table, row, key, what was found, what was expected."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from airwork.airplane.file.printed import as_printed, spellings
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
