"""The day's numbers as one screen of text, no wider than 100 columns."""

from __future__ import annotations

import textwrap

from airwork.airplane.numbers.lines import Line, Numbers, Section

WIDTH = 100
_NAME, _TEXT, _SIDE = 31, 20, 9
_CELL = 13
# How a number was had, in one short word where it is not the usual case; the notes say more.
_HOW = {"handbook table": "", "formula": "", "given": "", "fitted model": "estimate"}


def numbers_text(numbers: Numbers) -> str:
    """The whole screen."""
    invented = "  (invented airplane)" if numbers.invented else ""
    given = [
        f"{line.name} {line.text}{' (assumed)' if line.value is not None and line.value.how == 'assumed' else ''}"
        for line in numbers.conditions
    ]
    together = " · ".join(item.replace(" ", "\u00a0") for item in given)
    wrapped = textwrap.wrap(together, WIDTH, break_long_words=False)
    out = [f"{numbers.airplane_name}{invented}"]
    if numbers.handbook:
        out += textwrap.wrap(f"typed from: {numbers.handbook}", WIDTH)
    out += [*(line.replace("\u00a0", " ") for line in wrapped)]
    for caution in numbers.cautions:
        out += textwrap.wrap(f"CAUTION: {caution}", WIDTH, subsequent_indent="         ")
    for section in numbers.sections:
        out += ["", *_section(section)]
    out += ["", "Without a remark: handbook table or standard formula. --json tells how each number was had."]
    if numbers.assumptions:
        out += textwrap.wrap("Assumed: " + "; ".join(numbers.assumptions) + ".", WIDTH)
    return "\n".join(line.rstrip() for line in out)


def _section(section: Section) -> list[str]:
    head = section.title.upper() if len(section.title) < 20 else section.title[0].upper() + section.title[1:]
    out = [f"{head}  ({section.remark})" if section.remark else head]
    if len(out[0]) > WIDTH:
        out = [head, *textwrap.wrap(section.remark, WIDTH - 2, initial_indent="  ", subsequent_indent="  ")]
    grid: list[Line] = []
    for line in section.lines:
        if line.column:
            grid.append(line)
            continue
        if grid:
            out += _grid(grid)
            grid = []
        out += _line(line)
    return out + (_grid(grid) if grid else [])


def _line(line: Line) -> list[str]:
    if line.refused or line.value is None:
        return textwrap.wrap(
            f"  {line.name:<{_NAME}}{line.text}", WIDTH, subsequent_indent=" " * (_NAME + 2), break_long_words=False
        )
    calibrated = next((v for label, v in line.also if label == "calibrated"), None)
    side = f"{calibrated.value:.0f} KCAS" if calibrated is not None else ""
    how = ", ".join(filter(None, [_HOW.get(line.value.how, line.value.how), line.value.note]))
    name = f"  {line.name:<{_NAME}}"
    if len(name) > _NAME + 2:  # a long name keeps its own room
        name += "  "
    left = f"{name}{line.text:<{_TEXT}}{side:<{_SIDE}}"
    left = left.rstrip() if not how else left
    if how and len(left) > _NAME + 2 + _TEXT + _SIDE:
        left += " "
    room = WIDTH - len(left)
    pieces = textwrap.wrap(how, room) if room >= 24 and how else []
    if not pieces:
        return [left] + ([" " * (_NAME + 2) + piece for piece in textwrap.wrap(how, WIDTH - _NAME - 2)] if how else [])
    return [left + pieces[0], *(" " * len(left) + piece for piece in pieces[1:])]


def _grid(lines: list[Line]) -> list[str]:
    """Lines of one name become a row, their columns the heads; refusals are a dash, explained once below."""
    heads = list(dict.fromkeys(line.column for line in lines))
    names = list(dict.fromkeys(line.name for line in lines))
    cells = {(line.name, line.column): line for line in lines}
    out = [f"  {'':<{_NAME}}" + "".join(f"{head:>{_CELL}}" for head in heads)]
    for name in names:
        row = [cells.get((name, head)) for head in heads]
        shown = ["" if c is None else (c.text if len(c.text) < _CELL else "–") for c in row]
        out.append(f"  {name:<{_NAME}}" + "".join(f"{text:>{_CELL}}" for text in shown))
    reasons: dict[str, list[str]] = {}
    for line in lines:
        if line.refused:
            reasons.setdefault(line.refused, []).append(line.column)
    for reason, columns in reasons.items():
        where = ", ".join(dict.fromkeys(columns))
        out += textwrap.wrap(f"  – {where}: {reason}", WIDTH, subsequent_indent="    ")
    return out
