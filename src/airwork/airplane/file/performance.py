"""Performance tables of an airplane file. Every table may be missing; a missing column means "not published"."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, PrivateAttr, model_validator

from airwork import units
from airwork.airplane.file.base import (
    AltitudeFt,
    Degrees,
    DeviationC,
    Feet,
    Gallons,
    Gph,
    InHg,
    Notch,
    PercentPower,
    Rpm,
    SpeedKt,
    SpeedRow,
    Table,
    TemperatureC,
    Text,
    WeightLb,
    with_temperature,
)


class StallRow(SpeedRow):
    """A stall speed, power idle."""

    weight_lb: WeightLb
    flap_notch: Notch
    bank_deg: Degrees = Field(0, description="bank; 0 if not given")


class StallTable(Table):
    """`[performance.stall]`."""

    conditions: Text = Field("", description="conditions of the table")
    rows: list[StallRow] = Field(min_length=1)


class PowerRow(Table):
    """Percent power at an RPM: by density altitude (fixed pitch) or pressure altitude and manifold pressure."""

    density_altitude_ft: AltitudeFt | None = None
    pressure_altitude_ft: AltitudeFt | None = None
    rpm: Rpm = Field(title="engine speed")
    manifold_pressure_inhg: InHg | None = None
    percent_power: PercentPower
    ktas: SpeedKt | None = Field(None, title="true airspeed")

    @model_validator(mode="after")
    def _one_altitude(self) -> PowerRow:
        if (self.density_altitude_ft is None) == (self.pressure_altitude_ft is None):
            raise ValueError("give either density_altitude_ft or pressure_altitude_ft")
        return self


class PowerTemperature(Table):
    """How percent power changes off standard temperature."""

    percent_power: float = Field(description="change of percent power, e.g. -1")
    per_c: Annotated[float, Field(gt=0)] = Field(description="for each this many °C above standard")


class RpmRow(Table):
    """The RPM that gives a percent power, level (fixed pitch)."""

    density_altitude_ft: AltitudeFt
    percent_power: PercentPower
    rpm: Rpm = Field(title="engine speed")
    ktas: SpeedKt | None = Field(None, title="true airspeed")


class PowerChart(Table):
    """`[performance.power_chart]`."""

    conditions: Text = Field("", description="conditions of the table")
    weight_lb: WeightLb | None = Field(None, description="weight the table is for")
    temperature_correction: PowerTemperature | None = Field(None, description="change off standard temperature")
    rows: list[PowerRow] = Field(min_length=1)
    rpm_for_percent_power: list[RpmRow] = Field(
        default_factory=list, description="the chart the other way round (fixed pitch)"
    )

    @model_validator(mode="after")
    def _one_kind(self) -> PowerChart:
        kinds = {(r.density_altitude_ft is None, r.manifold_pressure_inhg is None) for r in self.rows}
        if len(kinds) > 1:
            raise ValueError("rows mix density and pressure altitude, or some lack manifold_pressure_inhg")
        return self


class CruiseRow(Table):
    """Level cruise at a power setting."""

    pressure_altitude_ft: AltitudeFt
    isa_deviation_c: DeviationC = Field(0, title="ISA deviation", description="temperature less standard")
    rpm: Rpm | None = Field(None, title="engine speed", description="none where one lever sets percent power alone")
    manifold_pressure_inhg: InHg | None = None
    percent_power: PercentPower | None = Field(
        None, description="percent of rated power; where the book prints none, its fuel flow stands for it"
    )
    ktas: SpeedKt | None = Field(None, title="true airspeed")
    gph_best_power: Gph | None = None
    gph_best_economy: Gph | None = None
    gph_full_rich: Gph | None = None

    @model_validator(mode="after")
    def _something(self) -> CruiseRow:
        flows = (self.gph_best_power, self.gph_best_economy, self.gph_full_rich)
        if all(x is None for x in (self.percent_power, self.ktas, *flows)):
            raise ValueError("give what the book prints there: percent_power, a true airspeed or a fuel flow")
        if self.rpm is None and self.percent_power is None:
            raise ValueError("give rpm, or percent_power where one lever sets that alone")
        return self


class CruiseTable(Table):
    """`[performance.cruise]`."""

    conditions: Text = ""
    weight_lb: WeightLb | None = None
    rows: list[CruiseRow] = Field(min_length=1)


class ClimbRow(Table):
    """Rate of climb, full throttle."""

    weight_lb: WeightLb
    pressure_altitude_ft: AltitudeFt
    oat_c: TemperatureC = Field(title="outside air temperature")
    isa_deviation_c: DeviationC | None = Field(
        None,
        title="ISA deviation",
        description="temperature less standard, instead of the temperature, where the book prints it",
    )
    climb_speed_kias: SpeedKt | None = None
    rate_of_climb_fpm: Annotated[float, Field(ge=-2000, le=6000)]

    _temperature = model_validator(mode="before")(with_temperature)


class ClimbRule(Table):
    """How the rate of climb changes above the printed temperature: in percent or by so much."""

    change_percent: Annotated[float, Field(ge=-100, le=0)] | None = Field(None, description="in percent, e.g. -10")
    change_fpm: Annotated[float, Field(ge=-1000, le=0)] | None = Field(None, description="by so much, e.g. -15")
    per_c: Annotated[float, Field(gt=0)] = Field(description="for each this many °C above the printed temperature")

    @model_validator(mode="after")
    def _one(self) -> ClimbRule:
        if (self.change_percent is None) == (self.change_fpm is None):
            raise ValueError("give either change_percent or change_fpm")
        return self


class ClimbTable(Table):
    """`[performance.climb]`."""

    conditions: Text = ""
    temperature_correction: ClimbRule | None = Field(
        None, description="the book's rule for warmer air, where it prints one temperature at each altitude"
    )
    rows: list[ClimbRow] = Field(min_length=1)


TO_CLIMB = ("time_min", "fuel_us_gal", "distance_nm")


class ToClimbRow(Table):
    """Time, fuel and distance from the surface of the standard atmosphere."""

    pressure_altitude_ft: AltitudeFt
    time_min: Annotated[float, Field(ge=0, le=300)] | None = None
    fuel_us_gal: Gallons | None = None
    distance_nm: Annotated[float, Field(ge=0, le=500)] | None = None


class ClimbTemperature(Table):
    """How time, fuel and distance to climb grow above standard temperature, e.g. 10 percent for each 7 °C."""

    increase_percent: Annotated[float, Field(ge=0, le=100)] = Field(description="increase in percent")
    per_c: Annotated[float, Field(gt=0)] = Field(description="for each this many °C above standard")


class ToClimbTable(Table):
    """`[performance.time_fuel_distance_to_climb]`."""

    conditions: Text = ""
    weight_lb: WeightLb | None = None
    start_taxi_takeoff_us_gal: Gallons | None = Field(None, description="fuel for start, taxi and takeoff")
    temperature_correction: ClimbTemperature | None = Field(None, description="increase above standard temperature")
    rows: list[ToClimbRow] = Field(min_length=1)

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns every row prints."""
        return tuple(k for k in TO_CLIMB if all(getattr(r, k) is not None for r in self.rows))

    @model_validator(mode="after")
    def _some(self) -> ToClimbTable:
        if not self.columns:
            raise ValueError(f"every row needs what the book prints of {', '.join(TO_CLIMB)}")
        return self


