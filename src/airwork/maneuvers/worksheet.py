"""The worksheet on which a room works out its set-up: heights, speeds on this dial, power, turn, tolerances. SI."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from airwork import units
from airwork.airdata import turn
from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.errors import AirworkError, InputError, NotPossible
from airwork.maneuvers.setup import Conditions, Number, PowerUse, SetUp, Tolerance
from airwork.values import How, Value

if TYPE_CHECKING:
    from airwork.airplane import Airplane
    from airwork.airplane.performance import Performance
    from airwork.standards import Standard

_FT = units.FT_M
NO_POWER_MODEL = "no performance model for this airplane: set power by eye and note the reading"


def round_up_m(altitude_m: float, step_ft: float = 100.0) -> float:
    """An altitude rounded up to a step a pilot can fly, in meters."""
    return math.ceil(round(altitude_m / _FT, 3) / step_ft) * step_ft * _FT


class Worksheet:
    """Collects the numbers of one set-up. One room, one day, one airplane.

    Parameters
    ----------
    kind, title : of the room.
    target : the lesson's wishes in SI (`lesson.target`), may be empty.
    above_floor_m : how far above the floor the maneuver has to begin, when the lesson names no altitude.
    least_agl_m : floor above ground that the room itself asks for (handbook, common practice); the standard's counts too.
    """

    def __init__(
        self,
        airplane: Airplane,
        performance: Performance | None,
        conditions: Conditions,
        standard: Standard,
        kind: str,
        title: str,
        target: Mapping[str, Any] | None = None,
        *,
        above_floor_m: float = 150.0,
        least_agl_m: float = 0.0,
        least_agl_why: str = "",
    ) -> None:
        self.airplane, self.performance, self.conditions = airplane, performance, conditions
        self.kind, self.title, self.target = kind, title, dict(target or {})
        self.task = standard.task(kind)
        self.standard = standard
        self.numbers: list[Number] = []
        self.cautions: list[str] = []
        self.powers: list[PowerUse] = []
        self.floor_m, self.floor_why = self._floor(least_agl_m, least_agl_why)
        self.entry_m = self._entry(above_floor_m)

    # --- heights ---

    def _floor(self, least_agl_m: float, least_agl_why: str) -> tuple[float, str]:
        ground = self.conditions.ground_elevation_m
        reasons = [(ground, "the ground")]
        if self.task.min_agl_m is not None:
            reasons.append((ground + self.task.min_agl_m, f"{self.task.code} ({self.standard.title})"))
        if least_agl_m:
            reasons.append((ground + least_agl_m, least_agl_why))
        if self.conditions.floor_m is not None:
            reasons.append((self.conditions.floor_m, "the lesson's floor"))
        height, why = max(reasons, key=lambda pair: pair[0])
        return (round_up_m(height), why) if height > ground else (height, why)

    def _entry(self, above_floor_m: float) -> float:
        wanted = self.target.get("altitude_m")
        if wanted is None and "height_agl_m" in self.target:
            wanted = self.conditions.ground_elevation_m + float(self.target["height_agl_m"])
        if wanted is None:
            wanted = self.conditions.altitude_m
        if wanted is None:
            wanted = round_up_m(self.floor_m + above_floor_m, 500.0)
        entry = float(wanted)
        if entry < self.floor_m - 0.5:
            raise InputError(
                f"{self.title}: entry at {units.write(entry, 'ft')} is below {units.write(self.floor_m, 'ft')} "
                f"({self.floor_why}); begin higher."
            )
        ceiling = self.conditions.ceiling_m
        if ceiling is not None and entry > ceiling + 0.5:
            raise InputError(
                f"{self.title}: needs {units.write(entry, 'ft')}, above the area's ceiling "
                f"{units.write(ceiling, 'ft')}; find a higher area or a lower floor."
            )
        return entry

    # --- the air at the entry ---

    @property
    def pressure_altitude_m(self) -> float:
        """Pressure altitude at the entry. [m]"""
        return float(self.conditions.air.pressure_altitude_m(self.entry_m))

    @property
    def temperature_k(self) -> float:
        """Temperature at the entry. [K]"""
        return float(self.conditions.air.temperature_at_k(self.entry_m))

    @property
    def density_altitude_m(self) -> float:
        """Density altitude at the entry. [m]"""
        return float(self.conditions.air.density_altitude_m(self.entry_m))

    def tas_mps(self, cas_mps: float) -> float:
        """True airspeed at the entry. [m/s]"""
        return float(tas_from_cas_mps(cas_mps, self.pressure_altitude_m, self.temperature_k))

    def wind(self) -> tuple[float, float]:
        """(direction from [rad, true], speed [m/s]) at the entry."""
        direction, speed = self.conditions.air.wind_at(self.entry_m)
        return float(direction), float(speed)

    # --- speeds ---

    def stall_cas_mps(self, notch: int, load: float = 1.0) -> float:
        """Stall speed at today's weight. [m/s CAS]"""
        return float(self.airplane.stall_cas_mps(self.conditions.mass_kg, notch, load))

    def ias(self, cas_mps: float, notch: int) -> float:
        """Indicated speed of a calibrated one with this flap. [m/s]"""
        return float(self.airplane.ias_from_cas_mps(cas_mps, notch))

    def cas(self, ias_mps: float, notch: int) -> float:
        """Calibrated speed of an indicated one with this flap. [m/s]"""
        return float(self.airplane.cas_from_ias_mps(ias_mps, notch))

    def book_cas(self, name: str) -> float | None:
        """A named speed of the handbook for today's weight, None where it prints none. [m/s CAS]"""
        try:
            return float(self.airplane.speed_cas_mps(name, self.conditions.mass_kg, self.density_altitude_m))
        except AirworkError:
            return None

    def flap_limited(self, ias_mps: float, notch: int) -> float:
        """The speed, refused when the flap may not be out at it. [m/s IAS]"""
        limit = next((f.max_ias_mps for f in self.airplane.flap_notches if f.notch == notch), None)
        if limit is not None and ias_mps > limit + 0.05:
            raise NotPossible(
                f"{self.title}: {self.airplane.dial(ias_mps)} is above the limit for flap notch {notch}, "
                f"{self.airplane.dial(limit)}; choose less flap or less speed."
            )
        return ias_mps

    def stated_speed(self, name: str) -> float | None:
        """The lesson's own speed for this exercise, as on the dial. [m/s IAS]"""
        value = self.target.get(name)
        return None if value is None else float(value)

    # --- lines of the set-up ---

    def note(self, name: str, value: float, unit: str, how: How, source: str, **more: Any) -> None:
        """Add one number in a printed unit."""
        also = more.pop("also", "")
        self.numbers.append(Number(name, Value(value, unit, how, source, **more), also))

    def note_speed(self, name: str, ias_mps: float, how: How, source: str, note: str = "") -> None:
        """Add a speed as read on this dial; the other unit stands beside it."""
        unit, other = self.airplane.dial_unit, self.airplane.other_unit
        self.note(
            name, round(units.to_unit(ias_mps, unit), 1), unit, how, source, note=note, also=units.write(ias_mps, other)
        )

    def note_heights(self) -> None:
        """Add entry altitude and floor."""
        ground = self.conditions.ground_elevation_m
        above = units.write(self.entry_m - ground, "ft")
        self.note("entry altitude", round(self.entry_m / _FT), "ft", "given", "lesson or airwork's choice above the floor",
                  also=f"{above} above ground")  # fmt: skip
        self.note("not below", round(self.floor_m / _FT), "ft", "given", self.floor_why,
                  also=f"{units.write(self.floor_m - ground, 'ft')} above ground")  # fmt: skip

    def note_flap(self, notch: int) -> None:
        """Add the flap setting with the speed it may be set below."""
        flap = next(f for f in self.airplane.flap_notches if f.notch == notch)
        limit = "" if flap.max_ias_mps is None else f"set below {self.airplane.dial(flap.max_ias_mps)}"
        degrees = "" if flap.deflection_deg is None else f"{flap.deflection_deg:g}°"
        self.note(
            "flap", notch, "notch", "given", "lesson or handbook", also=", ".join(t for t in (degrees, limit) if t)
        )

    def level(
        self, cas_mps: float, notch: int, *, bank_rad: float = 0.0, name: str = "power", needed: bool = True
    ) -> float | None:
        """Add the power that holds level flight; the power ratio comes back for the fuel plan, None where unknown.

        Raises
        ------
        NotPossible : the airplane can't hold level flight so today.
        """
        if self.performance is None:
            self.cautions.append(NO_POWER_MODEL)
            return None
        c = self.conditions
        try:
            flown = self.performance.level(
                cas_mps, notch, mass_kg=c.mass_kg, pressure_altitude_m=self.pressure_altitude_m,
                temperature_k=self.temperature_k, bank_rad=bank_rad,
            )  # fmt: skip
        except NotPossible:
            raise
        except AirworkError as problem:
            self.cautions.append(f"{name}: {problem}")
            return None
        if not bool(np.all(flown.possible)):
            if needed:
                raise NotPossible(
                    f"{self.title}: full throttle does not hold level flight at {self.airplane.dial(self.ias(cas_mps, notch))}, "
                    f"flap notch {notch}, {units.write(self.entry_m, 'ft')}, {units.write(self.temperature_k, '°C')}; "
                    "fly it lower, lighter, with less flap, or descending."
                )
            self.cautions.append(f"{name}: full throttle does not hold it level today")
            return 1.0
        source = self.performance_source()
        rpm, band = float(np.squeeze(flown.rpm)), float(np.squeeze(flown.rpm_90))
        if self.airplane.fixed_pitch:
            self.note(name, round(rpm / 10.0) * 10, "rpm", "fitted model", source, uncertainty=round(band))
        else:
            pressure = float(np.squeeze(flown.manifold_pressure_pa))
            self.note(
                name,
                round(units.to_unit(pressure, "inHg"), 1),
                "inHg",
                "fitted model",
                source,
                also=f"at {rpm:,.0f} rpm",
            )
        ratio = float(np.squeeze(flown.power_ratio))
        self.note(f"percent {name}" if name == "power" else f"{name}, percent", round(100 * ratio), "%", "fitted model",
                  source, uncertainty=round(100 * float(np.squeeze(flown.power_90))))  # fmt: skip
        pitch = float(np.squeeze(flown.pitch_rad))
        if np.isfinite(pitch):
            self.note(
                f"pitch ({name})", round(math.degrees(pitch)), "deg", "fitted model", source, note="expected, about"
            )
        return ratio

    def performance_source(self) -> str:
        """What the performance model rests on, in words."""
        return "fitted to the handbook's tables and the readings in the airplane file"

    def note_turn(self, cas_mps: float, bank_rad: float, notch: int, turn_rad: float = 2.0 * math.pi) -> None:
        """Add bank, load factor, margin to the stall in it, rate, radius, time and roll-out lead."""
        tas = self.tas_mps(cas_mps)
        load = float(turn.load_factor(bank_rad))
        stall = self.stall_cas_mps(notch, load)
        ias, stall_ias = self.ias(cas_mps, notch), self.ias(stall, notch)
        self.note("bank", round(math.degrees(bank_rad)), "deg", "given", self.task.code or "common practice, no source")
        self.note("load factor", round(load, 2), "g", "formula", "n = 1/cos φ [PHAK] ch. 5")
        self.note_speed("stall in the bank", stall_ias, "formula", "handbook stall speed · √n, in calibrated speed")
        unit = self.airplane.dial_unit
        self.note(
            "margin to the stall",
            round(units.to_unit(ias - stall_ias, unit)),
            unit,
            "formula",
            "speed less stall in the bank",
        )
        if cas_mps <= stall:
            raise NotPossible(
                f"{self.title}: {self.airplane.dial(ias)} is below the stall in a {math.degrees(bank_rad):.0f}° bank today."
            )
        self.note(
            "turn rate",
            round(math.degrees(float(turn.turn_rate_radps(tas, bank_rad))), 1),
            "deg/s",
            "formula",
            "g·tan φ/V, true airspeed",
        )
        self.note(
            "turn radius",
            round(float(turn.turn_radius_m(tas, bank_rad)) / _FT / 10) * 10,
            "ft",
            "formula",
            "V²/(g·tan φ), still air",
        )
        self.note(
            "time for the turn",
            round(float(turn.turn_time_s(tas, bank_rad, turn_rad))),
            "s",
            "formula",
            f"through {math.degrees(turn_rad):.0f}°",
        )
        self.note(
            "roll-out lead",
            round(math.degrees(float(turn.rollout_lead_rad(bank_rad)))),
            "deg",
            "formula",
            "half the bank, [AFH] ch. 3",
        )

    def use_power(self, duration_s: float, power_ratio: float | None, mixture: str = "full_rich") -> None:
        """Add a stretch to the fuel plan; an unknown power counts as 75 %, on the safe side in maneuvers."""
        self.powers.append(
            PowerUse(float(duration_s), 0.75 if power_ratio is None else min(max(power_ratio, 0.1), 1.0), mixture)
        )

    # --- the whole ---

    def tolerances(self) -> tuple[Tolerance, ...]:
        """The standard's limits for this task, ready to print."""
        return tuple(Tolerance(c.name, c.text, f"{self.task.code} {c.source}".strip()) for c in self.task.criteria)

    def limits_in_words(self) -> str:
        """Limits in one short phrase for the card: "±100 ft, ±10 kt"."""
        return ", ".join(c.text for c in self.task.criteria if c.has_limit)

    def finish(
        self,
        *,
        steps: tuple[str, ...],
        usual_errors: tuple[str, ...],
        card_line: str,
        targets: Mapping[str, float],
        cautions: tuple[str, ...] = (),
        tables: Mapping[str, tuple[tuple[str, ...], ...]] | None = None,
    ) -> SetUp:
        """The set-up."""
        return SetUp(
            kind=self.kind, title=self.title, entry_altitude_m=self.entry_m, floor_m=self.floor_m,
            floor_why=self.floor_why, numbers=tuple(self.numbers), steps=steps, tolerances=self.tolerances(),
            usual_errors=usual_errors, cautions=(*cautions, *dict.fromkeys(self.cautions)), card_line=card_line,
            power=tuple(self.powers), targets=dict(targets), tables=dict(tables or {}),
        )  # fmt: skip
