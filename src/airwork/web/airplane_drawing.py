"""A drawing under a table of rows: each printed column along its last input, where a slip is a kink."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from airwork.web.airplane_form import Grid, words

INPUTS = (
    "weight", "pressure_altitude", "density_altitude", "oat", "isa_deviation", "rpm", "manifold_pressure", "flap_notch",
    "bank", "kias", "indicated", "headwind",
)  # fmt: skip
WIDE, HIGH, EDGE = 260, 130, 8
MOST = 4


def drawing(grid: Grid) -> str:
    """An SVG for each column of numbers; empty where there is nothing to draw."""
    if not grid.keys or any(key in {"name", "cause"} for key in grid.keys):
        return ""
    rows = [[_number(c.shown) for c in cells] for _, cells, _ in grid.rows]
    inputs = [i for i, key in enumerate(grid.keys) if key.startswith(INPUTS)]
    outputs = [i for i, key in enumerate(grid.keys) if i not in inputs]
    if "calibration" in grid.path:
        inputs, outputs = [0], [1]
    if around := grid.path.endswith(("polygon", "envelope")):  # weight over arm, as the book draws it, corner to corner
        inputs, outputs = outputs[:1], inputs[:1]
    if not inputs or not outputs or len(rows) < 3:
        return ""
    along = max(inputs, key=lambda i: (len({row[i] for row in rows}), i))
    found = [svg for i in outputs if (svg := _column(grid.keys[i], rows, inputs, along, i, around))]
    return "".join(found[:MOST])


def _number(text: str) -> float | None:
    try:
        return float(text.replace(",", "").replace("−", "-"))
    except ValueError:
        return None


def _column(
    key: str, rows: list[list[float | None]], inputs: list[int], along: int, at: int, around: bool = False
) -> str:
    lines: dict[tuple[float | None, ...], list[tuple[float, float, int]]] = {}
    for number, row in enumerate(rows, start=1):
        x, y = row[along], row[at]
        if x is not None and y is not None:
            lines.setdefault(tuple(row[i] for i in inputs if i != along), []).append((x, y, number))
    points = [p for line in lines.values() for p in line]
    if len(points) < 3:
        return ""
    low_x, high_x = _ends(p[0] for p in points)
    low_y, high_y = _ends(p[1] for p in points)

    def place(p: tuple[float, float, int]) -> str:
        x = EDGE + (p[0] - low_x) / (high_x - low_x) * (WIDE - 2 * EDGE)
        y = HIGH - EDGE - (p[1] - low_y) / (high_y - low_y) * (HIGH - 2 * EDGE)
        return f"{x:.1f},{y:.1f}"

    drawn = []
    for line in lines.values():
        ordered = [*line, line[0]] if around else sorted(line)
        drawn.append(f'<polyline points="{" ".join(place(p) for p in ordered)}"/>')
        for p in ordered:
            cx, cy = place(p).split(",")
            drawn.append(f'<circle cx="{cx}" cy="{cy}" r="1.6"><title>row {p[2]}: {p[1]:g}</title></circle>')
    title = escape(words(key, unit=True))
    return (
        f'<figure class="kink"><figcaption>{title}</figcaption><svg viewBox="0 0 {WIDE} {HIGH}" role="img" '
        f'aria-label="{title}, drawn">{"".join(drawn)}</svg></figure>'
    )


def _ends(values: Iterable[float]) -> tuple[float, float]:
    found = list(values)
    low, high = min(found), max(found)
    return (low, high) if high > low else (low - 1.0, high + 1.0)
