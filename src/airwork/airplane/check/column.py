"""A printed column held against a law: its terms as a matrix, and what stands out as a complaint."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from airwork.airplane.check.book import Book, Complaint, guess
from airwork.airplane.check.smooth import Array, Outlier

WHY = "The other numbers of its column make it about {0}"


def columns(*terms: tuple[Array | float, float], count: int) -> tuple[Array, Array]:
    """Terms and their usual sizes as matrix and vector."""
    return (
        np.column_stack([np.broadcast_to(np.asarray(t, dtype=float), (count,)) for t, _ in terms]),
        np.array([size for _, size in terms]),
    )


def named(
    book: Book,
    table: str,
    key: str,
    rows: Sequence[int],
    found: list[Outlier],
    values: Array,
    back: Callable[[float, int], float],
    *,
    name: str = "rows",
) -> Iterator[Complaint]:
    """The outliers of a column as complaints: one for each row, one for all where there are many."""
    if not found:
        return
    first = found[0]
    i = rows[first.row]
    expected = back(first.expected, first.row)
    about = book.number(table, key, expected)
    others = f" So do {len(found) - 1} more of this column." if len(found) > 1 else ""
    stands = values[first.row]
    yield Complaint(
        book.place(table, i, rows=name),
        f"{book.label(key)} {book.number(table, key, stands)}",
        WHY.format(about) + "; a digit, the unit or the row is wrong." + guess(stands, expected, key) + others,
        table=table,
        rows=tuple(sorted(rows[o.row] for o in found)),
        key=key,
    )
