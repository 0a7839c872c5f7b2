"""V-speeds for today's weight and density altitude, calibrated, with how each was had. SI."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from airwork import units
from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.answer import Answer, table
from airwork.airplane.climb import ClimbTables
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import printed_unit
from airwork.airplane.file.speeds import VSpeedRow
from airwork.airplane.parts import knots_mps
from airwork.airplane.stall import StallCurve, ToCas, row_cas_mps
from airwork.errors import NotPossible, OutOfRange

_NOTE_DENSITY_ALTITUDE = re.compile(r"density altitude\s+(-?[\d,]+)\s*ft")
APPROACH_FACTOR = 1.3  # approach speed over stall speed, calibrated ([AFH] FAA-H-8083-3C ch. 9; the handbook decides)
# Speeds flown at one angle of attack scale with √W exactly; the others only roughly.
_EXACT_ROOT = {"maneuvering", "best_glide", "minimum_sink", "best_angle_of_climb"}
ROUGH, AS_PRINTED = "√W (rough here)", "as printed for"
_FLAPS_FULL = {"short_field_approach", "soft_field_approach"}


class Printed(NamedTuple):
    """One printed V-speed in SI; the density altitude is None where it doesn't depend on it."""

    mass_kg: float
    density_altitude_m: float | None
    cas_mps: float


def density_altitude_of(row: VSpeedRow) -> float | None:
    """Density altitude a V-speed row is for: its own key, else "density altitude N ft" in its note. [m]"""
    if row.density_altitude_ft is not None:
        return units.from_unit(row.density_altitude_ft, "ft")
    if found := _NOTE_DENSITY_ALTITUDE.search(row.note):
        return units.from_unit(float(found[1].replace(",", "")), "ft")
    return None


class VSpeeds:
    """The V-speeds of one airplane file, and what stands in for those it doesn't print."""

    def __init__(
        self, file: AirplaneFile, to_cas: ToCas, stalls: Mapping[int, StallCurve], climb: ClimbTables, limit_load: float
    ) -> None:
        self.file, self.to_cas, self.stalls, self.climb, self.limit_load = file, to_cas, stalls, climb, limit_load
        self.full = len(file.flaps.notches) - 1
        self.weight_unit = printed_unit(file.printed, "airplane", "maximum_takeoff_weight_lb")
        self.heavy_lb = file.airplane.maximum_takeoff_weight_lb
        self.names = tuple(dict.fromkeys(r.name for r in self._rows()))

    def _rows(self) -> list[VSpeedRow]:
        return self.file.v_speeds.rows if self.file.v_speeds else []

    def notch(self, name: str) -> int:
        """Flap notch a speed is flown with, for its calibration."""
        for row in self._rows():
            if row.name == name and row.flap_notch is not None:
                return min(row.flap_notch, self.full)
        return self.full if name.endswith("flaps_full") or name in _FLAPS_FULL else 0

    def answer(self, name: str, mass_kg: float, density_altitude_m: float) -> Answer:
        """A speed in CAS. [m/s]

        Order: stall speeds from the stall table; a climb speed of a weight the V-speeds don't print from the climb
        table; the printed rows, of an approach the landing table's speed; else by rule (approach 1.3 Vs; maneuvering
        Vs·√n).
        """
        notch = self.notch(name)
        rows = self._printed(name, notch)
        if name.startswith("stall_flaps") and notch in self.stalls:
            return self.stalls[notch].answer(mass_kg, 1.0)
        if name == "best_rate_of_climb" and (climb := self._climb_speed(mass_kg, density_altitude_m, rows)):
            return climb
        if rows:
            return _from_rows(rows, name, mass_kg, density_altitude_m, self.weight_unit)
        if "approach" in name and notch in self.stalls:
            stall = self.stalls[notch].answer(mass_kg, 1.0)
            return stall.scaled(APPROACH_FACTOR, "formula", "1.3 times the stall")
        if name == "maneuvering" and 0 in self.stalls:
            stall = self.stalls[0].answer(min(mass_kg, units.from_unit(self.heavy_lb, "lb")), 1.0)
            note = f"stall speed times √{self.limit_load:g}; the file prints none"
            return stall.scaled(math.sqrt(self.limit_load), "formula", note)
        have = ", ".join(sorted(self.names)) or "none"
        raise NotPossible(f"The airplane file has no speed {name!r} in [v_speeds] (it has: {have}). Add a row for it.")

    def _printed(self, name: str, notch: int) -> list[Printed]:
        rows = [
            Printed(
                units.from_unit(r.weight_lb or self.heavy_lb, "lb"),
                density_altitude_of(r),
                row_cas_mps(r, notch, self.to_cas),
            )
            for r in self._rows()
            if r.name == name
        ]
        if name == "best_glide" and not rows:
            rows = self._glide_rows()
        if name == "approach_flaps_full" and not rows:
            rows = self._landing_rows(notch)
        return [r for r in rows if not math.isnan(r.cas_mps)]

    def _landing_rows(self, notch: int) -> list[Printed]:
        """The speed the landing table was flown with, full flaps, at each weight it prints."""
        landing = self.file.performance.landing
        if landing is None or landing.flap_notch not in {None, self.full}:
            return []
        ias = knots_mps(landing.approach_kias or landing.speed_at_50_ft_kias)
        weights = {row.weight_lb or self.heavy_lb for row in landing.rows}
        return [] if ias is None else [
            Printed(units.from_unit(lb, "lb"), None, self.to_cas(ias, notch)) for lb in sorted(weights)
        ]  # fmt: skip

    def _glide_rows(self) -> list[Printed]:
        glide = self.file.performance.glide
        out = []
        for row in glide.rows if glide else []:
            ias = knots_mps(row.best_glide_kias)
            cas = None if row.best_glide_kcas is None else units.from_unit(row.best_glide_kcas, "kt")
            if cas is None and ias is not None:
                cas = self.to_cas(ias, 0)
            if cas is not None:
                out.append(Printed(units.from_unit(row.weight_lb or self.heavy_lb, "lb"), None, cas))
        return out

    def _climb_speed(self, mass_kg: float, density_altitude_m: float, rows: list[Printed]) -> Answer | None:
        masses = [r.mass_kg for r in rows]
        if masses and min(masses) - 0.01 <= mass_kg <= max(masses) + 0.01:
            return None
        try:  # the climb table's speeds go by pressure altitude; at standard temperature that is the density altitude
            temperature = float(standard_temperature_k(density_altitude_m))
            ias = self.climb.speed_ias_mps(mass_kg, density_altitude_m, temperature)
        except (OutOfRange, NotPossible):
            return None
        return Answer(self.to_cas(ias, 0), "handbook table", table("climb"), "climb table's speed")


