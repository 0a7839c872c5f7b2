"""The briefing's plots as SVG, black on white: path in the area, altitude, fuel by tank, center of gravity.

Drawn with matplotlib, which is loaded only when a full briefing is asked for. Lines differ by dash and mark, never by
colour alone.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from airwork import units
from airwork.lesson.area import FlatMap
from airwork.lesson.briefing import Briefing
from airwork.output.briefing_doc import PlotName
from airwork.output.performance_frame import PLAIN

_DASHES = ("-", "--", "-.", ":")
_STYLE: Any = {**PLAIN, "lines.linewidth": 1.3}
GREY = "0.55"


def briefing_plots(briefing: Briefing) -> dict[PlotName, str]:
    """All plots the briefing has data for, as SVG text by name."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    made: dict[PlotName, str] = {}
    draw: dict[PlotName, tuple[tuple[float, float], Callable[[Any, Briefing], bool]]] = {
        "map": ((6.4, 4.6), _map),
        "close": ((6.4, 4.6), partial(_map, close=True)),
        "profile": ((6.4, 2.5), _profile),
        "fuel": ((6.4, 2.4), _fuel),
        "envelope": ((6.4, 2.9), _envelope),
    }
    with mpl.rc_context(_STYLE):
        for name, (size, function) in draw.items():
            figure = Figure(figsize=size, layout="constrained")
            if function(figure.subplots(), briefing):
                out = io.StringIO()
                figure.savefig(out, format="svg", metadata={"Date": None, "Creator": "airwork"})
                made[name] = out.getvalue()[out.getvalue().index("<svg") :]
    return made


def _map(ax: Any, b: Briefing, *, close: bool = False) -> bool:
    """Area, landing places, the path of each exercise over the ground, ways out and home; nautical miles.

    close : drawn in to the exercises' paths.
    """
    if b.area is None or (close and all(e.path is None for e in b.exercises)):
        return False
    corners = np.array(b.area.corners_rad)
    flat = FlatMap(float(corners[:, 0].mean()), float(corners[:, 1].mean()))

    def nm(latitude: float, longitude: float) -> tuple[float, float]:
        east, north = flat.east_north_m(latitude, longitude)
        return units.to_unit(east, "NM"), units.to_unit(north, "NM")

    edge = np.array([nm(*c) for c in (*b.area.corners_rad, b.area.corners_rad[0])])
    ax.plot(*edge.T, "k-", lw=1.6)
    shown = edge
    if close:
        shown = np.array([nm(p[1], p[2]) for e in b.exercises if e.path is not None for p in e.path.points])
    low, high = shown.min(axis=0), shown.max(axis=0)
    reach = 0.14 * max(float((high - low).max()), 0.5)
    low, high = low - reach, high + reach
    ax.set(xlim=(low[0], high[0]), ylim=(low[1], high[1]))
    home = nm(b.place.latitude_rad, b.place.longitude_rad)
    _landmark(ax, b.place.name.split()[0], home, low, high, home=True)
    for place in b.area.landing_places:
        _landmark(ax, place.name, nm(place.latitude_rad, place.longitude_rad), low, high)
    way, labels, spots = [home], dict[tuple[int, int], list[int]](), dict[tuple[int, int], Any]()
    grain = 30.0 / float((high - low).max())  # numbers closer than a thirtieth of the map stand together
    for e in b.exercises:
        if e.path is None:
            continue
        points = np.array([nm(p[1], p[2]) for p in e.path.points])
        ax.plot(*points.T, "k-", lw=1.5)
        ax.plot(*points[0], "ko", ms=3.5)
        way += [tuple(points[0]), tuple(points[-1])]
        near = (round(points[0][0] * grain), round(points[0][1] * grain))
        labels.setdefault(near, []).append(e.number)
        spots.setdefault(near, tuple(points[0]))
    for near, numbers in labels.items():
        text = ", ".join(map(str, numbers))
        ax.annotate(text, spots[near], (6, 5), textcoords="offset points", weight="bold", fontsize=9)
    if len(way) > 1:
        ax.plot(*np.array([*way[:2]]).T, color=GREY, ls="--", lw=1)
        ax.plot(*np.array([way[-1], home]).T, color=GREY, ls="--", lw=1)
        for i in range(2, len(way) - 1, 2):
            ax.plot(*np.array(way[i : i + 2]).T, color=GREY, ls=":", lw=1)
    _wind_arrow(ax, b)
    ax.set_aspect("equal", adjustable="box")
    ax.set_xlabel("NM east of the middle of the area")
    ax.set_ylabel("NM north")
    return True


