"""Shared ground of the airplane file's models: strict tables, and numbers with the widest believable limits.

The limits here only keep out what can't be meant at all (a negative weight, an RPM of 27,000). What is merely
suspicious is the business of `airplane check`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.typed_file import FILL_IN

DialUnit = Literal["kt", "mph", "km/h"]
Category = Literal["normal", "utility", "acrobatic", "light_sport", "experimental"]
CATEGORIES: tuple[Category, ...] = ("normal", "utility", "acrobatic", "light_sport", "experimental")

WeightLb = Annotated[float, Field(ge=50, le=20_000)]
StationLb = Annotated[float, Field(ge=0, le=10_000)]
ArmIn = Annotated[float, Field(ge=-500, le=1000)]
SpeedKt = Annotated[float, Field(gt=0, le=400)]
AltitudeFt = Annotated[float, Field(ge=-2000, le=30_000)]
TemperatureC = Annotated[float, Field(ge=-60, le=60)]
DeviationC = Annotated[float, Field(ge=-60, le=60)]
Rpm = Annotated[float, Field(ge=100, le=6500)]
PercentPower = Annotated[float, Field(ge=0, le=150)]
InHg = Annotated[float, Field(gt=0, le=60)]
Gallons = Annotated[float, Field(ge=0, le=500)]
Gph = Annotated[float, Field(gt=0, le=100)]
Feet = Annotated[float, Field(gt=0, le=20_000)]
Degrees = Annotated[float, Field(ge=0, le=90)]
Notch = Annotated[int, Field(ge=0, le=9)]


def _filled_in(text: str) -> str:
    if text == FILL_IN:
        raise ValueError(f"found {FILL_IN!r}, expected a name")
    return text


Name = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_filled_in)]
Text = Annotated[str, Field(max_length=4000)]


class Table(BaseModel):
    """A table of the file: unknown keys, text where a number belongs, inf and nan are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, defer_build=True)


def with_temperature(data: Any) -> Any:
    """A row printed by deviation from the standard temperature, with its temperature; before validation.

    Raises
    ------
    ValueError : a temperature and a deviation that disagree.
    """
    if not isinstance(data, dict) or not isinstance(data.get("isa_deviation_c"), int | float):
        return data
    height, given = data.get("pressure_altitude_ft"), data.get("oat_c")
    if not isinstance(height, int | float):
        return data
    standard_k = float(standard_temperature_k(units.from_unit(float(height), "ft")))
    celsius = units.to_unit(standard_k, "°C") + float(data["isa_deviation_c"])
    if given is None:
        return {**data, "oat_c": celsius}
    if isinstance(given, int | float) and abs(given - celsius) > 0.6:
        raise ValueError(
            f"{given:g} °C there is not {data['isa_deviation_c']:+g} °C from standard; give one of the two"
        )
    return data


class SpeedRow(Table):
    """A row holding one airspeed, indicated or calibrated; at least one must be there."""

    kias: SpeedKt | None = Field(None, description="indicated airspeed, kt")
    kcas: SpeedKt | None = Field(None, description="calibrated airspeed, kt")

    @model_validator(mode="after")
    def _one_speed(self) -> SpeedRow:
        if self.kias is self.kcas is None:
            raise ValueError("no airspeed: give kias or kcas (indicated_mph, calibrated_kmh ...)")
        return self


def low_high(pair: list[Any], what: str) -> list[Any]:
    """[low, high] in order, or a ValueError naming `what`."""
    if len(pair) != 2 or pair[0] > pair[1]:
        raise ValueError(f"{what} must be [low, high], found [{', '.join(f'{x:g}' for x in pair)}]")
    return pair


def pair(what: str) -> Any:
    """A validator for a [low, high] list."""
    return AfterValidator(lambda value: low_high(value, what))


Range = Annotated[list[float], Field(min_length=2, max_length=2), pair("the range")]


def _load_factors(found: list[float]) -> list[float]:
    if not (1.0 < found[-1] <= 15.0 and (len(found) == 1 or -10.0 <= found[0] <= 0.0)):
        raise ValueError(
            f"load factors are [negative, positive], e.g. [-1.52, 3.8], or [positive] alone; found {found}"
        )
    return found


LoadFactors = Annotated[list[float], Field(min_length=1, max_length=2), AfterValidator(_load_factors)]