def _from_rows(rows: list[Printed], name: str, mass_kg: float, density_altitude_m: float, weight_unit: str) -> Answer:
    """Over weight, then density altitude: straight lines between printed rows.

    Beyond the printed weights √W from the nearest (a formula, marked); lighter only where the speed belongs to one
    angle of attack, else as printed. Beyond the printed density altitudes: refused.
    """
    heights = sorted({r.density_altitude_m for r in rows if r.density_altitude_m is not None})
    if not heights:
        return _over_weight(rows, name, mass_kg, weight_unit)
    answers = [
        _over_weight([r for r in rows if r.density_altitude_m == h], name, mass_kg, weight_unit) for h in heights
    ]
    if len(heights) == 1:
        note = f"printed for density altitude {units.write(heights[0], 'ft')} only"
        return answers[0].scaled(1.0, answers[0].how, note)
    if not heights[0] - 0.5 <= density_altitude_m <= heights[-1] + 0.5:
        low, high = units.to_unit(heights[0], "ft"), units.to_unit(heights[-1], "ft")
        asked = units.to_unit(density_altitude_m, "ft")
        where = f"the V-speeds, {name.replace('_', ' ')}"
        raise OutOfRange("density altitude [ft]", round(asked), low, high, where=where)
    value = float(np.interp(density_altitude_m, heights, [a.value for a in answers]))
    return Answer(value, answers[0].how, answers[0].source, answers[0].note)


def _over_weight(rows: list[Printed], name: str, mass_kg: float, weight_unit: str) -> Answer:
    ordered = sorted((r.mass_kg, r.cas_mps) for r in rows)
    masses, values = np.array([m for m, _ in ordered]), np.array([v for _, v in ordered])
    source = table("V-speeds")
    if masses[0] - 0.01 <= mass_kg <= masses[-1] + 0.01:
        return Answer(float(np.interp(mass_kg, masses, values)), "handbook table", source)
    i, side = (0, "lighter") if mass_kg < masses[0] else (-1, "heavier")
    printed = units.write(float(masses[i]), weight_unit)
    exact = name in _EXACT_ROOT or name.startswith(("stall", "approach"))
    if side == "lighter" and not exact:  # a book that prints one number has it flown at every weight
        return Answer(float(values[0]), "handbook table", source, f"{AS_PRINTED} {printed}")
    words = "√W" if exact else ROUGH
    note = f"{words}, {side} than the printed {printed}"
    return Answer(float(values[i]) * math.sqrt(mass_kg / float(masses[i])), "formula", source, note)
