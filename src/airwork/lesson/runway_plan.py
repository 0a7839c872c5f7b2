"""The runway of the day: wind along and across it, takeoff and landing distance held against what is there. SI."""

from __future__ import annotations

from dataclasses import dataclass

from airwork.airdata.wind import crosswind_mps, headwind_mps
from airwork.airplane import Airplane
from airwork.airplane.runway import LANDING_SAFETY_FACTOR, TAKEOFF_SAFETY_FACTOR, landing, takeoff
from airwork.errors import AirworkError
from airwork.lesson.day import Day
from airwork.lesson.lesson import Lesson
from airwork.lesson.places import Place, Runway
from airwork.lesson.winds import Wind


@dataclass(frozen=True, slots=True)
class Components:
    """Wind on a runway. Crosswind without sign; `from_right` None without a direction. Gusts counted in full."""

    label: str  # "now", "prevailing", "TEMPO" ...
    headwind_mps: float  # of the mean wind; negative is a tailwind
    crosswind_mps: float  # of the gust where there is one
    wind_mps: float
    peak_mps: float
    from_right: bool | None


@dataclass(frozen=True, slots=True)
class Distance:
    """A takeoff or landing distance against the runway. None: not known; `problem` says why."""

    ground_roll_m: float | None
    over_50_ft_m: float | None
    factor: float
    needed_m: float | None
    available_m: float | None
    steps: tuple[str, ...]
    problem: str = ""


@dataclass(frozen=True, slots=True)
class RunwayPlan:
    """The runway chosen, its wind now and as forecast, and the distances. `runway` None: none could be chosen."""

    runway: Runway | None
    why: str
    winds: tuple[Components, ...]
    takeoff: Distance | None
    landing: Distance | None

    @property
    def now(self) -> Components | None:
        """Wind as it is now."""
        return next((w for w in self.winds if w.label == "now"), None)


def components(label: str, wind: Wind, heading_rad: float) -> Components:
    """Wind on a runway heading. A wind without direction counts in full across, and gives no headwind.

    >>> c = components("now", Wind(2.4434609, 12.861), 2.9670597)  # runway 17, wind 140/25: [PHAK] ch. 11
    >>> round(c.headwind_mps / 0.514444), round(c.crosswind_mps / 0.514444), c.from_right
    (22, 12, False)
    """
    if wind.from_rad is None:
        return Components(label, 0.0, wind.peak_mps, wind.speed_mps, wind.peak_mps, None)
    worst = [wind.from_rad]
    if wind.varies_from_rad is not None and wind.varies_to_rad is not None:
        worst += [wind.varies_from_rad, wind.varies_to_rad]
    across = max((float(crosswind_mps(d, wind.peak_mps, heading_rad)) for d in worst), key=abs)
    along = min(float(headwind_mps(d, wind.speed_mps, heading_rad)) for d in worst)
    return Components(label, along, abs(across), wind.speed_mps, wind.peak_mps, across > 0.0 if across else None)


def choose_runway(place: Place, wanted: str | None, wind: Wind | None) -> tuple[Runway | None, str]:
    """The runway named, else the one most into the wind among those with a known heading."""
    if wanted is not None:
        return place.runway(wanted), "named in the lesson"
    known = [r for r in place.runways if r.heading_rad is not None and r.surface != "water"]
    if not known:
        return None, "no runway with a known heading; name one in the lesson" if place.runways else "no runway given"
    if wind is None or wind.from_rad is None or wind.speed_mps <= 0.5:
        longest = max(known, key=lambda r: r.takeoff_m or 0.0)
        return longest, "the longest; the wind doesn't choose"
    direction, speed = wind.from_rad, wind.speed_mps
    best = max(
        known, key=lambda r: (round(float(headwind_mps(direction, speed, r.heading_rad or 0.0)), 1), r.takeoff_m or 0.0)
    )
    others = [r.name for r in place.runways if r.heading_rad is None]
    return best, "most into the wind" + (f"; no heading known for {', '.join(others)}" if others else "")


def handbook_surface(surface: str | None, wet: bool) -> str | None:
    """The handbook word for a surface; None where there is none to be had."""
    if surface == "paved":
        return "paved_wet" if wet else "paved_dry"
    if surface == "grass":
        return "wet_grass" if wet else "dry_grass"
    return None


def plan_runway(
    lesson: Lesson, airplane: Airplane, day: Day, takeoff_mass_kg: float, landing_mass_kg: float
) -> RunwayPlan:
    """Choose the runway and compute its wind and distances.

    Distances take the mean wind's headwind, a tailwind in full, the lesson's own safety factor or the usual one.
    """
    runway, why = choose_runway(lesson.place, lesson.runway, day.wind)
    if runway is None or runway.heading_rad is None:
        return RunwayPlan(None, why, (), None, None)
    winds = [components("now", day.wind, runway.heading_rad)] if day.wind else []
    winds += [components(label, seen.wind, runway.heading_rad) for label, seen in day.forecast if seen.wind is not None]
    head = winds[0].headwind_mps if day.wind else 0.0
    limits = [p.limits.runway_factor for p in (lesson.student, lesson.instructor) if p and p.limits.runway_factor]
    out = []
    for what, mass, own, usual in (
        (takeoff, takeoff_mass_kg, lesson.plan.takeoff_factor, TAKEOFF_SAFETY_FACTOR),
        (landing, landing_mass_kg, lesson.plan.landing_factor, LANDING_SAFETY_FACTOR),
    ):
        factor = max([own or usual, *limits])
        out.append(_distance(what, lesson, airplane, day, runway, mass, head, factor))
    return RunwayPlan(runway, why, tuple(winds), out[0], out[1])


def _distance(
    what: object,
    lesson: Lesson,
    airplane: Airplane,
    day: Day,
    runway: Runway,
    mass_kg: float,
    head: float,
    factor: float,
) -> Distance:
    there = runway.takeoff_m if what is takeoff else runway.landing_m
    surface = handbook_surface(runway.surface, lesson.runway_wet)
    if surface is None:
        words = "not known" if runway.surface is None else f"{runway.surface}, which handbooks have no correction for"
        return Distance(None, None, factor, None, there, (), f"the surface is {words}")
    elevation = lesson.place.elevation_m or 0.0
    pressure, temperature = float(day.air.pressure_altitude_m(elevation)), float(day.air.temperature_at_k(elevation))
    asked = (airplane, mass_kg, pressure, temperature, head, surface, runway.slope or 0.0, factor)
    try:
        found = takeoff(*asked) if what is takeoff else landing(*asked)
    except AirworkError as refused:
        return Distance(None, None, factor, None, there, (), str(refused))
    steps = found.steps if runway.slope is not None else (*found.steps, "slope not known: level taken")
    return Distance(found.ground_roll_m, found.over_50_ft_m, factor, found.needed_m, there, steps)
