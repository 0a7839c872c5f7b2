"""The worksheet on which a room works out its set-up: heights, speeds on this dial, lines to print, the whole. SI.

Power, turn and wind lines are in `power_lines`, `turn_lines`, `wind_lines`, which write on a worksheet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Literal

from airwork import units
from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airplane.parts import knots_mps
from airwork.airplane.performance import Condition
from airwork.errors import AirworkError, InputError, NotPossible, Where
from airwork.maneuvers.setting_up.heights import FT, Heights
from airwork.maneuvers.setup import Number, Order, PowerUse, SetUp, Tolerance
from airwork.values import How, Value, sourced

PRACTICE = "common practice, no source"
UNKNOWN_POWER = 0.75  # counted for fuel where the power isn't known: more than maneuvers need
MANEUVER_CAUTION = "The airplane's handbook and your instructor decide; clear the area first."


class Worksheet:
    """Collects the numbers of one set-up. One room, one day, one airplane.

    Parameters
    ----------
    kind, title, heights, task : of the room. order : what is to be flown.
    """

    def __init__(self, kind: str, title: str, heights: Heights, order: Order, task: str = "") -> None:
        self.airplane, self.performance, self.conditions = order.airplane, order.performance, order.conditions
        self.kind, self.title, self.target, self.order = kind, title, dict(order.target), order
        self.standard, self.task = order.standard, order.standard.task(task or kind)
        self.numbers: list[Number] = []
        self.cautions: list[str] = []
        self.powers: list[PowerUse] = []
        self.stall_margin_mps: float | None = None
        self.floor_m, self.floor_why, self.entry_m = heights.begin(
            self.conditions, self.standard, task or kind, self.target, title
        )

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

    def at(self, notch: int = 0, bank_rad: float = 0.0) -> Condition:
        """What the performance model wants to know of the day at the entry."""
        return Condition(self.conditions.mass_kg, self.pressure_altitude_m, self.temperature_k, notch, bank_rad)

    def tas_mps(self, cas_mps: float) -> float:
        """True airspeed at the entry. [m/s]"""
        return float(tas_from_cas_mps(cas_mps, self.pressure_altitude_m, self.temperature_k))

    def wind(self, altitude_m: float | None = None) -> tuple[float, float]:
        """(direction from [rad, true], speed [m/s]) at an altitude, the entry's if none is given."""
        direction, speed = self.conditions.air.wind_at(self.entry_m if altitude_m is None else altitude_m)
        return float(direction), float(speed)

    # --- the lesson's wishes ---

    def wish(self, name: str, default: float, low: float = -math.inf, high: float = math.inf, unit: str = "") -> float:
        """A number the lesson asks for, else the default; InputError outside what the maneuver allows."""
        value = self.target.get(name)
        if value is None:
            return default
        number = float(value)
        if not low - 1e-9 <= number <= high + 1e-9:
            shown = [units.write(v, unit) if unit else f"{v:g}" for v in (number, low, high)]
            word = name.rsplit("_", 1)[0].replace("_", " ") if unit else name.replace("_", " ")
            raise InputError(
                f"{self.title}: {word} {shown[0]} is outside {shown[1]} to {shown[2]}.", where=Where(field=name)
            )
        return number

    def word(self, name: str, default: str, allowed: tuple[str, ...]) -> str:
        """A word the lesson asks for, else the default; InputError for another than those allowed."""
        value = str(self.target.get(name, default)).strip().lower().replace(" ", "_")
        if value not in allowed:
            known = ", ".join(allowed)
            raise InputError(
                f"{self.title}: {name} {value!r} is not known here; write {known}.", where=Where(field=name)
            )
        return value

    def notch(self, default: int) -> int:
        """Flap notch the lesson asks for, else the default."""
        return int(self.wish("flap_notch", default, 0, self.airplane.flaps_full))

    def permitted(self, name: str) -> float | None:
        """Entry speed the handbook sets for a maneuver. [m/s IAS]  None without one.

        Raises
        ------
        NotPossible : the handbook forbids it.
        """
        said = self.airplane.maneuver_permission(name)
        if said is None:
            return None
        if not said.permitted_in:
            raise NotPossible(f"{self.title}: the handbook of {self.airplane.name} prohibits it.")
        if not set(self.airplane.categories) <= set(said.permitted_in):
            categories = " or ".join(said.permitted_in)
            self.cautions.append(f"By the handbook in the {categories} category only: check weight and balance for it.")
        if said.note:
            self.cautions.append(f"Handbook: {said.note}.")
        return knots_mps(said.maximum_entry_kias)

    # --- speeds ---

    def stall_cas_mps(self, notch: int, load: float = 1.0) -> float:
        """Power-idle stall speed at today's weight. [m/s CAS]"""
        return float(self.airplane.stall_cas_mps(self.conditions.mass_kg, notch, load))

    def ias(self, cas_mps: float, notch: int = 0) -> float:
        """Indicated speed of a calibrated one with this flap. [m/s]"""
        return float(self.airplane.ias_from_cas_mps(cas_mps, notch))

    def cas(self, ias_mps: float, notch: int = 0) -> float:
        """Calibrated speed of an indicated one with this flap. [m/s]"""
        return float(self.airplane.cas_from_ias_mps(ias_mps, notch))

    def on_dial(self, ias_mps: float, way: Literal["near", "up", "down"] = "near", step: float = 1.0) -> float:
        """A speed rounded to a mark of this dial: what a pilot can hold. [m/s]"""
        marks = units.to_unit(ias_mps, self.airplane.dial_unit) / step
        whole = {"near": round(marks), "up": math.ceil(marks - 0.05), "down": math.floor(marks + 0.05)}[way]
        return units.from_unit(whole * step, self.airplane.dial_unit)

    def book_cas(self, name: str, altitude_m: float | None = None) -> float | None:
        """A named speed of the handbook for today's weight and air, None where it has none. [m/s CAS]"""
        height = self.entry_m if altitude_m is None else altitude_m
        density = float(self.conditions.air.density_altitude_m(height))
        try:
            return float(self.airplane.speed_cas_mps(name, self.conditions.mass_kg, density))
        except AirworkError:
            return None

    def maneuvering_ias(self) -> float:
        """Maneuvering speed for today's weight, rounded down on the dial. [m/s IAS]"""
        cas = self.book_cas("maneuvering")
        if cas is None:
            raise NotPossible(f"{self.title}: no maneuvering speed in the airplane file; add it to [v_speeds].")
        return self.on_dial(self.ias(cas), "down")

    def fastest_ias(self, notch: int = 0) -> float:
        """The speed not to pass: structural cruise, or this flap's. [m/s IAS]"""
        if notch:
            limit = next((f.max_ias_mps for f in self.airplane.flap_notches if f.notch == notch), None)
            limit = self.airplane.limits.max_flaps_extended_ias_mps if limit is None else limit
        else:
            limits = self.airplane.limits
            limit = limits.max_structural_cruise_ias_mps or limits.never_exceed_ias_mps
        return self.ias(3.0 * self.stall_cas_mps(0)) if limit is None else limit

    def flown_ias(self, default_ias: float, notch: int = 0, load: float = 1.0, name: str = "ias_mps") -> float:
        """The speed to fly: the lesson's by `name`, else the default; refused at the stall or above the limit. [m/s]"""
        ias = float(self.target.get(name, default_ias)) if name else default_ias
        stall, limit = self.ias(self.stall_cas_mps(notch, load), notch), self.fastest_ias(notch)
        flaps = f" with flap notch {notch}" if notch else ""
        if ias < 1.04 * stall:
            turn = f" under {load:.2f} g" if load > 1.001 else ""
            raise NotPossible(
                f"{self.title}: {self.airplane.dial(ias)} leaves no margin over the stall{flaps}{turn} at today's "
                f"weight, {self.airplane.dial(stall)}; fly faster."
            )
        if ias > limit + 0.05:
            raise NotPossible(
                f"{self.title}: {self.airplane.dial(ias)} is above the limit{flaps}, {self.airplane.dial(limit)}; "
                f"choose less speed{' or less flap' if notch else ''}."
            )
        return ias

    def mark(self, ias_mps: float) -> str:
        """A speed for the card, as short as it can be: "66 mph"."""
        return units.write(ias_mps, self.airplane.dial_unit)

    # --- lines of the set-up ---

    def note(self, name: str, value: float, unit: str, how: How, source: str, **more: Any) -> None:
        """Add one number in a printed unit; shown in the book's where that is another."""
        also, book = more.pop("also", ""), self.airplane.book
        if "uncertainty" in more and more["uncertainty"] is not None:
            more["uncertainty"] = book.number(more["uncertainty"], unit)
        value, unit = book.number(value, unit), book.unit(unit)
        self.numbers.append(Number(name, Value(value, unit, how, source, **more), also))

    def note_speed(self, name: str, ias_mps: float, how: How, source: str, note: str = "") -> None:
        """Add a speed as read on this dial; the other unit stands beside it."""
        unit = self.airplane.dial_unit
        also = units.write(ias_mps, self.airplane.other_unit)
        self.note(name, round(units.to_unit(ias_mps, unit), 1), unit, how, source, note=note, also=also)

    def note_rate(
        self, name: str, rate_mps: float, how: How, source: str, half_mps: float | None = None, also: str = ""
    ) -> None:
        """Add a vertical speed to ten feet a minute; `half_mps` : half of its 90 % band."""
        fpm = float(round(units.to_unit(rate_mps, "fpm"), -1))
        half = None if half_mps is None else float(round(units.to_unit(half_mps, "fpm"), -1))
        self.note(name, fpm, "fpm", how, source, uncertainty=half, also=also)

    def note_height(self, name: str, altitude_m: float, how: How, source: str) -> None:
        """Add an altitude; the height above ground stands beside it."""
        above = units.write(altitude_m - self.conditions.ground_elevation_m, "ft")
        self.note(name, float(round(altitude_m / FT)), "ft", how, source, also=f"{above} above ground")

    def note_heights(self) -> None:
        """Add entry altitude and floor."""
        given = {"altitude_m", "height_agl_m"} & set(self.target) or self.conditions.altitude_m is not None
        whose = "lesson" if given else "airwork's choice above the floor"
        self.note_height("entry altitude", self.entry_m, "given" if given else "assumed", whose)
        self.note_height("not below", self.floor_m, "given", self.floor_why)

    def note_flap(self, notch: int, source: str = "lesson or handbook") -> None:
        """Add the flap setting with the speed each notch up to it may be set below."""
        flaps = [f for f in self.airplane.flap_notches if 0 < f.notch <= notch]
        if not flaps:
            self.note("flaps", 0, "", "given", source, also="up")
            return
        limits = ", ".join(f"{f.notch}: {self.airplane.dial(f.max_ias_mps)}" for f in flaps if f.max_ias_mps)
        degrees = flaps[-1].deflection_deg
        shown = "" if degrees is None else f"{degrees:g}°"
        also = "; ".join(t for t in (shown, f"set below {limits}" if limits else "") if t)
        self.note("flaps, notch", notch, "", "given", source, also=also)

    def note_stall(self, notch: int, bank_rad: float = 0.0) -> float:
        """Add the stall speed for today's weight, rounded up on the dial; returned. [m/s IAS]"""
        load = 1.0 / math.cos(bank_rad)
        ias = self.on_dial(self.ias(self.stall_cas_mps(notch, load), notch), "up")
        flaps = "flaps up" if notch == 0 else f"flap notch {notch}"
        name = f"stall, {flaps}" + (f", {math.degrees(bank_rad):.0f}° bank" if bank_rad else "")
        source = "handbook stall table for today's weight" + (", √n in the bank" if bank_rad else "")
        self.note_speed(name, ias, "handbook table", source, "power idle")
        return ias

    def use_power(self, duration_s: float, power_ratio: float | None, mixture: str = "full_rich") -> None:
        """Add a stretch to the fuel plan; an unknown power counts as 75 %."""
        ratio = UNKNOWN_POWER if power_ratio is None else min(max(power_ratio, 0.1), 1.0)
        self.powers.append(PowerUse(float(duration_s), float(ratio), mixture))

    def not_above_maneuvering(self, ias_mps: float, instead: str = "enter slower") -> None:
        """NotPossible where the speed is above the maneuvering speed for today's weight."""
        va = self.maneuvering_ias()
        if ias_mps > va + 0.05:
            raise NotPossible(
                f"{self.title}: {self.airplane.dial(ias_mps)} is above maneuvering speed for today's weight, "
                f"{self.airplane.dial(va)}; {instead}."
            )

    def before(self) -> str:
        """What comes before the maneuver: the owner's checklist, else the usual."""
        found = next((c for c in self.airplane.file.checklists if c.name.lower().strip() == "before maneuvers"), None)
        if found is not None:
            return "Before: " + "; ".join(found.items)
        return "Before: height, clearing turns, a field in reach, belts, mixture, carburetor heat as the handbook says"

    # --- the whole ---

    def tolerances(self) -> tuple[Tolerance, ...]:
        """The standard's limits for this task, ready to print."""
        words, code = self.standard.in_words, self.task.code
        return tuple(
            Tolerance(c.name, c.text, ", ".join(filter(None, [code, sourced(words(c.source), c.label)])))
            for c in self.task.criteria
        )

    def owners_words(self, *subjects: str) -> tuple[str, ...]:
        """The owner's technique notes on this maneuver, or on these subjects."""
        wanted = {s.rstrip("s") for s in (self.kind, *subjects)}
        notes = (t for t in self.airplane.file.technique if t.subject.lower().replace(" ", "_").rstrip("s") in wanted)
        return tuple(f"This airplane, owner's note: {t.text}" for t in notes)

    def finish(
        self,
        *,
        steps: tuple[str, ...],
        usual_errors: tuple[str, ...],
        card_line: str,
        targets: Mapping[str, float],
        cautions: tuple[str, ...] = (),
        tables: Mapping[str, tuple[tuple[str, ...], ...]] | None = None,
        tolerances: tuple[Tolerance, ...] | None = None,
        subjects: tuple[str, ...] = (),
        short_of: str = "",
    ) -> SetUp:
        """The set-up. Entry altitude and floor go into the targets; the owner's notes among the cautions."""
        notes = (self.standard.in_words(note) for note in self.task.notes)
        said = (*cautions, short_of, *self.cautions, *self.owners_words(*subjects), *notes, MANEUVER_CAUTION)
        heights = {"altitude_m": self.entry_m, "floor_m": self.floor_m}
        return SetUp(
            kind=self.kind, title=self.title, entry_altitude_m=self.entry_m, floor_m=self.floor_m,
            floor_why=self.floor_why, numbers=tuple(self.numbers), steps=steps,
            tolerances=self.tolerances() if tolerances is None else tolerances, usual_errors=usual_errors,
            cautions=tuple(dict.fromkeys(filter(None, said))), card_line=card_line, power=tuple(self.powers),
            targets={**heights, **targets}, tables=dict(tables or {}), stall_margin_mps=self.stall_margin_mps,
            short_of=short_of,
        )  # fmt: skip
