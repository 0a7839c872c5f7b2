"""What else is wanted in the cockpit: the way home, fields to glide to, what is said aloud. SI, directions true."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from airwork.airdata.column import AirColumn
from airwork.airdata.geodesy import leg
from airwork.airplane.parts import knots_mps
from airwork.airplane.performance import Condition
from airwork.airplane.performance.brackets import turn_back_m
from airwork.errors import AirworkError
from airwork.lesson.case import Case
from airwork.lesson.flight_plan import glide_of
from airwork.lesson.glide import Field, arrival_height_m
from airwork.lesson.legs import time_fuel_home
from airwork.lesson.path import Glide
from airwork.units import FT_M, NM_M, to_unit, write

SAME_FIELD_M = 0.5 * NM_M  # a place named so near to the airport is the airport (our own choice)

ONE_LINE = 46  # characters: what is left of a line of the card
HIGHEST_M = 6000.0  # above a field: nobody trains higher
ABORT_SHARE = 0.70  # of the lift-off speed by half the runway, or the takeoff is broken off (common practice)


@dataclass(frozen=True, slots=True)
class BailOut:
    """A field to glide to from the middle of the area. needs_m : altitude from which it is in reach, in the wind."""

    name: str
    heading_rad: float
    distance_m: float
    needs_m: float | None
    lit: bool = False


@dataclass(frozen=True, slots=True)
class Cockpit:
    """What the card shows beside the Briefing's plan. None is not known.

    home_rad, home_m, home_s : course, distance and planned time home from the middle of the area.
    approach_more_mps : added to the approach speed for the gusts. aloud : what is said aloud, in order.
    """

    glide_ratio: float | None
    glide_tas_mps: float | None  # best glide, halfway down in the area
    fields: tuple[BailOut, ...]
    home_rad: float | None
    home_m: float | None
    home_s: float | None
    field_m: float
    pattern_m: float
    approach_more_mps: float
    mixture: str
    pump: str
    before: tuple[str, ...]
    aloud: tuple[str, ...]


def make_cockpit(case: Case) -> Cockpit:
    """The cockpit's part of a briefing."""
    lesson, planner, file = case.lesson, case.flight.planner, case.airplane.file
    try:
        ratio: float | None = case.airplane.glide_ratio
    except AirworkError:
        ratio = None
    home = None
    middle = None
    if case.flight.area is not None:
        middle = case.flight.flat.lat_lon_rad(0.0, 0.0)
        home = leg(*middle, lesson.place.latitude_rad, lesson.place.longitude_rad)
    leaning, fuel = file.engine.leaning, file.fuel
    mixture = "by the handbook"
    if leaning is not None:
        above = leaning.minimum_density_altitude_ft
        mixture = f"lean at or below {leaning.maximum_percent_power:g} % power"
        mixture += f", climb full rich below {above:,.0f} ft density altitude" if above else ""
    mass = case.flight.balance.points[0].mass_kg
    glide = glide_of(lesson, case.airplane, case.day, case.flight.flat, mass)
    listed = next((c.items for c in file.checklists if c.name.lower() == "before maneuvers"), None)
    return Cockpit(
        glide_ratio=ratio,
        glide_tas_mps=None if glide is None else glide.tas_mps,
        fields=tuple(_fields(case, middle, glide)) if middle is not None else (),
        home_rad=None if home is None else home.course_rad,
        home_m=None if home is None else home.distance_m,
        home_s=None if home is None else time_fuel_home(planner, (0.0, 0.0), case.top_m, planner.mass_kg)[0],
        field_m=case.field_m,
        pattern_m=planner.pattern_m,
        approach_more_mps=case.runway.approach_more_mps,
        mixture=mixture,
        pump=fuel.boost_pump if fuel is not None else "",
        before=tuple(listed)
        if listed
        else ("clearing turns, 90° each way", "belts, nothing loose", "a field in reach"),
        aloud=tuple(_aloud(case)),
    )


