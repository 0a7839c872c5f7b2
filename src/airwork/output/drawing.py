"""Line drawings as SVG. On a page they take its colors and work with scripts off; on paper they are black and white.

Lines differ by dash, never by color alone.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from airwork.errors import InputError
from airwork.files import write_whole
from airwork.output.typeset import typeset

Ticks = Sequence[tuple[float, str]]
WIDE, HIGH = 620, 300
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
LEFT, RIGHT, TOP, BOTTOM = 62, 14, 14, 44


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points. look : class of the drawing's style sheet."""

    name: str
    points: Sequence[tuple[float, float]]
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


def xy_svg(
    lines: Sequence[Line], marks: Sequence[Mark], *, x_name: str, y_name: str, label: str, from_zero: bool = False,
    size: tuple[int, int] = (WIDE, HIGH), within: Sequence[tuple[float, float]] | None = None, even: bool = False,
    x_ticks: Ticks | None = None, y_ticks: Ticks | None = None, title: str = "",
) -> str:  # fmt: skip
    """Lines and named points between two axes.

    A line has its name beside its end, those that end near the right edge under one another; a closed one over it.
    It is broken where a point is no number.

    Parameters
    ----------
    size : of the drawing [px]; its letters are 12 px of that.
    within : opposite corners of what is shown; all of it if not given.
    even : as long upwards as to the right, like a map.
    title : set over it.
    x_ticks, y_ticks : where an axis is marked and with what, from end to end; round numbers if not given.
    """
    points = [p for line in lines for p in line.points if math.isfinite(p[0]) and math.isfinite(p[1])]
    if not points:
        return ""
    xs, ys = ([p[k] for p in (within or points)] for k in (0, 1))
    (x0, x1), (y0, y1) = (min(xs), max(xs)), (min(ys), max(ys))
    if within is None:
        (x0, x1), (y0, y1) = _room(x0, x1) if x_ticks is None else (x0, x1), _room(y0, y1)
    if from_zero:
        y0 = 0.0
    open_lines = [(k, line) for k, line in enumerate(lines) if line.name and line.look != "edge"]
    beside = {k for k, line in open_lines if _ends_right(line, min(xs), max(xs))}
    names = max((LETTER * len(lines[k].name) for k in beside), default=0.0)
    past = 0.05 / 1.1 if x_ticks is None and within is None else 0.0  # share of the axis past the last point
    right = max((names + 6.0 - past * (size[0] - LEFT)) / (1.0 - past), RIGHT)
    top = TOP + 14 if title else TOP
    wide, high = size[0] - LEFT - right, size[1] - top - (BOTTOM if x_name else BOTTOM - 16)
    if even:
        a, b = (max((y1 - y0) * wide / high - x1 + x0, 0.0) / 2, max((x1 - x0) * high / wide - y1 + y0, 0.0) / 2)
        x0, x1, y0, y1 = x0 - a, x1 + a, y0 - b, y1 + b

    def px(x: float) -> float:
        return LEFT + (x - x0) / (x1 - x0) * wide

    def py(y: float) -> float:
        return top + high - (y - y0) / (y1 - y0) * high

    out = [f'<svg class="xy" viewBox="0 0 {size[0]} {size[1]}" role="img" aria-label="{escape(label)}">']
    for x, shown in x_ticks if x_ticks is not None else _numbers(steps(x0, x1, max(int(wide // 80), 3))):
        out.append(f'<line class="grid" x1="{px(x):.1f}" x2="{px(x):.1f}" y1="{top}" y2="{top + high}"/>')
        out.append(f'<text x="{px(x):.1f}" y="{top + high + 16}" text-anchor="middle">{shown}</text>')
    for y, shown in y_ticks if y_ticks is not None else _numbers(steps(y0, y1, max(high // 40, 4))):
        out.append(f'<line class="grid" x1="{LEFT}" x2="{LEFT + wide:.1f}" y1="{py(y):.1f}" y2="{py(y):.1f}"/>')
        out.append(f'<text x="{LEFT - 6}" y="{py(y) + 4:.1f}" text-anchor="end">{shown}</text>')
    if title:
        out.append(f'<text class="head" x="{LEFT}" y="14">{escape(title)}</text>')
    middle = top + high / 2
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
        pieces = _pieces(line.points)
        drawn = "".join(
            f'<polyline class="{line.look}" points="{" ".join(f"{px(x):.1f},{py(y):.1f}" for x, y in piece)}"/>'
            for piece in pieces
        )
        if within:  # cut at the edge
            box = f'x="{LEFT}" y="{top}" width="{wide:.1f}" height="{high}"'
            drawn = f'<svg {box} viewBox="{LEFT} {top} {wide:.1f} {high}">{drawn}</svg>'
        out.append(drawn)
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
    for y, (_, x, line) in zip(_spread([e[0] for e in ends], top + 10.0, top + high), ends, strict=True):
        named.append(f'<text class="of-{line.look}" x="{x:.1f}" y="{y:.1f}">{escape(line.name)}</text>')
    for mark in marks:
        x, y = px(mark.x), py(mark.y)
        said = f"<title>{escape(mark.about)}</title>" if mark.about else ""
        out.append(
            f'<text x="{x:.1f}" y="{y + 4:.1f}" text-anchor="middle">{mark.sign}{said}</text>' if mark.sign
            else f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="4">{said}</circle>'
        )  # fmt: skip
        tx, ty = words.put(x + 8, y + 4, mark.name)
        named.append(f'<text x="{tx:.1f}" y="{ty:.1f}">{escape(mark.name)}</text>')
    return "".join([*out, *named, "</svg>"])


def _numbers(values: Sequence[float]) -> Ticks:
    return [(v, f"{v:,g}".replace("-", "−")) for v in values]


def clock_ticks(low: float, high: float, clock: Callable[[float], str], about: int = 8) -> Ticks:
    """Full seconds and minutes between two times [s], about so many, as the clock writes them."""
    whole = (5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0)
    step = next((s for s in whole if s * about >= high - low), 3600.0)
    times = [step * k for k in range(math.ceil(low / step), math.floor(high / step) + 1)]
    return [(t, clock(t)) for t in times]


def _pieces(points: Sequence[tuple[float, float]]) -> list[list[tuple[float, float]]]:
    """The parts of a line between its gaps."""
    found: list[list[tuple[float, float]]] = [[]]
    for x, y in points:
        if math.isfinite(x) and math.isfinite(y):
            found[-1].append((x, y))
        elif found[-1]:
            found.append([])
    return [piece for piece in found if piece]


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


def on_paper(svg: str, style: str = PAPER_STYLE) -> str:
    """A drawing complete in itself, black and white."""
    head, _, rest = svg.partition(">")
    return f'{head} xmlns="http://www.w3.org/2000/svg">{style}{rest}' if svg else ""


SHEET_EDGE, SHEET_TITLE, SHEET_LINE = 16, 28, 16  # of a sheet [px]


def sheet(title: str, drawings: Sequence[tuple[str, str]], foot: str, *, size: tuple[int, int] = (WIDE, HIGH)) -> str:
    """Several drawings of a size under one title, two beside one another, a line of words at the foot.

    drawings : (what it is, the drawing).
    """
    columns = min(len(drawings), 2)
    wide, tall = columns * size[0] + 2 * SHEET_EDGE, size[1] + SHEET_TITLE
    lines = textwrap.wrap(foot, wide // 8)
    high = 2 * SHEET_EDGE + SHEET_TITLE + -(-len(drawings) // 2) * tall + SHEET_LINE * len(lines)
    out = [
        f'<svg viewBox="0 0 {wide} {high}" width="{wide}" height="{high}"><rect width="{wide}" height="{high}" '
        f'fill="#fff"/><text class="title" x="{SHEET_EDGE}" y="{SHEET_EDGE + 12}">{escape(title)}</text>'
    ]
    for k, (name, svg) in enumerate(drawings):
        x, y = SHEET_EDGE + k % 2 * size[0], SHEET_EDGE + SHEET_TITLE + k // 2 * tall
        out.append(f'<text class="head" x="{x + LEFT}" y="{y + 14}">{escape(name)}</text>')
        out.append(svg.replace("<svg ", f'<svg x="{x}" y="{y + 16}" width="{size[0]}" height="{size[1]}" ', 1))
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
