"""The exercises of a lesson turned into runs: each asked of its maneuver room for set-up and ideal path. SI."""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from airwork.airdata.column import AirColumn
from airwork.airplane import Airplane
from airwork.errors import AirworkError, InputError, Where
from airwork.lesson.cruise import flow_at, least_flow
from airwork.lesson.lesson import Exercise
from airwork.lesson.path import Shape, drift_m
from airwork.lesson.target import WORDS
from airwork.maneuvers import ROOMS, room
from airwork.maneuvers.declared import Room
from airwork.maneuvers.paths.flown_trace import integral
from airwork.maneuvers.setup import Conditions, Order, SetUp, Trace

AT_A_TIME_S = 300.0  # flown on so long, then back into the area (common practice, no source)


@dataclass(frozen=True, slots=True)
class Run:
    """One exercise flown once. `problem` says why there is no set-up; a run without one takes no time in the plan."""

    number: int
    exercise: int
    kind: str
    title: str
    at_field: bool
    set_up: SetUp | None
    trace: Trace | None
    duration_s: float
    fuel_m3: float
    problem: str = ""
    unused: tuple[str, ...] = ()  # wishes of the lesson that make no difference to the set-up

    @property
    def room(self) -> Room:
        """The room of its kind, which knows everything of a kind."""
        return room(self.kind)

    @property
    def altitude_m(self) -> float | None:
        """Entry altitude. [m]"""
        return None if self.set_up is None else self.set_up.entry_altitude_m

    @property
    def altitude_after_m(self) -> float | None:
        """Altitude at the end of the ideal path, the entry's without one. [m]"""
        if self.trace is not None and "altitude_m" in self.trace.columns:
            return float(self.trace.columns["altitude_m"][-1])
        return self.altitude_m

    def left_out(self, problem: str) -> Run:
        """The run that can't be flown today, and why: without set-up, path and time."""
        said = problem.removeprefix(f"{self.title}: ")  # where it is shown the title stands before it
        return replace(self, set_up=None, trace=None, duration_s=0.0, fuel_m3=0.0, problem=said, unused=())


def find_room(kind: str, *, where: str | Where) -> Room:
    """The room of a kind; singular or plural. InputError listing the kinds."""
    for name in ROOMS:
        if kind in {name, f"{name}s", name.rstrip("s")}:
            return room(name)
    near = difflib.get_close_matches(kind, ROOMS, n=2)
    hint = f"did you mean {' or '.join(near)}?" if near else f"known: {', '.join(ROOMS)}."
    raise InputError(f"no maneuver {kind!r}; {hint}", where=where)


def make_run(number: int, index: int, exercise: Exercise, order: Order, where: Where, field_m: float) -> Run:
    """Ask a room for one exercise; what it can't answer (level flight not possible, outside a table) is kept.

    order : without the exercise's wishes, which are its own. field_m : the aerodrome's elevation.
    """
    one = find_room(exercise.kind, where=where)
    kind, title, field = one.kind, one.title, one.at_field
    airplane, conditions = order.airplane, order.conditions
    if field:  # the area's altitudes don't hold in the pattern
        conditions = replace(conditions, ground_elevation_m=field_m, floor_m=None, ceiling_m=None)

    run = Run(number, index, kind, title, field, None, None, 0.0, 0.0)
    try:
        wanted = tuple(exercise.wished.items())
        set_up, trace, unused = _ask(
            _Itself(one), airplane, _Itself(order.performance), conditions, _Itself(order.standard), wanted
        )
        seconds = set_up.duration_s
        stretch = 1.0 if exercise.duration_s is None or seconds <= 0.0 else exercise.duration_s / seconds
        fuel = sum(use.duration_s * stretch * _flow(airplane, use.power_ratio, use.mixture) for use in set_up.power)
    except InputError as wrong:
        word = next((w for w, (inside, _, _) in WORDS.items() if inside == wrong.where.field), "")
        at = replace(where, field=f"target.{word}" if word else "")
        raise InputError(wrong.problem if word else str(wrong), where=at) from None
    except AirworkError as refused:
        return run.left_out(str(refused))
    return replace(run, set_up=set_up, trace=trace, duration_s=seconds * stretch, fuel_m3=fuel, unused=unused)


class _Itself:
    """A thing without a hash as part of a key: the same object is the same key."""

    __slots__ = ("thing",)

    def __init__(self, thing: Any) -> None:
        self.thing = thing

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and self.thing is other.thing

    def __hash__(self) -> int:
        return id(self.thing)


