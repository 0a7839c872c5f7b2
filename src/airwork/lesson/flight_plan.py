"""The flight itself: runs asked of their rooms, laid in the area, put in time, fed from the tanks, weighed.

The lesson is first held against its airplane: tank and station names, amounts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from airwork import units
from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.column import AirColumn
from airwork.airplane import Airplane
from airwork.airplane.loading import loading
from airwork.errors import AirworkError, InputError, NotReached
from airwork.lesson.area import Area, FlatMap, make_area
from airwork.lesson.balance import BalancePlan, plan_balance
from airwork.lesson.day import Day
from airwork.lesson.exercises import AT_A_TIME_S, Run, make_run, shape_of
from airwork.lesson.glide import Field
from airwork.lesson.legs import BETWEEN_S, Leg, Planner, make_legs, start_taxi_fuel
from airwork.lesson.lesson import AreaWanted, Exercise, Lesson
from airwork.lesson.path import Glide, Laid, Shape, lay_path, then
from airwork.lesson.places import Runway
from airwork.lesson.style import Style
from airwork.lesson.tanks import TankPlan, plan_tanks
from airwork.maneuvers.setup import Conditions, Order
from airwork.units import from_unit


def fuel_by_tank(lesson: Lesson, airplane: Airplane) -> dict[str, float]:
    """Usable fuel in each tank, by the airplane file's names. [m³]

    Raises
    ------
    InputError : a tank the airplane hasn't, one left out (unknown is not empty), more than it holds; each in `each`.
    """
    if not airplane.tanks:
        raise InputError(
            f"the airplane file of {airplane.name} has no tanks; add its [fuel] to it, with tanks.", where=lesson.source
        )
    names = {t.name.lower(): t for t in airplane.tanks}
    unit = Style(lesson.units, lesson.zone, airplane.book).fuel_unit
    out: dict[str, float] = {}
    wrong: list[InputError] = []
    for given, volume in lesson.fuel_m3.items():
        tank = names.get(given.strip().lower())
        where = lesson.at("fuel", given)
        if tank is None:
            said = f"{airplane.name} has no such tank; its tanks: {', '.join(t.name for t in airplane.tanks)}."
            wrong.append(InputError(said, where=where))
            continue
        if volume > tank.usable_m3 + 1e-7:
            held = units.write(tank.usable_m3, unit, 1)
            said = f"{units.write(volume, unit, 1)} is more than it holds: {held} usable."
            wrong.append(InputError(said, where=where))
        out[tank.name] = volume
    missing = [t.name for t in airplane.tanks if t.name not in out]
    if missing:
        said = f'the fuel in {" and ".join(missing)} is not given; write "{missing[0]}" = "0 {unit}" if it is empty.'
        wrong.append(InputError(said, where=lesson.at("fuel")))
    if wrong:
        more = f" (and {len(wrong) - 1} more to mend)" if len(wrong) > 1 else ""
        raise InputError(f"{wrong[0].problem}{more}", where=wrong[0].where, each=wrong)
    return out


def flow_known(lesson: Lesson, airplane: Airplane) -> Airplane:
    """The airplane to plan fuel with: its file's flow, else the lesson's own figure.

    Raises
    ------
    InputError : neither is there: a fuel plan needs one.
    """
    if airplane.engine.prints_flow:
        return airplane
    if lesson.plan.fuel_flow_m3ps is None:
        raise InputError(
            f"the airplane file of {airplane.name} prints no fuel flow: add gph_full_rich to the rows of its "
            '[performance.cruise], or give a figure of your own in the lesson: [plan] fuel_flow = "7 gph".',
            where=lesson.source,
        )
    return Airplane(airplane.file, full_rich_flow_m3ps=lesson.plan.fuel_flow_m3ps)


def stations(lesson: Lesson, airplane: Airplane) -> dict[str, float]:
    """Mass at each station, by the airplane file's names. [kg]  InputError: a station the airplane hasn't.

    Empty for an airplane file without weight and balance, which names no stations.
    """
    balance = airplane.file.weight_and_balance
    if balance is None:
        return {}
    names = {s.name.lower(): s.name for s in balance.stations}
    out: dict[str, float] = {}
    for load in lesson.loads:
        found = names.get(load.station.strip().lower())
        if found is None:
            raise InputError(
                f"{airplane.name} has no station {load.station!r} (for {load.name}): {', '.join(names.values())}.",
                where=lesson.at("bags" if load.role is None else "people"),
            )
        out[found] = out.get(found, 0.0) + load.mass_kg
    return out


@dataclass(frozen=True)
class FlightPlan:
    """The plan of the flight itself, before anything is judged."""

    area: Area | None
    flat: FlatMap
    planner: Planner
    runs: tuple[Run, ...]
    laid: Mapping[int, Laid]
    legs: tuple[Leg, ...]
    tanks: TankPlan
    balance: BalancePlan


def plan_flight(
    lesson: Lesson, airplane: Airplane, performance: Any, standard: Any, day: Day, runway: Runway | None
) -> FlightPlan:
    """The flight plan of a lesson; InputError where the lesson doesn't fit its airplane."""
    fuel_m3, station_kg = fuel_by_tank(lesson, airplane), stations(lesson, airplane)
    airplane = flow_known(lesson, airplane)
    try:
        weighed = airplane.file.weight_and_balance is not None
        ramp = loading(airplane, station_kg, fuel_m3).mass_kg if weighed else airplane.max_takeoff_mass_kg
    except InputError as problem:
        raise InputError(str(problem), where=lesson.source) from None
    area = None if lesson.area is None else make_area(lesson.area, where=lesson.at("area"))
    flat = area.map if area else FlatMap(lesson.place.latitude_rad, lesson.place.longitude_rad)
    field = flat.east_north_m(lesson.place.latitude_rad, lesson.place.longitude_rad)
    elevation = lesson.field_m
    planner = Planner(airplane, performance, day.air, lesson.plan, field, elevation, ramp)
    runs = _runs(Asking(lesson, planner, standard, day, runway))
    glide = glide_of(lesson, airplane, day, flat, ramp)
    while True:
        laid = _lay(runs, area, day, field, glide)
        try:
            legs = make_legs(planner, runs, laid, (0.0, 0.0) if area else None)  # the map's middle
            break
        except NotReached as refused:
            runs = tuple(run.left_out(str(refused)) if run.exercise == refused.exercise else run for run in runs)
    ground = max(lesson.area.ground_m, elevation) if lesson.area else elevation
    tanks = plan_tanks(
        airplane, legs, fuel_m3, ground, interval_s=lesson.plan.tank_change_s, first_tank=lesson.plan.first_tank,
        where=lesson.at("plan", "first_tank"),
    )  # fmt: skip
    balance = plan_balance(airplane, station_kg, tanks.points)
    return FlightPlan(area, flat, planner, runs, laid, legs, tanks, balance)


