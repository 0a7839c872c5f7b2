"""The drawings of a debrief report as SVG: the flight in time and over the ground. Work with scripts off."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.maneuvers.setup import Trace
from airwork.output.debrief_words import clock
from airwork.output.report_series import as_list, nearest
from airwork.recording.flight import Flight
from airwork.units import FT_M, NM_M

Array = NDArray[np.float64]

WIDE, BARS, HIGH = 1120, 22, 130
MAP_WIDE, MAP_HIGH, MAP_EDGE = 1120, 560, 26


def _points(x: Array, y: Array) -> str:
    good = np.isfinite(x) & np.isfinite(y)
    return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x[good].tolist(), y[good].tolist(), strict=True))


def _lanes(spans: Sequence[tuple[float, float]]) -> list[int]:
    """A lane for each span so that none overlap."""
    ends: list[float] = []
    lanes = []
    for start, end in spans:
        free = next((k for k, e in enumerate(ends) if e <= start), None)
        if free is None:
            ends.append(end)
            lanes.append(len(ends) - 1)
        else:
            ends[free] = end
            lanes.append(free)
    return lanes


def timeline_svg(flight: Flight, rows: Sequence[dict[str, Any]]) -> str:
    """Altitude over time with the maneuvers as numbered bars above it."""
    last = max(float(flight.time_s[-1]), 1.0)
    spans = [(row["start_s"], row["end_s"]) for row in rows]
    lanes = _lanes(spans)
    top = (max(lanes, default=0) + 1) * (BARS + 4) + 4
    scale = (WIDE - 60) / last
    parts = [
        f'<svg viewBox="0 0 {WIDE} {top + HIGH + 26}" width="{WIDE}" height="{top + HIGH + 26}" role="group" '
        'aria-label="altitude over time with the maneuvers above it">'
    ]
    altitude = flight.get("altitude_m")
    if altitude is not None and np.isfinite(altitude).any():
        times = np.linspace(0.0, last, 600)
        feet = altitude[nearest(flight, times)] / FT_M
        low, high = math.floor(np.nanmin(feet) / 500) * 500, math.ceil(np.nanmax(feet) / 500) * 500
        high = max(high, low + 500)
        y = top + HIGH - (feet - low) / (high - low) * HIGH
        x = 54 + times * scale
        outline = f"54,{top + HIGH} {_points(x, y)} {54 + last * scale:.1f},{top + HIGH}"
        parts.append(f'<polygon class="profile" points="{outline}"/>')
        for level in (low, (low + high) / 2, high):
            at = top + HIGH - (level - low) / (high - low) * HIGH
            parts.append(f'<line class="axis" x1="54" x2="{WIDE - 6}" y1="{at:.1f}" y2="{at:.1f}"/>')
            parts.append(f'<text x="48" y="{at + 4:.1f}" text-anchor="end">{level:,.0f} ft</text>')
    step = next(s for s in (60, 120, 300, 600, 900, 1800, 3600, 7200) if last / s <= 14 or s == 7200)
    for k in range(int(last // step) + 1):
        at = 54 + k * step * scale
        parts.append(f'<line class="axis" x1="{at:.1f}" x2="{at:.1f}" y1="{top}" y2="{top + HIGH + 5}"/>')
        parts.append(f'<text x="{at:.1f}" y="{top + HIGH + 19}" text-anchor="middle">{k * step // 60} min</text>')
    for row, lane in zip(rows, lanes, strict=True):
        left, wide = 54 + row["start_s"] * scale, max((row["end_s"] - row["start_s"]) * scale, 5.0)
        up = top - (lane + 1) * (BARS + 4)
        label = f"{row['number']} {row['title']}" if wide > 9 * len(row["title"]) else str(row["number"])
        said = escape(
            f"{row['number']}. {row['title']}, {clock(row['start_s'])} to {clock(row['end_s'])}: {row['word']}"
        )
        bar = (
            f'<rect class="bar {row["mark"]}" x="{left:.1f}" y="{up}" width="{wide:.1f}" height="{BARS}" rx="3">'
            f"<title>{said}</title></rect>"
            f'<text x="{left + 4:.1f}" y="{up + 15}">{escape(label) if wide > 16 else ""}</text>'
        )
        parts.append(f'<a href="#m{row["number"]}">{bar}</a>' if row["section"] else f"<g>{bar}</g>")
    return "".join([*parts, "</svg>"])


def stretches(x: Array, y: Array) -> list[tuple[Array, Array]]:
    """The parts of a line between its gaps."""
    good = np.isfinite(x) & np.isfinite(y)
    ends = np.flatnonzero(np.diff(good.astype(int))) + 1
    return [(a, b) for a, b in zip(np.split(x, ends), np.split(y, ends), strict=True) if a.size and np.isfinite(a[0])]


def map_svg(
    flight: Flight, rows: Sequence[dict[str, Any]], times: Array, ideals: Mapping[int, Trace]
) -> tuple[str, dict[str, list[float | int | None]]]:
    """The track north up with each maneuver's stretch drawn strong and numbered, ideals over the ground, a scale.

    Returns the drawing and the track's points in it at the report's times, for the cursor. Empty without positions.
    """
    east, north = flight.get("east_m"), flight.get("north_m")
    if east is None or north is None or not np.isfinite(east).any():
        return "", {}
    at = nearest(flight, times)
    e, n = east[at], north[at]
    wide, high = max(np.nanmax(e) - np.nanmin(e), 200.0), max(np.nanmax(n) - np.nanmin(n), 200.0)
    scale = min((MAP_WIDE - 2 * MAP_EDGE) / wide, (MAP_HIGH - 2 * MAP_EDGE) / high)
    box_high = high * scale + 2 * MAP_EDGE
    x = MAP_EDGE + (e - np.nanmin(e)) * scale + (MAP_WIDE - 2 * MAP_EDGE - wide * scale) / 2
    y = box_high - MAP_EDGE - (n - np.nanmin(n)) * scale
    parts = [
        f'<svg viewBox="0 0 {MAP_WIDE} {box_high:.0f}" width="{MAP_WIDE}" height="{box_high:.0f}" role="img" '
        'aria-label="track over the ground, north up">',
        f'<polyline class="track" points="{_points(x, y)}"/>',
    ]
    taken: list[tuple[float, float]] = []
    for trace in ideals.values():
        if "east_m" in trace.columns:
            ix = MAP_EDGE + (np.asarray(trace.columns["east_m"]) - np.nanmin(e)) * scale
            ix += (MAP_WIDE - 2 * MAP_EDGE - wide * scale) / 2
            iy = box_high - MAP_EDGE - (np.asarray(trace.columns["north_m"]) - np.nanmin(n)) * scale
            parts += [f'<polyline class="ideal" points="{_points(*p)}"/>' for p in stretches(ix, iy)]
    for row in rows:
        part = (times >= row["start_s"]) & (times <= row["end_s"])
        if part.sum() < 2 or row["plain"]:
            continue
        parts.append(f'<polyline class="stretch" points="{_points(x[part], y[part])}"/>')
        middle = int(np.flatnonzero(part)[part.sum() // 2])
        px, py = float(x[middle]) + 7, float(y[middle]) - 5
        while any(abs(px - a) < 15 and abs(py - b) < 12 for a, b in taken):
            py += 13
        taken.append((px, py))
        parts.append(f'<text x="{px:.1f}" y="{py:.1f}" font-weight="600">{row["number"]}</text>')
    miles = next(m for m in (10.0, 5.0, 2.0, 1.0, 0.5, 0.2) if m * NM_M * scale <= MAP_WIDE / 4 or m == 0.2)
    bar = miles * NM_M * scale
    parts.append(
        f'<line x1="{MAP_EDGE}" x2="{MAP_EDGE + bar:.1f}" y1="{box_high - 10:.0f}" y2="{box_high - 10:.0f}" '
        f'stroke="currentColor" stroke-width="2"/>'
        f'<text x="{MAP_EDGE + bar + 6:.1f}" y="{box_high - 6:.0f}">{miles:g} NM</text>'
        f'<text x="{MAP_WIDE - 16}" y="18" text-anchor="middle">N</text>'
        f'<path d="M{MAP_WIDE - 16} 22 l5 12 h-10 z" fill="currentColor"/>'
        '<circle id="here" class="here" r="6" visibility="hidden"/></svg>'
    )
    return "".join(parts), {"x": as_list(x, 1), "y": as_list(y, 1)}
