"""Identity, engine, propeller, fuel system and flaps of an airplane file."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, field_validator, model_validator

from airwork.airplane.file.base import (
    Category,
    Degrees,
    DialUnit,
    Gallons,
    Name,
    Notch,
    PercentPower,
    Range,
    Rpm,
    SpeedKt,
    Table,
    Text,
    WeightLb,
)


class Identity(Table):
    """`[airplane]`: which airplane, its weights, its wing, the unit on its airspeed indicator."""

    schema_version: Literal[1] = Field(description="version of this file format")
    id: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9_-]{0,63}$")] = Field(
        title="short name for files", description="small letters, digits, _ and -"
    )
    name: Name = Field(description="name as people say it")
    invented: bool = Field(False, title="made up", description="true for a made-up airplane")
    registration: Name | None = Field(None, description="registration mark")
    handbook: Text = Field("", description="title and edition of the handbook this was typed from; shown as the source")
    seats: Annotated[int, Field(ge=1, le=20)] | None = Field(None, description="seats, pilot's included")
    category: list[Category] = Field(
        default=["normal"], min_length=1, title="categories", description="normal, utility, acrobatic ..."
    )
    maximum_takeoff_weight_lb: WeightLb = Field(description="maximum takeoff weight")
    maximum_landing_weight_lb: WeightLb | None = Field(None, description="maximum landing weight, if different")
    maximum_ramp_weight_lb: WeightLb | None = Field(None, description="maximum ramp weight, if the handbook has one")
    handbook_weight_lb: WeightLb | None = Field(None, description="weight the cruise and power tables are for")
    wing_area_ft2: Annotated[float, Field(gt=20, le=1000)] | None = Field(None, description="wing area")
    wing_span_ft: Annotated[float, Field(gt=5, le=200)] | None = Field(None, description="wing span")
    landing_gear: Text = Field("", description="landing gear in words")
    airspeed_indicator_unit: DialUnit = Field(
        title="airspeed indicator", description='unit it is read in: "kt", "mph" or "km/h"'
    )
    airspeed_indicator_unit_choices: list[DialUnit] | None = Field(None, title="units the indicator is marked in")
    notes: Text = Field("", description="anything worth knowing about this airplane")


class Leaning(Table):
    """`[engine.leaning]`: the handbook's leaning rule."""

    maximum_percent_power: PercentPower = Field(description="leaning is allowed at and below this percent power")
    minimum_density_altitude_ft: float | None = Field(
        None, description="full rich below this density altitude for full-throttle climb, if the handbook says so"
    )
    best_power: Text = Field("", description="how best power is set, in the handbook's words")
    best_economy: Text = Field("", description="how best economy is set, in the handbook's words")


class Engine(Table):
    """`[engine]`: rating, fuel system and limits."""

    rated_power_hp: Annotated[float, Field(gt=10, le=1000)] = Field(description="rated power; percent power is of this")
    rated_rpm: Rpm = Field(title="RPM of rated power")
    gear_ratio: Annotated[float, Field(ge=1, le=5)] = Field(
        1.0, description="turns of the engine for one of the propeller, where a gear stands between (2.43)"
    )
    cylinders: Annotated[int, Field(ge=1, le=18)] | None = Field(None, description="cylinders")
    fuel_system: Literal["carburetor", "fuel injection"] = Field(description="carburetor or fuel injection")
    carburetor_heat: bool | None = Field(None, description="is there carburetor heat")
    idle_rpm: Range | None = Field(None, description="idle RPM [low, high]")
    minimum_oil_psi: Annotated[float, Field(gt=0, le=200)] | None = Field(None, description="minimum oil pressure")
    maximum_oil_temperature_f: Annotated[float, Field(gt=100, le=400)] | None = Field(
        None, description="maximum oil temperature"
    )
    fuel_grade: Name | None = Field(None, description="fuel grade")
    fuel_density_lb_per_us_gal: Annotated[float, Field(ge=5, le=8)] = Field(
        6.0, title="fuel density", description="6 lb/gal (0.72 kg/L) if not given; jet fuel and diesel are heavier"
    )
    leaning: Leaning | None = Field(None, description="leaning rule")


class Propeller(Table):
    """`[propeller]`."""

    type: Literal["fixed_pitch", "constant_speed"] = Field(description="fixed_pitch or constant_speed")
    diameter_in: Annotated[float, Field(gt=30, le=150)] | None = Field(None, description="diameter")
    blades: Annotated[int, Field(ge=2, le=6)] | None = Field(None, description="blades")
    static_rpm_full_throttle: Range | None = Field(None, title="static RPM", description="at full throttle [low, high]")
    governing_rpm: Range | None = Field(None, title="governed RPM", description="RPM the governor holds [low, high]")


