"""The whole airplane file as one model."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field
from pydantic.json_schema import SkipJsonSchema

from airwork.airplane.file.base import (
    AltitudeFt,
    Gph,
    InHg,
    Name,
    Notch,
    Rpm,
    SpeedRow,
    Table,
    TemperatureC,
    Text,
    WeightLb,
)
from airwork.airplane.file.fitted import Fitted
from airwork.airplane.file.identity import Engine, Flaps, Fuel, Identity, Propeller
from airwork.airplane.file.loading import WeightAndBalance
from airwork.airplane.file.performance import PerformanceTables
from airwork.airplane.file.speeds import Calibration, Limitations, ManeuverPermission, VSpeeds


class ObservationRow(SpeedRow):
    """A reading noted in flight: steady, ball centered, smooth air."""

    kind: Literal["level", "full_throttle_climb", "idle_glide"]
    weight_lb: WeightLb
    pressure_altitude_ft: AltitudeFt
    oat_c: TemperatureC = Field(title="outside air temperature")
    flap_notch: Notch = 0
    rpm: Rpm | None = Field(None, title="engine speed")
    manifold_pressure_inhg: InHg | None = None
    rate_of_climb_fpm: Annotated[float, Field(ge=-3000, le=6000)] | None = None
    rate_of_descent_fpm: Annotated[float, Field(ge=-3000, le=6000)] | None = None
    fuel_flow_gph: Gph | None = None
    mixture: Literal["full_rich", "best_power", "best_economy"] = Field(
        "full_rich", description="how the mixture was set, for the fuel flow"
    )
    pitch_deg: Annotated[float, Field(ge=-30, le=30)] | None = Field(None, description="pitch, nose up positive")
    bank_deg: Annotated[float, Field(ge=-75, le=75)] = Field(0, description="bank, in a steady level turn")
    date: Text = Field("", title="when")
    note: Text = ""
    recording: Text = Field("", description="recording it was found in; empty for a reading by eye")
    left_out: Text = Field("", description="why it is not used; empty if it is")


class Checklist(Table):
    """A checklist in the owner's words."""

    name: Name = Field(description="before takeoff, before maneuvers, before landing ...")
    items: list[Text] = Field(min_length=1, description="one line per item")


class Technique(Table):
    """A technique note in the owner's words."""

    subject: Name = Field(description="maneuver or subject it belongs to: slow_flight, short_field_landing ...")
    text: Text = Field(title="in your own words")


class PrintedSo(Table):
    """What the check asks and the printed page answers: the handbook has it so."""

    asked: list[Annotated[str, Field(min_length=1, max_length=1000)]] = Field(
        min_length=1, description="the questions, word for word as `airwork airplane check --stands-so` writes them"
    )
    by: Name = Field(description="who has seen it in the handbook")
    date: Name = Field(description="when")
    note: Text = ""


class AirplaneFile(Table):
    """An airplane, typed from its handbook. Units are in the key names."""

    airplane: Identity = Field(title="the airplane")
    engine: Engine
    propeller: Propeller
    fuel: Fuel | None = None
    flaps: Flaps
    airspeed_calibration: Calibration | None = None
    v_speeds: VSpeeds | None = Field(None, title="V-speeds")
    limitations: Limitations | None = None
    weight_and_balance: WeightAndBalance | None = None
    performance: PerformanceTables = Field(default_factory=PerformanceTables)
    maneuvers: list[ManeuverPermission] = Field(default_factory=list, description="what the handbook says of maneuvers")
    checklists: list[Checklist] = Field(default_factory=list, description="checklists in the owner's words")
    technique: list[Technique] = Field(default_factory=list, description="technique notes in the owner's words")
    observations: list[ObservationRow] = Field(
        default_factory=list, title="readings", description="readings noted in flight"
    )
    printed_so: list[PrintedSo] = Field(
        default_factory=list, title="stands so in the handbook", description="questions the printed page has answered"
    )
    fitted: Fitted | None = Field(None, description="written by `airwork airplane fit`, not typed")
    printed: SkipJsonSchema[dict[str, dict[str, str]]] = Field(
        default_factory=dict, repr=False, description="by table, how the file writes a key; made by the reader"
    )
