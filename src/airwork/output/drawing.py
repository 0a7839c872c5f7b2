"""Line drawings as SVG. On a page they take its colors and work with scripts off; on paper they are black and white.

Lines differ by dash, never by color alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from html import escape

Point = tuple[float, float]
Ticks = Sequence[tuple[float, str]]
WIDE, HIGH = 620, 300  # of a drawing, if no other size is asked for [px]
FONT = "DejaVu Sans"
# The style of drawings on paper; a page has its own.
PAPER_STYLE = (
    f'<style>text{{font:12px "{FONT}";fill:#000;paint-order:stroke;stroke:#fff;stroke-width:3px}}'
    "text.title{font-size:15px;font-weight:bold}text.small{fill:#555}text.head{font-weight:bold}"
    ".grid{stroke:#ddd;stroke-width:.7}polyline{fill:none;stroke:#000;stroke-width:1.6}.mark{fill:#fff;stroke:#000;"
    "stroke-width:1.4}.c1,.c5,.tank1{stroke-dasharray:7 4}.c2{stroke-dasharray:2 3}.c3{stroke-dasharray:10 3 2 3}"
    ".c4,.c5,.limit,.tank3{stroke:#777}.limit{stroke-dasharray:6 4}.tank2,.tank3{stroke-dasharray:2 3}"
    ".all{stroke-width:2.4}.band{fill:#ddd;stroke:none}"
    ".bound{stroke:#777;stroke-width:1;stroke-dasharray:2 3}.thin{stroke:#bbb;stroke-width:1}</style>"
)
LEFT, RIGHT, TOP, BOTTOM = 62, 14, 14, 44  # of the frame, for the axes' numbers and names [px]
LETTER, APART = 6.8, 14.0  # of the drawing's 12 px letters, with a little room [px]
CLOSED = "edge"  # look of a line that encloses something


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points. look : class of the drawing's style sheet."""

    name: str
    points: Sequence[Point]
    look: str = "strong"


@dataclass(frozen=True, slots=True)
class Mark:
    """A named point. sign : a letter it is drawn as, a circle if none. about : said where it is pointed at."""

    name: str
    x: float
    y: float
    sign: str = ""
    about: str = ""


def steps(low: float, high: float, about: int = 6) -> list[float]:
    """Round numbers between two limits, about so many."""
    if not high > low:
        return [low]
    raw = (high - low) / about
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(m * size for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * size >= raw)
    first = math.ceil(low / step - 1e-9)
    return [round(k * step, 10) for k in range(first, math.floor(high / step + 1e-9) + 1)]


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis and its name.

    ticks : where it is marked and with what, from end to end; round numbers if not given.
    from_zero : it begins at 0, whatever is drawn.
    """

    name: str = ""
    ticks: Ticks | None = None
    from_zero: bool = False


def xy_svg(
    lines: Sequence[Line], marks: Sequence[Mark], x: Axis, y: Axis, *, label: str, size: tuple[int, int] = (WIDE, HIGH),
    within: tuple[Point, Point] | None = None, even: bool = False, titled: bool = False,
) -> str:  # fmt: skip
    """Lines and named points between two axes; "" without a point.

    A line has its name beside its end, those that end near the right edge under one another; a closed one over it.
    It is broken where a point is no number.

    Parameters
    ----------
    label : what is drawn, for those who can't see it. titled : it is set over the drawing too.
    size : of the drawing [px]; its letters are 12 px of that.
    within : opposite corners of what is shown; all of it if not given.
    even : as long upwards as to the right, like a map.
    """
    points = [p for line in lines for p in _finite(line.points)]
    if not points:
        return ""
    spans = _span(within or points, 0), _span(within or points, 1)
    beside = [k for k, line in enumerate(lines) if line.name and line.look != CLOSED and _ends_right(line, spans[0])]
    if within is None:
        spans = _room(*spans[0]) if x.ticks is None else spans[0], _room(*spans[1])
    letters = max((LETTER * len(lines[k].name) for k in beside), default=0.0)
    past = 0.05 / 1.1 if x.ticks is None and within is None else 0.0  # share of the axis past the last point
    right = max((letters + 6.0 - past * (size[0] - LEFT)) / (1.0 - past), RIGHT)
    top = TOP + 14 if titled else TOP
    wide, high = size[0] - LEFT - right, size[1] - top - (BOTTOM if x.name else BOTTOM - 16)
    frame = _Frame(spans[0], (0.0, spans[1][1]) if y.from_zero else spans[1], top, wide, high)
    if even:
        frame = frame.even()
    drawn = [_polylines(line, frame, cut=within is not None) for line in lines]
    words = _Words(size)
    names = [*_names(lines, beside, frame, words)]
    for mark in marks:
        drawn.append(_sign(mark, frame))
        at = words.put(frame.px(mark.x) + 8, frame.py(mark.y) + 4, mark.name)
        names.append(f'<text x="{at[0]:.1f}" y="{at[1]:.1f}">{escape(mark.name)}</text>')
    head = f'<text class="head" x="{LEFT}" y="14">{escape(label)}</text>' if titled else ""
    return "".join([
        f'<svg class="xy" viewBox="0 0 {size[0]} {size[1]}" role="img" aria-label="{escape(label)}">',
        *_grid(frame, x, y), head, _axis_names(frame, x, y, size), *drawn, *names, "</svg>",
    ])  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where values stand in a drawing. x, y : lowest and highest value; top, wide, high : of the frame [px]."""

    x: Point
    y: Point
    top: int
    wide: float
    high: int

    @property
    def bottom(self) -> int:
        return self.top + self.high

    def px(self, value: float) -> float:
        return LEFT + (value - self.x[0]) / (self.x[1] - self.x[0]) * self.wide

    def py(self, value: float) -> float:
        return self.top + self.high - (value - self.y[0]) / (self.y[1] - self.y[0]) * self.high

    def even(self) -> _Frame:
        """The same with one scale for both axes: the shorter one is drawn longer to both sides."""
        (x0, x1), (y0, y1) = self.x, self.y
        a = max((y1 - y0) * self.wide / self.high - x1 + x0, 0.0) / 2
        b = max((x1 - x0) * self.high / self.wide - y1 + y0, 0.0) / 2
        return replace(self, x=(x0 - a, x1 + a), y=(y0 - b, y1 + b))


