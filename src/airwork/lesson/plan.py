"""From a lesson and its airplane to the Briefing: one function, in the order the day is thought through."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from airwork.airplane import Airplane
from airwork.airplane.performance import performance as fit
from airwork.lesson.briefing import Briefing
from airwork.lesson.case import Case
from airwork.lesson.cautions import cautions_for
from airwork.lesson.day import Day, Daylight, make_day, make_daylight
from airwork.lesson.flight_plan import FlightPlan, plan_flight
from airwork.lesson.fuel import FuelPlan, plan_fuel
from airwork.lesson.legs import Planner
from airwork.lesson.lesson import Lesson
from airwork.lesson.places import Runway
from airwork.lesson.reasons_airplane import (
    exercise_reasons,
    file_reasons,
    fuel_reasons,
    loading_reasons,
    runway_reasons,
)
from airwork.lesson.reasons_area import area_reasons
from airwork.lesson.reasons_heights import daylight_reasons, height_reasons
from airwork.lesson.reasons_ice import frost_reasons, ice_reasons
from airwork.lesson.reasons_notes import note_reasons
from airwork.lesson.reasons_people import airspace_reasons, people_reasons
from airwork.lesson.reasons_remarks import remark_reasons
from airwork.lesson.reasons_reports import air_reasons, report_reasons
from airwork.lesson.reasons_sky import sky_reasons
from airwork.lesson.reasons_weather import storm_reasons, weather_reasons
from airwork.lesson.reasons_wind import strength_reasons, wind_reasons
from airwork.lesson.rules import authority_of
from airwork.lesson.runway_plan import choose_runway, plan_runway
from airwork.lesson.style import Style
from airwork.lesson.verdict import Reason, Verdict, combine
from airwork.lesson.write_up import write_up
from airwork.maneuvers.setup import Trace
from airwork.standards import load_standard

# What a logbook says of the people: reasons, or a function of the planned length [s]; None: none was asked.
Currency = Callable[[float], Iterable[Reason] | None] | Iterable[Reason] | None
NO_LOGBOOK = Reason("currency", "not checked", "no logbook was asked: check currency and endorsements")
GIVE_IT, ENTER_IT = "give it in the lesson or the airplane file", "what is missing entered in the logbook"
# What is looked at, in the order it is thought of; the weather of a simulator is none.
GROUND = (note_reasons, file_reasons, loading_reasons, people_reasons, runway_reasons)
WEATHER = (
    air_reasons, storm_reasons, frost_reasons, wind_reasons, weather_reasons, sky_reasons, remark_reasons, ice_reasons,
    report_reasons, daylight_reasons, airspace_reasons,
)  # fmt: skip
FLIGHT = (height_reasons, area_reasons, fuel_reasons, exercise_reasons)
ROUGH_S = 2 * 3600.0  # length of a lesson, before it is known
AFTER_S = 3600.0  # a late start, one exercise more (our own choice)


@dataclass(frozen=True, slots=True)
class Planned:
    """A lesson briefed, with what that was computed from. Not compared (arrays).

    airplane : as the lesson plans it: where its file prints no fuel flow, with the lesson's own figure.
    """

    briefing: Briefing
    lesson: Lesson
    airplane: Airplane
    standard: Any
    day: Day
    flight: FlightPlan

    @property
    def planner(self) -> Planner:
        """What legs are computed from."""
        return self.flight.planner

    @property
    def ideals(self) -> dict[int, Trace]:
        """The ideal flight of each exercise that can be flown, by its number in the briefing."""
        return {run.number + 1: run.trace for run in self.flight.runs if run.trace is not None}


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """A lesson planned and not judged yet: what no logbook changes. Not compared (arrays)."""

    case: Case
    standard: Any

    @property
    def length_s(self) -> float:
        """From engine start to engine off. [s]"""
        return self.case.end_utc_s - self.case.lesson.start_utc_s

    def judged(self, currency: Currency = None) -> Planned:
        """Judged and briefed. currency : as `plan_lesson` takes it."""
        said = currency(self.length_s) if callable(currency) else currency
        case, flight = replace(self.case, logbook_asked=said is not None), self.case.flight
        verdict = _judge(case, None if said is None else tuple(said))
        briefing = write_up(case, self.standard, verdict)
        return Planned(briefing, case.lesson, flight.planner.airplane, self.standard, case.day, flight)


def build_briefing(lesson: Lesson, airplane: Airplane, **more: Any) -> Briefing:
    """The briefing of a lesson. more : as `plan_lesson` takes it."""
    return plan_lesson(lesson, airplane, **more).briefing


def plan_lesson(
    lesson: Lesson,
    airplane: Airplane,
    *,
    performance: Any = None,
    standard: Any = None,
    currency: Currency = None,
) -> Planned:
    """A lesson planned, judged and briefed: `work_out`, judged.

    Parameters
    ----------
    performance, standard : as `work_out` takes them.
    currency : what a logbook says of currency and recency as reasons, or a function of the planned length [s] that
        does; None: no logbook was asked.

    Raises
    ------
    InputError, NotPossible, OutOfRange : as `work_out`.
    """
    return work_out(lesson, airplane, performance=performance, standard=standard).judged(currency)


def work_out(lesson: Lesson, airplane: Airplane, *, performance: Any = None, standard: Any = None) -> WorkedOut:
    """A lesson planned: all of its briefing that takes long and no logbook changes.

    Parameters
    ----------
    performance : the airplane's fitted performance; made from the airplane if not given.
    standard : the standard of the certificate aimed at; loaded by the lesson's name if not given.

    Raises
    ------
    InputError : what the lesson says doesn't fit the airplane, or itself.
    NotPossible, OutOfRange : the flight can't be computed at all (level flight, climb).
    """
    if performance is None:
        performance = fit(airplane)
    if standard is None:
        standard = load_standard(lesson.student.certificate)
    day, flight, chosen = _flown(lesson, airplane, performance, standard)
    end = lesson.start_utc_s + flight.legs[-1].end_s
    place = lesson.place
    daylight = make_daylight(place.latitude_rad, place.longitude_rad, lesson.start_utc_s, end, lesson.zone)
    fuel = _fuel(lesson, flight, daylight)
    masses = flight.balance.points
    style = Style(lesson.units, lesson.zone, airplane.book)
    runway = plan_runway(lesson, airplane, day, chosen, masses[0].mass_kg, masses[-1].mass_kg, style)
    cautions = cautions_for(
        lesson.student.solo, lesson.school.cautions,
        lesson.instructor.cautions if lesson.instructor and not lesson.student.solo else {}, lesson.student.cautions,
    )  # fmt: skip
    authority = authority_of(lesson.plan.rules)
    case = Case(lesson, airplane, day, daylight, flight, fuel, runway, style, end, cautions, authority, False)
    return WorkedOut(case, standard)


def _flown(
    lesson: Lesson, airplane: Airplane, performance: Any, standard: Any
) -> tuple[Day, FlightPlan, tuple[Runway | None, str]]:
    """The flight planned for the day as it is at its end, on the runway of that hour, and why on that one."""
    rough = make_day(lesson, lesson.start_utc_s + ROUGH_S)
    guessed, _ = choose_runway(lesson, rough)
    flight = plan_flight(lesson, airplane, performance, standard, rough, guessed)
    day = make_day(lesson, lesson.start_utc_s + flight.legs[-1].end_s)
    chosen = choose_runway(lesson, day)
    if chosen[0] != guessed or day.air != rough.air:  # a forecast may end before the rough length, or another begin
        flight = plan_flight(lesson, airplane, performance, standard, day, chosen[0])
    return day, flight, chosen


def _fuel(lesson: Lesson, flight: FlightPlan, daylight: Daylight) -> FuelPlan:
    own = [lesson.plan.reserve_s, lesson.student.limits.fuel_reserve_s, lesson.school.limits.fuel_reserve_s]
    own += [lesson.instructor.limits.fuel_reserve_s] if lesson.instructor else []
    night = daylight.night_at_start or daylight.night_at_end
    by_day = not night and not daylight.lights_needed
    return plan_fuel(
        flight.planner, flight.legs, flight.runs, flight.laid, flight.tanks.points[0].total_m3,
        start_utc_s=lesson.start_utc_s, night=night, sunset_utc_s=daylight.sunset_utc_s if by_day else None,
        own_reserve_s=max((s for s in own if s is not None), default=None),
    )  # fmt: skip


def _judge(case: Case, currency: Iterable[Reason] | None) -> Verdict:
    simulator = case.lesson.simulator
    asked = () if currency is None else tuple(currency)
    looked = (*GROUND, *(() if simulator else WEATHER), *FLIGHT)
    reasons = [reason for look in looked for reason in look(case)]
    reasons += () if simulator else _soon_after(case, reasons)
    if simulator:
        reasons = [_in_simulator(r) for r in reasons]
    elif currency is None:
        reasons.append(NO_LOGBOOK)
    reasons = [*(r for r in asked if r.level != "go"), *reasons, *asked]  # who may fly comes before the weather
    reasons += not_checked(case)
    return combine(
        replace(r, change=ENTER_IT if r.topic.startswith("record") else GIVE_IT)
        if r.level == "unknown" and not r.change
        else r
        for r in dict.fromkeys(reasons)
    )


def _soon_after(case: Case, reasons: Iterable[Reason]) -> Iterator[Reason]:
    """What would stop the lesson if it began, or lasted, an hour longer: the fuel's last time to turn home knows no
    weather.
    """
    stopped = {r.topic for r in reasons if r.level == "no-go"}
    end = case.end_utc_s + AFTER_S
    later = replace(case, day=make_day(case.lesson, end), end_utc_s=end)
    for look in (storm_reasons, strength_reasons, weather_reasons, sky_reasons):
        for reason in look(later):
            if reason.level == "no-go" and reason.topic not in stopped:
                stopped.add(reason.topic)
                text = f"within an hour after the planned end: {reason.text}"
                yield Reason(
                    f"{reason.topic}, soon after", "think", text, reason.source, "be down before it; no later start"
                )


# In a simulator nobody is hurt by these; the numbers stay, for what the exercise is flown by.
_REAL_ONLY = {
    "solo",
    "solo: papers",
    "solo: distance",
    "who is aboard",
    "seats",
    "passenger",
    "solo exercise",
    "oxygen",
    "hypoxia",
}


def _in_simulator(reason: Reason) -> Reason:
    real_only = reason.topic.partition(",")[0] in _REAL_ONLY
    if real_only or reason.level == "unknown":
        return replace(reason, level="not checked" if real_only else "go")
    return reason


def not_checked(case: Case) -> Iterator[Reason]:
    """The things no file tells, one line each. A simulator needs none of them."""
    if case.lesson.simulator:
        yield Reason("simulator", "not checked", "simulator: weather, airworthiness and papers of a flight don't count")
        return
    beyond = " beyond the class given:" if case.airspace_said else ": no class was given;"
    for topic, text in (
        ("notices", "NOTAM and temporary flight restrictions: get them before every flight"),
        ("airworthiness", "airworthiness: inspections, directives, open defects, papers aboard, and the walk-around"),
        ("fitness", "fitness of the pilots: illness, medication, stress, alcohol, fatigue, food"),
        ("passenger briefing", "safety briefing: belts, doors, exits, fire extinguisher, who talks when"),
        ("other airspace", f"airspace{beyond} other classes, restricted areas, frequencies, traffic"),
        ("terrain", "terrain, obstacles and wires: airwork knows only the ground you gave it"),
        ("other weather", "weather that is not in the reports given: radar, satellite, pilot reports, advisories"),
    ):
        yield Reason(topic, "not checked", text)
