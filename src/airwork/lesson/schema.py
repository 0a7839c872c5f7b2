"""The lesson file as it is written: pydantic models that refuse unknown keys. Quantities are text with a unit.

`file.load_lesson` hands inward a frozen `lesson.Lesson`; nothing past it looks at these models.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    ValidationInfo,
    field_validator,
)

from airwork.lesson.lesson import FILE, AreaWanted, Exercise, Limits, PlaceGiven, PlanWanted, Role, shaped
from airwork.lesson.quantity import (
    AloftText,
    Ceiling,
    Mass,
    Pasted,
    Pressure,
    Temperature,
    Text,
    Visibility,
    Volume,
    WindText,
    complain,
)  # fmt: skip


class Strict(BaseModel):
    model_config = ConfigDict(**FILE, defer_build=True)


def _clock(value: Any) -> Any:
    if isinstance(value, dt.time):
        return value.strftime("%H:%M")
    if isinstance(value, str) and re.fullmatch(r"\s*\d{4}\s*", value):  # as pilots write it
        value = f"{value.strip()[:2]}:{value.strip()[2:]}"
    if isinstance(value, str) and re.fullmatch(r"\s*\d{1,2}:\d{2}\s*([+-]\d{2}:\d{2}|Z)?\s*", value):
        hours, minutes = value.strip()[:5].rstrip("+-Z ").split(":")
        if int(hours) < 24 and int(minutes[:2]) < 60:
            return value.replace(" ", "")
    raise complain(f'{value!r} is no time of day; write "09:30" (local) or, where a time happens twice, "01:30-06:00"')


def _day(value: Any) -> Any:
    if isinstance(value, dt.datetime) or not isinstance(value, (dt.date, str)):
        raise complain(f"{value!r} is no date; write it as 2025-09-20")
    if isinstance(value, str):
        try:
            value = dt.date.fromisoformat(value.strip())
        except ValueError:
            raise complain(f"{value!r} is no date; write it as 2025-09-20") from None
    if not 1900 <= value.year < 2200:  # the calendar ends with 9999, and reports are placed by the months around it
        raise complain(f"{value} is no day to fly on; a year from 1900 to 2199")
    return value


Clock = Annotated[str, BeforeValidator(_clock)]
Day = Annotated[dt.date, BeforeValidator(_day)]


class AirplanePart(Strict):
    file: Text


class PersonPart(Strict):
    name: Text
    station: Text
    weight: Mass
    role: Role = "passenger"


class BagPart(Strict):
    name: Text = "bags"
    station: Text
    weight: Mass


Cautions = dict[str, dict[str, str]]  # read by `cautions.read_cautions`


class StudentPart(Strict):
    name: Text = "student"
    certificate: Text = "private"
    solo: bool = False
    limits: Limits = Limits()
    cautions: Cautions = {}


class InstructorPart(Strict):
    name: Text = "instructor"
    limits: Limits = Limits()
    cautions: Cautions = {}


class SchoolPart(Strict):
    name: Text = "school"
    file: Text | None = None
    limits: Limits = Limits()
    cautions: Cautions = {}


ROUNDED_K = 1.0  # two numbers rounded apart

WindsAloft = Annotated[
    Annotated[str, Field(max_length=8000), Tag("[text]")] | Annotated[tuple[AloftText, ...], Tag("[list]")],
    Discriminator(lambda value: "[text]" if isinstance(value, str) else "[list]"),
]  # a list of winds, or a forecast as pasted


class WeatherPart(Strict):
    metar: Pasted | None = None
    taf: Pasted | None = None
    wind: WindText | None = None
    visibility: Visibility | None = None
    ceiling: Ceiling | None = None
    temperature: Temperature | None = None
    dewpoint: Temperature | None = None
    altimeter: Pressure | None = None
    outlook: Text | None = None
    winds_aloft: WindsAloft = ()
    in_cloud_or_precipitation: bool | None = None

    @field_validator("dewpoint")
    @classmethod
    def _below_the_temperature(cls, dewpoint_k: float | None, given: ValidationInfo) -> float | None:
        air_k = given.data.get("temperature")
        if dewpoint_k is not None and air_k is not None and dewpoint_k > air_k + ROUNDED_K:
            raise ValueError("a dew point is never above the temperature; are the two exchanged, or is a minus lost?")
        return dewpoint_k


class LessonFile(Strict):
    title: Text = "Lesson"
    date: Day
    time: Clock
    zone: Text
    units: Literal["us", "metric"] = "us"
    airplane: AirplanePart
    place: PlaceGiven
    people: Annotated[tuple[PersonPart, ...], Field(min_length=1)]
    bags: tuple[BagPart, ...] = ()
    fuel: dict[str, Volume]
    weather: WeatherPart = Field(default_factory=WeatherPart)
    area: Annotated[AreaWanted, AfterValidator(shaped)] | None = None
    student: StudentPart = Field(default_factory=StudentPart)
    instructor: InstructorPart | None = None
    plan: PlanWanted = PlanWanted()
    exercises: tuple[Exercise, ...] = ()
    signals: dict[str, Text] = {}
    school: SchoolPart = Field(default_factory=SchoolPart)
    simulator: bool = False
