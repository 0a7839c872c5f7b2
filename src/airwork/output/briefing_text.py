"""The briefing in the terminal: verdict and plan, no wider than 100 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from airwork.lesson.briefing import Briefing
from airwork.output.briefing_doc import Listing, Section, Table, make_doc
from airwork.output.card import make_card
from airwork.output.card_data import CardData

WIDTH = 100
_MARK = {"no-go": "NO-GO", "think": "THINK", "unknown": "NOT KNOWN", "go": "ok", "not checked": "NOT CHECKED"}
_SHORT = ("The lesson in time", "Fuel and tanks")


def briefing_text(briefing: Briefing, *, full: bool = False) -> str:
    """Verdict, maneuvers, plan, fuel; with `full` everything the document holds."""
    doc, card = make_doc(briefing), make_card(briefing)
    out = [f"{doc.verdict}   {doc.title}", *doc.subtitle, ""]
    out += _reasons(briefing)
    if full:
        for section in doc.sections[1:]:
            out += ["", *_section(section)]
    else:
        out += ["", *_maneuvers(card)]
        for section in doc.sections:
            if section.title in _SHORT:
                out += ["", *_section(section)]
    out += ["", *(line for caution in doc.cautions for line in textwrap.wrap(caution, WIDTH))]
    return "\n".join(line.rstrip() for line in out)


def _reasons(briefing: Briefing) -> list[str]:
    """Each reason with its source and what would change it; what wasn't checked together, at the end."""
    out = []
    for r in briefing.verdict.reasons:
        if r.level != "not checked":
            source = f" [{r.source}]" if r.source else ""
            change = f" → {r.change}" if r.change and r.level != "go" else ""
            out += _marked(_MARK[r.level], f"{r.text}{source}{change}")
    unchecked = "; ".join(r.text for r in briefing.verdict.of("not checked"))
    return [*out, *(_marked(_MARK["not checked"], unchecked) if unchecked else [])]


def _marked(mark: str, text: str) -> list[str]:
    head = f"  {mark:<12}"
    return textwrap.wrap(f"{head}{text}", WIDTH, subsequent_indent=" " * len(head))


def _maneuvers(card: CardData) -> list[str]:
    out = ["EXERCISES"]
    for m in card.maneuvers:
        head = f"  {m.clock}  {m.title} {m.times}".rstrip()
        where = ", ".join(
            filter(None, [m.altitude, f"floor {m.floor}" if m.floor else "", f"on {m.heading}" if m.heading else ""])
        )
        out.append(f"{head:<44}{where}")
        out += textwrap.wrap(m.line, WIDTH, initial_indent=" " * 9, subsequent_indent=" " * 9)
    return out


def _section(section: Section) -> Iterator[str]:
    yield section.title.upper() + (f"  ({section.remark})" if section.remark else "")
    for block in section.blocks:
        if isinstance(block, Table):
            yield from _table(block)
        elif isinstance(block, Listing):
            if block.title:
                yield f"  {block.title}"
            for i, item in enumerate(block.items, 1):
                mark = f"{i}. " if block.numbered else "· "
                yield from textwrap.wrap(item, WIDTH, initial_indent=f"    {mark}", subsequent_indent="       ")


def _table(table: Table) -> Iterator[str]:
    rows = [r for r in (table.head, *table.rows) if any(r)]
    if not rows:
        return
    if table.title:
        yield f"  {table.title}"
    count = max(map(len, rows))
    filled = [(*r, *[""] * (count - len(r))) for r in rows]
    widths = [max(len(r[i]) for r in filled) for i in range(count)]
    last = max((i for i in range(count) if widths[i]), default=0)
    indent = sum(widths[:last]) + 2 * last + 2
    for row in filled:
        line = "  " + "  ".join(f"{cell:<{w}}" for cell, w in zip(row, widths, strict=True))
        if len(line.rstrip()) <= WIDTH or indent > WIDTH - 24:
            yield from textwrap.wrap(line.rstrip(), WIDTH, subsequent_indent="      ", drop_whitespace=True) or [""]
            continue
        start = line[:indent]
        yield from textwrap.wrap(row[last], WIDTH, initial_indent=start, subsequent_indent=" " * indent)
    if table.note:
        yield from textwrap.wrap(table.note, WIDTH, initial_indent="  ", subsequent_indent="  ")
