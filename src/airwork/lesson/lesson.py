"""The lesson as frozen records in SI: what the file said, with places found and reports decoded.

A record whose fields have an `alias` is read from the file as it is: the alias is the file's word for the field.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, ConfigDict, Field

from airwork.errors import Where
from airwork.lesson.places import Place
from airwork.lesson.quantity import (
    Altitude,
    Angle,
    Distance,
    Duration,
    Flow,
    Height,
    Length,
    Pasted,
    Position,
    Ratio,
    Text,
    Visibility,
    Volume,
    WindSpeed,
    complain,
)  # fmt: skip
from airwork.lesson.weather import Aloft, Forecast, Report, Wind

Role = Literal["student", "instructor", "passenger"]
Surface = Literal["paved", "grass", "gravel", "dirt"]
Rules = Literal["91.151", "NCO"]
Airspace = Literal["A", "B", "C", "D", "E", "F", "G"]
FILE = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)  # how the file's tables are read
Minutes = Annotated[float, Field(gt=0.0, le=180.0), AfterValidator(lambda minutes: minutes * 60.0)]
Factor = Annotated[float, Field(ge=1.0, le=5.0)]


def as_kind(written: str) -> str:
    """A maneuver as the rooms are named: "Power-off stall" is power_off_stall."""
    return written.strip().lower().replace(" ", "_").replace("-", "_")


@dataclass(frozen=True, slots=True)
class Load:
    """A person or bag at a station."""

    name: str
    station: str
    mass_kg: float
    role: Role | None = None  # None: a bag


@dataclass(frozen=True, slots=True)
class Limits:
    """Personal limits of a student or an instructor; None: no limit stated. Heights above ground."""

    __pydantic_config__ = FILE

    crosswind_mps: Annotated[WindSpeed | None, Field(alias="crosswind")] = None
    wind_mps: Annotated[WindSpeed | None, Field(alias="wind")] = None
    gust_spread_mps: Annotated[WindSpeed | None, Field(alias="gust_spread")] = None
    ceiling_m: Annotated[Height | None, Field(alias="ceiling")] = None
    visibility_m: Annotated[Visibility | None, Field(alias="visibility")] = None
    density_altitude_m: Annotated[Altitude | None, Field(alias="density_altitude")] = None
    fuel_reserve_s: Annotated[Duration | None, Field(alias="fuel_reserve")] = None
    runway_factor: Factor | None = None


@dataclass(frozen=True, slots=True)
class Pilot:
    """Student or instructor; or the school: limits that stop a flight, cautions in the place of airwork's own."""

    name: str
    limits: Limits = Limits()
    certificate: str = ""
    solo: bool = False
    cautions: Mapping[str, Mapping[str, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class RunwayGiven:
    """A runway of the user's own, or what he puts right of a known one. `heading_rad` is true."""

    __pydantic_config__ = FILE

    name: Text
    heading_rad: Annotated[Angle | None, Field(alias="heading")] = None
    heading_magnetic_rad: Annotated[Angle | None, Field(alias="heading_magnetic")] = None
    length_m: Annotated[Length | None, Field(alias="length")] = None
    landing_length_m: Annotated[Length | None, Field(alias="landing_length")] = None
    surface: Surface | None = None
    slope: Ratio | None = None


@dataclass(frozen=True, slots=True)
class PlaceGiven:
    """`[place]` as the lesson has it; the place and runways found from it are the Lesson's `place`. None: not said."""

    __pydantic_config__ = FILE

    airport: Text | None = None
    name: Text | None = None
    position_rad: Annotated[Position | None, Field(alias="position")] = None  # latitude, longitude
    elevation_m: Annotated[Altitude | None, Field(alias="elevation")] = None
    runway: Text | None = None  # the one in use
    wet: bool = False
    soft: bool = False
    snow: bool = False
    airspace: Airspace | None = None
    contact: Text = ""  # who is called there, and the clearance, in the user's words
    variation_rad: Annotated[Angle | None, Field(alias="variation")] = None  # east positive; None: from the model
    runways: tuple[RunwayGiven, ...] = ()


@dataclass(frozen=True, slots=True)
class LandingPlace:
    """A place the user would land at with the engine out."""

    __pydantic_config__ = FILE

    name: Text
    position_rad: Annotated[Position, Field(alias="position")]  # latitude, longitude
    elevation_m: Annotated[Altitude | None, Field(alias="elevation")] = None
    lit: bool = False


@dataclass(frozen=True, slots=True)
class AreaWanted:
    """Practice area. Corners (latitude, longitude) of a polygon, or a circle; altitudes above sea level."""

    __pydantic_config__ = FILE

    floor_m: Annotated[Altitude, Field(alias="floor")]
    ceiling_m: Annotated[Altitude, Field(alias="ceiling")]
    ground_m: Annotated[Altitude, Field(alias="ground")]
    name: Text = "practice area"
    corners_rad: Annotated[tuple[Position, ...], Field(alias="polygon")] = ()
    center_rad: Annotated[Position | None, Field(alias="center")] = None
    radius_m: Annotated[Distance | None, Field(alias="radius")] = None
    margin_m: Annotated[Distance | None, Field(alias="margin")] = None
    airspace: Airspace | None = None
    landing_places: tuple[LandingPlace, ...] = ()
    contact: Text = ""  # who is called there, and the clearance, in the user's words
    metar: Pasted | None = None
    taf: Pasted | None = None


def shaped(area: AreaWanted) -> AreaWanted:
    """An area as read, where its edge and its altitudes make one; else the error that says what is wrong."""
    circle = area.center_rad is not None and area.radius_m is not None
    half = (area.center_rad is None) != (area.radius_m is None)
    if half or circle == bool(area.corners_rad):
        raise complain(
            "the area needs its edge; give either polygon = [[lat, lon], ...] or center and radius", "polygon"
        )
    if len(area.corners_rad) in {1, 2}:
        raise complain("the polygon needs at least three corners", "polygon")
    if not area.ground_m <= area.floor_m < area.ceiling_m:
        raise complain("expected ground ≤ floor < ceiling (all above sea level)", "floor")
    return area


@dataclass(frozen=True, slots=True)
class WeatherGiven:
    """What the lesson says of the weather: reports decoded, and values of the user's own, which win.

    ceiling_m : above ground; `no_ceiling` says that there is none. None everywhere else: not said.
    outlook : what the user expects of the lesson's hours, in words, where no TAF is made for the field.
    visible_moisture : in cloud or precipitation, where the user said; decides structural icing.
    """

    metar: Report | None = None
    taf: Forecast | None = None
    wind: Wind | None = None
    visibility_m: float | None = None
    ceiling_m: float | None = None
    no_ceiling: bool = False
    temperature_k: float | None = None
    dewpoint_k: float | None = None
    setting_pa: float | None = None
    winds_aloft: tuple[Aloft, ...] = ()
    visible_moisture: bool | None = None
    outlook: str = ""
    area_reports: tuple[Report, ...] = ()  # of other stations, for the practice area
    area_forecasts: tuple[Forecast, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanWanted:
    """How the flight is to be planned; None: the planner's own default, which it names."""

    __pydantic_config__ = FILE

    rules: Rules = "91.151"
    stays_at_aerodrome: bool = False
    before_takeoff_s: Annotated[Duration | None, Field(alias="before_takeoff")] = None
    after_landing_s: Annotated[Duration | None, Field(alias="after_landing")] = None
    start_taxi_fuel_m3: Annotated[Volume | None, Field(alias="start_taxi_fuel")] = None
    fuel_flow_m3ps: Annotated[Flow | None, Field(alias="fuel_flow")] = None
    between_s: Annotated[Duration | None, Field(alias="between")] = None
    cruise_power_ratio: Annotated[Ratio | None, Field(alias="cruise_power")] = None
    mixture: Literal["full_rich", "best_power", "best_economy"] | None = None
    reserve_s: Annotated[Duration | None, Field(alias="reserve")] = None
    tank_change_s: Annotated[Duration | None, Field(alias="tank_change")] = None
    first_tank: Text | None = None
    patterns: Annotated[int, Field(ge=0, le=20)] = 1
    takeoff_factor: Factor | None = None
    landing_factor: Factor | None = None
    oxygen: bool = False


@dataclass(frozen=True, slots=True)
class Exercise:
    """One exercise as wanted. `target` is in SI with unit-bearing names, as the rooms and the debrief read it."""

    __pydantic_config__ = FILE

    kind: Annotated[Text, AfterValidator(as_kind)]
    times: Annotated[int, Field(ge=1, le=20)] = 1
    altitude_m: Annotated[Altitude | None, Field(alias="altitude")] = None
    duration_s: Annotated[Minutes | None, Field(alias="minutes")] = None
    note: Text = ""
    target: Mapping[str, Any] = field(default_factory=dict)

    @property
    def wished(self) -> Mapping[str, Any]:
        """All that is wanted of it, its altitude too, in SI."""
        return self.target if self.altitude_m is None else {"altitude_m": self.altitude_m, **self.target}


@dataclass(frozen=True, slots=True)
class Lesson:
    """Everything the lesson file said. Times are seconds since 1970 UTC; `zone` is for showing them."""

    title: str
    source: str
    start_utc_s: float
    zone: str
    units: Literal["us", "metric"]
    airplane_path: Path
    place: Place
    field: PlaceGiven  # what the user says of it
    runway: str | None
    loads: tuple[Load, ...]
    fuel_m3: Mapping[str, float]
    weather: WeatherGiven
    area: AreaWanted | None
    student: Pilot
    instructor: Pilot | None
    plan: PlanWanted
    exercises: tuple[Exercise, ...]
    signals: Mapping[str, str]
    school: Pilot = Pilot("school")
    simulator: bool = False

    @property
    def people(self) -> tuple[Load, ...]:
        """Who is aboard; a role left out is settled by the names of student and instructor."""
        names: dict[str, Role] = {self.student.name.strip().lower(): "student"}
        if self.instructor is not None:
            names[self.instructor.name.strip().lower()] = "instructor"
        out = []
        for load in self.loads:
            if load.role is not None:
                found = names.get(load.name.strip().lower())
                out.append(load if found is None or load.role != "passenger" else replace(load, role=found))
        return tuple(out)

    @property
    def field_m(self) -> float:
        """Elevation of the field, which no lesson is read without. [m]"""
        assert self.place.elevation_m is not None
        return self.place.elevation_m

    def at(self, *path: str | int) -> Where:
        """A place in its file, for an error."""
        return Where.of(self.source, path, dotted=True)
