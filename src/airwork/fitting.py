"""What doesn't fit in a file, in words its writer can act on: from pydantic's findings to what was expected."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import is_dataclass
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, get_args, get_origin, get_type_hints

from airwork.errors import InputError, Where
from airwork.typed_file import FILL_IN

if TYPE_CHECKING:  # a file that fits needs none of it
    from pydantic import ValidationError
    from pydantic_core import ErrorDetails

# What was expected, for the kinds of finding that need no more than that.
_EXPECTED = {
    "float_type": "a number",
    "float_parsing": "a number",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "list_type": "a list [ ... ]",
    "tuple_type": "a list [ ... ]",
    "model_type": "a table with keys",
    "model_attributes_type": "a table with keys",
    "dataclass_type": "a table with keys",
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
_UNKNOWN = {"extra_forbidden", "unexpected_keyword_argument"}


def in_words(finding: ErrorDetails, keys: Sequence[str], *, printed: Callable[[float], float] | None = None) -> str:
    """One finding: "found 'fifty', expected a number".

    keys : the keys allowed where it is. printed : from the model's number to the one the file has.
    """
    kind, context = finding["type"], dict(finding.get("ctx", {}))
    if kind == "own":  # a reader's words, with an example of what to write
        return str(finding["msg"])
    if finding["input"] == FILL_IN:
        return "still to be filled in"
    found = _shown(finding["input"])
    if printed is not None and isinstance(finding["input"], int | float):
        found = f"{printed(finding['input']):g}"
        context = {k: printed(v) if isinstance(v, int | float) else v for k, v in context.items()}
    if kind in _EXPECTED:
        return f"found {found}, expected {_EXPECTED[kind]}"
    if kind in _LIMIT:
        words, name = _LIMIT[kind]
        return f"found {found}, expected {words} {context[name]:g}"
    if kind in _UNKNOWN:
        return f"unknown key; {_meant(str(finding['loc'][-1]), keys)}"
    match kind:
        case "missing":
            return (
                "this key is missing"
                if finding["loc"] and isinstance(finding["loc"][-1], str)
                else "a value is missing"
            )
        case "value_error":
            return str(context.get("error", finding["msg"]))
        case "literal_error":
            return f"found {found}, expected {context.get('expected', 'one of the known words')}"
        case "too_short":
            return f"found {context.get('actual_length', 0)} entries, expected at least {context.get('min_length')}"
        case "too_long":
            return f"found {context.get('actual_length')} entries, expected at most {context.get('max_length')}"
    return f"found {found}: {finding['msg'][:1].lower()}{finding['msg'][1:]}"


def first_of(problem: ValidationError, root: Any, *, where: str | Where, what: str = "") -> InputError:
    """The first finding in a file of the model `root`, as an error: its place, dotted, and what was expected."""
    first = problem.errors(include_url=False)[0]
    place = ".".join(map(str, first["loc"])) or "the file"
    return InputError(f"{what}{place}: {in_words(first, keys_at(root, first['loc'][:-1]))}.", where=where)


@cache
def fields_of(model: Any) -> dict[str, Any]:
    """The fields a table of a file may have, as the file names them, each with its type; none for a plain value.

    model : one of pydantic's, or a dataclass, whose alias is the file's word for a field.
    """
    if not is_dataclass(model):
        return {name: about.annotation for name, about in getattr(model, "model_fields", {}).items()}
    hints = get_type_hints(model, include_extras=True)
    return {next((alias for alias in _aliases(hint) if alias), name): hint for name, hint in hints.items()}


def _aliases(hint: Any) -> list[str | None]:
    return [getattr(m, "alias", None) for m in get_args(hint)[1:]] if get_origin(hint) is Annotated else []


def keys_at(root: Any, location: Sequence[str | int]) -> list[str]:
    """The keys allowed at a place of a file that `root` is the model of."""
    models = [root]
    for part in location:
        if isinstance(part, str):
            models = [found for model in models for found in _models(fields_of(model).get(part))]
    return [key for model in models for key in fields_of(model)]


def _models(annotation: Any) -> list[Any]:
    """The models a field's type names: itself, or in a list, a dict, a choice."""
    if isinstance(annotation, type):
        return [annotation] if fields_of(annotation) else []
    return [model for part in get_args(annotation) for model in _models(part)]


def _meant(key: str, known: Sequence[str]) -> str:
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