def _landmark(ax: Any, name: str, spot: tuple[float, float], low: Any, high: Any, *, home: bool = False) -> None:
    """A place on the map, or at its edge with the distance where it lies outside."""
    inside = all(a <= x <= z for a, x, z in zip(low, spot, high, strict=True))
    weight = "bold" if home else "normal"
    if inside:
        style = {"marker": "s", "ms": 6, "mfc": "white", "mew": 1.5} if home else {"marker": "_", "ms": 9, "mew": 2.2}
        ax.plot(*spot, color="k", ls="", **style)
        ax.annotate(name, spot, (0, -10), textcoords="offset points", ha="center", fontsize=7, weight=weight)
        return
    middle = 0.5 * (low + high)
    way = np.array(spot) - middle
    share = float(np.min(0.93 * (high - middle) / np.maximum(np.abs(way), 1e-9)))
    at = middle + way * share
    text = f"{name}, {math.dist(spot, at):.0f} NM on"
    words = at - 0.05 * way / np.hypot(*way) * (high - low).max()
    ax.annotate(
        text, at, words, ha="center", va="center", fontsize=7, weight=weight,
        arrowprops={"arrowstyle": "-|>", "lw": 1.0, "color": "k", "shrinkA": 6, "shrinkB": 0},
    )  # fmt: skip


def _wind_arrow(ax: Any, b: Briefing) -> None:
    """Wind at about the height of the lesson, drawn the way it blows, in the corner."""
    if not b.weather.aloft:
        return
    altitude = max((e.set_up.entry_altitude_m for e in b.exercises if e.set_up), default=b.weather.aloft[0][0])
    height, from_rad, speed = min(b.weather.aloft, key=lambda layer: abs(layer[0] - altitude))
    if speed < 0.5:
        return
    x, y, size = 0.92, 0.9, 0.055
    de, dn = -math.sin(from_rad) * size, -math.cos(from_rad) * size
    arrow = {"arrowstyle": "-|>", "lw": 1.6, "color": "k"}
    ax.annotate("", (x + de, y + dn * 1.28), (x - de, y - dn * 1.28), "axes fraction", arrowprops=arrow)
    text = f"wind {units.to_unit(speed, 'kt'):.0f} kt\nat {units.write(height, 'ft')}"
    ax.text(x, y - 0.1, text, transform=ax.transAxes, ha="center", va="top", fontsize=7.5)


def _clock_axis(ax: Any, b: Briefing) -> None:
    """Local time along the bottom, every ten or fifteen minutes of the clock."""
    length = b.end_utc_s - b.start_utc_s
    step = 600.0 if length < 5400 else 900.0
    first = math.ceil(b.start_utc_s / step) * step
    ticks = np.arange(first, b.end_utc_s + 1.0, step)
    ax.set_xticks((ticks - b.start_utc_s) / 60.0, [b.style.clock(float(t)) for t in ticks])
    ax.set_xlim(0.0, length / 60.0)