def _finite(points: Sequence[Point]) -> list[Point]:
    return [p for p in points if math.isfinite(p[0]) and math.isfinite(p[1])]


def _span(points: Sequence[Point], k: int) -> Point:
    values = [p[k] for p in points]
    return min(values), max(values)


def _grid(frame: _Frame, x: Axis, y: Axis) -> Iterator[str]:
    for value, shown in _numbers(steps(*frame.x, max(int(frame.wide // 80), 3))) if x.ticks is None else x.ticks:
        at = f"{frame.px(value):.1f}"
        yield f'<line class="grid" x1="{at}" x2="{at}" y1="{frame.top}" y2="{frame.bottom}"/>'
        yield f'<text x="{at}" y="{frame.bottom + 16}" text-anchor="middle">{shown}</text>'
    for value, shown in _numbers(steps(*frame.y, max(frame.high // 40, 4))) if y.ticks is None else y.ticks:
        at = f"{frame.py(value):.1f}"
        yield f'<line class="grid" x1="{LEFT}" x2="{LEFT + frame.wide:.1f}" y1="{at}" y2="{at}"/>'
        yield f'<text x="{LEFT - 6}" y="{frame.py(value) + 4:.1f}" text-anchor="end">{shown}</text>'


def _axis_names(frame: _Frame, x: Axis, y: Axis, size: tuple[int, int]) -> str:
    middle = frame.top + frame.high / 2
    return (
        f'<text class="name" x="{LEFT + frame.wide / 2:.1f}" y="{size[1] - 8}" text-anchor="middle">{escape(x.name)}'
        f'</text><text class="name" x="13" y="{middle}" text-anchor="middle" transform="rotate(-90 13 {middle})">'
        f"{escape(y.name)}</text>"
    )


def _polylines(line: Line, frame: _Frame, *, cut: bool) -> str:
    """A line in as many pieces as it has. cut : at the frame's edge."""
    pieces = _pieces(line.points)
    drawn = "".join(
        f'<polyline class="{line.look}" points="{" ".join(f"{frame.px(x):.1f},{frame.py(y):.1f}" for x, y in piece)}"/>'
        for piece in pieces
    )
    if not (cut and pieces):
        return drawn
    box = f'x="{LEFT}" y="{frame.top}" width="{frame.wide:.1f}" height="{frame.high}"'
    return f'<svg {box} viewBox="{LEFT} {frame.top} {frame.wide:.1f} {frame.high}">{drawn}</svg>'


def _names(lines: Sequence[Line], beside: Sequence[int], frame: _Frame, words: _Words) -> Iterator[str]:
    """The lines' names, set after all lines so that none goes through them; those `beside` the drawing have their room.

    A name with no room after its line's end stands before it, above the line, rather than away from it.
    """
    ends, inside = [], []
    for k, line in enumerate(lines):
        good = [(frame.px(x), frame.py(y)) for x, y in _finite(line.points)]
        if not good or not line.name:
            continue
        closed = line.look == CLOSED
        at = max(good, key=(lambda p: p[0] - p[1]) if closed else (lambda p: (p[0], -p[1])))
        if k in beside:
            ends.append((at[1] + 4.0, at[0] + 5.0, line))
        else:
            inside.append((at, line, closed))
    ends.sort(key=lambda e: e[0])
    spread = _spread([e[0] for e in ends], frame.top + 10.0, frame.bottom)
    for y, (_, x, line) in zip(spread, ends, strict=True):
        words.take(x, y, line.name)
    for at, line, closed in inside:
        before = closed or not words.free(at[0] + 5.0, at[1] + 4.0, line.name)
        dx, dy = (-4.0, -5.0) if before else (5.0, 4.0)
        x, y = words.put(at[0] + dx, at[1] + dy, line.name, end=before)
        anchor = ' text-anchor="end"' if before else ""
        yield f'<text class="of-{line.look}" x="{x:.1f}" y="{y:.1f}"{anchor}>{escape(line.name)}</text>'
    for y, (_, x, line) in zip(spread, ends, strict=True):
        yield f'<text class="of-{line.look}" x="{x:.1f}" y="{y:.1f}">{escape(line.name)}</text>'


def _sign(mark: Mark, frame: _Frame) -> str:
    """A mark's letter or circle."""
    x, y = frame.px(mark.x), frame.py(mark.y)
    about = f"<title>{escape(mark.about)}</title>" if mark.about else ""
    if mark.sign:
        return f'<text x="{x:.1f}" y="{y + 4:.1f}" text-anchor="middle">{mark.sign}{about}</text>'
    return f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="4">{about}</circle>'


def _numbers(values: Sequence[float]) -> Ticks:
    return [(v, f"{v:,g}".replace("-", "−")) for v in values]


def clock_ticks(low: float, high: float, clock: Callable[[float], str], about: int = 8) -> Ticks:
    """Full seconds and minutes between two times [s], about so many, as the clock writes them."""
    whole = (5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0)
    step = next((s for s in whole if s * about >= high - low), 3600.0)
    times = [step * k for k in range(math.ceil(low / step), math.floor(high / step) + 1)]
    return [(t, clock(t)) for t in times]


def _pieces(points: Sequence[Point]) -> list[list[Point]]:
    """The parts of a line between its gaps."""
    found: list[list[Point]] = [[]]
    for x, y in points:
        if math.isfinite(x) and math.isfinite(y):
            found[-1].append((x, y))
        elif found[-1]:
            found.append([])
    return [piece for piece in found if piece]


def _ends_right(line: Line, span: Point) -> bool:
    """Whether a line's last point stands in the last eighth of the drawing."""
    low, high = span
    return max((x for x, _ in _finite(line.points)), default=low) >= high - 0.125 * (high - low)


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
        left = x - wide if end else x
        lowest = self.high - BOTTOM - 2.0
        for step in (0, 1, -1, 2, -2, 3, -3, 4, -4):
            at = min(max(y + step * APART, TOP + 10.0), lowest)
            if self.free(left, at, text):
                break
        self.take(left, at, text)
        return x, at

    def free(self, left: float, at: float, text: str) -> bool:
        """Is there room for words that begin there?"""
        right = left + LETTER * len(text)
        return all(right < a or left > b or abs(at - c) >= APART - 1.0 for a, b, c in self.taken)

    def take(self, left: float, at: float, text: str) -> None:
        """Words stand there."""
        self.taken.append((left, left + LETTER * len(text), at))


def _room(low: float, high: float) -> Point:
    """The span with a twentieth more at either end."""
    pad = 0.05 * (high - low) or max(abs(low) * 0.05, 1.0)
    return low - pad, high + pad


def on_paper(svg: str, style: str = PAPER_STYLE) -> str:
    """A drawing complete in itself, black and white."""
    head, _, rest = svg.partition(">")
    return f'{head} xmlns="http://www.w3.org/2000/svg">{style}{rest}' if svg else ""