class DistanceRow(Table):
    """Ground roll and total over 50 ft."""

    weight_lb: WeightLb
    pressure_altitude_ft: AltitudeFt
    oat_c: TemperatureC = Field(title="outside air temperature")
    isa_deviation_c: DeviationC | None = Field(
        None,
        title="ISA deviation",
        description="temperature less standard, instead of the temperature, where the book prints it",
    )
    ground_roll_ft: Feet
    total_over_50_ft: Feet | None = Field(None, title="total over the obstacle")
    headwind_kt: Annotated[float, Field(ge=0, le=60)] | None = Field(
        None, description="headwind, in a book that prints a column for each wind; calm if not given"
    )

    _temperature = model_validator(mode="before")(with_temperature)


Cause = Literal[
    "headwind", "tailwind", "dry_grass", "wet_grass", "soft_ground", "snow", "wet_paved", "upslope", "downslope",
    "humidity", "no_wheel_fairings", "above_standard_temperature",
]  # fmt: skip


class Correction(Table):
    """One correction: `change_percent` for every `per` `unit`, or once when there is no `per`.

    `above_standard_temperature` (per so many C or F) belongs to a table of one temperature at each altitude.
    """

    cause: Cause = Field(title="what changes it")
    change_percent: Annotated[float, Field(ge=-90, le=300)] = Field(title="change", description="negative shortens")
    per: Annotated[float, Field(gt=0)] | None = Field(None, description="for every this many units")
    unit: Literal["kt", "mph", "km/h", "m/s", "percent", "C", "F"] | None = None
    maximum: Annotated[float, Field(gt=0)] | None = Field(None, description="not good for more than this")
    applies_to: Literal["ground_roll", "total", "share_of_total"] = Field(
        "total",
        description="total: both distances; ground_roll: the roll, the same feet added to the total; share_of_total: "
        "so many percent of the total added to both",
    )

    def factor(self, amount: float) -> float:
        """What a distance is multiplied with for so much of the cause, in the rule's unit. [1]"""
        return 1.0 + self.change_percent / 100.0 * (amount / self.per if self.per else 1.0)

    @model_validator(mode="after")
    def _unit(self) -> Correction:
        if (self.per is None) != (self.unit is None):
            raise ValueError("per and unit go together")
        if (self.cause == "above_standard_temperature") != (self.unit in {"C", "F"}):
            raise ValueError('above_standard_temperature, and nothing else, is per so many degrees: unit = "C" or "F"')
        return self


