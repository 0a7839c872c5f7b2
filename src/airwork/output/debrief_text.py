"""The debrief's document on a terminal, no wider than 100 columns: what matters first, then each maneuver."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from airwork.output.debrief_doc import CriterionLine, DebriefDoc, Part, Row

WIDTH = 100


def debrief_text(doc: DebriefDoc, *, everything: bool = False) -> str:
    """The whole screen; `everything` adds what was only for information (make the document with every=True too)."""
    facts = textwrap.wrap(" · ".join(f"{name} {text}" for name, text in doc.facts), WIDTH)
    out = [
        f"DEBRIEF  {doc.title}",
        *facts,
        "",
        *_first(doc),
        "",
        *textwrap.wrap(doc.summary, WIDTH),
        "",
        *_table(doc.rows),
    ]
    for part in doc.maneuvers:
        if everything or _worth_saying(part):
            out += ["", *_part(part, everything=everything)]
    if doc.fuel:
        out += ["", "FUEL AND POWER", *_bullets(f"{name}: {text}" for name, text in doc.fuel)]
    if doc.notes:
        out += ["", "ALSO", *_bullets(doc.notes)]
    if doc.rule:
        out += ["", *textwrap.wrap(doc.rule, WIDTH)]
    return "\n".join(line.rstrip() for line in out)


def _first(doc: DebriefDoc) -> list[str]:
    """What is said first: heading at the left, the text beside it."""
    out = []
    for heading, when, text in doc.first:
        said = f"{when}  {text}" if when else text
        out += textwrap.wrap(said, WIDTH, initial_indent=f"{heading.upper():<11}", subsequent_indent=" " * 11)
    return out


def _table(rows: tuple[Row, ...]) -> list[str]:
    if not rows:
        return ["No maneuver was recognized."]
    head = f"{'#':>3} {'from':>6} {'for':>5}  {'maneuver':<22}{'sure':>5}  against the standard"
    return [head, *(_row(row) for row in rows)]


def _row(row: Row) -> str:
    verdict = f"{row.sign} {row.word}".strip() + (f": {row.missed}" if row.missed else "")
    return f"{row.number:>3} {row.clock:>6} {row.length:>5}  {row.title:<22}{row.sure:>5}  {verdict}"[:WIDTH]


def _worth_saying(part: Part) -> bool:
    """Judged, or with a cause, or with a mark."""
    return bool(part.causes or part.marks) or any(c.mark != "unknown" for c in part.criteria)


def _part(part: Part, *, everything: bool) -> list[str]:
    out = [f"{part.number}. {part.title.upper()}  {part.span.partition(' after')[0]}"]
    if everything:
        out += _wrapped(part.confidence)
    if part.target:
        out += _wrapped(f"held against: {part.target}")
    for criterion in part.criteria:
        if everything or criterion.mark != "unknown":
            out += criterion_lines(criterion)
    numbers = [f"{n.name} {n.text}" for n in part.numbers if n.chief or everything]
    if numbers:
        out += _wrapped(" · ".join(numbers))
    for cause in part.causes:
        out += _wrapped(f"→ {cause.text} ({cause.span})", "     ")
        if cause.next:
            out += textwrap.wrap(f"next time: {cause.next}", WIDTH, initial_indent="     ", subsequent_indent="     ")
    for who, said in part.marks:
        out += _wrapped(f"{who}: {said}")
    return out


def criterion_lines(c: CriterionLine) -> list[str]:
    """One criterion; a long limit or reason goes on in the next lines."""
    limit, *more = textwrap.wrap(c.limit, 25) or [""]
    within = f"{c.within} in" if c.within else ""
    word = c.word.upper() if c.mark == "out" else c.word
    line = f"   {c.sign} {c.name:<28.28}{limit:<26}{c.worst:>9}{within:>8}  {word}"
    rest = [f"{'':33}{text}" for text in more]
    if not c.why:
        return [line, *rest]
    if not rest and len(line) + 2 + len(c.why) <= WIDTH:
        return [f"{line}: {c.why}"]
    return [line, *rest, *(f"       {text}" for text in textwrap.wrap(c.why, WIDTH - 7))]


def _wrapped(text: str, indent: str = "   ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="   ", subsequent_indent=indent)


def _bullets(lines: Iterable[str]) -> list[str]:
    out = []
    for line in lines:
        out += textwrap.wrap(line, WIDTH, initial_indent=" - ", subsequent_indent="   ")
    return out
