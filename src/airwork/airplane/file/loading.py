"""Weight and balance of an airplane file."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from airwork.airplane.file.base import ArmIn, Gallons, Name, StationLb, Table, Text, WeightLb

PercentMac = Annotated[float, Field(ge=-50, le=100)]


class Station(Table):
    """One place to load."""

    name: Name = Field(description="front seats, rear seats, baggage, fuel ...")
    arm_in: ArmIn = Field(description="arm, aft of the datum")
    maximum_lb: StationLb | None = Field(None, description="most that may be loaded here")
    usable_us_gal: Gallons | None = Field(None, description="for the fuel station: usable fuel of all its tanks")
    kind: Literal["front_seats", "rear_seats", "baggage", "fuel", "other"] | None = Field(
        None, description="what it is, where the name doesn't say"
    )


class Corner(Table):
    """A corner of the permitted area."""

    weight_lb: WeightLb
    arm_in: ArmIn
    percent_mac: PercentMac | None = Field(
        None,
        title="percent of the chord",
        description="instead of the arm, where the book prints percent of the mean aerodynamic chord",
    )


class Envelope(Table):
    """The permitted area of one category, and the conditions it holds under."""

    polygon: list[Corner] = Field(min_length=3, description="corners in order")
    rear_seats_empty: bool = Field(False, description="only with the rear seats empty")
    baggage_maximum_lb: StationLb | None = Field(None, description="most baggage")
    maximum_weight_lb: WeightLb | None = Field(None, description="heaviest, if below the polygon's top")
    station_maximum_lb: dict[str, StationLb] = Field(default_factory=dict, description="most at a station, by name")
    conditions: Text = Field("", description="further conditions in the handbook's words")


class WeightAndBalance(Table):
    """`[weight_and_balance]`."""

    datum: Text = Field("", description="where the datum is")
    empty_weight_lb: WeightLb = Field(description="empty weight of this airplane, from its latest weighing")
    empty_arm_in: ArmIn = Field(description="empty center of gravity, aft of the datum")
    mac_length_in: Annotated[float, Field(gt=0, le=400)] | None = Field(
        None, title="mean aerodynamic chord", description="its length, for envelopes in percent of it"
    )
    mac_leading_edge_in: ArmIn | None = Field(None, title="leading edge of the chord", description="its arm")
    empty_weight_includes: Text = Field("", description="what the empty weight includes")
    weighed_on: Text = Field("", description="date of the weighing")
    stations: list[Station] = Field(min_length=1, description="places to load")
    envelope_normal: Envelope | None = Field(None, description="normal category")
    envelope_utility: Envelope | None = Field(None, description="utility category")
    envelope_acrobatic: Envelope | None = Field(None, description="acrobatic category")
    envelope_light_sport: Envelope | None = Field(None, description="light-sport")
    envelope_experimental: Envelope | None = Field(None, description="experimental")

    @model_validator(mode="before")
    @classmethod
    def _arms_of_percent(cls, data: Any) -> Any:
        """Corners in percent of the mean aerodynamic chord get their arms."""
        if not isinstance(data, dict):
            return data
        length, edge = data.get("mac_length_in"), data.get("mac_leading_edge_in")
        out = dict(data)
        for key in [k for k in data if k.startswith("envelope_")]:
            polygon = data[key].get("polygon") if isinstance(data[key], dict) else None
            if not isinstance(polygon, list) or not any(
                isinstance(c, dict) and c.get("percent_mac") is not None for c in polygon
            ):
                continue
            if not isinstance(length, int | float) or not isinstance(edge, int | float):
                raise ValueError(f"{key} in percent_mac needs mac_length_in and mac_leading_edge_in")
            out[key] = {**data[key], "polygon": [_with_arm(c, float(length), float(edge)) for c in polygon]}
        return out


def _with_arm(corner: Any, length_in: float, edge_in: float) -> Any:
    percent = corner.get("percent_mac") if isinstance(corner, dict) else None
    if not isinstance(percent, int | float) or corner.get("arm_in") is not None:
        return corner
    return {**corner, "arm_in": edge_in + percent / 100.0 * length_in}