def _runs(asking: Asking) -> tuple[Run, ...]:
    """Ask the rooms in flying order; each meets the weight left by what was burned before it."""
    lesson, planner, out = asking.lesson, asking.planner, list[Run]()
    between = BETWEEN_S if lesson.plan.between_s is None else lesson.plan.between_s
    burned = start_taxi_fuel(planner)[0] + from_unit(1.0, "gal")  # about a climb; a pound or two more or less
    for index, exercise in enumerate(lesson.exercises):
        mass = planner.mass_after(burned + sum(r.fuel_m3 for r in out))
        first = asking.run(len(out), index, mass)
        # flown again, it is flown by the same numbers: a pound less makes no other card
        out += [replace(first, number=first.number + k) for k in range(exercise.times)]
        burned += exercise.times * between * planner.airplane.fuel_flow_m3ps(0.6, "full_rich")
    return tuple(out)


@dataclass(frozen=True)
class Asking:
    """What the rooms are asked from for every exercise of a lesson."""

    lesson: Lesson
    planner: Planner
    standard: Any
    day: Day
    runway: Runway | None

    def run(self, number: int, index: int, mass_kg: float, air: AirColumn | None = None) -> Run:
        """One exercise, by its place in the lesson; `air` in place of the day's."""
        exercise, planner = self.lesson.exercises[index], self.planner
        conditions = self._conditions(exercise, mass_kg, air or self.day.air)
        order = Order(planner.airplane, planner.performance, conditions, self.standard)
        return make_run(number, index, exercise, order, self.lesson.at("exercises", index, "kind"), planner.elevation_m)

    def _conditions(self, exercise: Exercise, mass_kg: float, air: AirColumn) -> Conditions:
        area, named = self.lesson.area, exercise.wished.get("altitude_m")
        return Conditions(
            air=air,
            mass_kg=mass_kg,
            ground_elevation_m=area.ground_m if area else self.planner.elevation_m,
            altitude_m=named if isinstance(named, float) else None,
            floor_m=area.floor_m if area else None,
            ceiling_m=area.ceiling_m if area else None,
            variation_rad=self.day.variation_rad or 0.0,
            certificate=self.lesson.student.certificate,
            runway_rad=None if self.runway is None else self.runway.heading_rad,
        )


