"""The lesson to be followed: read, briefed and planned, with its airplane and its day."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from airwork.airplane import Airplane
from airwork.airplane.performance import performance
from airwork.jobs.briefing import brief_lesson
from airwork.jobs.files import load_airplane, load_lesson
from airwork.lesson.day import make_day
from airwork.lesson.flight_plan import plan_flight
from airwork.lesson.lesson import Lesson
from airwork.lesson.runway_plan import choose_runway
from airwork.live.now import LivePlan
from airwork.standards import load_standard


def live_plan(
    lesson: str | Path | Lesson,
    *,
    airplane: str | Path | Airplane | None = None,
    conditions: Mapping[str, str] | None = None,
) -> LivePlan:
    """What `follow` needs of a lesson. Raises as `brief_lesson` does."""
    read = load_lesson(lesson, conditions=conditions)
    craft = load_airplane(read.airplane_path if airplane is None else airplane)
    briefing = brief_lesson(read, airplane=craft)
    standard, day = load_standard(read.student.certificate), make_day(read, briefing.end_utc_s)
    flight = plan_flight(read, craft, performance(craft), standard, day, choose_runway(read, day)[0])
    return LivePlan(read, flight.planner.airplane, standard, day, briefing, flight)
