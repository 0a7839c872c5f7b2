"""An airplane as the rest of airwork asks it: SI answers from its file's tables, limits, tanks and speeds."""

from __future__ import annotations

from functools import cached_property
from typing import overload
from zlib import crc32

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork import units
from airwork.airplane import parts
from airwork.airplane.answer import Answer
from airwork.airplane.book_units import BookUnits, book_units
from airwork.airplane.calibration import CalibrationCurve, calibrations
from airwork.airplane.climb import ClimbTables
from airwork.airplane.engine import EngineTables, Mixture, dry_density_altitude_m
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.speeds import ManeuverPermission
from airwork.airplane.limits import Limits, limits_of
from airwork.airplane.stall import StallCurve, stall_curves
from airwork.airplane.vspeeds import VSpeeds
from airwork.errors import NotPossible, OutOfRange

Array = NDArray[np.float64]


class Airplane:
    """An airplane made from a validated file. Immutable; two are equal when their files are.

    Methods that answer one number return a float in the unit of their name and raise `OutOfRange` or `NotPossible`;
    the `…_answer` twins return an `Answer`, which says how the number was had. Calibration and stall take arrays, and
    give NaN outside.
    """

    def __init__(self, file: AirplaneFile, *, full_rich_flow_m3ps: float | None = None) -> None:
        """`full_rich_flow_m3ps`: somebody's own block figure, for a file that prints no full-rich flow."""
        self.file = file
        self.engine = EngineTables(file, full_rich_flow_m3ps)
        self.climb = ClimbTables(file)

    def __eq__(self, other: object) -> bool:
        return other is self or (isinstance(other, Airplane) and hash(other) == hash(self) and other.file == self.file)

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        """Of all that the file says: a change typed into it is another airplane to whatever keeps answers."""
        return crc32(self.file.model_dump_json().encode())

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
        return "mph" if self.dial_unit == "kt" else "kt"

    @cached_property
    def book(self) -> BookUnits:
        """The units its book prints weights, arms, fuel, runway, manifold pressure and climb in."""
        return book_units(self.file)

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

    @property
    def gear_ratio(self) -> float:
        """Turns of the engine for one of the propeller; 1 without a gear. RPM is the engine's everywhere."""
        return self.file.engine.gear_ratio

    # --- flaps, fuel ---

    @cached_property
    def flap_notches(self) -> tuple[parts.FlapNotch, ...]:
        """Flap positions, up first."""
        return parts.flap_notches(self.file, self._ias_of)

    @property
    def flaps_full(self) -> int:
        """Number of the last notch."""
        return len(self.file.flaps.notches) - 1

    def notches_at(self, deflection_deg: ArrayLike) -> Array:
        """The notch nearest to each deflection; NaN for one that is not known, all NaN where the file gives none."""
        known = [(n.deflection_deg, float(n.notch)) for n in self.flap_notches if n.deflection_deg is not None]
        asked = np.asarray(deflection_deg, dtype=float)
        if not known:
            return np.full(asked.shape, np.nan)
        angles, notches = np.array(known).T
        return np.where(np.isfinite(asked), notches[np.abs(asked[..., None] - angles).argmin(axis=-1)], np.nan)

    @cached_property
    def tanks(self) -> tuple[parts.Tank, ...]:
        """Tanks in the file's order; empty where the file has no [fuel]."""
        return parts.tanks(self.file)

    @cached_property
    def selector_positions(self) -> tuple[parts.SelectorPosition, ...]:
        """Selector positions with the tanks each feeds from."""
        return parts.selector_positions(self.file)

    @property
    def fuel_density_kgpm3(self) -> float:
        """Fuel density. [kg/m³]"""
        return self.file.engine.fuel_density_lb_per_us_gal * units.LB_KG / units.USGAL_M3

    # --- limits ---

    @cached_property
    def limits(self) -> Limits:
        """Limitations. Load factors the file lacks are those of the normal category (see `assumptions`)."""
        return limits_of(self.file, self._ias_of)

    @cached_property
    def assumptions(self) -> tuple[str, ...]:
        """What the file doesn't say and airwork takes for granted; to be shown with the numbers."""
        out = []
        assumed = [curve.assumed for curve in self.calibration]
        if any(assumed):
            which = "" if all(assumed) else " with flaps up" if assumed[0] else " with flaps"
            out.append(f"no airspeed calibration{which} in the file: calibrated is taken as indicated")
        if self.file.limitations is None or self.file.limitations.load_factor_flaps_up_g is None:
            out.append("no load factors in the file: those of the normal category are taken")
        if self.engine.likens_flow:
            out.append("no full-rich fuel flow in the file: the leaned one times what is usual")
        if self.engine.power_is_estimated:
            out.append("no percent power in the file: it is estimated from the printed fuel flow, ± 10 %")
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

    def _ias_of(self, cas_mps: float, flap_notch: int) -> float:
        """NaN outside the calibration. [m/s]"""
        return float(self.calibration[flap_notch].ias(cas_mps))

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

    def _to_cas(self, ias_mps: float, flap_notch: int) -> float:
        return float(self.calibration[flap_notch].cas(ias_mps))

    @cached_property
    def stall_curves(self) -> dict[int, StallCurve]:
        """Printed stall speeds by flap notch; a notch the file is silent about is missing."""
        return stall_curves(self.file, self._to_cas)

    def _stall_curve(self, flap_notch: int) -> StallCurve:
        if self._notch(flap_notch) not in self.stall_curves:
            raise NotPossible(
                f"The airplane file of {self.name} has no stall speed for flap notch {flap_notch}: "
                "add rows to [performance.stall]."
            )
        return self.stall_curves[flap_notch]

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

    def stall_cas_by_notch_mps(self, mass_kg: float) -> Array:
        """Stall speed of every flap notch, for reading a recording; NaN where the file prints none at all. [m/s]

        Shape (notches,). A notch the handbook is silent about (most print flaps up and full only) lies on a straight
        line by deflection, or by number where none is given, between its printed neighbors: an estimate, never a
        number to fly by.
        """
        printed = sorted(self.stall_curves)
        if not printed:
            return np.full(len(self.flap_notches), np.nan)
        known = all(n.deflection_deg is not None for n in self.flap_notches)
        degrees = np.array([n.deflection_deg if known else n.notch for n in self.flap_notches], dtype=float)
        return np.interp(degrees, degrees[printed], [self.stall_cas_mps(mass_kg, k) for k in printed])

    def stall_answer(self, mass_kg: float, flap_notch: int = 0, load_factor: float = 1.0) -> Answer:
        """As `stall_cas_mps` for one mass, saying how it was had. [m/s]"""
        return self._stall_curve(flap_notch).answer(mass_kg, load_factor)

    @cached_property
    def v_speeds(self) -> VSpeeds:
        """The V-speeds by name."""
        return VSpeeds(self.file, self._to_cas, self.stall_curves, self.climb, self.limits.load_factor_flaps_up[1])

    def speed_notch(self, name: str) -> int:
        """Flap notch a V-speed is flown with, for its calibration."""
        return self.v_speeds.notch(name)

    def speed_cas_mps(self, name: str, mass_kg: float, density_altitude_m: float = 0.0) -> float:
        """A V-speed for today's weight, calibrated: "maneuvering", "best_glide", "approach_flaps_full" ... [m/s]"""
        return self.speed_answer(name, mass_kg, density_altitude_m).value

    def speed_answer(self, name: str, mass_kg: float, density_altitude_m: float = 0.0) -> Answer:
        """As `speed_cas_mps`, saying how it was had.

        From the printed rows; what is not printed by rule where there is one: approach 1.3 Vs, maneuvering Vs·√n; the
        climb speed of a weight the V-speeds don't reach from the climb table; stall speeds from the stall table.
        """
        return self.v_speeds.answer(name, mass_kg, density_altitude_m)

    # --- power, fuel, climb, glide ---

    def power_ratio(
        self, rpm: float, pressure_altitude_m: float, temperature_k: float, manifold_pressure_pa: float | None = None
    ) -> float:
        """Power as a share of rated, level at the chart's weight; `OutOfRange` outside the chart. [1]"""
        return self.engine.power(rpm, pressure_altitude_m, temperature_k, manifold_pressure_pa).value

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

    def climb_rate_mps(self, mass_kg: float, pressure_altitude_m: float, temperature_k: float) -> float:
        """Full-throttle rate of climb from the climb table. [m/s]"""
        return self.climb.rate(mass_kg, pressure_altitude_m, temperature_k).value

    @property
    def glide_ratio(self) -> float:
        """Distance over height of the power-off glide, flaps up, calm. [1]"""
        glide = self.file.performance.glide
        if glide is None:
            raise NotPossible("The airplane file has no [performance.glide]; the glide ratio is not known.")
        return float(np.mean([row.ratio for row in glide.rows]))

    # --- words ---

    def dial(self, ias_mps: float) -> str:
        """An indicated speed as it stands on the airspeed indicator, the other unit beside: "66 mph (57 kt)"."""
        return f"{units.write(ias_mps, self.dial_unit)} ({units.write(ias_mps, self.other_unit)})"
