"""Airspeed calibration, V-speeds and limitations of an airplane file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from airwork.airplane.file.base import (
    AltitudeFt,
    Feet,
    LoadFactors,
    Name,
    Range,
    Rpm,
    SpeedKt,
    SpeedRow,
    Table,
    Text,
    WeightLb,
)

# Names `v_speeds` rows usually carry; other names are kept and shown, `airplane check` asks about near misses.
KNOWN_SPEEDS = (
    "stall_flaps_full", "stall_flaps_up", "rotation", "liftoff", "best_angle_of_climb", "best_rate_of_climb",
    "cruise_climb", "maneuvering", "best_glide", "minimum_sink", "approach_flaps_up", "approach_flaps_full",
    "short_field_approach", "soft_field_approach", "short_field_takeoff", "balked_landing", "turbulence_penetration",
)  # fmt: skip

SYMBOLS = {
    "vs": "stall_flaps_up", "vs1": "stall_flaps_up", "vs0": "stall_flaps_full", "vso": "stall_flaps_full",
    "vx": "best_angle_of_climb", "vy": "best_rate_of_climb", "va": "maneuvering", "vr": "rotation", "vg": "best_glide",
    "vref": "approach_flaps_full",
}  # fmt: skip


class CalibrationRow(Table):
    """Indicated and calibrated airspeed, kt."""

    kias: Annotated[float, Field(ge=0, le=400)]
    kcas: Annotated[float, Field(ge=0, le=400)]


class CalibrationTable(Table):
    """One configuration's calibration."""

    rows: list[CalibrationRow] = Field(min_length=2, description="indicated to calibrated")


class Calibration(Table):
    """`[airspeed_calibration.flaps_up]`, `.flaps_down` (any flaps), or by notch: `.notch_1`, `.notch_2`, ..."""

    flaps_up: CalibrationTable | None = Field(None, description="flaps up")
    flaps_down: CalibrationTable | None = Field(None, description="any flaps")
    notch_1: CalibrationTable | None = Field(None, description="flap notch 1")
    notch_2: CalibrationTable | None = Field(None, description="flap notch 2")
    notch_3: CalibrationTable | None = Field(None, description="flap notch 3")
    notch_4: CalibrationTable | None = Field(None, description="flap notch 4")


class VSpeedRow(SpeedRow):
    """One speed at one weight (and density altitude, where it depends on it)."""

    name: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{1,59}$")] = Field(
        description="which speed", examples=list(KNOWN_SPEEDS)
    )
    weight_lb: WeightLb | None = Field(None, description="weight it is for; maximum takeoff weight if not given")
    density_altitude_ft: AltitudeFt | None = Field(None, description="density altitude it is for, if it depends on it")
    flap_notch: Annotated[int, Field(ge=0, le=9)] | None = Field(None, description="flap notch it is for")
    note: Text = Field("", description="what else it depends on")


class VSpeeds(Table):
    """`[v_speeds]`."""

    rows: list[VSpeedRow] = Field(description="one row per speed and weight")


class Limitations(Table):
    """`[limitations]`."""

    never_exceed_kias: SpeedKt | None = Field(None, description="never-exceed speed, kt indicated")
    never_exceed_kcas: SpeedKt | None = Field(None, description="never-exceed speed, kt calibrated")
    maximum_structural_cruise_kias: SpeedKt | None = Field(None, description="maximum structural cruising speed, kt")
    maximum_structural_cruise_kcas: SpeedKt | None = Field(None, description="the same, kt calibrated")
    maximum_flaps_extended_kias: SpeedKt | None = Field(None, description="maximum flap-extended speed, kt")
    maximum_flaps_extended_kcas: SpeedKt | None = Field(None, description="the same, kt calibrated")
    white_arc_kias: Range | None = Field(None, description="white arc [low, high], kt")
    green_arc_kias: Range | None = Field(None, description="green arc [low, high], kt")
    yellow_arc_kias: Range | None = Field(None, description="yellow arc [low, high], kt")
    maximum_rpm: Rpm | None = Field(None, title="maximum RPM", description="red line")
    load_factor_flaps_up_g: LoadFactors | None = Field(None, description="limit load factors, flaps up")
    load_factor_flaps_down_g: LoadFactors | None = Field(None, description="limit load factors, flaps down")
    load_factor_utility_g: LoadFactors | None = Field(None, description="limit load factors, utility category")
    load_factor_acrobatic_g: LoadFactors | None = Field(None, description="limit load factors, acrobatic category")
    maximum_demonstrated_crosswind_kt: Annotated[float, Field(ge=0, le=60)] | None = Field(
        None, description="maximum demonstrated crosswind"
    )
    maximum_operating_altitude_ft: Feet | Annotated[float, Field(gt=0, le=60_000)] | None = Field(
        None, description="maximum operating altitude"
    )
    prohibited: list[Text] = Field(default_factory=list, description="what is prohibited, in the handbook's words")


class ManeuverPermission(Table):
    """One maneuver the handbook speaks about."""

    name: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{1,59}$")] = Field(
        description="steep_turns, chandelles, lazy_eights, steep_spirals, stalls, spins ..."
    )
    permitted_in: list[Name] = Field(description="categories it is permitted in; empty: prohibited")
    maximum_entry_kias: SpeedKt | None = Field(None, description="recommended or maximum entry speed, kt")
    maximum_bank_deg: Annotated[float, Field(gt=0, le=90)] | None = Field(None, description="bank not to be exceeded")
    note: Text = Field("", description="conditions in the handbook's words")
