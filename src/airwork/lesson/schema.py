"""The lesson file as it is written: pydantic models that refuse unknown keys. Quantities are text with a unit.

`file.load_lesson` hands inward a frozen `lesson.Lesson`; nothing past it looks at these models.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, Tag, model_validator

from airwork.lesson.quantity import (
    AloftText,
    Altitude,
    Angle,
    Distance,
    Duration,
    Flow,
    Height,
    Length,
    Mass,
    Pressure,
    Ratio,
    Temperature,
    Visibility,
    Volume,
    WindSpeed,
    WindText,
    complain,
)  # fmt: skip

Rules = Literal["91.151", "NCO"]
Surface = Literal["paved", "grass", "gravel", "dirt"]
Airspace = Literal["A", "B", "C", "D", "E", "F", "G"]
Mixture = Literal["full_rich", "best_power", "best_economy"]


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)


def _clock(value: Any) -> Any:
    if isinstance(value, dt.time):
        return value.strftime("%H:%M")
    if isinstance(value, str) and re.fullmatch(r"\s*\d{1,2}:\d{2}\s*([+-]\d{2}:\d{2}|Z)?\s*", value):
        hours, minutes = value.strip()[:5].rstrip("+-Z ").split(":")
        if int(hours) < 24 and int(minutes[:2]) < 60:
            return value.replace(" ", "")
    raise complain(f'{value!r} is no time of day; write "09:30" (local) or, where a time happens twice, "01:30-06:00"')


def _day(value: Any) -> Any:
    if isinstance(value, dt.datetime) or not isinstance(value, (dt.date, str)):
        raise complain(f"{value!r} is no date; write date = 2025-09-20")
    if isinstance(value, str):
        try:
            value = dt.date.fromisoformat(value.strip())
        except ValueError:
            raise complain(f"{value!r} is no date; write date = 2025-09-20") from None
    if not 1900 <= value.year < 2200:  # the calendar ends with 9999, and reports are placed by the months around it
        raise complain(f"{value} is no day to fly on; a year from 1900 to 2199")
    return value


def _position(value: Any) -> Any:
    good = isinstance(value, (list, tuple)) and len(value) == 2
    if not good or not all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in value):
        raise complain(f"{value!r} is no position; write [latitude, longitude] in degrees, e.g. [41.12, -101.77]")
    latitude, longitude = value
    if not (-89.0 <= latitude <= 89.0 and -180.0 <= longitude <= 180.0):
        raise complain(
            f"[{latitude}, {longitude}] is no position: latitude −89 to 89 first, longitude −180 to 180 next"
        )
    return float(latitude), float(longitude)


Clock = Annotated[str, BeforeValidator(_clock)]
Day = Annotated[dt.date, BeforeValidator(_day)]
Position = Annotated[tuple[float, float], BeforeValidator(_position)]
Text = Annotated[str, Field(min_length=1, max_length=400)]
Report = Annotated[str, Field(min_length=1, max_length=4000)]  # one or several, as pasted


class RunwayPart(Strict):
    name: Text
    heading: Angle | None = None
    heading_magnetic: Angle | None = None
    length: Length | None = None
    landing_length: Length | None = None
    surface: Surface | None = None
    slope: Ratio | None = None


class PlacePart(Strict):
    airport: Text | None = None
    name: Text | None = None
    position: Position | None = None
    elevation: Altitude | None = None
    runway: Text | None = None
    wet: bool = False
    airspace: Airspace | None = None
    contact: Text | None = None
    variation: Angle | None = None
    runways: tuple[RunwayPart, ...] = ()


class AirplanePart(Strict):
    file: Text


class PersonPart(Strict):
    name: Text
    station: Text
    weight: Mass
    role: Literal["student", "instructor", "passenger"] = "passenger"


class BagPart(Strict):
    name: Text = "bags"
    station: Text
    weight: Mass


Cautions = dict[str, dict[str, str]]  # read by `cautions.read_cautions`


class LimitsPart(Strict):
    crosswind: WindSpeed | None = None
    wind: WindSpeed | None = None
    gust_spread: WindSpeed | None = None
    ceiling: Height | None = None
    visibility: Visibility | None = None
    density_altitude: Altitude | None = None
    fuel_reserve: Duration | None = None
    runway_factor: Annotated[float, Field(ge=1.0, le=5.0)] | None = None


class StudentPart(Strict):
    name: Text = "student"
    certificate: Text = "private"
    solo: bool = False
    limits: LimitsPart = Field(default_factory=LimitsPart)
    cautions: Cautions = {}


class InstructorPart(Strict):
    name: Text = "instructor"
    limits: LimitsPart = Field(default_factory=LimitsPart)
    cautions: Cautions = {}


class SchoolPart(Strict):
    name: Text = "school"
    file: Text | None = None
    limits: LimitsPart = Field(default_factory=LimitsPart)
    cautions: Cautions = {}


class LandingPlacePart(Strict):
    name: Text
    position: Position
    elevation: Altitude | None = None
    lit: bool = False


class AreaPart(Strict):
    name: Text = "practice area"
    polygon: tuple[Position, ...] | None = None
    center: Position | None = None
    radius: Distance | None = None
    floor: Altitude
    ceiling: Altitude
    ground: Altitude
    margin: Distance | None = None
    airspace: Airspace | None = None
    contact: Text | None = None
    metar: Report | None = None
    taf: Report | None = None
    landing_places: tuple[LandingPlacePart, ...] = ()

    @model_validator(mode="after")
    def _shape(self) -> AreaPart:
        circle = self.center is not None and self.radius is not None
        half = (self.center is None) != (self.radius is None)
        if half or circle == (self.polygon is not None):
            raise complain("give either polygon = [[lat, lon], ...] or center and radius")
        if self.polygon is not None and len(self.polygon) < 3:
            raise complain("the polygon needs at least three corners")
        if not self.ground <= self.floor < self.ceiling:
            raise complain("expected ground ≤ floor < ceiling (all above sea level)")
        return self


WindsAloft = Annotated[
    Annotated[str, Field(max_length=8000), Tag("[text]")] | Annotated[tuple[AloftText, ...], Tag("[list]")],
    Discriminator(lambda value: "[text]" if isinstance(value, str) else "[list]"),
]  # a list of winds, or a forecast as pasted


class WeatherPart(Strict):
    metar: Report | None = None
    taf: Report | None = None
    wind: WindText | None = None
    visibility: Visibility | None = None
    ceiling: Height | Literal["none"] | None = None
    temperature: Temperature | None = None
    dewpoint: Temperature | None = None
    altimeter: Pressure | None = None
    outlook: Text | None = None
    winds_aloft: WindsAloft = ()
    in_cloud_or_precipitation: bool | None = None


class PlanPart(Strict):
    rules: Rules = "91.151"
    stays_at_aerodrome: bool = False
    before_takeoff: Duration | None = None
    after_landing: Duration | None = None
    start_taxi_fuel: Volume | None = None
    fuel_flow: Flow | None = None
    between: Duration | None = None
    cruise_power: Ratio | None = None
    mixture: Mixture | None = None
    reserve: Duration | None = None
    tank_change: Duration | None = None
    first_tank: Text | None = None
    patterns: Annotated[int, Field(ge=0, le=20)] = 1
    takeoff_factor: Annotated[float, Field(ge=1.0, le=5.0)] | None = None
    landing_factor: Annotated[float, Field(ge=1.0, le=5.0)] | None = None
    oxygen: bool = False


class ExercisePart(Strict):
    kind: Text
    times: Annotated[int, Field(ge=1, le=20)] = 1
    altitude: Altitude | None = None
    minutes: Annotated[float, Field(gt=0.0, le=180.0)] | None = None
    note: Text | None = None
    target: dict[str, Any] = {}


class LessonFile(Strict):
    title: Text = "Lesson"
    date: Day
    time: Clock
    zone: Text
    units: Literal["us", "metric"] = "us"
    airplane: AirplanePart
    place: PlacePart
    people: Annotated[tuple[PersonPart, ...], Field(min_length=1)]
    bags: tuple[BagPart, ...] = ()
    fuel: dict[str, Volume]
    weather: WeatherPart = Field(default_factory=WeatherPart)
    area: AreaPart | None = None
    student: StudentPart = Field(default_factory=StudentPart)
    instructor: InstructorPart | None = None
    plan: PlanPart = Field(default_factory=PlanPart)
    exercises: tuple[ExercisePart, ...] = ()
    signals: dict[str, Text] = {}
    school: SchoolPart = Field(default_factory=SchoolPart)
    simulator: bool = False
