"""An airplane as the rest of airwork asks it: SI answers from its file's tables, limits, tanks and speeds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane import speeds
from airwork.airplane.answer import Answer, table
from airwork.airplane.calibration import CalibrationCurve, calibrations
from airwork.airplane.engine import EngineTables, Mixture, dry_density_altitude_m
from airwork.airplane.file.identity import SelectorEntry
from airwork.airplane.file.model import AirplaneFile, ObservationRow
from airwork.airplane.file.speeds import ManeuverPermission
from airwork.airplane.tables import Axis, GridTable
from airwork.errors import NotPossible, OutOfRange

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FlapNotch:
    """One flap position."""

    notch: int
    deflection_deg: float | None
    max_ias_mps: float | None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Tank:
    """One tank."""

    name: str
    capacity_m3: float
    usable_m3: float
    unusable_m3: float


@dataclass(frozen=True, slots=True)
class SelectorPosition:
    """One position of the fuel selector and the tanks it feeds from; `feeds` is None where the file doesn't say."""

    name: str
    feeds: tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Limits:
    """The airplane's limitations; None where the file doesn't say. Load factors are (negative, positive)."""

    never_exceed_ias_mps: float | None
    max_structural_cruise_ias_mps: float | None
    max_flaps_extended_ias_mps: float | None
    load_factor_flaps_up: tuple[float, float]
    load_factor_flaps_down: tuple[float, float]
    load_factor_by_category: Mapping[str, tuple[float, float]]
    max_crosswind_mps: float | None
    max_rpm: float | None
    max_altitude_m: float | None


@dataclass(frozen=True, slots=True)
class Observation:
    """A reading noted in flight, SI. `climb_rate_mps` is negative in a glide; rpm in rev/min."""

    kind: str
    mass_kg: float
    pressure_altitude_m: float
    temperature_k: float
    flap_notch: int
    ias_mps: float
    cas_mps: float
    rpm: float | None
    manifold_pressure_pa: float | None
    climb_rate_mps: float | None
    note: str = ""


# Limit load factors of the normal category, where a file gives none (14 CFR part 23 as it long stood; from memory).
NORMAL_LOAD_FACTORS = (-1.52, 3.8)
FLAPS_DOWN_LOAD_FACTORS = (0.0, 2.0)


