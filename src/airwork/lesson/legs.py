"""The lesson in time: start, taxi, climb, way out, each exercise, way home, landing, with time and fuel of each. SI."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Literal

import numpy as np

from airwork.airdata.atmosphere import RHO0_KGPM3
from airwork.airdata.column import AirColumn
from airwork.airdata.wind import wind_triangle
from airwork.airplane import Airplane
from airwork.airplane.performance.engine import full_throttle_share
from airwork.errors import AirworkError, NotPossible, NotReached, OutOfRange
from airwork.lesson.cruise import DESCENT_MPS, Cruise, climb_rate, climb_tas_mps, cruise_at, flow_at, least_flow
from airwork.lesson.exercises import Run
from airwork.lesson.lesson import PlanWanted
from airwork.lesson.path import Laid
from airwork.maneuvers import room
from airwork.units import FT_M, from_unit

LegKind = Literal["taxi", "climb", "transit", "between", "exercise", "return", "pattern", "landing"]

# Common practice, no source; each can be set in [plan].
BEFORE_TAKEOFF_S = 10 * 60.0  # start, taxi, run-up
AFTER_LANDING_S = 5 * 60.0
BETWEEN_S = 90.0  # recover, clear the area, set up the next
PATTERN_S = 6 * 60.0  # joining and one pattern to the landing
PATTERN_AGL_M = 1000 * FT_M  # [AFH] ch. 8: 1,000 ft above the airport is usual
START_FUEL_M3 = from_unit(1.0, "gal")  # only where neither lesson nor handbook gives one


@dataclass(frozen=True, slots=True)
class Leg:
    """A stretch of the lesson. `start_s` counts from the engine's start; altitudes are indicated, above sea level.

    can_change : a place to change tanks: level or climbing easily, nothing being practiced.
    """

    kind: LegKind
    name: str
    start_s: float
    duration_s: float
    fuel_m3: float
    altitude_from_m: float
    altitude_to_m: float
    distance_m: float
    power_ratio: float | None
    mixture: str
    how: str
    run: int | None = None
    can_change: bool = False

    @property
    def end_s(self) -> float:
        """End of the leg, from the engine's start. [s]"""
        return self.start_s + self.duration_s


@dataclass(frozen=True)
class Planner:
    """What the legs are computed from. `mass_kg` is the mass at the start."""

    airplane: Airplane
    performance: Any
    air: AirColumn
    plan: PlanWanted
    field_m: tuple[float, float]  # on the map of the area
    elevation_m: float
    mass_kg: float
    cruises: dict[tuple[int, int], Cruise] = field(default_factory=dict, compare=False, repr=False)

    def cruise(self, altitude_m: float, mass_kg: float) -> Cruise:
        """The plan's cruise setting at an altitude; one answer serves 10 kg and 10 m around (0.1 % of the speed)."""
        wanted, key = self.plan, (round(altitude_m / 10.0), round(mass_kg / 10.0))
        if key not in self.cruises:
            self.cruises[key] = cruise_at(
                self.airplane,
                self.performance,
                self.air,
                altitude_m,
                mass_kg,
                wanted.cruise_power_ratio,
                wanted.mixture,
            )
        return self.cruises[key]

    @property
    def pattern_m(self) -> float:
        """Pattern altitude. [m]"""
        return self.elevation_m + PATTERN_AGL_M

    def mass_after(self, fuel_m3: float) -> float:
        """Mass with this much burned. [kg]"""
        return self.mass_kg - fuel_m3 * self.airplane.fuel_density_kgpm3


@dataclass(frozen=True, slots=True)
class Climb:
    """A full-throttle climb."""

    time_s: float
    fuel_m3: float
    distance_m: float
    power_ratio: float
    how: str


def climb(planner: Planner, low_m: float, high_m: float, mass_kg: float) -> Climb:
    """Time, fuel and still-air distance of a climb: rate by table in steps of 1,000 ft, flow as the book's climb burns.

    The handbook's time-fuel-distance table is for one weight and standard air; its fuel per minute is kept and the time
    is today's.

    Raises
    ------
    NotPossible : the airplane does not climb that high today.
    """
    airplane, air = planner.airplane, planner.air
    steps = max(1, math.ceil((high_m - low_m) / (1000 * FT_M)))
    edges = np.linspace(low_m, high_m, steps + 1)
    time = distance = 0.0
    for bottom, top in pairwise(edges.tolist()):
        middle = 0.5 * (bottom + top)
        pressure, temperature = float(air.pressure_altitude_m(middle)), float(air.temperature_at_k(middle))
        rate, _ = climb_rate(airplane, planner.performance, mass_kg, pressure, temperature)
        if rate < from_unit(50.0, "fpm"):
            raise NotPossible(
                f"the airplane climbs less than 50 fpm at {round(middle / FT_M, -2):,.0f} ft today and won't reach "
                f"{high_m / FT_M:,.0f} ft"
            )
        seconds = (top - bottom) / rate
        tas = climb_tas_mps(airplane, mass_kg, pressure, temperature)
        time, distance = time + seconds, distance + seconds * math.sqrt(max(tas**2 - rate**2, 0.0))
    flow, ratio, how = climb_flow(planner, low_m, high_m)
    return Climb(time, time * flow, distance, ratio, how)