@lru_cache(maxsize=32)
def _ask(
    room: _Itself, airplane: Airplane, performance: _Itself, conditions: Conditions, standard: _Itself,
    wanted: tuple[tuple[str, float | str], ...],
) -> tuple[SetUp, Trace | None, tuple[str, ...]]:  # fmt: skip
    """(set-up, ideal path, wishes unused). Kept: most changes of a lesson leave most of its questions as they were."""

    order = Order(airplane, performance.thing, conditions, standard.thing, dict(wanted))
    set_up: SetUp = room.thing.brief(order)
    trace = _trace(room.thing, set_up, order)
    return set_up, trace, _unused(set_up, order, room.thing)


def _unused(set_up: SetUp, order: Order, room: Room) -> tuple[str, ...]:
    """Wishes without which the room answers the same, and which it doesn't answer anyway: they'd be lost in silence.

    A direction or a tank is left out: it may change the path alone.
    """
    out = []
    for name, wanted in order.target.items():
        got = set_up.targets.get(name, set_up.entry_altitude_m if name == "altitude_m" else None)
        met = got is not None and not isinstance(wanted, str) and math.isclose(got, wanted, rel_tol=0.01)
        if met or name in {"direction", "tank", "heading_mag_rad"}:
            continue
        rest = {k: v for k, v in order.target.items() if k != name}
        try:
            same = room.brief(replace(order, target=rest)) == set_up
        except AirworkError:
            same = False
        if same:
            out.append(name)
    return tuple(out)


def _flow(airplane: Airplane, power_ratio: float, mixture: str) -> float:
    if not np.isfinite(power_ratio) or power_ratio <= 0.0:
        return least_flow(airplane)
    return flow_at(airplane, power_ratio, mixture)


def _trace(room: Room, set_up: SetUp, order: Order) -> Trace | None:
    """The ideal path; None where it can't be simulated today (the set-up still stands)."""
    try:
        found = room.ideal(set_up, order)
    except AirworkError:
        return None
    return found if found.time_s.size > 1 else None


def shape_of(run: Run, air: AirColumn) -> Shape | None:
    """The run's path through the air for the search: its ideal path over the ground less the wind's part.

    What is practiced longer than `AT_A_TIME_S` away from marks on the ground is one stretch of it: one flies back
    before the next.
    """
    if run.trace is None:
        return None
    columns, time = run.trace.columns, np.asarray(run.trace.time_s, dtype=float)
    if not {"heading_rad", "tas_mps", "altitude_m"} <= set(columns):
        return None
    heading = np.unwrap(np.asarray(columns["heading_rad"], dtype=float))
    altitude = np.asarray(columns["altitude_m"], dtype=float)
    if {"east_m", "north_m"} <= set(columns):
        drift = drift_m(time, altitude, air)
        path = [np.asarray(columns[n], dtype=float) - d for n, d in zip(("east_m", "north_m"), drift, strict=True)]
    else:
        climb = np.gradient(altitude, time)
        level = np.sqrt(np.maximum(np.asarray(columns["tas_mps"], dtype=float) ** 2 - climb**2, 0.0))
        path = [integral(level * part, time) for part in (np.sin(heading), np.cos(heading))]
    east, north = (p - p[0] for p in path)
    shape = Shape(time - time[0], east, north, altitude, float(heading[0]), room(run.kind).tied_to_ground)
    longest = run.duration_s if shape.fixed else min(run.duration_s, AT_A_TIME_S)
    return _as_long(shape, float(heading[-1] - heading[0]), longest)


def _as_long(shape: Shape, turn_rad: float, seconds: float) -> Shape:
    """The shape flown on and on until the time planned for it: each round goes on from the end of the one before.

    A shape that ends lower or higher than it began, or that is over in its own time, is left as it is.
    """
    once = float(shape.time_s[-1])
    rounds = math.ceil(seconds / once - 0.05) if once > 0.0 else 1
    if rounds <= 1 or abs(float(shape.altitude_m[-1] - shape.altitude_m[0])) > 30.0:
        return shape
    time, east, north, altitude = [shape.time_s], [shape.east_m], [shape.north_m], [shape.altitude_m]
    for k in range(1, rounds):
        c, s = math.cos(k * turn_rad), math.sin(k * turn_rad)
        time.append(shape.time_s[1:] + k * once)
        east.append(east[-1][-1] + shape.east_m[1:] * c + shape.north_m[1:] * s)
        north.append(north[-1][-1] - shape.east_m[1:] * s + shape.north_m[1:] * c)
        altitude.append(shape.altitude_m[1:])
    t, e, n, h = (np.concatenate(parts) for parts in (time, east, north, altitude))
    keep = t <= max(seconds, once) + 1e-6
    return Shape(t[keep], e[keep], n[keep], h[keep], shape.heading_rad, shape.fixed)
