"""Writing a planned lesson up as a Briefing: plain values out of all that was worked out, with the card's numbers."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Any

import numpy as np

from airwork import units
from airwork.airplane import Airplane
from airwork.airplane.performance import Condition
from airwork.airplane.performance.level import level_flight
from airwork.errors import AirworkError, NotPossible
from airwork.lesson.briefing import (
    SCHEMA,
    AreaPlan,
    Briefing,
    PathPlan,
    PlacePlan,
    PlannedExercise,
    PowerLine,
    SpeedLine,
    WeatherPlan,
)
from airwork.lesson.case import Case
from airwork.lesson.cockpit import make_cockpit
from airwork.lesson.cruise import flow_at
from airwork.lesson.day import Day
from airwork.lesson.flight_plan import FlightPlan
from airwork.lesson.legs import Leg, Planner
from airwork.lesson.lesson import Lesson
from airwork.lesson.places import Place
from airwork.lesson.verdict import Verdict
from airwork.units import IN_M, LB_KG
from airwork.version import VERSION

POINTS_KEPT = 60  # of each path, for drawing and for the debrief
CAUTIONS = (
    "The handbook, the rules and the instructor decide; check every number before it is flown by. Not for navigation.",
)


def write_up(case: Case, standard: Any, verdict: Verdict) -> Briefing:
    """The Briefing of a planned and judged lesson."""
    lesson, airplane, day, flight = case.lesson, case.airplane, case.day, case.flight
    mass = flight.balance.points[0].mass_kg
    return Briefing(
        schema=SCHEMA,
        program=f"airwork {VERSION}",
        title=lesson.title,
        start_utc_s=lesson.start_utc_s,
        end_utc_s=case.end_utc_s,
        style=case.style,
        student=lesson.student.name,
        instructor="" if lesson.student.solo or lesson.instructor is None else lesson.instructor.name,
        certificate=lesson.student.certificate,
        standard=f"{standard.title} ({standard.edition})",
        solo=lesson.student.solo,
        airplane_id=airplane.id,
        airplane_name=airplane.name,
        airplane_invented=airplane.file.airplane.invented,
        dial_unit=airplane.dial_unit,
        place=_place(lesson.place),
        runway=case.runway,
        weather=_weather(lesson, day),
        daylight=case.daylight,
        loads=tuple((load.name, load.station, load.mass_kg) for load in lesson.loads),
        balance=flight.balance,
        envelopes=_envelopes(airplane),
        area=_area(flight),
        exercises=_exercises(lesson, flight),
        legs=flight.legs,
        fuel=case.fuel,
        tanks=flight.tanks,
        speeds=speed_lines(airplane, mass, float(day.air.density_altitude_m(flight.planner.elevation_m))),
        power=power_lines(flight.planner, flight.legs),
        signals=dict(lesson.signals),
        verdict=verdict,
        cautions=(*CAUTIONS, *airplane.assumptions),
        cockpit=make_cockpit(case),
    )


def _weather(lesson: Lesson, day: Day) -> WeatherPlan:
    elevation = lesson.field_m
    metar, taf = lesson.weather.metar, lesson.weather.taf
    return WeatherPlan(
        wind=day.wind,
        wind_source=day.wind_source,
        visibility_m=day.visibility.value,
        visibility_bound=day.visibility_bound,
        ceiling_m=day.ceiling.value,
        ceiling_known=day.ceiling_known,
        temperature_k=day.temperature.value,
        dewpoint_k=day.dewpoint.value,
        setting_pa=day.setting.value,
        density_altitude_m=float(day.air.density_altitude_m(elevation)),
        pressure_altitude_m=float(day.air.pressure_altitude_m(elevation)),
        variation_rad=day.variation_rad,
        variation_source=day.variation_source,
        aloft=tuple((w.altitude_m, w.from_rad, w.speed_mps) for w in day.air.winds),
        metar="" if metar is None else metar.text,
        taf="" if taf is None else taf.text,
        assumed=day.assumed,
    )


def _envelopes(airplane: Airplane) -> dict[str, tuple[tuple[float, float], ...]]:
    balance = airplane.file.weight_and_balance
    out = {}
    for category in airplane.categories if balance else ():
        envelope = getattr(balance, f"envelope_{category}")
        if envelope is not None:
            out[category] = tuple((c.arm_in * IN_M, c.weight_lb * LB_KG) for c in envelope.polygon)
    return out


def _area(flight: FlightPlan) -> AreaPlan | None:
    if flight.area is None:
        return None
    wanted = flight.area.wanted
    return AreaPlan(
        name=wanted.name,
        corners_rad=tuple(flight.flat.lat_lon_rad(float(e), float(n)) for e, n in flight.area.corners_m),
        floor_m=wanted.floor_m,
        ceiling_m=wanted.ceiling_m,
        ground_m=wanted.ground_m,
        margin_m=flight.area.margin_m,
        landing_places=tuple(PlacePlan(p.name, *p.position_rad, p.elevation_m) for p in wanted.landing_places),
    )


def _exercises(lesson: Lesson, flight: FlightPlan) -> tuple[PlannedExercise, ...]:
    legs = {leg.run: leg for leg in flight.legs if leg.run is not None}
    out, when = [], lesson.start_utc_s
    for run in flight.runs:
        leg, exercise = legs.get(run.number), lesson.exercises[run.exercise]
        start = when if leg is None else lesson.start_utc_s + leg.start_s
        when = start if leg is None else lesson.start_utc_s + leg.end_s
        out.append(
            PlannedExercise(
                number=run.number + 1,
                kind=run.kind,
                title=run.title,
                at_field=run.at_field,
                start_utc_s=start,
                end_utc_s=when,
                set_up=run.set_up,
                problem=run.problem,
                note=exercise.note,
                path=_path(flight, run.number),
                wanted=dict(exercise.wished),
            )
        )
    return tuple(out)


def _path(flight: FlightPlan, number: int) -> PathPlan | None:
    laid = flight.laid.get(number)
    if laid is None:
        return None
    keep = sorted(set(np.linspace(0, laid.time_s.size - 1, POINTS_KEPT).round().astype(int).tolist()))
    latitude, longitude = flight.flat.lat_lon_all_rad(laid.east_m[keep], laid.north_m[keep])
    columns = (laid.time_s[keep], latitude, longitude, laid.altitude_m[keep])
    points = tuple(zip(*(column.tolist() for column in columns), strict=True))
    spare = laid.glide_spare_m if np.isfinite(laid.glide_spare_m) else None
    return PathPlan(laid.heading_rad, points, laid.margin_m, spare, laid.glide_field)


def _place(place: Place) -> PlacePlan:
    name = place.name if place.ident == place.name else f"{place.ident} {place.name}"
    return PlacePlan(name, place.latitude_rad, place.longitude_rad, place.elevation_m)


# The card's speeds in the order they are wanted in flight: (name on the card, name in the airplane).
SPEEDS = (
    ("stall, flaps up", "stall_flaps_up"),
    ("stall, full flaps", "stall_flaps_full"),
    ("best angle", "best_angle_of_climb"),
    ("best rate", "best_rate_of_climb"),
    ("best glide", "best_glide"),
    ("maneuvering", "maneuvering"),
    ("approach, full flaps", "approach_flaps_full"),
)
PATTERN_STALLS = 1.7  # level in the pattern: clear of the stall with room for a 30° turn (common practice)


def speed_lines(airplane: Airplane, mass_kg: float, density_altitude_m: float) -> tuple[SpeedLine, ...]:
    """The V-speeds for today's weight, indicated; what the airplane file can't answer is left out."""
    out = []
    for name, key in SPEEDS:
        try:
            answer = airplane.speed_answer(key, mass_kg, density_altitude_m)
            ias = airplane.ias_from_cas_mps(answer.value, airplane.speed_notch(key))
        except AirworkError:
            continue
        out.append(_line(airplane, name, ias, answer.how, answer.source))
    for notch in airplane.flap_notches:
        if notch.notch > 0 and notch.max_ias_mps is not None:
            words = f"flaps {notch.name or notch.notch}"
            out.append(_line(airplane, f"{words} at most", notch.max_ias_mps, "handbook table", "airplane file, flaps"))
    top = airplane.limits.never_exceed_ias_mps
    if top is not None:
        out.append(_line(airplane, "never exceed", top, "handbook table", "airplane file, limitations"))
    return tuple(out)


def _line(airplane: Airplane, name: str, ias_mps: float, how: str, source: str) -> SpeedLine:
    short = f"{units.to_unit(ias_mps, airplane.dial_unit):.0f}"
    return SpeedLine(name, ias_mps, airplane.dial(ias_mps), short, how, source)


def power_lines(planner: Planner, legs: Sequence[Leg]) -> tuple[PowerLine, ...]:
    """Cruise at the height of the lesson, and level in the pattern."""
    out = []
    high = max(max(leg.altitude_from_m, leg.altitude_to_m) for leg in legs)
    with suppress(AirworkError):
        c = planner.cruise(high, planner.mass_kg)
        power = c.power_ratio, c.fuel_flow_m3ps, c.mixture, c.note
        out.append(PowerLine("cruise", c.ias_mps, high, c.rpm, c.rpm_90, c.manifold_pressure_pa, *power))
    with suppress(AirworkError):
        out.append(_pattern(planner))
    return tuple(out)


def _pattern(planner: Planner) -> PowerLine:
    airplane, air, altitude = planner.airplane, planner.air, planner.pattern_m
    cas = PATTERN_STALLS * float(airplane.stall_cas_mps(planner.mass_kg))
    pressure_altitude, temperature = float(air.pressure_altitude_m(altitude)), float(air.temperature_at_k(altitude))
    level = level_flight(planner.performance, cas, Condition(planner.mass_kg, pressure_altitude, temperature))
    if not bool(level.possible):
        raise NotPossible("No level flight at that speed in the pattern today.")
    ratio, rpm, spread = (float(v) for v in (level.power_ratio, level.rpm, level.rpm_90))
    pressure = None if airplane.fixed_pitch else float(level.manifold_pressure_pa)
    flow = flow_at(airplane, ratio, "full_rich")
    ias = float(airplane.ias_from_cas_mps(cas))
    return PowerLine("pattern, level", ias, altitude, rpm, spread, pressure, ratio, flow, "full_rich")