def climb_flow(planner: Planner, low_m: float, high_m: float) -> tuple[float, float, str]:
    """(fuel flow [m³/s], power [1], how) of a full-throttle, full-rich climb.

    From the handbook's time-fuel-distance table; else full rich at the power of a naturally aspirated engine.
    """
    sigma = float(planner.air.density_ratio(0.5 * (low_m + high_m)))
    ratio = min(max(float(full_throttle_share(sigma * RHO0_KGPM3)), 0.2), 1.0)
    low, high = (float(planner.air.pressure_altitude_m(h)) for h in (low_m, high_m))
    try:
        table = planner.airplane.climb.to_climb(max(low, 0.0), max(high, low + 150.0, 150.0))
        if table.time_s and table.fuel_m3:
            return table.fuel_m3 / table.time_s, ratio, "handbook table, climb"
    except AirworkError:
        pass
    return flow_at(planner.airplane, ratio, "full_rich"), ratio, "formula: full throttle, full rich"


def start_taxi_fuel(planner: Planner) -> tuple[float, str]:
    """(fuel [m³], how) for start, taxi and run-up."""
    if planner.plan.start_taxi_fuel_m3 is not None:
        return planner.plan.start_taxi_fuel_m3, "given"
    try:
        found = planner.airplane.climb.to_climb(0.0, 300.0).start_taxi_takeoff_m3
    except AirworkError:
        found = None
    if found is not None:
        return found, "handbook: start, taxi and takeoff"
    seconds = BEFORE_TAKEOFF_S if planner.plan.before_takeoff_s is None else planner.plan.before_takeoff_s
    return max(START_FUEL_M3, seconds * least_flow(planner.airplane)), "assumed: lowest flow of the cruise table"


def groundspeed(
    air: AirColumn, altitude_m: float, tas_mps: float, here: tuple[float, float], there: tuple[float, float]
) -> float:
    """Ground speed on the straight way between two points of the map; NotPossible against too strong a wind. [m/s]"""
    course = math.atan2(there[0] - here[0], there[1] - here[1])
    from_rad, speed = air.wind_at(altitude_m)
    found = float(wind_triangle(course, tas_mps, from_rad, speed).groundspeed_mps)
    if not found > 5.0:
        height = f"{altitude_m / FT_M:,.0f} ft"
        raise NotPossible(f"the wind at {height} is as strong as the airplane is fast: no way there or home")
    return found


class _Diary:
    """Legs as they are added, with where and how high the airplane is."""

    def __init__(self, planner: Planner) -> None:
        self.planner, self.legs = planner, list[Leg]()
        self.here, self.altitude, self.time, self.burned = planner.field_m, planner.elevation_m, 0.0, 0.0
        self.at_field = True

    @property
    def mass(self) -> float:
        return self.planner.mass_after(self.burned)

    def add(self, kind: LegKind, name: str, seconds: float, fuel: float, to_m: float, how: str, **more: Any) -> None:
        fields: dict[str, Any] = {"distance_m": 0.0, "power_ratio": None, "mixture": "full_rich", **more}
        self.legs.append(Leg(kind, name, self.time, seconds, fuel, self.altitude, to_m, how=how, **fields))
        self.time, self.burned, self.altitude = self.time + seconds, self.burned + fuel, to_m

    def climb_to(self, altitude_m: float, toward: tuple[float, float]) -> None:
        if altitude_m <= self.altitude + 1.0:
            return
        up = climb(self.planner, self.altitude, altitude_m, self.mass)
        away = math.dist(self.here, toward)
        covered = min(up.distance_m, away)
        self.add(
            "climb",
            "climb",
            up.time_s,
            up.fuel_m3,
            altitude_m,
            up.how,
            distance_m=up.distance_m,
            power_ratio=up.power_ratio,
        )
        if away > 1.0:
            share = covered / away
            self.here = tuple(h + share * (t - h) for h, t in zip(self.here, toward, strict=True))  # type: ignore[assignment]

    def fly_to(self, there: tuple[float, float], kind: LegKind, name: str, to_m: float, least_s: float = 0.0) -> None:
        """Level, coming down at 500 ft/min, or with a small climb on the way, to a point; at least `least_s`."""
        cruise = self.planner.cruise(max(self.altitude, to_m), self.mass)
        away = math.dist(self.here, there)
        seconds = 0.0
        if away > 1.0:
            seconds = away / groundspeed(self.planner.air, max(self.altitude, to_m), cruise.tas_mps, self.here, there)
        up = climb(self.planner, self.altitude, to_m, self.mass) if to_m > self.altitude + 1.0 else None
        rising = 0.0 if up is None else up.time_s
        seconds = max(seconds, (self.altitude - to_m) / DESCENT_MPS, least_s, rising)
        if seconds <= 0.0:
            return
        fuel = (seconds - rising) * cruise.fuel_flow_m3ps + (0.0 if up is None else up.fuel_m3)
        self.add(
            kind, name, seconds, fuel, to_m, "cruise table", distance_m=away,
            power_ratio=cruise.power_ratio, mixture=cruise.mixture, can_change=True,
        )  # fmt: skip
        self.here = there