def glide_of(lesson: Lesson, airplane: Airplane, day: Day, flat: FlatMap, mass_kg: float) -> Glide | None:
    """Landing places, glide ratio and the best glide's true airspeed halfway down; None without area or glide."""
    if lesson.area is None:
        return None
    try:
        ratio, cas = airplane.glide_ratio, airplane.speed_cas_mps("best_glide", mass_kg)
    except AirworkError:
        return None
    height = 0.5 * (lesson.area.ground_m + lesson.area.ceiling_m)
    tas = float(
        tas_from_cas_mps(cas, float(day.air.pressure_altitude_m(height)), float(day.air.temperature_at_k(height)))
    )
    return Glide(landing_fields(lesson.area, flat), ratio, tas)


def landing_fields(area: AreaWanted, flat: FlatMap) -> tuple[Field, ...]:
    """The places to land at that are named for an area, on a map."""
    return tuple(
        Field(p.name, *flat.east_north_m(*p.position_rad), area.ground_m if p.elevation_m is None else p.elevation_m)
        for p in area.landing_places
    )


def _stretches(run: Run, shape: Shape) -> int:
    """How often a shape is flown for the time planned; what is over soon is flown once."""
    once = float(shape.time_s[-1])
    return math.ceil(run.duration_s / once - 0.1) if run.duration_s > AT_A_TIME_S and once > 0.0 else 1


def _lay(
    runs: Iterable[Run], area: Area | None, day: Day, field: tuple[float, float], glide: Glide | None
) -> dict[int, Laid]:
    if area is None:
        return {}
    made: dict[int, Shape | None] = {}  # an exercise flown again has its first run's shape
    for run in runs:
        if not run.at_field and run.exercise not in made:
            made[run.exercise] = shape_of(run, day.air)
    stretches = [
        (run.number, shape) for run in runs if (shape := made.get(run.exercise)) is not None
        for _ in range(_stretches(run, shape))
    ]  # fmt: skip
    found = lay_path(tuple(s for _, s in stretches), area, day.air, enter_m=field, leave_m=field, glide=glide)
    laid: dict[int, Laid] = {}
    lasts = {run.number: run.duration_s for run in runs}
    for (number, shape), path in zip(stretches, found, strict=True):
        if number not in laid:
            laid[number] = path
        elif laid[number].time_s[-1] < lasts[number]:  # the way back counts into the time planned
            laid[number] = then(laid[number], path, shape.mean_tas_mps, day.air, lasts[number])
    return laid
