"""Everything a reason is found from: the lesson, its day and its plan, and whose cautions and rules hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from airwork.airplane import Airplane
from airwork.lesson.cautions import Cautions
from airwork.lesson.day import Day, Daylight
from airwork.lesson.flight_plan import FlightPlan
from airwork.lesson.fuel import FuelPlan
from airwork.lesson.lesson import Lesson, Pilot
from airwork.lesson.moments import Moment
from airwork.lesson.rules import Authority, vfr_minima
from airwork.lesson.runway_plan import RunwayPlan
from airwork.lesson.style import Style
from airwork.lesson.verdict import Level
from airwork.units import FT_M

PATTERN_M = 1000.0 * FT_M  # height of a traffic pattern (common practice)


@dataclass(frozen=True)
class Case:
    """One lesson, planned, before it is judged."""

    lesson: Lesson
    airplane: Airplane
    day: Day
    daylight: Daylight
    flight: FlightPlan
    fuel: FuelPlan
    runway: RunwayPlan
    style: Style
    end_utc_s: float
    cautions: Cautions
    authority: Authority
    logbook_asked: bool  # for currency, endorsements and medicals

    @property
    def solo(self) -> bool:
        """The student flies alone."""
        return self.lesson.student.solo

    @property
    def student_pilot(self) -> bool:
        """Alone, and on the way to a first certificate: the rules for student pilots hold."""
        return self.solo and self.lesson.student.certificate in self.authority.first_certificates

    @property
    def top_m(self) -> float:
        """Highest altitude planned, above sea level. [m]"""
        return max(max(leg.altitude_from_m, leg.altitude_to_m) for leg in self.flight.legs)

    @property
    def field_m(self) -> float:
        """Elevation of the field. [m]"""
        return self.lesson.field_m

    @property
    def airspace_said(self) -> str:
        """Class of the airspace the exercises are in, the area's or else the field's; "" where neither is said."""
        area = self.lesson.area
        return (area.airspace if area else None) or self.lesson.field.airspace or ""

    @property
    def airspace(self) -> str:
        """As `airspace_said`; E where that is nothing."""
        return self.airspace_said or "E"

    @property
    def pattern_visibility_m(self) -> float:
        """Visibility that VFR needs in the pattern. [m]"""
        airspace, top_m = self.lesson.field.airspace or self.airspace, self.field_m + PATTERN_M
        return vfr_minima(airspace, top_m, PATTERN_M, self.night, self.lesson.plan.rules).visibility_m

    @property
    def prohibited(self) -> tuple[str, ...]:
        """What the airplane's handbook prohibits, in its words."""
        limits = self.airplane.file.limitations
        return () if limits is None else tuple(limits.prohibited)

    @property
    def night(self) -> bool:
        """Some of the lesson lies in the night."""
        return self.daylight.night_at_start or self.daylight.night_at_end

    @property
    def pilots(self) -> Mapping[str, Pilot]:
        """Whose limits hold: the student's, the instructor's aboard, the school's."""
        out = {"student": self.lesson.student}
        if self.lesson.instructor is not None and not self.solo:
            out["instructor"] = self.lesson.instructor
        return {**out, "school": self.lesson.school}

    def over(self, role: str) -> Level:
        """What passing a person's own limit means: with an instructor aboard the student's is worth a thought."""
        return "think" if role == "student" and not self.solo else "no-go"

    def when(self, moment: Moment) -> str:
        """A moment in words."""
        return moment.label(self.style, self.lesson.start_utc_s)
