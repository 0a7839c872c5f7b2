"""Turning pydantic's findings into lines a typist can act on: table, row, key, what was found, what was expected."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from airwork.airplane.file.printed import as_printed, models_in, spellings
from airwork.errors import InputError, Where
from airwork.typed_file import FILL_IN

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
    problem = _problem(details, root, location, written)
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


# What was expected, for the kinds of finding that need no more than that.
_EXPECTED = {
    "float_type": "a number",
    "float_parsing": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "list_type": "a list [ ... ]",
    "model_type": "a table with keys",
    "model_attributes_type": "a table with keys",
    "dict_type": "a table with keys",
    "string_pattern_mismatch": "small letters, digits and _ only",
    "finite_number": "a finite number",
}
# Likewise for those with a limit: the words before it, and where pydantic keeps it.
_LIMIT = {
    "greater_than": ("more than", "gt"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("less than", "lt"),
    "less_than_equal": ("at most", "le"),
}


def _problem(
    details: ErrorDetails, root: type[BaseModel], location: list[int | str], written: str | None = None
) -> str:
    kind, context = details["type"], dict(details.get("ctx", {}))
    if details["input"] == FILL_IN:
        return "still to be filled in"
    found = _shown(details["input"])
    if written is not None and isinstance(details["input"], int | float):  # back to what the file says
        key = str(location[-1])
        unit = dict(spellings(key))[written]
        found = f"{as_printed(details['input'], key, unit):g}"
        context = {k: as_printed(v, key, unit) if isinstance(v, int | float) else v for k, v in context.items()}
    if kind in _EXPECTED:
        return f"found {found}, expected {_EXPECTED[kind]}"
    if kind in _LIMIT:
        words, name = _LIMIT[kind]
        return f"found {found}, expected {words} {context[name]:g}"
    match kind:
        case "missing":
            return "this key is missing" if location and isinstance(location[-1], str) else "a value is missing"
        case "extra_forbidden":
            return f"unknown key; {_meant(str(location[-1]), _keys_at(root, location[:-1]))}"
        case "value_error":
            return str(context.get("error", details["msg"]))
        case "literal_error":
            return f"found {found}, expected {context.get('expected', 'one of the known words')}"
        case "too_short":
            return f"found {context.get('actual_length', 0)} entries, expected at least {context.get('min_length')}"
        case "too_long":
            return f"found {context.get('actual_length')} entries, expected at most {context.get('max_length')}"
    return f"found {found}: {details['msg']}"


def _meant(key: str, known: list[str]) -> str:
    """Which known key an unknown one may be."""
    near = difflib.get_close_matches(key, known, n=4, cutoff=0.6)
    # a number in mph must not be sent to a key in knots: the same unit comes before the nearer spelling
    unit = key.rpartition("_")[2]
    near.sort(key=lambda name: name.rpartition("_")[2] != unit)
    if near:
        return f"did you mean {near[0]!r}?"
    return f"known here: {', '.join(known[:12])}" + (" ..." if len(known) > 12 else "")


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list" if len(value) > 4 else repr(value)
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "...'"


def _keys_at(root: type[BaseModel], location: list[int | str]) -> list[str]:
    """Names of the keys allowed at a place in the file."""
    models: list[type[BaseModel]] = [root]
    for part in location:
        if isinstance(part, int):
            continue
        models = [
            m for model in models if part in model.model_fields for m in models_in(model.model_fields[part].annotation)
        ]
    keys = [key for model in models for key in model.model_fields]
    return keys + [name for key in keys for name, _ in spellings(key)]
