"""The path of the lesson through the practice area: where and on which heading each exercise begins. SI.

Each exercise has a shape (its ideal path through the air) that the wind carries along. The search lays every shape at
every start point of a grid on several headings, keeps those that stay inside the area with its margin, and picks the
chain of starts with the least flying in between (dynamic programming). Then each start is moved for the exact margin.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.column import AirColumn
from airwork.airdata.wind import wind_triangle
from airwork.lesson.area import Area
from airwork.lesson.glide import Field, best_place

Array = NDArray[np.float64]

GRID = 15  # start points each way across the area
HEADINGS = 12  # every 30°
KEEP_HEADINGS = 2  # best headings of each start point that go into the chain
MAP_CELLS = 72  # cells each way of the map of distances to the edge
DIRECTIONS = 12  # the outermost points of a shape in these directions stand for it in the search
GLIDE_SPARE_M = 150.0  # about 500 ft above the landing place on arrival, to look and to line up (common practice)
OUTSIDE_COST = 200.0  # a meter short of the margin costs as much as this many meters of flying
GLIDE_COST = 1000.0  # a meter of height short on arrival, the same way: reach before a short way, so that one more
# landing place never makes the plan worse
TURN_PER_WIND = 300.0  # meters of flying that a heading straight down wind costs against straight into it


@dataclass(frozen=True)
class Shape:
    """One exercise's path through the air, started at the origin.

    east_m, north_m : shape (n,), through the air (still air), beginning on the heading `heading_rad`.
    altitude_m : above sea level. fixed : the heading can't be chosen (ground-reference work in this wind).
    """

    time_s: Array
    east_m: Array
    north_m: Array
    altitude_m: Array
    heading_rad: float = 0.0
    fixed: bool = False

    @property
    def mean_tas_mps(self) -> float:
        """Mean true airspeed along it. [m/s]"""
        way = float(np.hypot(np.diff(self.east_m), np.diff(self.north_m)).sum())
        return way / float(self.time_s[-1] - self.time_s[0])


@dataclass(frozen=True)
class Laid:
    """A shape laid in the area, over the ground; `margin_m` is the least distance to the edge (negative: outside)."""

    time_s: Array
    east_m: Array
    north_m: Array
    altitude_m: Array
    heading_rad: float
    margin_m: float
    glide_spare_m: float  # least arrival height over the best landing place; −inf without places
    glide_field: str


@dataclass(frozen=True)
class Glide:
    """What the glide reach needs: places, ratio, speed."""

    fields: tuple[Field, ...]
    ratio: float
    tas_mps: float


def drift_m(time_s: Array, altitude_m: Array, air: AirColumn) -> tuple[Array, Array]:
    """How far the wind has carried the airplane since the start, (east, north). [m]"""
    out = []
    for wind in air.wind_vector_at(altitude_m):
        steps = 0.5 * (wind[1:] + wind[:-1]) * np.diff(time_s)
        out.append(np.concatenate([[0.0], np.cumsum(steps)]))
    return out[0], out[1]


def over_ground(shape: Shape, turn_rad: float, air: AirColumn) -> tuple[Array, Array]:
    """The shape turned to another heading and carried by the wind, started at the origin. (east, north) [m]"""
    return _turned(shape, turn_rad, drift_m(shape.time_s, shape.altitude_m, air))


def _turned(shape: Shape, turn_rad: float, drift: tuple[Array, Array]) -> tuple[Array, Array]:
    c, s = np.cos(turn_rad), np.sin(turn_rad)
    east = shape.east_m * c + shape.north_m * s
    north = -shape.east_m * s + shape.north_m * c
    return east + drift[0], north + drift[1]


class EdgeMap:
    """Distances to the edge of the area on a grid, read between its points: fast enough for a search."""

    def __init__(self, area: Area) -> None:
        low, high = area.corners_m.min(axis=0), area.corners_m.max(axis=0)
        reach = 0.15 * (high - low)  # beyond it everything is plainly outside
        self.low, self.step = low - reach, (high - low + 2.0 * reach) / (MAP_CELLS - 1)
        east, north = (self.low[i] + self.step[i] * np.arange(MAP_CELLS) for i in (0, 1))
        self.inside_m = area.inside_m(east[:, None], north[None, :])
        self.inner = (low, high)

    def __call__(self, east_m: Array, north_m: Array) -> Array:
        """Distance to the edge, positive inside; outside the map the edge value less the way to it. [m]"""
        x, y = (east_m - self.low[0]) / self.step[0], (north_m - self.low[1]) / self.step[1]
        top = MAP_CELLS - 1.001
        cx, cy = np.minimum(np.maximum(x, 0.0), top), np.minimum(np.maximum(y, 0.0), top)
        i, j = cx.astype(np.intp), cy.astype(np.intp)
        u, v = cx - i, cy - j
        u_, v_ = 1 - u, 1 - v
        f, at = self.inside_m.ravel(), i * MAP_CELLS + j
        near = f.take(at) * u_ + f.take(at + MAP_CELLS) * u
        far = f.take(at + 1) * u_ + f.take(at + MAP_CELLS + 1) * u
        found = near * v_ + far * v
        return found - np.abs(x - cx) * self.step[0] - np.abs(y - cy) * self.step[1]

    def starts(self) -> Array:
        """Start points inside the area, shape (k, 2); its middle if the grid finds none. [m]"""
        low, high = self.inner
        east, north = (low[i] + (high[i] - low[i]) * (np.arange(GRID) + 0.5) / GRID for i in (0, 1))
        grid = np.stack(np.meshgrid(east, north, indexing="ij"), axis=-1).reshape(-1, 2)
        inside = self(grid[:, 0], grid[:, 1])
        return grid[inside > 0.0] if np.any(inside > 0.0) else grid[[int(inside.argmax())]]


@lru_cache(maxsize=8)
def _edge_map(area: Area) -> EdgeMap:
    """The map of an area, made once: the day's changes leave it as it is."""
    return EdgeMap(area)


