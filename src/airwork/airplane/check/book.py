"""What every check is given: the airplane, and how to name a place in its file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from airwork import units
from airwork.airplane.airplane import Airplane
from airwork.airplane.file.base import SpeedRow
from airwork.airplane.parts import row_ias_mps
from airwork.errors import Where

MPH_PER_KT = units.KT_MPS / units.MPH_MPS
KT_PER_MPS = 1.0 / units.KT_MPS


@dataclass(frozen=True, slots=True)
class Complaint:
    """One suspicion: where it is, what was found, why it is suspicious."""

    where: Where
    what: str
    why: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}. {self.why}"


class Book:
    """The airplane being checked and the lines of its file."""

    def __init__(self, airplane: Airplane, lines: dict[str, int]) -> None:
        self.airplane, self.file, self.lines = airplane, airplane.file, lines

    def place(self, table: str, row: int | None = None, key: str = "", *, rows: str = "rows", label: str = "") -> Where:
        """A place in the file, with its line; the row counted from 0."""
        if row is None:
            return Where("", table, field=key, line=self.lines.get(f"{table}.{key}" if key else table))
        line = self.lines.get(f"{table}.{rows}.{row}" if rows else f"{table}.{row}")
        return Where("", table, rows, row, key, line=line, label=label)

    def cas_kt(self, row: SpeedRow, notch: int) -> float | None:
        """Calibrated airspeed of a row; None outside the calibration. [kt]"""
        if row.kcas is not None:
            return row.kcas
        if row.calibrated_mph is not None:
            return row.calibrated_mph / MPH_PER_KT
        cas = float(self.airplane.calibration[notch].cas(row_ias_mps(row) or 0.0))
        return None if cas != cas else cas * KT_PER_MPS

    def ias_kt(self, row: SpeedRow) -> float | None:
        """Indicated airspeed of a row; None if only calibrated is printed. [kt]"""
        ias = row_ias_mps(row)
        return None if ias is None else ias * KT_PER_MPS

    def stall_kt(self, weight_lb: float, notch: int) -> float | None:
        """Calibrated stall speed at a weight; None if the file has none for the notch. [kt]"""
        curve = self.airplane.stall_curves.get(notch)
        return None if curve is None else float(curve.cas(weight_lb * units.LB_KG, 1.0)) * KT_PER_MPS


def steps(rows: Sequence[Any], fixed: Iterable[str], along: str, value: str) -> Iterator[tuple[int, int]]:
    """Neighboring rows along one column, the `fixed` columns equal: pairs of row indices, `along` rising.

    Rows lacking `along` or `value` are passed over.
    """
    keys = tuple(fixed)
    groups: dict[tuple[Any, ...], list[int]] = {}
    for i, row in enumerate(rows):
        if getattr(row, along) is not None and getattr(row, value) is not None:
            groups.setdefault(tuple(getattr(row, k) for k in keys), []).append(i)
    for members in groups.values():
        ordered = sorted(members, key=lambda i: getattr(rows[i], along))
        for a, b in pairwise(ordered):
            if getattr(rows[a], along) < getattr(rows[b], along):
                yield a, b


def triples(rows: Sequence[Any], fixed: Iterable[str], along: str, value: str) -> Iterator[tuple[int, int, int]]:
    """Three neighbors along one column, as `steps`."""
    pairs = list(steps(rows, fixed, along, value))
    follow = dict(pairs)
    for a, b in pairs:
        if b in follow:
            yield a, b, follow[b]


def duplicates(rows: Sequence[Any], keys: Iterable[str]) -> Iterator[tuple[int, int]]:
    """(first, later) rows with the same inputs."""
    names, seen = tuple(keys), dict[tuple[Any, ...], int]()
    for i, row in enumerate(rows):
        inputs = tuple(getattr(row, k) for k in names)
        if inputs in seen:
            yield seen[inputs], i
        seen.setdefault(inputs, i)


def looks_like_mph(found_kt: float, expected_kt: float, tolerance: float = 0.035) -> bool:
    """Is a speed in a knots column about 1.15 times what it should be?"""
    return expected_kt > 0 and abs(found_kt / expected_kt / MPH_PER_KT - 1.0) < tolerance


def mph_hint(found_kt: float, expected_kt: float) -> str:
    """ " It is 1.15 times as much: mph typed as knots?" where that fits, else nothing."""
    if looks_like_mph(found_kt, expected_kt):
        return " It is 1.15 times that: mph typed as knots?"
    if looks_like_mph(expected_kt, found_kt):
        return " It is that over 1.15: knots typed as mph?"
    return ""


Check = Callable[[Book], Iterator[Complaint]]
