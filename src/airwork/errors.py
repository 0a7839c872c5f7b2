"""Every error airwork raises on purpose.

AirworkError                 anything a user can put right; the CLI prints it as one line and exits with 2
├── InputError               a file, field or argument that can't be used
│   └── UnitError            a quantity whose unit is unknown or of the wrong kind
├── OutOfRange               asked outside a handbook table or a formula's validity
└── NotPossible              the airplane or the day can't do it (level flight too hot and heavy, ...)
"""

from __future__ import annotations

import math


class AirworkError(Exception):
    """Base: one clear line saying what was wrong and what to do. [text]"""


class InputError(AirworkError):
    """Input that can't be used.

    Parameters
    ----------
    message : what was found, what was expected, what to do.
    where : file, line, field or option it was found at; printed first.
    """

    def __init__(self, message: str, *, where: str = "") -> None:
        self.where = where
        self.problem = message
        super().__init__(f"{where}: {message}" if where else message)


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
    """A large number without its decimals, unless only they put it outside the limits."""
    large = math.isfinite(asked) and abs(asked) >= 1000.0
    return f"{asked:,.0f}" if large and not low <= round(asked) <= high else f"{asked:,.6g}"


class NotPossible(AirworkError):
    """The airplane or the day can't do what was asked; the message says what limits it."""