class DistanceTable(Table):
    """`[performance.takeoff]` and `[performance.landing]`."""

    conditions: Text = ""
    flap_notch: Notch | None = None
    liftoff_kias: SpeedKt | None = None
    speed_at_50_ft_kias: SpeedKt | None = None
    approach_kias: SpeedKt | None = None
    rows: list[DistanceRow] = Field(min_length=1)
    wind_rows: list[DistanceRow] = Field(default_factory=list, description="rows at a headwind, sorted out of `rows`")
    corrections: list[Correction] = Field(default_factory=list)
    not_printed: list[Cause] = Field(default_factory=list, description="corrections the book is known not to print")

    _numbers: tuple[int, ...] = PrivateAttr(())

    def number_of(self, row: int) -> int:
        """Which row of the file a row of `rows` is, counted from 0: those at a headwind are sorted out."""
        return self._numbers[row] if row < len(self._numbers) else row

    @model_validator(mode="after")
    def _by_wind(self) -> DistanceTable:
        windy = [r for r in (*self.rows, *self.wind_rows) if r.headwind_kt]
        if not windy:
            return self
        if any(c.cause == "headwind" for c in self.corrections):
            raise ValueError("rows at a headwind need no headwind correction")
        calm = [r for r in self.rows if not r.headwind_kt]
        there = {(r.weight_lb, r.pressure_altitude_ft, r.oat_c) for r in calm}
        if alone := [r for r in windy if (r.weight_lb, r.pressure_altitude_ft, r.oat_c) not in there]:
            raise ValueError(
                f"{len(alone)} rows at a headwind have no calm row of the same weight, altitude, temperature"
            )
        object.__setattr__(self, "_numbers", tuple(i for i, r in enumerate(self.rows) if not r.headwind_kt))
        object.__setattr__(self, "rows", calm)  # what is calm is the table; the wind's share is read beside it
        object.__setattr__(self, "wind_rows", windy)
        return self

    @model_validator(mode="after")
    def _one_temperature(self) -> DistanceTable:
        if any(c.cause == "above_standard_temperature" for c in self.corrections):
            columns = {(r.weight_lb, r.pressure_altitude_ft, r.oat_c) for r in self.rows}
            if len({(w, h) for w, h, _ in columns}) < len(columns):
                raise ValueError("rows of several temperatures at an altitude need no above_standard_temperature")
        return self


class GlideRow(Table):
    """Power-off glide."""

    weight_lb: WeightLb | None = None
    best_glide_kias: SpeedKt | None = None
    best_glide_kcas: SpeedKt | None = None
    glide_ratio: Annotated[float, Field(gt=2, le=60)] | None = Field(
        None, title="glide ratio", description="distance over height"
    )
    nm_per_1000_ft: Annotated[float, Field(gt=0.3, le=10)] | None = Field(None, title="NM for 1,000 ft")

    @model_validator(mode="after")
    def _how_far(self) -> GlideRow:
        if self.glide_ratio is None and self.nm_per_1000_ft is None:
            raise ValueError("give glide_ratio or nm_per_1000_ft")
        return self

    @property
    def ratio(self) -> float:
        """Distance over height, however it is printed. [1]"""
        return self.glide_ratio or (self.nm_per_1000_ft or 0.0) * units.NM_M / (1000.0 * units.FT_M)


class GlideTable(Table):
    """`[performance.glide]`."""

    conditions: Text = ""
    rows: list[GlideRow] = Field(min_length=1)


class PerformanceTables(Table):
    """`[performance]`: every table may be missing."""

    stall: StallTable | None = Field(default=None, title="stall speeds")
    power_chart: PowerChart | None = Field(default=None, title="percent power")
    cruise: CruiseTable | None = None
    climb: ClimbTable | None = Field(default=None, title="rate of climb")
    time_fuel_distance_to_climb: ToClimbTable | None = Field(default=None, title="time, fuel and distance to climb")
    takeoff: DistanceTable | None = Field(default=None, title="takeoff distance")
    landing: DistanceTable | None = Field(default=None, title="landing distance")
    glide: GlideTable | None = None
