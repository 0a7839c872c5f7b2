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
    lines: Sequence[Line], marks: Sequence[Mark], *, x_name: str, y_name: str, label: str, from_zero: bool = False,
    size: tuple[int, int] = (WIDE, HIGH),
) -> str:  # fmt: skip
    """Lines and named points between two axes. size : of the drawing [px]; its letters are 12 px of that.

    A line has its name beside its end, those that end near the right edge under one another; a closed one over it.
    """
    points = [p for line in lines for p in line.points if math.isfinite(p[0]) and math.isfinite(p[1])]
    if not points:
        return ""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    (x0, x1), (y0, y1) = _room(min(xs), max(xs)), _room(min(ys), max(ys))
    if from_zero:
        y0 = 0.0
    open_lines = [(k, line) for k, line in enumerate(lines) if line.name and line.look != "edge"]
    beside = {k for k, line in open_lines if _ends_right(line, min(xs), max(xs))}
    names = max((LETTER * len(lines[k].name) for k in beside), default=0.0)
    past = 0.05 / 1.1  # share of the axis past the last point
    right = max((names + 6.0 - past * (size[0] - LEFT)) / (1.0 - past), RIGHT)
    wide, high = size[0] - LEFT - right, size[1] - TOP - BOTTOM

    def px(x: float) -> float:
        return LEFT + (x - x0) / (x1 - x0) * wide

    def py(y: float) -> float:
        return TOP + high - (y - y0) / (y1 - y0) * high

    out = [f'<svg class="xy" viewBox="0 0 {size[0]} {size[1]}" role="img" aria-label="{escape(label)}">']
    for x in steps(x0, x1, max(int(wide // 80), 3)):
        out.append(f'<line class="grid" x1="{px(x):.1f}" x2="{px(x):.1f}" y1="{TOP}" y2="{TOP + high}"/>')
        out.append(f'<text x="{px(x):.1f}" y="{TOP + high + 16}" text-anchor="middle">{x:,g}</text>')
    for y in steps(y0, y1, max(high // 40, 4)):
        out.append(f'<line class="grid" x1="{LEFT}" x2="{LEFT + wide:.1f}" y1="{py(y):.1f}" y2="{py(y):.1f}"/>')
        out.append(f'<text x="{LEFT - 6}" y="{py(y) + 4:.1f}" text-anchor="end">{y:,g}</text>')
    middle = TOP + high / 2
    out.append(
        f'<text class="name" x="{LEFT + wide / 2:.1f}" y="{size[1] - 8}" text-anchor="middle">{escape(x_name)}</text>'
        f'<text class="name" x="13" y="{middle}" text-anchor="middle" transform="rotate(-90 13 {middle})">'
        f"{escape(y_name)}</text>"
    )
    words, named, ends = _Words(size), [], []  # names are set last: no line goes through them
    for k, line in enumerate(lines):
        good = [(px(x), py(y)) for x, y in line.points if math.isfinite(x) and math.isfinite(y)]
        if not good:
            continue
        out.append(f'<polyline class="{line.look}" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in good)}"/>')
        at = max(good, key=lambda p: (p[0], -p[1])) if line.look != "edge" else max(good, key=lambda p: p[0] - p[1])
        if k in beside:
            ends.append((at[1] + 4.0, at[0] + 5.0, line))
        elif line.name:
            closed = line.look == "edge"
            dx, dy = (-4.0, -5.0) if closed else (5.0, 4.0)
            x, y = words.put(at[0] + dx, at[1] + dy, line.name, end=closed)
            anchor = ' text-anchor="end"' if closed else ""
            named.append(f'<text class="of-{line.look}" x="{x:.1f}" y="{y:.1f}"{anchor}>{escape(line.name)}</text>')
    ends.sort(key=lambda e: e[0])
    for y, (_, x, line) in zip(_spread([e[0] for e in ends], TOP + 10.0, TOP + high), ends, strict=True):
        named.append(f'<text class="of-{line.look}" x="{x:.1f}" y="{y:.1f}">{escape(line.name)}</text>')
    for mark in marks:
        x, y = px(mark.x), py(mark.y)
        out.append(f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="4"/>')
        tx, ty = words.put(x + 8, y + 4, mark.name)
        named.append(f'<text x="{tx:.1f}" y="{ty:.1f}">{escape(mark.name)}</text>')
    return "".join([*out, *named, "</svg>"])


LETTER, APART = 6.8, 14.0  # of the drawing's 12 px letters, with a little room


def _ends_right(line: Line, low: float, high: float) -> bool:
    """Whether a line's last point stands in the last eighth of the drawing."""
    last = max((x for x, y in line.points if math.isfinite(x) and math.isfinite(y)), default=low)
    return last >= high - 0.125 * (high - low)


def _spread(ys: Sequence[float], low: float, high: float) -> list[float]:
    """Rising baselines moved apart as little as can be, inside two limits."""
    out: list[float] = []
    for y in ys:
        out.append(max(y, out[-1] + APART if out else low))
    below = high
    for k in range(len(out) - 1, -1, -1):
        out[k] = min(out[k], below)
        below = out[k] - APART
    return out


class _Words:
    """Where words of a drawing stand, so that none is set over another."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.wide, self.high = size
        self.taken: list[tuple[float, float, float]] = []  # left, right, baseline

    def put(self, x: float, y: float, text: str, *, end: bool = False) -> tuple[float, float]:
        """The free place nearest to the one wanted: below it, above it, further off."""
        wide = LETTER * len(text)
        x = max(x, LEFT + wide) if end else min(x, self.wide - wide)
        left, right = (x - wide, x) if end else (x, x + wide)
        lowest = self.high - BOTTOM - 2.0
        for step in (0, 1, -1, 2, -2, 3, -3, 4, -4):
            at = min(max(y + step * APART, TOP + 10.0), lowest)
            if all(right < a or left > b or abs(at - c) >= APART - 1.0 for a, b, c in self.taken):
                break
        self.taken.append((left, right, at))
        return x, at


def _room(low: float, high: float) -> tuple[float, float]:
    pad = 0.05 * (high - low) or max(abs(low) * 0.05, 1.0)
    return low - pad, high + pad
