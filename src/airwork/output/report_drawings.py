"""The drawings of a debrief report as SVG: the flight in time and over the ground. Work with scripts off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.maneuvers.setup import Trace
from airwork.output.report_series import nearest
from airwork.recording.flight import Flight
from airwork.units import FT_M, NM_M, clock

Array = NDArray[np.float64]

SIGNS, BLOCK, PROFILE, TICKS, MOST_LANES = 15, 17, 38, 15, 3  # heights in a strip, from the top
SIGNED = {"out", "brief"}  # verdicts that stand over their block as a sign
APART = 0.7  # points of a track closer than this add nothing to it
MAP_WIDE, MAP_HIGH, MAP_EDGE = 1120, 560, 26


def _points(x: Array, y: Array, apart: float = 0.0) -> str:
    """A line's points without those that stand closer than that to the last one kept."""
    good = np.isfinite(x) & np.isfinite(y)
    kept: list[tuple[float, float]] = []
    for a, b in zip(x[good].tolist(), y[good].tolist(), strict=True):
        if not kept or abs(a - kept[-1][0]) + abs(b - kept[-1][1]) >= apart:
            kept.append((a, b))
    return " ".join(f"{a:.1f},{b:.1f}" for a, b in kept)


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


def strip_svg(
    flight: Flight, rows: Sequence[dict[str, Any]], *, wide: int | None = None, fix_s: float | None = None,
    fix: str = "said first",
) -> str:  # fmt: skip
    """The whole flight as a strip: its maneuvers as numbered blocks, over the altitude flown.

    Standing for a verdict without color: what was not held is hatched with a ✗ over it, what was briefly out is dotted
    with a ~, what was held is plain, what could not be judged is hollow.

    wide : in pixels, for paper; as wide as its place where None. fix_s, fix : when what is said first happened, marked,
    and the word for it.
    """
    last = max(float(flight.time_s[-1]), 1.0)
    lanes = [min(lane, MOST_LANES - 1) for lane in _lanes([(row["start_s"], row["end_s"]) for row in rows])]
    top = SIGNS + (max(lanes, default=0) + 1) * (BLOCK + 2)
    high = top + PROFILE + TICKS
    size = (
        f'width="100%" height="{high}"'
        if wide is None
        else f'viewBox="0 0 {wide} {high}" width="{wide}" height="{high}"'
    )
    counted = ", ".join(f"{row['number']} {row['title']}: {row['word']}" for row in rows if not row["plain"])
    parts = [
        f'<svg {size} class="blocks" role="img" aria-label="{escape(f"the flight in time, its maneuvers: {counted}")}">'
        '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<rect class="ground" width="6" height="6"/><line class="stroke" x1="1" x2="1" y2="6"/></pattern></defs>'
    ]
    step = next(s for s in (60, 120, 300, 600, 900, 1800, 3600, 7200) if last / s <= 14 or s == 7200)
    for k in range(1, int(last // step) + 1):
        at = 100.0 * k * step / last
        parts.append(f'<line class="axis" x1="{at:.2f}%" x2="{at:.2f}%" y1="{SIGNS}" y2="{top + PROFILE}"/>')
        if at < 97.0:
            parts.append(
                f'<text class="tick{" odd" if k % 2 else ""}" x="{at:.2f}%" y="{high - 2}">{k * step // 60} min</text>'
            )
    parts.append(_profile(flight, last, top))
    for row, lane in zip(rows, lanes, strict=True):
        left, part = 100.0 * row["start_s"] / last, 100.0 * (row["end_s"] - row["start_s"]) / last
        y, middle = SIGNS + lane * (BLOCK + 2), left + part / 2.0
        said = f"{row['number']} {row['title']}, {clock(row['start_s'])} to {clock(row['end_s'])}: {row['word']}"
        sign = f'<text class="sign {row["mark"]}" x="{middle:.2f}%" y="{SIGNS - 3}">{row["sign"]}</text>'
        number = f'<text class="count" x="{middle:.2f}%" y="{y + BLOCK - 4}">{row["number"]}</text>'
        parts.append(
            f'<g data-k="{row["index"]}"><title>{escape(said)}</title>'
            f'<rect class="block {row["mark"]}{" passing" if row["plain"] else ""}" x="{left:.2f}%" y="{y}" '
            f'width="{max(part, 0.3):.2f}%" height="{BLOCK}" rx="2"/>'
            f"{number if part > 0.55 * len(str(row['number'])) + 0.2 else ''}"
            f"{sign if row['mark'] in SIGNED else ''}</g>"
        )
    if fix_s is not None:
        at = 100.0 * fix_s / last
        aside = ' dx="-4" text-anchor="end"' if at > 78.0 else ' dx="4" text-anchor="start"'
        y = top + (PROFILE // 2 + 4 if at < 18.0 else 11)  # early, it stands between the two altitudes' figures
        parts.append(
            f'<line class="fix" x1="{at:.2f}%" x2="{at:.2f}%" y1="{SIGNS}" y2="{top + PROFILE}"/>'
            f'<text class="fix" x="{at:.2f}%" y="{y}"{aside}>{escape(fix)}</text>'
        )
    return "".join([*parts, "</svg>"])


def _profile(flight: Flight, last: float, top: int) -> str:
    """The altitude flown, from its lowest to its highest, with both in figures."""
    altitude = flight.get("altitude_m")
    if altitude is None or not np.isfinite(altitude).any():
        return ""
    times = np.linspace(0.0, last, 400)
    feet = altitude[nearest(flight, times)] / FT_M
    low, high = float(np.nanmin(feet)), max(float(np.nanmax(feet)), float(np.nanmin(feet)) + 500.0)
    flown = _points(times / last * 1000.0, PROFILE - (feet - low) / (high - low) * (PROFILE - 4))
    outline = f"0,{PROFILE} {flown} 1000,{PROFILE}"
    return (
        f'<svg y="{top}" width="100%" height="{PROFILE}" viewBox="0 0 1000 {PROFILE}" preserveAspectRatio="none">'
        f'<polygon class="profile" points="{outline}"/></svg>'
        f'<text class="tick halo" x="2" y="{top + 11}">{high:,.0f} ft</text>'
        f'<text class="tick halo" x="2" y="{top + PROFILE - 3}">{low:,.0f} ft</text>'
    )


def stretches(x: Array, y: Array) -> list[tuple[Array, Array]]:
    """The parts of a line between its gaps."""
    good = np.isfinite(x) & np.isfinite(y)
    ends = np.flatnonzero(np.diff(good.astype(int))) + 1
    return [(a, b) for a, b in zip(np.split(x, ends), np.split(y, ends), strict=True) if a.size and np.isfinite(a[0])]


def map_svg(
    flight: Flight, rows: Sequence[dict[str, Any]], times: Array, ideals: Mapping[int, Trace], *,
    box: tuple[int, int] = (MAP_WIDE, MAP_HIGH),
) -> str:  # fmt: skip
    """The track north up with each maneuver's stretch drawn strong and numbered, ideals over the ground, a scale.

    Empty without positions. box : the width, and the most height. [px]
    """
    map_wide, map_high = box
    east, north = flight.get("east_m"), flight.get("north_m")
    if east is None or north is None or not np.isfinite(east).any():
        return ""
    at = nearest(flight, times)
    e, n = east[at], north[at]
    wide, high = max(np.nanmax(e) - np.nanmin(e), 200.0), max(np.nanmax(n) - np.nanmin(n), 200.0)
    scale = min((map_wide - 2 * MAP_EDGE) / wide, (map_high - 2 * MAP_EDGE) / high)
    box_high, left = high * scale + 2 * MAP_EDGE, (map_wide - wide * scale) / 2

    def placed(east_m: Array, north_m: Array) -> tuple[Array, Array]:
        return left + (east_m - np.nanmin(e)) * scale, box_high - MAP_EDGE - (north_m - np.nanmin(n)) * scale

    x, y = placed(e, n)
    parts = [
        f'<svg viewBox="0 0 {map_wide} {box_high:.0f}" width="{map_wide}" height="{box_high:.0f}" role="img" '
        'aria-label="track over the ground, north up">',
        f'<polyline class="track" points="{_points(x, y, APART)}"/>',
    ]
    taken: list[tuple[float, float]] = []
    for trace in ideals.values():
        if "east_m" in trace.columns:
            ideal = placed(np.asarray(trace.columns["east_m"]), np.asarray(trace.columns["north_m"]))
            parts += [f'<polyline class="ideal" points="{_points(*p)}"/>' for p in stretches(*ideal)]
    for row in rows:
        part = (times >= row["start_s"]) & (times <= row["end_s"])
        if part.sum() < 2 or row["plain"]:
            continue
        parts.append(f'<polyline class="stretch" points="{_points(x[part], y[part], APART)}"/>')
        middle = int(np.flatnonzero(part)[part.sum() // 2])
        px, py = float(x[middle]) + 7, float(y[middle]) - 5
        while any(abs(px - a) < 15 and abs(py - b) < 12 for a, b in taken):
            py += 13
        taken.append((px, py))
        parts.append(f'<text x="{px:.1f}" y="{py:.1f}" font-weight="600">{row["number"]}</text>')
    miles = next(m for m in (10.0, 5.0, 2.0, 1.0, 0.5, 0.2) if m * NM_M * scale <= map_wide / 4 or m == 0.2)
    bar = miles * NM_M * scale
    parts.append(
        f'<line x1="{MAP_EDGE}" x2="{MAP_EDGE + bar:.1f}" y1="{box_high - 10:.0f}" y2="{box_high - 10:.0f}" '
        f'stroke="currentColor" stroke-width="2"/>'
        f'<text x="{MAP_EDGE + bar + 6:.1f}" y="{box_high - 6:.0f}">{miles:g} NM</text>'
        f'<text x="{map_wide - 16}" y="18" text-anchor="middle">N</text>'
        f'<path d="M{map_wide - 16} 22 l5 12 h-10 z" fill="currentColor"/>'
        "</svg>"
    )
    return "".join(parts)
