"""Several drawings on one sheet, and a drawing as a file."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from html import escape
from pathlib import Path

from airwork.errors import InputError
from airwork.files import write_whole
from airwork.output.drawing import HIGH, LEFT, WIDE, on_paper
from airwork.output.typeset import typeset

SHEET_EDGE, SHEET_TITLE, SHEET_LINE = 16, 28, 16  # of a sheet [px]


def sheet(title: str, drawings: Sequence[tuple[str, str]], foot: str) -> str:
    """Several drawings of the usual size under one title, two beside one another, a line of words at the foot.

    drawings : (what it is, the drawing).
    """
    columns = min(len(drawings), 2)
    wide, tall = columns * WIDE + 2 * SHEET_EDGE, HIGH + SHEET_TITLE
    lines = textwrap.wrap(foot, wide // 8)
    high = 2 * SHEET_EDGE + SHEET_TITLE + -(-len(drawings) // 2) * tall + SHEET_LINE * len(lines)
    out = [
        f'<svg viewBox="0 0 {wide} {high}" width="{wide}" height="{high}"><rect width="{wide}" height="{high}" '
        f'fill="#fff"/><text class="title" x="{SHEET_EDGE}" y="{SHEET_EDGE + 12}">{escape(title)}</text>'
    ]
    for k, (name, svg) in enumerate(drawings):
        x, y = SHEET_EDGE + k % 2 * WIDE, SHEET_EDGE + SHEET_TITLE + k // 2 * tall
        out.append(f'<text class="head" x="{x + LEFT}" y="{y + 14}">{escape(name)}</text>')
        out.append(svg.replace("<svg ", f'<svg x="{x}" y="{y + 16}" width="{WIDE}" height="{HIGH}" ', 1))
    for k, line in enumerate(reversed(lines)):
        y = high - SHEET_EDGE // 2 - SHEET_LINE * k
        out.append(f'<text class="small" x="{SHEET_EDGE}" y="{y}">{escape(line)}</text>')
    return on_paper("".join([*out, "</svg>"]))


def write_picture(path: Path, svg: str) -> None:
    """Write a drawing as its file's ending says, .svg or .png.

    Raises
    ------
    InputError : the ending is neither, or its folder is missing.
    """
    kind = path.suffix.lower()
    if kind not in {".png", ".svg"}:
        raise InputError("a plot is written as .png or .svg.", where=str(path))
    if not path.parent.is_dir():
        raise InputError("its folder does not exist.", where=str(path))
    write_whole(path, svg if kind == ".svg" else typeset("picture.typ", svg, format="png", ppi=144.0))
