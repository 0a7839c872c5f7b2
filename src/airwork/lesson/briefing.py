"""Briefing: everything a lesson's plan says, as one immutable value that becomes JSON.

Screens, card and PDF only show it; the debrief holds the flown lesson against it. SI, times UTC, directions true.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from html import escape
from typing import Any

from pydantic import TypeAdapter

from airwork.lesson.balance import BalancePlan
from airwork.lesson.cockpit import Cockpit
from airwork.lesson.day import Daylight
from airwork.lesson.fuel import FuelPlan
from airwork.lesson.legs import Leg
from airwork.lesson.runway_plan import RunwayPlan
from airwork.lesson.style import Style
from airwork.lesson.tanks import TankPlan
from airwork.lesson.verdict import Verdict
from airwork.lesson.weather import Wind
from airwork.maneuvers.setup import SetUp

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class PathPlan:
    """Where an exercise is flown: positions over the ground in today's wind, and what they keep clear of.

    points : (seconds from its start, latitude, longitude [rad], altitude [m]).
    margin_m : least distance to the edge of the area; negative is outside.
    """

    heading_rad: float
    points: tuple[tuple[float, float, float, float], ...]
    margin_m: float
    glide_spare_m: float | None
    glide_place: str


@dataclass(frozen=True, slots=True)
class PlannedExercise:
    """One exercise in the plan. Without a set-up, `problem` says why and the times are those of its place in order."""

    number: int
    kind: str
    title: str
    at_field: bool
    start_utc_s: float
    end_utc_s: float
    set_up: SetUp | None
    problem: str
    note: str
    path: PathPlan | None
    wanted: Mapping[str, float | str] = field(default_factory=dict)

    @property
    def targets(self) -> Mapping[str, float]:
        """What the debrief grades against: the set-up's targets. SI."""
        return {} if self.set_up is None else self.set_up.targets


@dataclass(frozen=True, slots=True)
class PlacePlan:
    """A named place on the map."""

    name: str
    latitude_rad: float
    longitude_rad: float
    elevation_m: float | None


@dataclass(frozen=True, slots=True)
class AreaPlan:
    """The practice area: corners in order around, altitudes above sea level."""

    name: str
    corners_rad: tuple[tuple[float, float], ...]
    floor_m: float
    ceiling_m: float
    ground_m: float
    margin_m: float
    landing_places: tuple[PlacePlan, ...]


@dataclass(frozen=True, slots=True)
class WeatherPlan:
    """The day as briefed; None is not known."""

    wind: Wind | None
    wind_source: str
    visibility_m: float | None
    visibility_bound: str
    ceiling_m: float | None
    ceiling_known: bool
    temperature_k: float | None
    dewpoint_k: float | None
    setting_pa: float | None
    density_altitude_m: float
    pressure_altitude_m: float
    variation_rad: float | None
    variation_source: str
    aloft: tuple[tuple[float, float, float], ...]  # (altitude [m], from [rad], speed [m/s]) as used
    metar: str
    taf: str
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SpeedLine:
    """A speed as it stands on this dial today. `shown` is ready to print, the dial's unit first."""

    name: str
    ias_mps: float
    shown: str
    short: str  # in the dial's unit alone
    how: str
    source: str


@dataclass(frozen=True, slots=True)
class PowerLine:
    """A power setting for level flight today. rpm in rev/min; rpm_90 the half-width of its 90 % band."""

    name: str
    ias_mps: float
    altitude_m: float
    rpm: float | None
    rpm_90: float | None
    manifold_pressure_pa: float | None
    power_ratio: float
    fuel_flow_m3ps: float
    mixture: str
    note: str = ""


@dataclass(frozen=True, slots=True, repr=False)
class Briefing:
    """A lesson ready to fly, or the reasons not to. Equal when all fields are."""

    schema: int
    program: str
    title: str
    start_utc_s: float
    end_utc_s: float
    style: Style
    student: str
    instructor: str
    certificate: str
    standard: str
    solo: bool
    airplane_id: str
    airplane_name: str
    airplane_invented: bool
    dial_unit: str
    place: PlacePlan
    runway: RunwayPlan
    weather: WeatherPlan
    daylight: Daylight
    loads: tuple[tuple[str, str, float], ...]  # (who or what, station, mass [kg])
    balance: BalancePlan
    envelopes: Mapping[str, tuple[tuple[float, float], ...]]  # category -> corners (arm [m], mass [kg])
    area: AreaPlan | None
    exercises: tuple[PlannedExercise, ...]
    legs: tuple[Leg, ...]
    fuel: FuelPlan
    tanks: TankPlan
    speeds: tuple[SpeedLine, ...]
    power: tuple[PowerLine, ...]
    signals: Mapping[str, str]
    verdict: Verdict
    cautions: tuple[str, ...]
    cockpit: Cockpit | None = None

    def __repr__(self) -> str:
        return (
            f"<Briefing {self.title!r}, {self.style.day(self.start_utc_s)}: {self.verdict.level}, "
            f"{len(self.exercises)} exercises, {self.airplane_name}>"
        )

    def _repr_html_(self) -> str:
        """For notebooks: the verdict, and each exercise with its numbers."""
        rows = "".join(
            f"<tr><td>{self.style.clock(e.start_utc_s)}</td><td>{escape(e.title)}</td>"
            f"<td>{escape(e.set_up.card_line if e.set_up else e.problem)}</td></tr>"
            for e in self.exercises
        )
        return f"<p>{escape(repr(self))}</p><p>{escape(self.verdict.headline)}</p><table>{rows}</table>"

    def as_json(self) -> dict[str, Any]:
        """Plain data, unit-bearing keys, for `--json` and files."""
        return dict(_adapter().dump_python(self, mode="json"))

    def to_json(self) -> str:
        """The same as text."""
        return str(_adapter().dump_json(self, indent=1).decode())


@lru_cache(maxsize=1)
def _adapter() -> Any:
    return TypeAdapter(Briefing)
