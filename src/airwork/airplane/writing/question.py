"""A question about an airplane's book, and how a row of a table is read from its cells."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from airwork.airplane.writing import cells
from airwork.airplane.writing.cells import Reader
from airwork.errors import InputError

Answers = Mapping[str, Any]  # by question key; None: skipped


def _words(read: Reader) -> tuple[str, ...]:
    return read.options if isinstance(read, cells.Choice) else ("yes", "no") if read is cells.yes_no else ()


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table that is typed row by row."""

    key: str
    name: str
    read: Reader
    optional: bool = False

    @property
    def words(self) -> tuple[str, ...]:
        """What may be chosen, where it is one of some words."""
        return _words(self.read)


@dataclass(frozen=True, slots=True)
class Question:
    """One question. With `columns` it asks for rows.

    `read` turns the text into the answer, or raises InputError. `default` is what an empty answer means; an optional
    question is skipped by an empty answer. `look` may refuse a row with a question back.
    """

    key: str
    section: str
    text: str
    read: Reader = cells.words
    optional: bool = False
    default: str = ""
    columns: tuple[Column, ...] = ()
    least_rows: int = 0
    hint: str = ""
    look: Callable[[dict[str, Any]], None] | None = None

    @property
    def words(self) -> tuple[str, ...]:
        """What may be chosen, where it is one of some words."""
        return _words(self.read)

    def row_of(self, parts: list[str]) -> dict[str, Any]:
        """A row from its cells."""
        needed = sum(not c.optional for c in self.columns)
        if not needed <= len(parts) <= len(self.columns):
            wanted = ", ".join(c.name for c in self.columns)
            count = f"{len(parts)} columns" if len(parts) > 1 else "one column (a comma or semicolon between them)"
            raise InputError(f"{count}, wanted: {wanted}.")
        row: dict[str, Any] = {}
        for column, part in zip(self.columns, parts, strict=False):
            if part in {"", "-", "–"}:
                if not column.optional:
                    raise InputError(f"{column.name} is needed.")
                continue
            try:
                row[column.key] = column.read(part)
            except InputError as problem:
                raise InputError(f"{column.name}: {problem.problem}") from None
        return row


def slug(name: str) -> str:
    """An id made from a name."""
    plain = unicodedata.normalize("NFKD", name.lower().replace("ß", "ss"))
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:60] or "airplane"
