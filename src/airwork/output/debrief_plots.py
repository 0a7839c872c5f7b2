"""The plots of one maneuver as SVG for paper: flown, the ideal laid over, the tolerance band. Computes nothing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from airwork.units import clock

WIDE, HIGH = 340, 110
LEFT, RIGHT, TOP, BOTTOM = 40, 6, 18, 18
FONT = "DejaVu Sans"
INK, SOFT, GRID, IDEAL, BAND = "#000000", "#444444", "#cccccc", "#0b5a6b", "#d9e6ea"
Numbers = Sequence[float | int | None]


def plot_svg(
    times: Numbers, flown: Numbers, *, name: str, room: float, start_s: float, end_s: float,
    ideal: tuple[Numbers, Numbers] | None = None, bands: Sequence[Mapping[str, Any]] = (), compass: bool = False,
    box: tuple[int, int] = (WIDE, HIGH),
) -> str:  # fmt: skip
    """One plot.

    Parameters
    ----------
    times, flown : samples of the stretch, seconds from the start of the recording and the plot's printed unit; None
        where there is none.
    name : quantity and unit, set over the plot.
    room : least height of the scale, in the plot's unit.
    start_s, end_s : the maneuver itself, marked by thin lines.
    ideal : (times, values) of the ideal.
    compass : a heading, drawn without its jump at north and read as on the compass.
    box : width and height. [px]
    """
    wide, tall = box
    good = [(float(t), float(v)) for t, v in zip(times, flown, strict=True) if t is not None and v is not None]
    if len(good) < 2:
        return ""
    first, last = good[0][0], good[-1][0]
    laid = [] if ideal is None else _pieces(*ideal, first, last)
    values = [v for _, v in good] + [v for piece in laid for _, v in piece]
    for band in bands:
        values += [float(band[k]) for k in ("low", "high") if band[k] is not None]
    pad = max((max(values) - min(values)) * 0.06, room / 2.0)
    low, high = min(values) - pad, max(values) + pad

    def x(t: float) -> float:
        return LEFT + (min(max(t, first), last) - first) / (last - first) * (wide - LEFT - RIGHT)

    def y(v: float) -> float:
        return TOP + (high - v) / (high - low) * (tall - TOP - BOTTOM)

    def line(points: Sequence[tuple[float, float]], color: str, width: float, dash: str = "") -> str:
        joined = " ".join(f"{x(t):.1f},{y(v):.1f}" for t, v in points)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        return f'<polyline points="{joined}" fill="none" stroke="{color}" stroke-width="{width}"{dashed}/>'

    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {tall}" width="{wide}" height="{tall}" '
        f'font-family="{FONT}" font-size="9" fill="{SOFT}">',
        f'<text x="{LEFT}" y="11" font-weight="bold" font-size="9.5" fill="{INK}">{escape(name)}</text>',
    ]
    for band in bands:
        top = TOP if band["high"] is None else y(float(band["high"]))
        bottom = tall - BOTTOM if band["low"] is None else y(float(band["low"]))
        a, b = x(float(band["from"])), x(float(band["to"]))
        out.append(f'<rect x="{a:.1f}" y="{top:.1f}" width="{b - a:.1f}" height="{bottom - top:.1f}" fill="{BAND}"/>')
    for v in ticks(low, high, 5):
        shown = f"{(round(v) - 1) % 360 + 1:03d}" if compass else f"{v:,g}".replace("-", "−")
        out.append(f'<path d="M{LEFT} {y(v):.1f}H{wide - RIGHT}" stroke="{GRID}" stroke-width="0.5"/>')
        out.append(f'<text x="{LEFT - 4}" y="{y(v) + 3:.1f}" text-anchor="end">{shown}</text>')
    for t in ticks(first, last, wide // 56, sixties=True):
        out.append(f'<path d="M{x(t):.1f} {TOP}V{tall - BOTTOM}" stroke="{GRID}" stroke-width="0.5"/>')
        out.append(f'<text x="{x(t):.1f}" y="{tall - 6}" text-anchor="middle">{clock(t)}</text>')
    for t in (start_s, end_s):
        out.append(
            f'<path d="M{x(t):.1f} {TOP}V{tall - BOTTOM}" stroke="{SOFT}" stroke-width="0.7" stroke-dasharray="1.5 2"/>'
        )
    out += [line(piece, IDEAL, 1.3, "5 3") for piece in laid]
    out += [line(piece, INK, 1.1) for piece in _pieces(times, flown, first, last)]
    return "".join([*out, "</svg>"])


def _pieces(times: Numbers, values: Numbers, first: float, last: float) -> list[list[tuple[float, float]]]:
    """The parts of a line between its gaps, within the plot."""
    found: list[list[tuple[float, float]]] = [[]]
    for t, v in zip(times, values, strict=True):
        if t is None or v is None:
            found.append([])
        elif first <= t <= last:
            found[-1].append((float(t), float(v)))
    return [piece for piece in found if len(piece) > 1]


def ticks(low: float, high: float, about: int, *, sixties: bool = False) -> list[float]:
    """Round numbers between two limits, about so many; `sixties` for minutes and seconds."""
    raw = (high - low) / about
    if sixties:
        step = next((s for s in (5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0) if s >= raw), 1200.0)
    else:
        size = 10.0 ** math.floor(math.log10(raw))
        step = next(m * size for m in (1.0, 2.0, 5.0, 10.0) if m * size >= raw * 0.999)
    return [round(k * step, 9) for k in range(math.ceil(low / step), math.floor(high / step) + 1)]