@dataclass(frozen=True)
class _Choices:
    """Candidates for one exercise: start, end, turn of the heading, cost by itself."""

    point: NDArray[np.intp]  # (k,), which of the grid's start points
    start_m: Array  # (k, 2)
    end_m: Array
    turn_rad: Array
    cost: Array


def _outermost(paths: Array) -> Array:
    """The outermost points of each path in a ring of directions: (turns, 2, n) -> (turns, 2, DIRECTIONS)."""
    angle = np.arange(DIRECTIONS) * (2.0 * np.pi / DIRECTIONS)
    index = (np.column_stack([np.sin(angle), np.cos(angle)]) @ paths).argmax(axis=2)
    return np.take_along_axis(paths, index[:, None, :], axis=2)


def _choices(shape: Shape, area: Area, edges: EdgeMap, starts: Array, air: AirColumn, glide: Glide | None) -> _Choices:
    turns = np.array([0.0]) if shape.fixed else np.arange(HEADINGS) * (2.0 * np.pi / HEADINGS)
    drift = drift_m(shape.time_s, shape.altitude_m, air)
    paths = np.array([_turned(shape, t, drift) for t in turns])  # (turns, 2, n)
    outermost = _outermost(paths)
    east, north = (starts[:, axis, None, None] + outermost[:, axis] for axis in (0, 1))
    margin = edges(east, north).min(axis=-1)
    cost = OUTSIDE_COST * np.maximum(area.margin_m - margin, 0.0)  # (starts, turns)
    from_rad, speed = air.wind_at(shape.altitude_m[0])
    if float(speed) > 1.0 and not shape.fixed:  # into the wind the airplane stays where it is
        cost = cost + TURN_PER_WIND * 0.5 * (1.0 - np.cos(shape.heading_rad + turns - float(from_rad)))
    best = np.argsort(cost, axis=1, kind="stable")[:, :KEEP_HEADINGS]  # (starts, kept)
    rows, kept = np.repeat(np.arange(len(starts)), best.shape[1]), best.ravel()
    begin, end = starts[rows], starts[rows] + paths[kept, :, -1]
    alone: Array = np.asarray(cost[rows, kept], dtype=float)
    if glide is not None and glide.fields:
        # the outermost points too: what is reported is the worst of the whole path, so it must be what is searched by
        hull = outermost[kept]
        points = np.concatenate(
            [np.stack([begin, end], axis=2), starts[rows][:, :, None] + hull], axis=2
        )  # (choices, 2, points)
        low = float(shape.altitude_m.min())
        height, _ = best_place(points[:, 0], points[:, 1], np.array(low), glide.fields, glide.ratio, glide.tas_mps, air)
        alone += GLIDE_COST * np.maximum(GLIDE_SPARE_M - np.maximum(height.min(axis=1), -3000.0), 0.0)
    return _Choices(rows, begin, end, np.asarray(turns[kept], dtype=np.float64), alone)


