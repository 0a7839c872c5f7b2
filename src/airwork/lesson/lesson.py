"""The lesson as frozen records in SI: what the file said, with places found and reports decoded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from airwork.errors import Where
from airwork.lesson.places import Place
from airwork.lesson.weather import Aloft, Forecast, Report, Wind

Role = Literal["student", "instructor", "passenger"]


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

    crosswind_mps: float | None = None
    wind_mps: float | None = None
    gust_spread_mps: float | None = None
    ceiling_m: float | None = None
    visibility_m: float | None = None
    density_altitude_m: float | None = None
    fuel_reserve_s: float | None = None
    runway_factor: float | None = None


@dataclass(frozen=True, slots=True)
class Pilot:
    """Student or instructor; or the school: limits that stop a flight, cautions in the place of airwork's own."""

    name: str
    limits: Limits = Limits()
    certificate: str = ""
    solo: bool = False
    cautions: Mapping[str, Mapping[str, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class LandingPlace:
    """A place the user would land at with the engine out."""

    name: str
    latitude_rad: float
    longitude_rad: float
    elevation_m: float | None = None
    lit: bool = False


@dataclass(frozen=True, slots=True)
class AreaWanted:
    """Practice area. Corners (latitude, longitude) of a polygon, or a circle; altitudes above sea level."""

    name: str
    floor_m: float
    ceiling_m: float
    ground_m: float
    corners_rad: tuple[tuple[float, float], ...] = ()
    center_rad: tuple[float, float] | None = None
    radius_m: float | None = None
    margin_m: float | None = None
    airspace: str | None = None
    landing_places: tuple[LandingPlace, ...] = ()
    contact: str = ""  # who is called there, and the clearance, in the user's words


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

    rules: Literal["91.151", "NCO"] = "91.151"
    stays_at_aerodrome: bool = False
    before_takeoff_s: float | None = None
    after_landing_s: float | None = None
    start_taxi_fuel_m3: float | None = None
    fuel_flow_m3ps: float | None = None
    between_s: float | None = None
    cruise_power_ratio: float | None = None
    mixture: str | None = None
    reserve_s: float | None = None
    tank_change_s: float | None = None
    first_tank: str | None = None
    patterns: int = 1
    takeoff_factor: float | None = None
    landing_factor: float | None = None
    oxygen: bool = False


@dataclass(frozen=True, slots=True)
class Exercise:
    """One exercise as wanted. `target` is in SI with unit-bearing names, as the rooms and the debrief read it."""

    kind: str
    times: int = 1
    altitude_m: float | None = None
    duration_s: float | None = None
    note: str = ""
    target: Mapping[str, float | str] = field(default_factory=dict)


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
    runway: str | None
    runway_wet: bool
    airspace: str | None
    variation_rad: float | None  # given by the user, east positive; None: from the model
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
    contact: str = ""
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

    def at(self, *path: str | int) -> Where:
        """A place in its file, for an error."""
        return Where.of(self.source, path, dotted=True)
