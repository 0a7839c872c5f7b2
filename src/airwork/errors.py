"""Every error airwork raises on purpose.

AirworkError                 anything a user can put right; the CLI prints it as one line and exits with 2
├── InputError               a file, field or argument that can't be used
│   └── UnitError            a quantity whose unit is unknown or of the wrong kind
├── OutOfRange               asked outside a handbook table or a formula's validity
└── NotPossible              the airplane or the day can't do it (level flight too hot and heavy, ...)
    └── NotReached           an exercise of a lesson that the airplane doesn't get to today, or home from
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

_PLAIN_ROWS = {"", "rows"}  # in words just "row 3"; others by name, "stations row 3"


@dataclass(frozen=True, slots=True)
class Where:
    """Where in a file something stands; `str` prints it. Two are equal when all fields are.

    file : its name, or the option or thing that holds it. table : dotted, "performance.stall".
    rows, row : the list of rows in the table ("" where the table is the list), and the row's number from 0.
    field : the key, dotted where it lies deeper in a row. item : number from 0 where the value is one of a list.
    line : of the file, from 1. label : what the row is called, for people.
    dotted : printed "people 1.weight", else "[performance.stall] row 3 (line 163), kcas".

    >>> at = Where.of("mine.toml", ("performance", "stall", "rows", 2, "kcas"), 163)
    >>> str(at), at.table, at.row, at.field
    ('mine.toml: [performance.stall] row 3 (line 163), kcas', 'performance.stall', 2, 'kcas')
    """

    file: str = ""
    table: str = ""
    rows: str = ""
    row: int | None = None
    field: str = ""
    item: int | None = None
    line: int | None = None
    dotted: bool = False
    label: str = ""

    @classmethod
    def of(cls, file: str, path: Sequence[str | int], line: int | None = None, *, dotted: bool = False) -> Where:
        """From keys and numbers, the outermost first; the last key is the field."""
        numbers = [i for i, part in enumerate(path) if isinstance(part, int)]
        at = numbers[0] if numbers else max(len(path) - 1, 0)
        head, rest = [str(p) for p in path[:at]], path[at:]
        rows = head.pop() if numbers and len(head) > 1 else ""
        row, item = (int(path[i]) if i is not None else None for i in (*numbers[:2], None, None)[:2])
        field = ".".join(p for p in rest if isinstance(p, str))
        return cls(file, ".".join(head), rows, row, field, item, line, dotted)

    @property
    def path(self) -> tuple[str | int, ...]:
        """Keys and numbers, the outermost first, as `of` takes them."""
        head = (*self.table.split("."), self.rows) if self.rows else tuple(self.table.split("."))
        found: tuple[str | int | None, ...] = (*head, self.row, *self.field.split("."), self.item)
        return tuple(part for part in found if part not in (None, ""))

    def at(self, *more: str | int) -> Where:
        """A place inside this one."""
        return Where.of(self.file, (*self.path, *more), dotted=self.dotted)

    @property
    def within(self) -> str:
        """The place in words, without the file."""
        if self.dotted:
            return "".join(f" {p + 1}" if isinstance(p, int) else f".{p}" for p in self.path).lstrip(". ")
        name = "" if self.rows in _PLAIN_ROWS else f"{self.rows} "
        row = "" if self.row is None else f"{name}row {self.row + 1}"
        line = f"(line {self.line})" if self.line and self.path else f"line {self.line}" if self.line else ""
        key = self.field if self.item is None else f"{self.field} value {self.item + 1}".strip()
        where = " ".join(filter(None, [f"[{self.table}]" if self.table else "", row, line]))
        return ", ".join(filter(None, [where, self.label, key]))

    def __str__(self) -> str:
        joint = ": " if self.path else ", "  # "mine.toml: [engine], power", "book.csv, line 3"
        return joint.join(filter(None, [self.file, self.within]))


class AirworkError(Exception):
    """Base: one clear line saying what was wrong and what to do. [text]"""


class InputError(AirworkError):
    """Input that can't be used.

    Parameters
    ----------
    message : what was found, what was expected, what to do.
    where : the place it was found at, or file or option alone; printed first. `.where.file`, `.table`, `.row`, `.field`
        are for programs.
    each : where a file has several faults, one error for each, with its own place.
    """

    def __init__(self, message: str, *, where: str | Where = "", each: Sequence[InputError] = ()) -> None:
        self.where = where if isinstance(where, Where) else Where(where)
        self.problem = message
        self.each: tuple[InputError, ...] = tuple(each) or (self,)
        super().__init__(": ".join(filter(None, [str(self.where), message])))


class UnitError(InputError):
    """A quantity whose unit is unknown, missing or of the wrong dimension."""


class OutOfRange(AirworkError):
    """A question outside a table or a formula's validity; never answered by extrapolation.

    Parameters
    ----------
    what : the quantity asked about, with its unit, e.g. "pressure altitude [ft]".
    asked, low, high : the value asked and the limits, in that unit.
    where : the table or formula.
    hint : what to do.
    """

    def __init__(self, what: str, asked: float, low: float, high: float, *, where: str = "", hint: str = "") -> None:
        self.what, self.asked, self.low, self.high, self.where = what, asked, low, high, where
        name, unit = name_and_unit(what)
        limits = f"{low:,.6g}{unit} alone" if low == high else f"{low:,.6g} to {high:,.6g}{unit}"
        text = f"{name} {_written(asked, low, high)}{unit} is outside {where or 'the table'} ({limits})."
        super().__init__(f"{text} {hint}".strip())


def name_and_unit(what: str) -> tuple[str, str]:
    """A quantity's name, and its unit as it is written behind a number: "weight [lb]" → ("weight", " lb")."""
    name, bracket, unit = what.removesuffix("]").partition(" [")
    return name, f" {'%' if unit == 'percent' else unit}" if bracket and unit != "1" else ""


def _written(asked: float, low: float, high: float) -> str:
    """With as few decimals as people read it by, and more only where else it would stand inside the limits.

    >>> _written(21.4087, -20.0, 20.0), _written(859.83, 750.0, 850.0), _written(20.004, -20.0, 20.0)
    ('21.4', '860', '20.004')
    """
    if not math.isfinite(asked) or abs(asked) < 1.0:
        return f"{asked:,.6g}"
    fewest = max(2 - int(math.log10(abs(asked))), 0)
    for decimals in range(fewest, 7):
        if not low <= round(asked, decimals) <= high:
            shown = f"{asked:,.{decimals}f}"
            return shown.rstrip("0").rstrip(".") if "." in shown else shown
    return f"{asked:,.6g}"


class NotPossible(AirworkError):
    """The airplane or the day can't do what was asked; the message says what limits it."""


class NotReached(NotPossible):
    """An exercise the airplane doesn't get to today, or doesn't come home from.

    Parameters
    ----------
    why : what limits it, in words.
    exercise : its place in the lesson, from 0.
    """

    def __init__(self, why: str, exercise: int) -> None:
        self.exercise = exercise
        super().__init__(why)
