"""The briefing's drawings: path in the area, altitude, fuel by tank, center of gravity.

On a page in its colors, on paper black on white.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from airwork import units
from airwork.lesson.area import FlatMap
from airwork.lesson.briefing import Briefing
from airwork.output.briefing_doc import PlotName
from airwork.output.drawing import Axis, Line, Mark, Point, clock_ticks, on_paper, xy_svg

SIZE = (440, 240)  # two stand beside one another
MAP_SIZE = (620, 450)
_ARROWS = "↑↗→↘↓↙←↖"  # by where they point, from north


def briefing_plots(briefing: Briefing) -> dict[PlotName, str]:
    """All drawings the briefing has data for, for paper, as SVG by name."""
    made: dict[PlotName, str] = {"map": _map(briefing), "close": _map(briefing, close=True)}
    wide = (620, 260)
    made |= {"profile": profile(briefing, wide), "fuel": fuel(briefing, wide), "envelope": envelope(briefing, wide)}
    return {name: on_paper(svg) for name, svg in made.items() if svg}


def _map(b: Briefing, *, close: bool = False) -> str:
    """Area, landing places, the path of each exercise over the ground, ways out and home; nautical miles.

    close : drawn in to the exercises' paths.
    """
    flown = [e for e in b.exercises if e.path is not None]
    if b.area is None or (close and not flown):
        return ""
    corners = np.array(b.area.corners_rad)
    flat = FlatMap(float(corners[:, 0].mean()), float(corners[:, 1].mean()))

    def nm(latitude: float, longitude: float) -> Point:
        east, north = flat.east_north_m(latitude, longitude)
        return float(units.to_unit(east, "NM")), float(units.to_unit(north, "NM"))

    edge = [nm(*c) for c in (*b.area.corners_rad, b.area.corners_rad[0])]
    paths = {e.number: [nm(p[1], p[2]) for p in e.path.points] for e in flown if e.path is not None}
    shown = np.array([p for path in paths.values() for p in path] if close else edge)
    low, high = shown.min(axis=0), shown.max(axis=0)
    reach = 0.1 * max(float((high - low).max()), 0.5)
    low, high = low - reach, high + reach
    home = nm(b.place.latitude_rad, b.place.longitude_rad)
    lines = [Line("", edge), *(Line("", path) for path in paths.values())]
    ends = [(path[0], path[-1]) for path in paths.values()]
    ways = [(home, ends[0][0]), (ends[-1][1], home)] if ends else []
    lines += [Line("", way, "limit") for way in ways]
    lines += [Line("", (before[1], after[0]), "tank2") for before, after in pairwise(ends)]
    places = [(b.place.name.split()[0], home, "⌂")]
    places += [(p.name, nm(p.latitude_rad, p.longitude_rad), "▬") for p in b.area.landing_places]
    marks = [_landmark(*place, low, high) for place in places]
    labels: dict[Point, list[int]] = {}
    grain = 30.0 / float((high - low).max())  # numbers closer than a thirtieth of the map stand together
    for number, path in paths.items():
        near = next((spot for spot in labels if math.dist(spot, path[0]) * grain < 1.0), path[0])
        labels.setdefault(near, []).append(number)
    marks += [Mark(", ".join(map(str, numbers)), *spot) for spot, numbers in labels.items()]
    axes = Axis(f"NM east of the middle of the area{_wind(b)}"), Axis("NM north")
    return xy_svg(lines, marks, *axes, label="the area and the path of each exercise", size=MAP_SIZE, even=True,
                  within=((low[0], low[1]), (high[0], high[1])))  # fmt: skip


def _arrow(toward_rad: float) -> str:
    """The arrow nearest to a direction, clockwise from up."""
    return _ARROWS[round(math.degrees(toward_rad) / 45.0) % 8]


def _landmark(name: str, spot: Point, sign: str, low: np.ndarray, high: np.ndarray) -> Mark:
    """A place on the map, or at its edge with the distance where it lies outside."""
    if all(a <= x <= z for a, x, z in zip(low, spot, high, strict=True)):
        return Mark(name, *spot, sign)
    middle = 0.5 * (low + high)
    way = np.array(spot) - middle
    x, y = middle + way * float(np.min(0.93 * (high - middle) / np.maximum(np.abs(way), 1e-9)))
    return Mark(f"{name}, {math.dist(spot, (x, y)):.0f} NM on", float(x), float(y), _arrow(math.atan2(*way)))


def _wind(b: Briefing) -> str:
    """Wind at about the height of the lesson in words, with an arrow the way it blows."""
    if not b.weather.aloft:
        return ""
    altitude = max((e.set_up.entry_altitude_m for e in b.exercises if e.set_up), default=b.weather.aloft[0][0])
    height, from_rad, speed = min(b.weather.aloft, key=lambda layer: abs(layer[0] - altitude))
    if speed < 0.5:
        return ""
    knots = units.to_unit(speed, "kt")
    return f"; wind {knots:.0f} kt {_arrow(from_rad + math.pi)} at {units.write(height, 'ft')}"


def profile(b: Briefing, size: tuple[int, int] = SIZE) -> str:
    """Altitude over local time; floor, ceiling and ground of the area."""
    points: list[Point] = []
    for leg in b.legs:
        path = next((e.path for e in b.exercises if leg.run is not None and e.number == leg.run + 1), None)
        points.append((leg.start_s, leg.altitude_from_m))
        if path is not None:
            stretch = leg.duration_s / max(path.points[-1][0], 1.0)
            points += [(leg.start_s + p[0] * stretch, p[3]) for p in path.points]
        points.append((leg.end_s, leg.altitude_to_m))
    if not points:
        return ""
    lines = [Line("planned", [(b.start_utc_s + s, units.to_unit(m, "ft")) for s, m in points])]
    if b.area is not None:
        levels = (("floor", b.area.floor_m), ("ceiling", b.area.ceiling_m), ("ground", b.area.ground_m))
        lines += [_level(b, name, units.to_unit(height, "ft")) for name, height in levels]
    marks = [
        Mark("", 0.5 * (e.start_utc_s + e.end_utc_s), units.to_unit(e.set_up.entry_altitude_m, "ft"), str(e.number))
        for e in b.exercises if e.set_up is not None
    ]  # fmt: skip
    return xy_svg(lines, marks, _local_time(b, size), Axis("altitude, ft"), size=size,
                  label="altitude through the lesson with the area's floor, ceiling and ground")  # fmt: skip


def _local_time(b: Briefing, size: tuple[int, int]) -> Axis:
    return Axis("local time", clock_ticks(b.start_utc_s, b.end_utc_s, b.style.clock, size[0] // 65))


def _level(b: Briefing, name: str, value: float) -> Line:
    return Line(name, [(b.start_utc_s, value), (b.end_utc_s, value)], "limit")


def fuel(b: Briefing, size: tuple[int, int] = SIZE) -> str:
    """Fuel in each tank over local time, changes of tank, and what is left at the turn for home and as reserve."""
    if not b.tanks.points:
        return ""
    unit = b.style.fuel_unit
    names = list(b.tanks.points[0].left_m3)
    at = [b.start_utc_s + p.time_s for p in b.tanks.points]
    amounts = {name: [units.to_unit(p.left_m3[name], unit) for p in b.tanks.points] for name in names}
    lines = [Line(n, list(zip(at, left, strict=True)), f"tank{k % 4}") for k, (n, left) in enumerate(amounts.items())]
    if len(names) > 1:
        total = [units.to_unit(p.total_m3, unit) for p in b.tanks.points]
        lines.append(Line("all", list(zip(at, total, strict=True)), "all"))
    lines += [
        _level(b, words, units.to_unit(value, unit))
        for words, value in (("turn for home", b.fuel.turn_home_m3), ("reserve", b.fuel.reserve_m3))
    ]
    marks = [Mark(change.to_tank, b.start_utc_s + change.time_s, 0.0, "|") for change in b.tanks.changes]
    return xy_svg(lines, marks, _local_time(b, size), Axis(f"usable fuel, {unit}", from_zero=True), size=size,
                  label="fuel in each tank through the lesson")  # fmt: skip


def envelope(b: Briefing, size: tuple[int, int] = SIZE) -> str:
    """Permitted area by category, and the center of gravity from engine start to engine off."""
    mass_unit, arm_unit = b.style.book.mass, b.style.book.arm

    def at(arm_m: float, mass_kg: float) -> Point:
        return units.to_unit(arm_m, arm_unit), units.to_unit(mass_kg, mass_unit)

    lines = [Line(name, [at(*c) for c in (*corners, corners[0])], "edge") for name, corners in b.envelopes.items()]
    if not lines:
        return ""
    flown = [at(p.arm_m, p.mass_kg) for p in b.balance.points if p.arm_m is not None]
    marks = [Mark("engine start", *flown[0]), Mark("engine off", *flown[-1])] if flown else []
    return xy_svg([*lines, Line("", flown)], marks, Axis(f"arm, {arm_unit}"), Axis(f"weight, {mass_unit}"), size=size,
                  label="center of gravity through the lesson in the permitted area")  # fmt: skip