class Airplane:
    """An airplane made from a validated file. Immutable; two are equal when their files are.

    Methods that answer one number return a float in the unit of their name and raise `OutOfRange` or `NotPossible`;
    the `…_answer` twins return an `Answer`, which says how the number was had. Calibration and stall take arrays, and
    give NaN outside.
    """

    def __init__(self, file: AirplaneFile) -> None:
        self.file = file
        self.engine = EngineTables(file)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Airplane) and other.file == self.file

    def __hash__(self) -> int:
        return hash((self.id, self.name))

    def __repr__(self) -> str:
        return f"Airplane({self.id!r})"

    # --- identity ---

    @property
    def id(self) -> str:
        """Short name."""
        return self.file.airplane.id

    @property
    def name(self) -> str:
        """Name as people say it."""
        return self.file.airplane.name

    @property
    def dial_unit(self) -> str:
        """Unit of the airspeed indicator: "kt" or "mph"."""
        return self.file.airplane.airspeed_indicator_unit

    @property
    def other_unit(self) -> str:
        """The unit the airspeed indicator is not read in."""
        return "kt" if self.dial_unit == "mph" else "mph"

    @property
    def categories(self) -> tuple[str, ...]:
        """Categories it may be flown in."""
        return tuple(self.file.airplane.category)

    def with_dial(self, unit: str) -> Airplane:
        """The same airplane with its airspeed indicator read in the other unit."""
        if unit == self.dial_unit:
            return self
        identity = self.file.airplane.model_copy(update={"airspeed_indicator_unit": unit})
        return Airplane(self.file.model_copy(update={"airplane": identity}))

    # --- masses, wing, propeller, engine ---

    @property
    def max_takeoff_mass_kg(self) -> float:
        """Maximum takeoff mass. [kg]"""
        return units.from_unit(self.file.airplane.maximum_takeoff_weight_lb, "lb")

    @property
    def max_landing_mass_kg(self) -> float:
        """Maximum landing mass; the takeoff mass where the file gives none. [kg]"""
        a = self.file.airplane
        return units.from_unit(a.maximum_landing_weight_lb or a.maximum_takeoff_weight_lb, "lb")

    @property
    def handbook_mass_kg(self) -> float:
        """Mass the cruise and power tables are for. [kg]"""
        a = self.file.airplane
        return units.from_unit(a.handbook_weight_lb or a.maximum_takeoff_weight_lb, "lb")

    @property
    def empty_mass_kg(self) -> float:
        """Empty mass. [kg]"""
        if self.file.weight_and_balance is None:
            raise NotPossible("The airplane file has no [weight_and_balance]; the empty weight is not known.")
        return units.from_unit(self.file.weight_and_balance.empty_weight_lb, "lb")

    def _needed(self, number: float | None, key: str) -> float:
        if number is None:
            raise NotPossible(f"The airplane file of {self.name} has no {key}, which is needed here.")
        return number

    @property
    def wing_area_m2(self) -> float:
        """Wing area. [m²]"""
        return self._needed(self.file.airplane.wing_area_ft2, "wing_area_ft2") * units.FT_M**2

    @property
    def wing_span_m(self) -> float:
        """Wing span. [m]"""
        return self._needed(self.file.airplane.wing_span_ft, "wing_span_ft") * units.FT_M

    @property
    def propeller_diameter_m(self) -> float:
        """Propeller diameter. [m]"""
        return self._needed(self.file.propeller.diameter_in, "diameter_in in [propeller]") * units.IN_M

    @property
    def fixed_pitch(self) -> bool:
        """Is the propeller of fixed pitch?"""
        return self.file.propeller.type == "fixed_pitch"

    @property
    def rated_power_w(self) -> float:
        """Rated power; percent power is of this. [W]"""
        return units.from_unit(self.file.engine.rated_power_hp, "hp")

    @property
    def rated_rpm(self) -> float:
        """RPM of rated power. [rev/min]"""
        return self.file.engine.rated_rpm

    # --- flaps, fuel ---

    @cached_property
    def flap_notches(self) -> tuple[FlapNotch, ...]:
        """Flap positions, up first."""
        return tuple(
            FlapNotch(
                n.notch,
                n.deflection_deg,
                _speed(n.maximum_speed_kias, n.maximum_speed_indicated_mph, self.dial_unit),
                n.name or "",
            )
            for n in self.file.flaps.notches
        )

    @property
    def flaps_full(self) -> int:
        """Number of the last notch."""
        return len(self.file.flaps.notches) - 1

    @cached_property
    def tanks(self) -> tuple[Tank, ...]:
        """Tanks in the file's order; empty where the file has no [fuel]."""
        gal = units.USGAL_M3
        return tuple(
            Tank(
                t.name,
                t.capacity_us_gal * gal,
                t.usable_us_gal * gal,
                (t.capacity_us_gal - t.usable_us_gal if t.unusable_us_gal is None else t.unusable_us_gal) * gal,
            )
            for t in (self.file.fuel.tanks if self.file.fuel else [])
        )

    @cached_property
    def selector_positions(self) -> tuple[SelectorPosition, ...]:
        """Selector positions with the tanks each feeds from.

        A bare name is understood where it can't be mistaken: "off"; "both", "on", "all" (every tank); or the first word
        of a tank's name.
        """
        if self.file.fuel is None:
            return ()
        names = tuple(t.name for t in self.file.fuel.tanks)
        out = []
        for entry in self.file.fuel.selector_positions:
            if isinstance(entry, SelectorEntry):
                out.append(SelectorPosition(entry.name, tuple(entry.feeds)))
            else:
                out.append(SelectorPosition(entry, _feeds(entry, names)))
        return tuple(out)

    @property
    def fuel_density_kgpm3(self) -> float:
        """Fuel density. [kg/m³]"""
        return self.file.engine.fuel_density_lb_per_us_gal * units.LB_KG / units.USGAL_M3

    # --- limits ---

    @cached_property
    def limits(self) -> Limits:
        """Limitations. Load factors the file lacks are those of the normal category (see `assumptions`)."""
        limits = self.file.limitations
        get: Any = (lambda key: getattr(limits, key)) if limits else (lambda key: None)

        def speed(name: str) -> float | None:
            return _speed(get(f"{name}_kias"), get(f"{name}_indicated_mph"), self.dial_unit)

        never_exceed, cruise = speed("never_exceed"), speed("maximum_structural_cruise")
        if never_exceed is None and get("never_exceed_kcas") is not None:
            never_exceed = self._ias_or_none(units.from_unit(get("never_exceed_kcas"), "kt"))
        if cruise is None and get("maximum_structural_cruise_kcas") is not None:
            cruise = self._ias_or_none(units.from_unit(get("maximum_structural_cruise_kcas"), "kt"))
        up, down = get("load_factor_flaps_up_g"), get("load_factor_flaps_down_g")
        by_category = {
            c: (float(g[0]), float(g[1]))
            for c in ("utility", "acrobatic")
            if (g := get(f"load_factor_{c}_g")) is not None
        }
        crosswind, altitude = get("maximum_demonstrated_crosswind_kt"), get("maximum_operating_altitude_ft")
        flaps_up = tuple(up) if up else NORMAL_LOAD_FACTORS
        return Limits(
            never_exceed_ias_mps=never_exceed,
            max_structural_cruise_ias_mps=cruise,
            max_flaps_extended_ias_mps=speed("maximum_flaps_extended") or self._slowest_flap_limit(),
            load_factor_flaps_up=(float(flaps_up[0]), float(flaps_up[1])),
            load_factor_flaps_down=(float(down[0]), float(down[1])) if down else FLAPS_DOWN_LOAD_FACTORS,
            load_factor_by_category={"normal": (float(flaps_up[0]), float(flaps_up[1])), **by_category},
            max_crosswind_mps=None if crosswind is None else units.from_unit(crosswind, "kt"),
            max_rpm=get("maximum_rpm"),
            max_altitude_m=None if altitude is None else units.from_unit(altitude, "ft"),
        )

    def _ias_or_none(self, cas_mps: float) -> float | None:
        ias = float(self.calibration[0].ias(cas_mps))
        return None if np.isnan(ias) else ias

    def _slowest_flap_limit(self) -> float | None:
        found = [n.max_ias_mps for n in self.flap_notches if n.max_ias_mps is not None]
        return min(found) if found else None

    @cached_property
    def assumptions(self) -> tuple[str, ...]:
        """What the file doesn't say and airwork takes for granted; to be shown with the numbers."""
        out = []
        if any(curve.assumed for curve in self.calibration):
            out.append("no airspeed calibration in the file: calibrated is taken as indicated")
        if self.file.limitations is None or self.file.limitations.load_factor_flaps_up_g is None:
            out.append("no load factors in the file: those of the normal category are taken")
        return tuple(out)

    def maneuver_permission(self, name: str) -> ManeuverPermission | None:
        """What the handbook says of a maneuver; None if it isn't in the file. Singular and plural are one."""
        stem = name.rstrip("s")
        return next((m for m in self.file.maneuvers if m.name.rstrip("s") == stem), None)

    # --- airspeeds ---

    @cached_property
    def calibration(self) -> tuple[CalibrationCurve, ...]:
        """One calibration curve per flap notch."""
        return calibrations(self.file)

    def _notch(self, flap_notch: int) -> int:
        if not 0 <= flap_notch <= self.flaps_full:
            raise OutOfRange("flap notch", flap_notch, 0, self.flaps_full, where=f"the flaps of {self.name}")
        return flap_notch

    @overload
    def cas_from_ias_mps(self, ias_mps: float, flap_notch: int = 0) -> float: ...
    @overload
    def cas_from_ias_mps(self, ias_mps: Array, flap_notch: int = 0) -> Array: ...
    def cas_from_ias_mps(self, ias_mps: ArrayLike, flap_notch: int = 0) -> float | Array:
        """Calibrated airspeed of an indicated one. [m/s]

        Arrays give NaN outside the calibration table, a single number raises `OutOfRange`. Below the first row the
        first slope continues (the file format's rule), down to half the first row.
        """
        curve = self.calibration[self._notch(flap_notch)]
        return self._one_or_many(curve.cas(ias_mps), ias_mps, curve, "indicated")

    @overload
    def ias_from_cas_mps(self, cas_mps: float, flap_notch: int = 0) -> float: ...
    @overload
    def ias_from_cas_mps(self, cas_mps: Array, flap_notch: int = 0) -> Array: ...
    def ias_from_cas_mps(self, cas_mps: ArrayLike, flap_notch: int = 0) -> float | Array:
        """Indicated airspeed of a calibrated one; inverse of `cas_from_ias_mps`. [m/s]"""
        curve = self.calibration[self._notch(flap_notch)]
        return self._one_or_many(curve.ias(cas_mps), cas_mps, curve, "calibrated")

    def _one_or_many(self, out: Array, asked: ArrayLike, curve: CalibrationCurve, kind: str) -> float | Array:
        if np.ndim(asked) > 0:
            return out
        if np.isnan(out):
            raise curve.refuse(float(np.asarray(asked)), kind, self.dial_unit)
        return float(out)

    @cached_property
    def _stalls(self) -> dict[int, speeds.StallCurve]:
        return speeds.stall_curves(self.file, lambda ias, notch: float(self.calibration[notch].cas(ias)))

    def _stall_curve(self, flap_notch: int) -> speeds.StallCurve:
        if self._notch(flap_notch) not in self._stalls:
            raise NotPossible(
                f"The airplane file of {self.name} has no stall speed for flap notch {flap_notch}: "
                "add rows to [performance.stall]."
            )
        return self._stalls[flap_notch]

    @overload
    def stall_cas_mps(self, mass_kg: float, flap_notch: int = 0, load_factor: float = 1.0) -> float: ...
    @overload
    def stall_cas_mps(self, mass_kg: ArrayLike, flap_notch: int = 0, load_factor: ArrayLike = 1.0) -> float | Array: ...
    def stall_cas_mps(self, mass_kg: ArrayLike, flap_notch: int = 0, load_factor: ArrayLike = 1.0) -> float | Array:
        """Power-idle stall speed, calibrated: ∝ √mass and √n from the printed speeds of that notch. [m/s]

        Scalars or arrays, broadcast. NaN for a mass or load factor below zero.
        """
        out = self._stall_curve(flap_notch).cas(mass_kg, load_factor)
        return float(out) if out.ndim == 0 else out

    def stall_answer(self, mass_kg: float, flap_notch: int = 0, load_factor: float = 1.0) -> Answer:
        """As `stall_cas_mps` for one mass, saying how it was had. [m/s]"""
        curve = self._stall_curve(flap_notch)
        notes = [curve.note(mass_kg), "" if load_factor == 1.0 else f"times √{load_factor:.2f} for the load factor"]
        note = "; ".join(filter(None, notes))
        how = "handbook table" if not note else "formula"
        return Answer(float(curve.cas(mass_kg, load_factor)), how, curve.source, note)  # type: ignore[arg-type]

    def speed_cas_mps(self, name: str, mass_kg: float, density_altitude_m: float = 0.0) -> float:
        """A V-speed for today's weight, calibrated: "maneuvering", "best_glide", "approach_flaps_full" ... [m/s]"""
        return self.speed_answer(name, mass_kg, density_altitude_m).value

    def speed_notch(self, name: str) -> int:
        """Flap notch a V-speed is flown with, for its calibration."""
        for row in self.file.v_speeds.rows if self.file.v_speeds else []:
            if row.name == name and row.flap_notch is not None:
                return min(row.flap_notch, self.flaps_full)
        full = name.endswith("flaps_full") or name in {"short_field_approach", "soft_field_approach"}
        return self.flaps_full if full else 0

    def speed_answer(self, name: str, mass_kg: float, density_altitude_m: float = 0.0) -> Answer:
        """As `speed_cas_mps`, saying how it was had.

        From the printed rows; what is not printed by rule where there is one: approach 1.3 Vs, maneuvering Vs·√n; the
        climb speed of a weight the V-speeds don't reach from the climb table; stall speeds from the stall table.
        """
        notch = self.speed_notch(name)
        rows = [
            (
                units.from_unit(r.weight_lb or self.file.airplane.maximum_takeoff_weight_lb, "lb"),
                speeds.density_altitude_of(r),
                speeds.row_cas_mps(r, notch, lambda ias, n: float(self.calibration[n].cas(ias))),
            )
            for r in (self.file.v_speeds.rows if self.file.v_speeds else [])
            if r.name == name
        ]
        if name.startswith("stall_flaps") and notch in self._stalls:
            return self.stall_answer(mass_kg, notch)
        if name == "best_rate_of_climb" and (climb := self._climb_speed(mass_kg, density_altitude_m, rows)):
            return climb
        if name == "best_glide" and not rows:
            rows = self._glide_rows()
        if rows:
            return speeds.v_speed(rows, name, mass_kg, density_altitude_m)
        if "approach" in name and notch in self._stalls:
            stall = self.stall_answer(mass_kg, notch)
            return stall.scaled(speeds.APPROACH_FACTOR, "formula", "1.3 times the calibrated stall speed")
        if name == "maneuvering" and 0 in self._stalls:
            load = self.limits.load_factor_flaps_up[1]
            stall = self.stall_answer(min(mass_kg, self.max_takeoff_mass_kg), 0)
            return stall.scaled(load**0.5, "formula", f"stall speed times √{load:g}; the handbook prints none")
        raise speeds.missing_speed(name, [r.name for r in (self.file.v_speeds.rows if self.file.v_speeds else [])])

    def _glide_rows(self) -> list[tuple[float, float | None, float]]:
        glide = self.file.performance.glide
        out: list[tuple[float, float | None, float]] = []
        for row in glide.rows if glide else []:
            mass = units.from_unit(row.weight_lb or self.file.airplane.maximum_takeoff_weight_lb, "lb")
            ias = _speed(row.best_glide_kias, row.best_glide_indicated_mph, self.dial_unit)
            if row.best_glide_kcas is not None:
                out.append((mass, None, units.from_unit(row.best_glide_kcas, "kt")))
            elif ias is not None:
                out.append((mass, None, float(self.calibration[0].cas(ias))))
        return out

    def _climb_speed(
        self, mass_kg: float, density_altitude_m: float, rows: list[tuple[float, float | None, float]]
    ) -> Answer | None:
        """Best-rate speed from the climb table, for a weight the V-speeds don't print."""
        masses = [m for m, _, _ in rows]
        if (masses and min(masses) - 0.01 <= mass_kg <= max(masses) + 0.01) or self._climb_speeds is None:
            return None
        standard = units.to_unit(float(standard_temperature_k(density_altitude_m)), "°C")
        height = units.to_unit(density_altitude_m, "ft")
        try:
            ias = self._climb_speeds(units.to_unit(mass_kg, "lb"), height, standard) * units.KT_MPS
        except OutOfRange:
            return None
        return Answer(float(self.calibration[0].cas(ias)), "handbook table", table("climb"), "climb table's speed")

    # --- power, fuel, climb, glide ---

    def power_ratio(
        self, rpm: float, pressure_altitude_m: float, temperature_k: float, manifold_pressure_pa: float | None = None
    ) -> float:
        """Power as a share of rated, level at the chart's weight; `OutOfRange` outside the chart. [1]"""
        return self.engine.power(rpm, pressure_altitude_m, temperature_k, manifold_pressure_pa).value

    def rpm_for_power(self, power_ratio: float, pressure_altitude_m: float, temperature_k: float) -> float:
        """RPM for a power, fixed pitch, level at the chart's weight. [rev/min]"""
        return self.engine.rpm_for_power(power_ratio, pressure_altitude_m, temperature_k).value

    def manifold_pressure_for_power_pa(
        self, power_ratio: float, rpm: float, pressure_altitude_m: float, temperature_k: float
    ) -> float:
        """Manifold pressure for a power at an RPM, constant speed. [Pa]"""
        return self.engine.manifold_pressure(power_ratio, rpm, pressure_altitude_m, temperature_k).value

    def fuel_flow_m3ps(self, power_ratio: float, mixture: Mixture) -> float:
        """Fuel flow at a power: "full_rich", "best_power" or "best_economy". [m³/s]

        Below the cruise table's lowest power the flow of its lowest row (not less than the true one); refuses above its
        highest, and leaning above the leaning limit.
        """
        return self.engine.fuel_flow(power_ratio, mixture).value

    def density_altitude_m(self, pressure_altitude_m: float, temperature_k: float) -> float:
        """Density altitude of dry air, as the charts mean it. [m]"""
        return dry_density_altitude_m(pressure_altitude_m, temperature_k)

    @cached_property
    def _climb_axes(self) -> tuple[Axis, ...]:
        return (
            Axis("weight_lb", "weight [lb]"),
            Axis("pressure_altitude_ft", "pressure altitude [ft]"),
            Axis("oat_c", "temperature [°C]", smooth=True),
        )

    def _climb_table(self, column: str) -> GridTable | None:
        climb = self.file.performance.climb
        rows = [r.model_dump() for r in climb.rows] if climb else []
        return GridTable.from_rows("climb table", self._climb_axes, column, rows)

    @cached_property
    def _climb_rates(self) -> GridTable | None:
        return self._climb_table("rate_of_climb_fpm")

    @cached_property
    def _climb_speeds(self) -> GridTable | None:
        return self._climb_table("climb_speed_kias")

    def climb_answer(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> Answer:
        """As `climb_rate_mps`, saying how it was had."""
        if self._climb_rates is None:
            raise NotPossible("The airplane file has no [performance.climb]; the rate of climb is not known.")
        asked = (
            units.to_unit(mass_kg, "lb"),
            units.to_unit(pressure_altitude_m, "ft"),
            units.to_unit(temperature_k, "°C"),
        )
        return Answer(self._climb_rates(*asked) * units.FPM_MPS, "handbook table", table("climb"))

    def climb_rate_mps(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> float:
        """Full-throttle rate of climb from the climb table. [m/s]"""
        return self.climb_answer(mass_kg, pressure_altitude_m, temperature_k).value

    @property
    def glide_ratio(self) -> float:
        """Distance over height of the power-off glide, flaps up, calm. [1]"""
        glide = self.file.performance.glide
        if glide is None:
            raise NotPossible("The airplane file has no [performance.glide]; the glide ratio is not known.")
        ratios = [
            row.glide_ratio or (row.nm_per_1000_ft or 0.0) * units.NM_M / (1000.0 * units.FT_M) for row in glide.rows
        ]
        return float(np.mean(ratios))

    # --- words and readings ---

    def dial(self, ias_mps: float, *, digits: int = 0) -> str:
        """An indicated speed as it stands on the airspeed indicator, the other unit beside: "66 mph (57 kt)"."""
        return f"{units.write(ias_mps, self.dial_unit, digits)} ({units.write(ias_mps, self.other_unit, digits)})"

    @cached_property
    def observations(self) -> tuple[Observation, ...]:
        """Readings noted in flight; may be empty."""
        return tuple(self._observation(row) for row in self.file.observations)

    def _observation(self, row: ObservationRow) -> Observation:
        notch = min(row.flap_notch, self.flaps_full)
        ias = speeds.row_ias_mps(row, self.dial_unit)
        cas = speeds.row_cas_mps(row, notch, lambda i, n: float(self.calibration[n].cas(i)))
        climb = row.rate_of_climb_fpm
        if climb is None and row.rate_of_descent_fpm is not None:
            climb = -row.rate_of_descent_fpm
        pressure = row.manifold_pressure_inhg
        return Observation(
            kind=row.kind,
            mass_kg=units.from_unit(row.weight_lb, "lb"),
            pressure_altitude_m=units.from_unit(row.pressure_altitude_ft, "ft"),
            temperature_k=units.from_unit(row.oat_c, "°C"),
            flap_notch=notch,
            ias_mps=float(self.calibration[notch].ias(cas)) if ias is None else ias,
            cas_mps=cas,
            rpm=row.rpm,
            manifold_pressure_pa=None if pressure is None else units.from_unit(pressure, "inHg"),
            climb_rate_mps=None if climb is None else climb * units.FPM_MPS,
            note=row.note,
        )


def _speed(kias: float | None, mph: float | None, dial: str) -> float | None:
    """An indicated speed from its two columns, the dial's own first. [m/s]"""
    columns = [(kias, "kt"), (mph, "mph")]
    if dial == "mph":
        columns.reverse()
    return next((units.from_unit(number, unit) for number, unit in columns if number is not None), None)


def _feeds(position: str, tanks: tuple[str, ...]) -> tuple[str, ...] | None:
    word = position.lower().split()[0].strip("(),.:")
    if word in {"off", "closed", "shut"}:
        return ()
    if word in {"both", "all", "on"}:
        return tanks
    named = tuple(t for t in tanks if t.lower().split()[0] == word)
    return named or None