class TankEntry(Table):
    """One tank."""

    name: Name = Field(description="name, as on the selector's placard")
    capacity_us_gal: Gallons = Field(description="total capacity; usable and unusable together if not given")
    usable_us_gal: Gallons = Field(description="usable fuel")
    unusable_us_gal: Gallons | None = Field(None, description="unusable fuel; capacity less usable if not given")
    station: Name | None = Field(None, description="weight-and-balance station its fuel is loaded at")

    @model_validator(mode="before")
    @classmethod
    def _whole(cls, data: Any) -> Any:
        if (
            not isinstance(data, dict)
            or "capacity_us_gal" in data
            or not isinstance(data.get("usable_us_gal"), int | float)
        ):
            return data
        rest = data.get("unusable_us_gal")
        return {**data, "capacity_us_gal": data["usable_us_gal"] + (rest if isinstance(rest, int | float) else 0.0)}


class SelectorEntry(Table):
    """One position of the fuel selector and the tanks it feeds from."""

    name: Name = Field(description="position as marked")
    feeds: list[Name] = Field(description="names of the tanks it feeds from; empty for off")


class Fuel(Table):
    """`[fuel]`: tanks, selector, and how the fuel is to be used."""

    tanks: list[TankEntry] = Field(min_length=1, description="one row per tank")
    selector_positions: list[Name | SelectorEntry] = Field(
        default_factory=list,
        description="positions as marked; { name, feeds } where the name alone doesn't say which tanks",
    )
    switching_interval_min: Annotated[float, Field(gt=0, le=240)] | None = Field(
        None, description="change tanks after this time"
    )
    imbalance_limit_us_gal: Annotated[float, Field(gt=0, le=200)] | None = Field(
        None, description="largest difference between the tanks"
    )
    takeoff_and_landing_position: Text = Field(
        "", description='selector for takeoff and landing: "both", "fullest tank"'
    )
    boost_pump: Text = Field("", description="boost-pump procedure in the handbook's words; empty if there is none")
    notes: Text = Field("", description="placards and habits")

    @field_validator("selector_positions", mode="before")
    @classmethod
    def _bare(cls, value: Any) -> Any:
        """A position without its tanks is a bare name."""
        rows = value if isinstance(value, list) else []
        return [row["name"] if isinstance(row, dict) and set(row) == {"name"} else row for row in rows] or value

    @field_validator("selector_positions")
    @classmethod
    def _distinct(cls, value: list[str | SelectorEntry]) -> list[str | SelectorEntry]:
        names = [v if isinstance(v, str) else v.name for v in value]
        if len(set(names)) < len(names):
            raise ValueError(f"a selector position is named twice: {', '.join(names)}")
        return value

    @model_validator(mode="after")
    def _known_tanks(self) -> Fuel:
        names = [tank.name for tank in self.tanks]
        if len(set(names)) < len(names):
            raise ValueError(f"two tanks have the same name: {', '.join(names)}")
        for position in self.selector_positions:
            for tank in position.feeds if isinstance(position, SelectorEntry) else ():
                if tank not in names:
                    raise ValueError(f"a selector position feeds from {tank!r}; the tanks are {', '.join(names)}")
        return self


class NotchEntry(Table):
    """One flap position."""

    notch: Notch = Field(description="0 for up, then 1, 2, 3 ...")
    deflection_deg: Degrees | None = Field(None, description="flap angle")
    name: Name | None = Field(None, description="name on the lever, if it has one")
    maximum_speed_kias: SpeedKt | None = Field(None, description="maximum speed with this notch, kt")
    maximum_speed_kcas: SpeedKt | None = Field(None, description="the same, kt calibrated")


class Flaps(Table):
    """`[flaps]`: how they are moved and each notch."""

    operation: Text = Field("", description="how they are moved")
    notches: list[NotchEntry] = Field(min_length=1, description="one row per position, flaps up first")

    @field_validator("notches")
    @classmethod
    def _numbered(cls, value: list[NotchEntry]) -> list[NotchEntry]:
        found = [n.notch for n in value]
        if found != list(range(len(value))):
            raise ValueError(f"notches must be numbered 0, 1, 2 ... in order, found {found}")
        return value
