"""A drawing under a table of rows: each printed column along its last input, where a slip is a kink."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from airwork.output.drawing import Axis, Line, Mark, xy_svg
from airwork.web.airplane_form import Grid

SIZE = (290, 170)
MOST = 4


def drawing(grid: Grid) -> str:
    """An SVG for each column of numbers; empty where there is nothing to draw."""
    keys = [written for _, written, _ in grid.columns]
    if not keys or any(key in {"name", "cause", "kind"} for key in keys):
        return ""
    names = [f"{about.label}, {unit}" if (unit := about.unit(key)) else about.label for _, key, about in grid.columns]
    rows = [[_number(c.shown) for c in cells] for _, cells, _ in grid.rows]
    inputs = [i for i, (_, _, about) in enumerate(grid.columns) if about.stands]
    outputs = [i for i in range(len(keys)) if i not in inputs]
    if "calibration" in grid.path:
        inputs, outputs = [0], [1]
    if around := grid.path.endswith(("polygon", "envelope")):  # weight over arm, as the book draws it, corner to corner
        inputs, outputs = outputs[:1], inputs[:1]
    if not inputs or not outputs or len(rows) < 3:
        return ""
    along = max(inputs, key=lambda i: (len({row[i] for row in rows}), i))
    found = [svg for i in outputs if (svg := _column(names, rows, inputs, along, i, around))]
    return "".join(found[:MOST])


def _number(text: str) -> float | None:
    try:
        return float(text.replace(",", "").replace("−", "-"))
    except ValueError:
        return None


def _column(
    names: Sequence[str], rows: list[list[float | None]], inputs: list[int], along: int, at: int, around: bool = False
) -> str:
    lines: dict[tuple[float | None, ...], list[tuple[float, float]]] = {}
    marks = []
    for number, row in enumerate(rows, start=1):
        x, y = row[along], row[at]
        if x is not None and y is not None:
            lines.setdefault(tuple(row[i] for i in inputs if i != along), []).append((x, y))
            marks.append(Mark("", x, y, about=f"row {number}: {y:g}"))
    if len(marks) < 3:
        return ""
    drawn = [Line("", [*line, line[0]] if around else sorted(line)) for line in lines.values()]
    svg = xy_svg(drawn, marks, Axis(names[along]), Axis(), label=f"{names[at]}, drawn", size=SIZE)
    return f'<figure class="kink"><figcaption>{escape(names[at])}</figcaption>{svg}</figure>'
