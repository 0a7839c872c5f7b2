"""`[fitted]` of an airplane file: parameters learned from handbook and readings, written by `airwork airplane fit`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from airwork.airplane.file.base import Name, Table, Text

# Tables of the file that a fit reads
FITTED_FROM = (
    "airplane", "engine", "propeller", "flaps", "airspeed_calibration", "v_speeds", "limitations", "performance",
    "observations",
)  # fmt: skip


class FittedFlight(Table):
    """A flight the parameters were learned from."""

    recording: Text = Field(description="name of the recording")
    key: Name = Field(description="digest of the recording")
    date: Text = Field("", description="flown on")
    weight_lb: float = Field(description="weight at the start, as noted or assumed")
    weight_from: Literal["lesson", "typed", "unknown"] = Field(description="where the weight was noted")
    windows: int = Field(description="how many windows of 16 s it gave")


class Fitted(Table):
    """Fitted parameters. They hold only for the tables and readings they were fitted to: `inputs` is their digest."""

    airwork: Name = Field(description="version that wrote it")
    date: Name = Field(description="when")
    law: Name = Field(description="which law the parameters are of")
    inputs: Name = Field(description="digest of the tables and readings they were fitted to; else they are fitted anew")
    names: list[Name] = Field(description="names of the parameters")
    values: list[float] = Field(description="their values")
    covariance: list[list[float]] = Field(description="their covariance")
    engine: list[float] = Field(
        default_factory=list, description="power coefficients of the propeller, strength, covariance of the first"
    )
    fuel: list[float] = Field(
        default_factory=list,
        description="fuel flow at no power, per watt, its spread, flights, usual air pressure, power of it, leaned",
    )
    flights: list[FittedFlight] = Field(default_factory=list, description="flights they were learned from")
    says: list[Text] = Field(default_factory=list, description="in words, for people")