def make_legs(
    planner: Planner,
    runs: Sequence[Run],
    laid: Mapping[int, Laid],
    middle_m: tuple[float, float] | None = None,
) -> tuple[Leg, ...]:
    """All legs of the lesson in order.

    Parameters
    ----------
    laid : where each run's path lies on the map.
    middle_m : middle of the practice area: where a run without a path is taken to be; None: where the airplane is.

    Raises
    ------
    NotReached : the airplane doesn't climb, fly level or make way to an exercise, or home from it, today.
    """
    plan, diary = planner.plan, _Diary(planner)
    before = BEFORE_TAKEOFF_S if plan.before_takeoff_s is None else plan.before_takeoff_s
    between = BETWEEN_S if plan.between_s is None else plan.between_s
    fuel, how = start_taxi_fuel(planner)
    diary.add("taxi", "start, taxi, run-up", before, fuel, planner.elevation_m, how)
    flown = [r for r in runs if r.set_up is not None]
    for run in flown:
        altitude = run.altitude_m
        assert altitude is not None
        place = laid.get(run.number)
        with _reaching(run):
            if run.at_field:
                _to_field(diary, run.kind)
            else:
                first = diary.at_field
                start = diary.here
                if place is not None:
                    start = float(place.east_m[0]), float(place.north_m[0])
                elif first and middle_m is not None:
                    start = middle_m
                diary.climb_to(altitude, start)
                diary.fly_to(
                    start, "transit" if first else "between", "way out" if first else "set up, clear", altitude, between
                )
                diary.at_field = False
        after = run.altitude_after_m if not run.at_field else diary.altitude
        use = run.set_up.power[0] if run.set_up and run.set_up.power else None
        diary.add(
            "exercise", run.title, run.duration_s, run.fuel_m3, altitude if after is None else after,
            "the maneuver's own power", power_ratio=use.power_ratio if use else None,
            mixture=use.mixture if use else "full_rich", run=run.number,
        )  # fmt: skip
        if place is not None:
            diary.here = (float(place.east_m[-1]), float(place.north_m[-1]))
    with _reaching(*flown[-1:]):
        _home(diary, plan.patterns)
    after_s = AFTER_LANDING_S if plan.after_landing_s is None else plan.after_landing_s
    flow = least_flow(planner.airplane)
    diary.add(
        "landing", "taxi in, shut down", after_s, after_s * flow, planner.elevation_m, "lowest flow of the cruise table"
    )
    return tuple(diary.legs)


@contextmanager
def _reaching(*run: Run) -> Iterator[None]:
    """The way to a run, or home from it: what the airplane can't do there is told of the run, where there is one."""
    try:
        yield
    except (NotPossible, OutOfRange) as refused:
        if not run:
            raise
        raise NotReached(str(refused).rstrip("."), run[0].exercise) from None


def _to_field(diary: _Diary, kind: str) -> None:
    planner = diary.planner
    if not diary.at_field:
        diary.fly_to(planner.field_m, "return", "way home", planner.pattern_m)
        diary.at_field = True
    elif diary.altitude < planner.pattern_m - 1.0 and not room(kind).takes_off:
        diary.climb_to(planner.pattern_m, planner.field_m)


def _home(diary: _Diary, patterns: int) -> None:
    planner = diary.planner
    if not diary.at_field:
        diary.fly_to(planner.field_m, "return", "way home", planner.pattern_m)
    if patterns:
        flow = planner.cruise(planner.pattern_m, diary.mass)
        seconds = patterns * PATTERN_S
        diary.add(
            "pattern", "pattern and landing" if patterns == 1 else f"{patterns} patterns and landings", seconds,
            seconds * flow.fuel_flow_m3ps, planner.elevation_m, "cruise table, counted at cruise flow",
            power_ratio=flow.power_ratio, mixture=flow.mixture,
        )  # fmt: skip
    diary.altitude = planner.elevation_m


def time_fuel_home(
    planner: Planner, here: tuple[float, float], altitude_m: float, mass_kg: float
) -> tuple[float, float]:
    """(time [s], fuel [m³]) from a point of the lesson to engine off: way home, one pattern, taxi in."""
    diary = _Diary(planner)
    diary.here, diary.altitude, diary.at_field = here, altitude_m, False
    diary.burned = (planner.mass_kg - mass_kg) / planner.airplane.fuel_density_kgpm3
    before = diary.burned
    _home(diary, 1)
    after = AFTER_LANDING_S if planner.plan.after_landing_s is None else planner.plan.after_landing_s
    return diary.time + after, diary.burned - before + after * least_flow(planner.airplane)
