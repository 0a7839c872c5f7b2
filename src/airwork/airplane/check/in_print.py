"""Questions the printed page has answered: an entry that stands in the handbook just so, by whom and when it was seen.

A misprint stands in a book for good, and would be asked about before each flight. `[[printed_so]]` names the questions
word for word, so that another number there, or another question, is asked anew. It answers what is asked of an entry of
a table of speeds or performance, and nothing else: no limit, weight or tank, no table that looks to be in another unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from airwork.airplane.check.book import Complaint
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.model import AirplaneFile, PrintedSo
from airwork.errors import InputError

TABLES = ("performance.", "airspeed_calibration.", "v_speeds.")
LIMITS = ("limitations", "flaps")  # what leans on them contradicts a limit


def may_stand(c: Complaint) -> bool:
    """Can the printed page answer it?"""
    named = bool(c.rows or c.key) and f"{c.table}.".startswith(TABLES)
    return named and not (c.firm or c.whole or c.alone or any(t in LIMITS for t in c.leans))


def still_open(file: AirplaneFile, found: Sequence[Complaint]) -> list[Complaint]:
    """The complaints the printed page has not answered, each firm if it can't."""
    answered = {question for said in file.printed_so for question in said.asked}
    return [replace(c, firm=not may_stand(c)) for c in found if not (may_stand(c) and answered.issuperset(c.asked))]


def notes(file: AirplaneFile, found: Sequence[Complaint]) -> tuple[str, ...]:
    """Each answer in words, and what became of one that answers nothing."""
    may = {question: may_stand(c) for c in found for question in c.asked}
    return tuple(
        f"{question}. {_became(said, may.get(question))}" for said in file.printed_so for question in said.asked
    )


def _became(said: PrintedSo, may: bool | None) -> str:
    seen = f"{said.by}, {said.date}{f': {said.note}' if said.note else ''}"
    if may is None:
        return f"No longer asked; take it out of [[printed_so]] ({seen})."
    return f"Stands so in the handbook ({seen})." if may else f"Still asked: no page can answer it so ({seen})."


def answered(text: str, c: Complaint, by: str, on: str) -> str:
    """A file's text in which a complaint is answered: the handbook has it so.

    Raises
    ------
    InputError : a complaint no page can answer; nobody's name; a text that can't take it.
    """
    import tomli_w

    if c.firm:
        raise InputError("can't be answered so: it is about a limit, a weight, a tank or a whole table.", where=c.where)
    if not by.strip():
        raise InputError("who has seen it in the handbook?", where="by")
    said = {"asked": list(c.asked), "by": by.strip(), "date": on}
    new = f"{text.rstrip()}\n\n{tomli_w.dumps({'printed_so': [said]}, multiline_strings=False)}"
    parse_airplane_file(new)
    return new