def lay_path(
    shapes: tuple[Shape, ...],
    area: Area,
    air: AirColumn,
    *,
    enter_m: tuple[float, float],
    leave_m: tuple[float, float],
    glide: Glide | None = None,
) -> tuple[Laid, ...]:
    """Start points and headings for all exercises in order.

    Parameters
    ----------
    enter_m, leave_m : where the airplane comes from and goes to (the field), on the area's map. [m]

    The answer is the cheapest chain of the grid; a margin below what is asked means that no place in the area does.
    """
    if not shapes:
        return ()
    edges = _edge_map(area)
    starts = edges.starts()
    made = {id(s): _choices(s, area, edges, starts, air, glide) for s in {id(s): s for s in shapes}.values()}
    all_choices = [made[id(s)] for s in shapes]  # flown again, an exercise has the same choices
    come_from = np.array([enter_m])
    total = np.zeros(1)
    back: list[NDArray[np.intp]] = []
    for choice in all_choices:
        chain = (starts[:, :1] - come_from[:, 0]) ** 2 + (starts[:, 1:] - come_from[:, 1]) ** 2  # (points, ends before)
        np.sqrt(chain, out=chain)
        chain += total
        before = chain.argmin(axis=1)
        back.append(before[choice.point])
        total = chain[np.arange(len(starts)), before][choice.point] + choice.cost
        come_from = choice.end_m
    total = total + np.hypot(*(come_from - np.array(leave_m)).T)
    picks = [int(total.argmin())]
    for step in reversed(back[1:]):
        picks.append(int(step[picks[-1]]))
    picks.reverse()
    return tuple(
        _settle(shape, choice.start_m[k], float(choice.turn_rad[k]), area, air, glide)
        for shape, choice, k in zip(shapes, all_choices, picks, strict=True)
    )


def then(first: Laid, second: Laid, tas_mps: float, air: AirColumn, until_s: float) -> Laid:
    """One exercise in stretches, straight back between them, ended at `until_s`; the worse margin and reach count.

    Where the wind lets nobody fly back at that airspeed, the way back is what it leaves the area by.
    """
    worse = min(first, second, key=lambda laid: laid.glide_spare_m)
    east, north = second.east_m[0] - first.east_m[-1], second.north_m[0] - first.north_m[-1]
    away = float(np.hypot(east, north))
    from_rad, wind_mps = air.wind_at(first.altitude_m[-1])
    ground = float(wind_triangle(np.arctan2(east, north), tas_mps, from_rad, wind_mps).groundspeed_mps)
    margin = min(first.margin_m, second.margin_m) if ground > 0.0 or away < 1.0 else -away
    back_s = max(away / ground, 1.0) if ground > 0.0 else 1.0
    time = np.concatenate([first.time_s, first.time_s[-1] + back_s + second.time_s])
    keep = slice(0, max(int(np.searchsorted(time, until_s + 1e-6)), first.time_s.size))

    def joined(one: Array, other: Array) -> Array:
        return np.concatenate([one, other])[keep]

    return Laid(
        time[keep], joined(first.east_m, second.east_m), joined(first.north_m, second.north_m),
        joined(first.altitude_m, second.altitude_m), first.heading_rad, margin, worse.glide_spare_m, worse.glide_field,
    )  # fmt: skip


def _settle(shape: Shape, start_m: Array, turn_rad: float, area: Area, air: AirColumn, glide: Glide | None) -> Laid:
    """The exact margin of one laid shape, moved inward in a few steps if it falls short."""
    path = np.column_stack(over_ground(shape, turn_rad, air))
    outer = _outermost(path.T[None])[0].T
    start, margin = start_m, _margin(area, outer, start_m)
    span = float((area.corners_m.max(axis=0) - area.corners_m.min(axis=0)).max()) / GRID
    for _ in range(4):
        if margin >= area.margin_m:
            break
        angle = np.arange(8) * (np.pi / 4.0)
        tries = start + span * np.column_stack([np.sin(angle), np.cos(angle)])
        found = [_margin(area, outer, t) for t in tries]
        if max(found) > margin:
            start, margin = tries[int(np.argmax(found))], max(found)
        span *= 0.5
    whole = path + start
    spare, name = _glide_spare(whole, shape.altitude_m, glide, air)
    margin = float(area.inside_m(whole[:, 0], whole[:, 1]).min())
    heading = float(wrap_positive_rad(shape.heading_rad + turn_rad))
    return Laid(shape.time_s, whole[:, 0], whole[:, 1], shape.altitude_m, heading, margin, spare, name)


def _margin(area: Area, path: Array, start: Array) -> float:
    return float(area.inside_m(path[:, 0] + start[0], path[:, 1] + start[1]).min())


def _glide_spare(path: Array, altitude_m: Array, glide: Glide | None, air: AirColumn) -> tuple[float, str]:
    if glide is None or not glide.fields:
        return float("-inf"), ""
    heights, which = best_place(path[:, 0], path[:, 1], altitude_m, glide.fields, glide.ratio, glide.tas_mps, air)
    worst = int(heights.argmin())
    return float(heights[worst]), glide.fields[int(which[worst])].name
