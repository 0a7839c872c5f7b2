"""From a lesson and its airplane to the Briefing: one function, in the order the day is thought through."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from airwork.airplane import Airplane
from airwork.lesson.briefing import Briefing
from airwork.lesson.day import Day, make_day
from airwork.lesson.daylight import Daylight, make_daylight
from airwork.lesson.flight_plan import FlightPlan, plan_flight
from airwork.lesson.fuel import FuelPlan, plan_fuel
from airwork.lesson.lesson import Lesson
from airwork.lesson.reasons_airplane import (
    climb_reasons,
    exercise_reasons,
    fuel_reasons,
    loading_reasons,
    runway_reasons,
)
from airwork.lesson.reasons_area import area_reasons
from airwork.lesson.reasons_weather import (
    altimeter_reasons,
    cloud_reasons,
    cold_reasons,
    daylight_reasons,
    icing_reasons,
    wind_reasons,
)
from airwork.lesson.runway_plan import RunwayPlan, plan_runway
from airwork.lesson.style import Style
from airwork.lesson.verdict import Reason, Verdict, combine
from airwork.lesson.write_up import Parts, write_up

ROUGH_S = 2 * 3600.0  # length of a lesson, before it is known


def build_briefing(
    lesson: Lesson,
    airplane: Airplane,
    *,
    performance: Any = None,
    standard: Any = None,
    currency: Iterable[Reason] | None = None,
) -> Briefing:
    """The briefing of a lesson.

    Parameters
    ----------
    performance : the airplane's fitted performance; made from the airplane if not given.
    standard : the standard of the certificate aimed at; loaded by the lesson's name if not given.
    currency : what a logbook says of currency and recency, already as reasons; None: no logbook was asked.

    Raises
    ------
    InputError : what the lesson says doesn't fit the airplane, or itself.
    NotPossible, OutOfRange : the flight can't be computed at all (level flight, climb).
    """
    if performance is None:
        from airwork.airplane.performance import performance as fit

        performance = fit(airplane)
    if standard is None:
        from airwork.standards import load_standard

        standard = load_standard(lesson.student.certificate)
    rough = make_day(lesson, lesson.start_utc_s + ROUGH_S)
    flight = plan_flight(lesson, airplane, performance, standard, rough)
    end = lesson.start_utc_s + flight.legs[-1].end_s
    day = make_day(lesson, end)
    place = lesson.place
    daylight = make_daylight(place.latitude_rad, place.longitude_rad, lesson.start_utc_s, end, lesson.zone)
    fuel = _fuel(lesson, flight, daylight)
    masses = flight.balance.points
    runway = plan_runway(lesson, airplane, day, masses[0].mass_kg, masses[-1].mass_kg)
    style = Style(lesson.units, lesson.zone)
    verdict = _judge(lesson, airplane, day, daylight, flight, fuel, runway, style, end, currency)
    return write_up(lesson, airplane, standard, Parts(day, daylight, flight, fuel, runway, style, verdict, end))


def _fuel(lesson: Lesson, flight: FlightPlan, daylight: Daylight) -> FuelPlan:
    own = [lesson.plan.reserve_s, lesson.student.limits.fuel_reserve_s]
    own += [lesson.instructor.limits.fuel_reserve_s] if lesson.instructor else []
    night = daylight.night_at_start or daylight.night_at_end
    by_day = not night and not daylight.lights_needed
    return plan_fuel(
        flight.planner, flight.legs, flight.runs, flight.laid, flight.tanks.points[0].total_m3,
        start_utc_s=lesson.start_utc_s, night=night, sunset_utc_s=daylight.sunset_utc_s if by_day else None,
        own_reserve_s=max((s for s in own if s is not None), default=None),
    )  # fmt: skip


def _judge(
    lesson: Lesson, airplane: Airplane, day: Day, daylight: Daylight, flight: FlightPlan, fuel: FuelPlan,
    runway: RunwayPlan, style: Style, end_utc_s: float, currency: Iterable[Reason] | None,
) -> Verdict:  # fmt: skip
    top = max(max(leg.altitude_from_m, leg.altitude_to_m) for leg in flight.legs)
    reasons: list[Reason] = []
    reasons += loading_reasons(airplane, flight.balance, style)
    reasons += runway_reasons(runway, style)
    reasons += wind_reasons(lesson, airplane, day, runway, style)
    reasons += cloud_reasons(lesson, day, daylight, top, style)
    reasons += climb_reasons(lesson, flight.planner, day, top, style)
    reasons += icing_reasons(airplane, lesson, day, style)
    reasons += cold_reasons(lesson, day, top, style)
    reasons += daylight_reasons(lesson, daylight, end_utc_s, style)
    reasons += fuel_reasons(fuel, flight.tanks, style)
    reasons += area_reasons(flight.area, flight.runs, flight.laid, style)
    reasons += exercise_reasons(flight.runs)
    reasons += altimeter_reasons(day, style)
    if currency is None:
        reasons.append(Reason("currency", "not checked", "no logbook was asked: check currency and endorsements"))
    else:
        reasons += currency
    return combine(dict.fromkeys(reasons))
