"""The question: which air, weight and setting; and the day worked out from it. SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from airwork import units
from airwork.airdata.altimetry import pressure_altitude_from_setting_m
from airwork.airdata.atmosphere import P0_PA, density_altitude_m, standard_air, standard_temperature_k
from airwork.airplane.airplane import Airplane
from airwork.airplane.loading import Loading, loading
from airwork.airplane.numbers.lines import Line, written
from airwork.errors import InputError, NotPossible
from airwork.values import How, Value


@dataclass(frozen=True, slots=True)
class Field:
    """The airfield for takeoff and landing. Wind along and across the runway; slope positive uphill."""

    elevation_m: float = 0.0
    temperature_k: float | None = None  # None: from the temperature at altitude, standard lapse
    length_m: float | None = None
    headwind_mps: float = 0.0
    crosswind_mps: float = 0.0  # positive from the right
    surface: str = "paved_dry"
    slope: float = 0.0
    factor: float | None = None  # None: the usual ones


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked. None: not given, then assumed (and shown as assumed) or left out."""

    altitude_m: float | None = None  # indicated
    setting_pa: float | None = None
    temperature_k: float | None = None
    dewpoint_k: float | None = None
    mass_kg: float | None = None
    rpm: float | None = None
    manifold_pressure_pa: float | None = None
    power_ratio: float | None = None
    flap_notch: int | None = None
    bank_rad: float | None = None
    ias_mps: float | None = None  # speed of the turn
    station_mass_kg: Mapping[str, float] = field(default_factory=dict)
    tank_m3: Mapping[str, float] = field(default_factory=dict)
    field: Field | None = None

    @property
    def loaded(self) -> bool:
        """Was a loading given?"""
        return bool(self.station_mass_kg or self.tank_m3)


