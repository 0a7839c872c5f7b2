"""A question about an airplane's book, and how a row of a table is read from one line."""

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
    """One question. With `columns` it asks for rows, one a line, ended by an empty line.

    `read` turns the text into the answer, or raises InputError. `default` is what an empty answer means; an optional
    question is skipped by an empty answer. `inputs`: so many columns, from the left, say where a row stands; the rest
    is what is printed there. `look` may refuse a row with a question back.
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
    inputs: int = 0
    look: Callable[[dict[str, Any]], None] | None = None

    @property
    def words(self) -> tuple[str, ...]:
        """What may be chosen, where it is one of some words."""
        return _words(self.read)

    def read_row(self, text: str) -> dict[str, Any]:
        """A row typed with commas, semicolons or tabs between the columns; "-" for what is not published.

        Raises
        ------
        InputError : too few or too many columns, or one that can't be read.
        """
        row = self.row_of(split_cells(text, len(self.columns)))
        if self.look is not None:
            self.look(row)
        return row

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


def split_cells(text: str, most: int) -> list[str]:
    """The cells of a line: at tabs or semicolons if there are any, else at commas.

    A comma inside a number (16,3 or 1,150) is not a border where another kind of border is used, or a blank follows the
    commas that are.
    """
    for border in ("\t", ";"):
        if border in text:
            return [part.strip() for part in text.split(border)]
    parts = [part.strip() for part in re.split(r",\s+", text.strip())]
    if len(parts) > 1 or "," not in text:
        return parts
    tight = [part.strip() for part in text.split(",")]
    if len(tight) > most and re.fullmatch(r"[\d,]+", text.strip()):
        raise InputError(
            f"{text.strip()!r}: are the commas between columns or within numbers? A blank after those between."
        )
    return tight


def slug(name: str) -> str:
    """An id made from a name."""
    plain = unicodedata.normalize("NFKD", name.lower().replace("ß", "ss"))
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:60] or "airplane"
