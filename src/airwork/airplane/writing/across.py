"""What stands across a printed table: winds, temperatures or banks over their columns, one row for all of them.

Asked once, so that the table is typed and pasted as it is printed; the file gets a row for each place.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from airwork.airplane.writing.question import Column
from airwork.errors import InputError

MOST = 12
_ORDER = re.compile(r"\b(each|first|then|together|after|behind)\b.*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Across:
    """What may stand over the columns: its word, the file's key, how a value is read, and as it is shown."""

    word: str
    key: str
    read: Callable[[str], object]
    unit: str

    @property
    def name(self) -> str:
        """As an answer keeps it."""
        return self.word + self.unit


def reader(may: Sequence[Across]) -> Callable[[str], dict[str, Any]]:
    """ "wind 0 10 20" or "temperature -20 0 20, rolls first" as an answer.

    Raises
    ------
    InputError : none of the words, or fewer than two values.
    """

    def read(text: str) -> dict[str, Any]:
        bare = _ORDER.sub("", text.strip())
        words = [w for w in re.split(r"[\s,;/]+", bare.replace("°", " ")) if re.search(r"[\w]", w)]
        named = [a for a in may if any(w.lower().rstrip("s") == a.word for w in words)] or list(may[:1])
        named = [a for a in named if a.unit.strip() in text.lower().split()] or named
        found = [w for w in words if re.search(r"\d", w)]
        values = [named[0].read(re.sub(r"^ISA\b|^ISA(?=[+\-−])", "", w)) for w in found]
        if not 2 <= len(values) <= MOST or len(set(map(str, values))) < len(values):
            raise InputError(f"{text!r}: write what stands over the columns, e.g. {example(may)}.")
        return {
            "what": named[0].name,
            "key": named[0].key,
            "values": values,
            "first": bool(re.search("first|then", text, re.IGNORECASE)),
        }

    return read


def example(may: Sequence[Across]) -> str:
    """How it is typed."""
    return f"{may[-1].word} {'0 20 40 60' if may[-1].word == 'bank' else '0 10 20'}"


def laid_out(
    answer: Any, may: Sequence[Across], left: Sequence[Column], printed: Sequence[Column]
) -> tuple[tuple[Column, ...], tuple[Column, ...]]:
    """(columns at the left, printed ones), with one of each for every value that stands across."""
    over = next((a for a in may if isinstance(answer, dict) and a.name == answer.get("what")), None)
    if over is None:
        return tuple(left), tuple(printed)
    values = list(enumerate(answer["values"]))
    order = (
        [(c, v) for c in printed for v in values] if answer.get("first") else [(c, v) for v in values for c in printed]
    )
    wide = tuple(
        replace(c, key=f"{c.key}__{n}", name=f"{c.name.partition(' (')[0]} at {v}{over.unit}", optional=True)
        for c, (n, v) in order
    )
    return tuple(c for c in left if c.key != over.key), wide


def places(rows: Sequence[dict[str, Any]], answer: Any) -> list[tuple[int, dict[str, Any]]]:
    """(row as typed, row of the file) for every place of a table at which something is printed."""
    if not isinstance(answer, dict):
        return list(enumerate(rows))
    out = []
    for at, row in enumerate(rows):
        left = {k: v for k, v in row.items() if "__" not in k}
        for n, value in enumerate(answer["values"]):
            here = {k.removesuffix(f"__{n}"): v for k, v in row.items() if k.endswith(f"__{n}")}
            if here:
                out.append((at, {**left, answer["key"]: value, **here}))
    return out


def text_of(answer: dict[str, Any]) -> str:
    """An answer as it would be typed."""
    first = ", rolls first" if answer.get("first") else ""
    word, _, unit = answer["what"].partition(" ")
    return f"{word} {' '.join(str(v) for v in answer['values'])} {unit}".strip() + first