@dataclass(slots=True)
class Today:
    """The airplane in today's air, everything settled. `cautions` grows as the sections are made."""

    airplane: Airplane
    question: Question
    altitude_m: float
    setting_pa: float
    temperature_k: float
    mass_kg: float
    pressure_altitude_m: float
    loading: Loading | None
    cautions: list[str]

    @classmethod
    def of(cls, airplane: Airplane, q: Question) -> Today:
        """Settle what is assumed and work out pressure altitude and weight."""
        on_field = q.field is not None and q.altitude_m is None
        altitude = q.field.elevation_m if q.field is not None and on_field else q.altitude_m or 0.0
        setting = q.setting_pa if q.setting_pa is not None else P0_PA
        if not 85_000 <= setting <= 109_000:
            what = f"{units.write(setting, 'inHg', 2)} is no altimeter setting; 25.1 to 32.2 inHg can be."
            raise InputError(what, where="altimeter")
        if not -600.0 <= altitude <= 9000.0:
            raise InputError(f"{units.write(altitude, 'ft')} is no altitude for this airplane.", where="altitude")
        pressure_altitude = float(pressure_altitude_from_setting_m(altitude, setting))
        standard = float(standard_temperature_k(pressure_altitude))
        temperature = q.temperature_k if q.temperature_k is not None else standard
        if q.temperature_k is None and q.field is not None and on_field and q.field.temperature_k is not None:
            temperature = q.field.temperature_k
        if not 213.0 <= temperature <= 333.0:
            raise InputError(f"{units.write(temperature, '°C')} is no air temperature; °F typed as °C?", where="oat")
        if q.dewpoint_k is not None and q.dewpoint_k > temperature + 0.01:
            what = f"{units.write(q.dewpoint_k, '°C')} is above the temperature, {units.write(temperature, '°C')}."
            raise InputError(what, where="dewpoint")
        loaded = loading(airplane, q.station_mass_kg, q.tank_m3) if q.loaded else None
        if loaded is not None and q.mass_kg is not None:
            raise InputError("give either the weight or a loading, not both.", where="weight")
        mass = loaded.mass_kg if loaded is not None else q.mass_kg
        today = cls(
            airplane, q, altitude, setting, temperature,
            airplane.max_takeoff_mass_kg if mass is None else mass, pressure_altitude, loaded, [],
        )  # fmt: skip
        today._look_over()
        return today

    def _look_over(self) -> None:
        a, q = self.airplane, self.question
        if not 0.25 * a.max_takeoff_mass_kg <= self.mass_kg <= 2.0 * a.max_takeoff_mass_kg:
            top = units.write(a.max_takeoff_mass_kg, a.book.mass)
            raise InputError(
                f"{units.write(self.mass_kg, a.book.mass)}; the maximum takeoff weight is {top}.", where="weight"
            )
        if a.file.weight_and_balance is not None and self.mass_kg < a.empty_mass_kg - 0.05:
            here, empty = units.write(self.mass_kg, a.book.mass), units.write(a.empty_mass_kg, a.book.mass)
            what = f"{here} is below the empty weight, {empty}."
            raise InputError(what, where="weight")
        if self.mass_kg > a.max_takeoff_mass_kg + 0.03:
            over = units.write(self.mass_kg - a.max_takeoff_mass_kg, a.book.mass)
            self.cautions.append(f"{over} over the maximum takeoff weight: not to be flown.")
        if a.limits.max_altitude_m is not None and self.altitude_m > a.limits.max_altitude_m:
            self.cautions.append(f"above the maximum operating altitude, {units.write(a.limits.max_altitude_m, 'ft')}.")
        if q.flap_notch is not None and not 0 <= q.flap_notch <= a.flaps_full:
            raise InputError(f"notch {q.flap_notch}; the notches are 0 (up) to {a.flaps_full}.", where="flaps")
        if q.rpm is not None and not 0 < q.rpm <= 6500:
            raise InputError(f"{q.rpm:,.6g} RPM is no engine speed.", where="rpm")
        if q.rpm is not None and a.limits.max_rpm is not None and q.rpm > a.limits.max_rpm:
            self.cautions.append(f"{q.rpm:,.0f} RPM is above the maximum {a.limits.max_rpm:,.0f} RPM.")
        if q.bank_rad is not None and not 0 <= q.bank_rad < units.from_unit(85, "deg"):
            raise InputError(f"{units.write(q.bank_rad, 'deg')} of bank; 0° to 85° can be answered.", where="bank")
        if q.power_ratio is not None and not 0.0 < q.power_ratio <= 1.0:
            raise InputError(f"{100 * q.power_ratio:.0f} % of rated power; give 1 % to 100 %.", where="power")
        if q.manifold_pressure_pa is not None and a.fixed_pitch:
            raise InputError(f"{a.name} has a fixed-pitch propeller; give the RPM alone.", where="mp")

    @property
    def density_altitude_m(self) -> float:
        """Dry, as the handbook's charts mean it. [m]"""
        return self.airplane.density_altitude_m(self.pressure_altitude_m, self.temperature_k)

    @property
    def humid_density_altitude_m(self) -> float | None:
        """With the dew point, where one is given. [m]"""
        if self.question.dewpoint_k is None:
            return None
        pressure = standard_air(self.pressure_altitude_m).pressure_pa
        return float(density_altitude_m(pressure, self.temperature_k, self.question.dewpoint_k))

    @property
    def isa_deviation_k(self) -> float:
        """Temperature less standard. [K]"""
        return self.temperature_k - float(standard_temperature_k(self.pressure_altitude_m))

    def need(self, condition: bool, why: str) -> None:
        """Raise NotPossible unless the condition holds."""
        if not condition:
            raise NotPossible(why)

    def conditions(self) -> tuple[Line, ...]:
        """The question as lines: what was given, what was assumed."""
        q, a = self.question, self.airplane

        def line(key: str, name: str, si: float, unit: str, digits: int, given: bool, source: str = "") -> Line:
            how: How = "given" if given else "assumed"
            value = Value(round(units.to_unit(si, unit), 6), unit, how, source or ("asked" if given else "not given"))
            return Line(key, name, written(value, digits), value)

        weight_source = (
            "loading" if self.loading is not None else ("" if q.mass_kg is not None else "maximum takeoff weight")
        )
        out = [
            line("altitude", "altitude", self.altitude_m, "ft", 0, q.altitude_m is not None),
            line("altimeter", "altimeter", self.setting_pa, "inHg", 2, q.setting_pa is not None),
            line("oat", "temperature", self.temperature_k, "°C", 0, q.temperature_k is not None),
            line(
                "weight",
                "weight",
                self.mass_kg,
                self.airplane.book.mass,
                0,
                q.mass_kg is not None or self.loading is not None,
                weight_source,
            ),
        ]
        if q.dewpoint_k is not None:
            out.append(line("dewpoint", "dew point", q.dewpoint_k, "°C", 0, True))
        if q.flap_notch is not None:
            out.append(
                Line(
                    "flaps",
                    "flaps",
                    f"notch {q.flap_notch} of {a.flaps_full}",
                    Value(q.flap_notch, "", "given", "asked"),
                )
            )
        return tuple(out)

    def assumptions(self) -> tuple[str, ...]:
        """What was not given and what was taken instead."""
        q = self.question
        out = []
        at_field = q.altitude_m is None and q.field is not None
        if q.altitude_m is None:
            out.append(f"altitude not given: {'the field' if at_field else 'sea level'} taken")
        if q.setting_pa is None:
            out.append("altimeter setting not given: 29.92 inHg (1013 hPa) taken")
        if q.temperature_k is None:
            known = at_field and q.field is not None and q.field.temperature_k is not None
            out.append(f"temperature not given: {'that of the field' if known else 'standard'} taken")
        if q.mass_kg is None and self.loading is None:
            out.append("weight not given: the maximum takeoff weight taken")
        return tuple(out)
