"""What the numbers of a moment are worked out from: the lesson, planned, the readings, the air as it is now."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from airwork.airdata.column import AirColumn, WindLayer
from airwork.airplane import Airplane
from airwork.airplane.performance import performance
from airwork.jobs.briefing import brief_lesson
from airwork.jobs.files import load_airplane, load_lesson
from airwork.lesson.briefing import Briefing
from airwork.lesson.day import Day, make_day
from airwork.lesson.flight_plan import FlightPlan, plan_flight
from airwork.lesson.legs import Planner
from airwork.lesson.lesson import Lesson
from airwork.lesson.runway_plan import choose_runway
from airwork.live.watch import Watch
from airwork.standards import Standard, load_standard

Level = Literal["plain", "look", "act"]


@dataclass(frozen=True, slots=True)
class Item:
    """One number to show. why : where it is from, or the reason behind a word. level : how it is to be looked at."""

    key: str
    label: str
    text: str
    why: str = ""
    level: Level = "plain"


@dataclass(frozen=True)
class LivePlan:
    """What is followed: the lesson, briefed and planned, with its airplane and day."""

    lesson: Lesson
    airplane: Airplane
    standard: Standard
    day: Day
    briefing: Briefing
    flight: FlightPlan

    @property
    def planner(self) -> Planner:
        """What legs are computed from."""
        return self.flight.planner


@dataclass(frozen=True, slots=True)
class Moment:
    """What is known of the flight now. SI; NaN not known. wind_from_rad, wind_mps : as last found."""

    now_s: float  # on the receiver's clock
    utc_s: float
    elapsed_s: float  # since the engine started, or since the first sample
    wind_from_rad: float = math.nan
    wind_mps: float = math.nan
    wind_how: str = ""
    burned_m3: float = 0.0  # since the start, added up


def altitude_m(watch: Watch, at: Moment) -> float:
    """Altitude as the altimeter shows it, else by satellite. [m]"""
    for name in ("indicated_altitude_m", "gps_altitude_m", "pressure_altitude_m"):
        if math.isfinite(value := watch.value(name, at.now_s)):
            return value
    return math.nan


def air_now(plan: LivePlan, watch: Watch, at: Moment) -> AirColumn:
    """The day's air, with what is measured now in place of what was briefed."""
    air, here = plan.day.air, altitude_m(watch, at)
    setting, oat = watch.value("setting_pa", at.now_s), watch.value("oat_k", at.now_s)
    if math.isfinite(setting):
        air = replace(air, setting_pa=setting)
    if math.isfinite(oat) and math.isfinite(here):
        air = replace(air, temperature_k=oat, temperature_altitude_m=here)
    if math.isfinite(at.wind_mps) and math.isfinite(here):
        air = replace(air, winds=(WindLayer(here, at.wind_from_rad, at.wind_mps),))
    return air


def live_plan(
    lesson: str | Path | Lesson,
    *,
    airplane: str | Path | Airplane | None = None,
) -> LivePlan:
    """What `follow` needs of a lesson. Raises as `brief_lesson` does."""
    read = load_lesson(lesson)
    craft = load_airplane(read.airplane_path if airplane is None else airplane)
    briefing = brief_lesson(read, airplane=craft)
    standard, day = load_standard(read.student.certificate), make_day(read, briefing.end_utc_s)
    flight = plan_flight(read, craft, performance(craft), standard, day, choose_runway(read, day)[0])
    return LivePlan(read, flight.planner.airplane, standard, day, briefing, flight)