def _fields(case: Case, middle: tuple[float, float], glide: Glide | None) -> Iterator[BailOut]:
    """The named fields and the airport, nearest first; the airport once, though it be named among them."""
    area = case.lesson.area
    assert area is not None
    place = case.lesson.place
    named = [
        (p.name, *p.position_rad, p.elevation_m, p.lit)
        for p in area.landing_places
        if leg(*p.position_rad, place.latitude_rad, place.longitude_rad).distance_m > SAME_FIELD_M
    ]
    named.append((place.ident, place.latitude_rad, place.longitude_rad, place.elevation_m, True))
    out = []
    for name, latitude, longitude, elevation, lit in named:
        way = leg(*middle, latitude, longitude)
        ground = area.ground_m if elevation is None else elevation
        field = Field(name, *case.flight.flat.east_north_m(latitude, longitude), ground)
        needs = None if glide is None else _in_reach_from(field, glide, case.day.air)
        out.append(BailOut(name, way.course_rad, way.distance_m, needs, lit))
    yield from sorted(out, key=lambda f: f.distance_m)


def _in_reach_from(field: Field, glide: Glide, air: AirColumn) -> float:
    """The lowest altitude over the middle of the area from which a straight glide arrives; ∞ against too much wind."""
    above = np.arange(0.0, HIGHEST_M, 5.0)
    arrives = arrival_height_m(0.0, 0.0, field.elevation_m + above, field, glide.ratio, glide.tas_mps, air) >= 0.0
    return field.elevation_m + float(above[int(arrives.argmax())]) if arrives.any() else math.inf


def _aloud(case: Case) -> Iterator[str]:
    """What is said aloud, in order: controls, abort, engine failure after takeoff, traffic, then by exercise."""
    if not case.solo:
        yield 'controls: "you have", "I have", "you have"; in an emergency who flies, who does the rest'
    yield from _takeoff(case)
    yield "traffic: who looks where, by the clock; clear before every exercise"
    floors: dict[float, dict[str, None]] = {}  # exercises by their floor, each once
    for run in case.flight.runs:
        if run.set_up is not None and not run.at_field:
            floors.setdefault(run.set_up.floor_m, {})[run.room.named] = None
    if floors:
        yield f"minimum height: {_floors(case, floors)}, broken off there"
    said = [words for run in case.flight.runs for words in run.room.facts.aloud]
    yield from dict.fromkeys(said)


def _floors(case: Case, floors: Mapping[float, Iterable[str]]) -> str:
    """The floor of most exercises and what has another, on one line of the card; else where each one's is printed."""
    most, *others = sorted(floors, key=lambda f: (-len(list(floors[f])), -f))
    apart = [f"{' and '.join(floors[f])} {case.style.altitude(f)}" for f in others]
    line = "; ".join([case.style.altitude(most), *apart])
    return line if len(line) <= ONE_LINE else "the floor beside each exercise"


def _takeoff(case: Case) -> Iterator[str]:
    runway, style, airplane = case.runway.runway, case.style, case.airplane
    name = "the runway" if runway is None else f"runway {runway.name}"
    table = airplane.file.performance.takeoff
    if runway is not None and runway.takeoff_m is not None:
        least = "not at 70 % of lift-off speed"
        lifts = None if table is None else knots_mps(table.liftoff_kias)
        if lifts is not None:
            speed = f"{to_unit(ABORT_SHARE * lifts, airplane.dial_unit):.0f} {airplane.dial_unit}"
            least = f"no {speed} (70 % of lift-off)"
        half = style.runway(0.5 * runway.takeoff_m)
        yield f"abort: {least} by {half} on {name}, or anything odd: stop"
    mass, field = case.flight.balance.points[0].mass_kg, case.field_m
    at = Condition(mass, float(case.day.air.pressure_altitude_m(field)), float(case.day.air.temperature_at_k(field)))
    try:
        lost = turn_back_m(case.flight.planner.performance, at).high
        turn = math.ceil((field + 1.25 * lost) / (50.0 * FT_M)) * 50.0 * FT_M
        back = (
            f"no turning back below {style.altitude(turn)} ({write(round((turn - field) / FT_M, -1) * FT_M, 'ft')} up)"
        )
    except AirworkError:
        back = f"no turning back below {style.altitude(field + 1000.0 * FT_M)}"
    yield f"engine failure after takeoff from {name}: nose down, best glide, ahead within 30°; {back}; name the field"
