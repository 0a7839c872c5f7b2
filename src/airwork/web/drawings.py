"""Small line drawings as SVG without a style of their own: they take the page's colours and work with scripts off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDE, HIGH = 620, 300
LEFT, RIGHT, TOP, BOTTOM = 62, 14, 14, 44


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points. look : class of the drawing's style sheet."""

    name: str
    points: Sequence[tuple[float, float]]
    look: str = "strong"


@dataclass(frozen=True, slots=True)
class Mark:
    """A named point."""

    name: str
    x: float
    y: float


def steps(low: float, high: float, about: int = 6) -> list[float]:
    """Round numbers between two limits, about so many."""
    if not high > low:
        return [low]
    raw = (high - low) / about
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(m * size for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * size >= raw)
    first = math.ceil(low / step - 1e-9)
    return [round(k * step, 10) for k in range(first, math.floor(high / step + 1e-9) + 1)]


def xy_svg(
    lines: Sequence[Line], marks: Sequence[Mark], *, x_name: str, y_name: str, label: str, from_zero: bool = False
) -> str:
    """Lines and named points between two axes."""
    points = [p for line in lines for p in line.points if math.isfinite(p[0]) and math.isfinite(p[1])]
    if not points:
        return ""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    (x0, x1), (y0, y1) = _room(min(xs), max(xs)), _room(min(ys), max(ys))
    if from_zero:
        y0 = 0.0
    wide, high = WIDE - LEFT - RIGHT, HIGH - TOP - BOTTOM

    def px(x: float) -> float:
        return LEFT + (x - x0) / (x1 - x0) * wide

    def py(y: float) -> float:
        return TOP + high - (y - y0) / (y1 - y0) * high

    out = [f'<svg class="xy" viewBox="0 0 {WIDE} {HIGH}" role="img" aria-label="{escape(label)}">']
    for x in steps(x0, x1):
        out.append(f'<line class="grid" x1="{px(x):.1f}" x2="{px(x):.1f}" y1="{TOP}" y2="{TOP + high}"/>')
        out.append(f'<text x="{px(x):.1f}" y="{TOP + high + 16}" text-anchor="middle">{x:,g}</text>')
    for y in steps(y0, y1, 5):
        out.append(f'<line class="grid" x1="{LEFT}" x2="{LEFT + wide}" y1="{py(y):.1f}" y2="{py(y):.1f}"/>')
        out.append(f'<text x="{LEFT - 6}" y="{py(y) + 4:.1f}" text-anchor="end">{y:,g}</text>')
    out.append(f'<text class="name" x="{LEFT + wide / 2}" y="{HIGH - 8}" text-anchor="middle">{escape(x_name)}</text>')
    middle = TOP + high / 2
    out.append(
        f'<text class="name" x="13" y="{middle}" text-anchor="middle" transform="rotate(-90 13 {middle})">'
        f"{escape(y_name)}</text>"
    )
    words = _Words()
    for line in lines:
        good = [(px(x), py(y)) for x, y in line.points if math.isfinite(x) and math.isfinite(y)]
        if not good:
            continue
        out.append(f'<polyline class="{line.look}" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in good)}"/>')
        at = max(good, key=lambda p: (p[0], -p[1])) if line.look != "edge" else max(good, key=lambda p: p[0] - p[1])
        if line.name:
            x, y = words.put(at[0] - 4, at[1] - 5, line.name, end=True)
            out.append(
                f'<text class="of-{line.look}" x="{x:.1f}" y="{y:.1f}" text-anchor="end">{escape(line.name)}</text>'
            )
    for mark in marks:
        x, y = px(mark.x), py(mark.y)
        out.append(f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="4"/>')
        tx, ty = words.put(x + 8, y + 4, mark.name)
        out.append(f'<text x="{tx:.1f}" y="{ty:.1f}">{escape(mark.name)}</text>')
    return "".join([*out, "</svg>"])


class _Words:
    """Where words of a drawing stand, so that none is set over another."""

    LETTER, LINE = 6.8, 14.0  # of the drawing's 12 px letters, with a little room

    def __init__(self) -> None:
        self.taken: list[tuple[float, float, float]] = []  # left, right, baseline

    def put(self, x: float, y: float, text: str, *, end: bool = False) -> tuple[float, float]:
        """The free place nearest to the one wanted: below it, above it, further off."""
        wide = self.LETTER * len(text)
        x = max(x, LEFT + wide) if end else min(x, WIDE - wide)
        left, right = (x - wide, x) if end else (x, x + wide)
        lowest = HIGH - BOTTOM - 2.0
        for step in (0, 1, -1, 2, -2, 3, -3, 4, -4):
            at = min(max(y + step * self.LINE, TOP + 10.0), lowest)
            if all(right < a or left > b or abs(at - c) >= self.LINE - 1.0 for a, b, c in self.taken):
                break
        self.taken.append((left, right, at))
        return x, at


def _room(low: float, high: float) -> tuple[float, float]:
    pad = 0.05 * (high - low) or max(abs(low) * 0.05, 1.0)
    return low - pad, high + pad
