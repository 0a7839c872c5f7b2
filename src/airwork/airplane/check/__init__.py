"""A typist's mistakes in an airplane file: what is suspicious, where, and why.

The loader refuses what can't be meant; this looks for what can be read but can hardly be right, by holding the tables
against each other and against physics. Every complaint is a question, not a verdict: handbooks have misprints too.
"""

from __future__ import annotations

from pathlib import Path

from airwork.airplane.airplane import Airplane
from airwork.airplane.check import in_print
from airwork.airplane.check.balance import complaints as balance
from airwork.airplane.check.book import Book, Complaint
from airwork.airplane.check.causes import grouped
from airwork.airplane.check.cruise import complaints as cruise
from airwork.airplane.check.distances import complaints as distances
from airwork.airplane.check.engine import complaints as engine
from airwork.airplane.check.fuel import complaints as fuel
from airwork.airplane.check.grid import complaints as grid
from airwork.airplane.check.laws import complaints as laws
from airwork.airplane.check.limits import complaints as limits
from airwork.airplane.check.loading import complaints as loading
from airwork.airplane.check.over_stall import complaints as over_stall
from airwork.airplane.check.physics import complaints as physics
from airwork.airplane.check.readings import complaints as readings
from airwork.airplane.check.rules import complaints as rules
from airwork.airplane.check.speeds import complaints as speeds
from airwork.airplane.check.stall import complaints as stall
from airwork.airplane.check.usual import complaints as usual
from airwork.airplane.file.lines import line_numbers
from airwork.airplane.file.load import parse_airplane_file, read_text

__all__ = ["Complaint", "check_airplane", "check_file", "printed_so"]

# In the order a person would put right: speeds first, because the other checks lean on them.
_CHECKS = (
    speeds,
    over_stall,
    stall,
    loading,
    balance,
    fuel,
    engine,
    distances,
    rules,
    grid,
    laws,
    usual,
    physics,
    cruise,
    limits,
    readings,
)


def check_airplane(airplane: Airplane, lines: dict[str, int] | None = None) -> tuple[Complaint, ...]:
    """Every complaint about an airplane that the printed page has not answered, those of one likely cause as one.

    Parameters
    ----------
    lines : dotted paths to line numbers, as `line_numbers` gives them; adds the line to each place.
    """
    return grouped(in_print.still_open(airplane.file, _found(airplane, lines)))


def printed_so(airplane: Airplane) -> tuple[str, ...]:
    """What `[[printed_so]]` of the file answers, in words."""
    return in_print.notes(airplane.file, _found(airplane)) if airplane.file.printed_so else ()


def _found(airplane: Airplane, lines: dict[str, int] | None = None) -> list[Complaint]:
    book = Book(airplane, lines or {})
    return [complaint for check in _CHECKS for complaint in check(book)]


def check_file(path: Path) -> tuple[Airplane, tuple[Complaint, ...]]:
    """Read a file and check it.

    Raises
    ------
    InputError : the file can't be read at all.
    """
    text = read_text(path)
    airplane = Airplane(parse_airplane_file(text, where=str(path)))
    return airplane, check_airplane(airplane, line_numbers(text))