def _profile(ax: Any, b: Briefing) -> bool:
    times, altitudes = [0.0], [b.legs[0].altitude_from_m]
    for leg in b.legs:
        path = next((e.path for e in b.exercises if leg.run is not None and e.number == leg.run + 1), None)
        if path is not None:
            stretch = leg.duration_s / max(path.points[-1][0], 1.0)
            times += [leg.start_s + p[0] * stretch for p in path.points]
            altitudes += [p[3] for p in path.points]
        times.append(leg.end_s)
        altitudes.append(leg.altitude_to_m)
    feet = np.array([units.to_unit(a, "ft") for a in altitudes])
    ax.plot(np.array(times) / 60.0, feet, "k-")
    if b.area is not None:
        for words, value, dash in (("floor", b.area.floor_m, "--"), ("ceiling", b.area.ceiling_m, "--")):
            level = units.to_unit(value, "ft")
            ax.axhline(level, color=GREY, ls=dash, lw=1)
            ax.text(0.995, level, f"{words} ", transform=ax.get_yaxis_transform(), ha="right", va="bottom", fontsize=7)
        ax.axhspan(feet.min() - 400.0, units.to_unit(b.area.ground_m, "ft"), color="0.9")
    top = max(float(feet.max()), units.to_unit(b.area.ceiling_m, "ft") if b.area else 0.0)
    for e in b.exercises:
        if e.set_up is not None:
            middle = (0.5 * (e.start_utc_s + e.end_utc_s) - b.start_utc_s) / 60.0
            level = units.to_unit(e.set_up.entry_altitude_m, "ft")
            ax.annotate(str(e.number), (middle, level), (0, 5), textcoords="offset points", ha="center", weight="bold")
    ax.set_ylim(feet.min() - 400.0, top + 500.0)
    ax.set_ylabel("feet")
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    _clock_axis(ax, b)
    return True


def _fuel(ax: Any, b: Briefing) -> bool:
    unit = b.style.fuel_unit
    times = np.array([p.time_s for p in b.tanks.points]) / 60.0
    names = list(b.tanks.points[0].left_m3)
    for i, name in enumerate(names):
        amounts = [units.to_unit(p.left_m3[name], unit) for p in b.tanks.points]
        ax.plot(times, amounts, "k", ls=_DASHES[i % 4], label=name)
    for change in b.tanks.changes:
        ax.axvline(change.time_s / 60.0, color=GREY, lw=0.8)
        ax.annotate(f"{change.to_tank} ", (change.time_s / 60.0, 0), (2, 4), textcoords="offset points", fontsize=7)
    total = [units.to_unit(p.total_m3, unit) for p in b.tanks.points]
    if len(names) > 1:
        ax.plot(times, total, "k", lw=2.2, label="all")
    for words, value in (("turn for home", b.fuel.turn_home_m3), ("reserve", b.fuel.reserve_m3)):
        level = units.to_unit(value, unit)
        ax.axhline(level, color=GREY, lw=1, ls="--")
        ax.text(0.995, level, words, transform=ax.get_yaxis_transform(), ha="right", va="bottom", fontsize=7)
    ax.set_ylim(0.0, max(total) * 1.08)
    ax.set_ylabel(unit)
    ax.legend(frameon=False, ncols=4, loc="lower left", bbox_to_anchor=(0, 1.0), borderaxespad=0)
    _clock_axis(ax, b)
    return True


def _envelope(ax: Any, b: Briefing) -> bool:
    """Permitted area by category, and the center of gravity from start to end."""
    if not b.envelopes:
        return False
    arm_unit, mass_unit = b.style.book.arm, b.style.book.mass

    def arm(value_m: float) -> float:
        return units.to_unit(value_m, arm_unit)

    def mass(value_kg: float) -> float:
        return units.to_unit(value_kg, mass_unit)

    for i, (category, corners) in enumerate(b.envelopes.items()):
        ring = np.array([(arm(a), mass(m)) for a, m in (*corners, corners[0])])
        ax.plot(*ring.T, "k", ls=_DASHES[i % 4], label=category)
    points = np.array([(arm(p.arm_m), mass(p.mass_kg)) for p in b.balance.points if p.arm_m is not None])
    ax.plot(*points.T, "k-", lw=2.4)
    ax.plot(*points[0], "ko", ms=6, label="engine start")
    ax.plot(*points[-1], "ko", ms=6, mfc="white", label="engine off")
    ax.set_xlabel(f"center of gravity, {arm_unit} aft of the datum")
    ax.set_ylabel(mass_unit)
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    ax.legend(frameon=False, loc="center left", bbox_to_anchor=(1.0, 0.5))
    ax.margins(0.08)
    return True
