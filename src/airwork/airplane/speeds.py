"""Stall and V-speeds for today's weight and air, with how each was had. Scaled in calibrated airspeed. SI.

Vs is proportional to √W and √n in calibrated airspeed ([PHAK] FAA-H-8083-25C ch. 5 and 11); scaling indicated
airspeed instead errs by 2–3 kt at low weight.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork import units
from airwork.airplane.answer import Answer, table
from airwork.airplane.file.base import SpeedRow
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.speeds import VSpeedRow
from airwork.errors import NotPossible, OutOfRange

Array = NDArray[np.float64]
ToCas = Callable[[float, int], float]  # (ias_mps, flap_notch) -> cas_mps

_NOTE_DENSITY_ALTITUDE = re.compile(r"density altitude\s+(-?[\d,]+)\s*ft")
APPROACH_FACTOR = 1.3  # approach speed over stall speed, calibrated ([AFH] FAA-H-8083-3C ch. 9; the handbook decides)
# Speeds that scale with √W at constant angle of attack; the others only roughly.
_EXACT_ROOT = {"maneuvering", "best_glide", "minimum_sink", "best_angle_of_climb"}


def row_cas_mps(row: SpeedRow, notch: int, to_cas: ToCas) -> float:
    """Calibrated airspeed of a row: as printed, else its indicated speed through the calibration. [m/s]"""
    if row.kcas is not None:
        return units.from_unit(row.kcas, "kt")
    if row.calibrated_mph is not None:
        return units.from_unit(row.calibrated_mph, "mph")
    return to_cas(row_ias_mps(row) or 0.0, notch)


def row_ias_mps(row: SpeedRow, dial: str = "kt") -> float | None:
    """Indicated airspeed of a row, the dial's own column first; None if only calibrated is printed. [m/s]"""
    columns = [(row.kias, "kt"), (row.indicated_mph, "mph")]
    if dial == "mph":
        columns.reverse()
    return next((units.from_unit(number, unit) for number, unit in columns if number is not None), None)


@dataclass(frozen=True)
class StallCurve:
    """Printed stall speeds of one flap notch, wings level: masses rising, and Vs/√m for each."""

    mass_kg: Array
    ratio: Array  # CAS / √mass
    source: str

    def cas(self, mass_kg: ArrayLike, load_factor: ArrayLike) -> Array:
        """Stall speed: Vs/√m between the printed weights on a straight line, held beyond them; times √n. [m/s]"""
        m = np.asarray(mass_kg, dtype=float)
        n = np.asarray(load_factor, dtype=float)
        with np.errstate(invalid="ignore"):
            return np.interp(m, self.mass_kg, self.ratio) * np.sqrt(m) * np.sqrt(n)

    def note(self, mass_kg: float) -> str:
        """Where today's weight lies among the printed ones; empty at a printed weight."""
        low, high = float(self.mass_kg[0]), float(self.mass_kg[-1])
        if np.any(np.abs(self.mass_kg - mass_kg) < 0.01):
            return ""
        if len(self.mass_kg) > 1 and low < mass_kg < high:
            return "between printed weights, by √W"
        printed = f"{units.write(low if mass_kg < low else high, 'lb')}"
        return f"{'lighter' if mass_kg < low else 'heavier'} than the printed {printed}, by √W"


def stall_curves(file: AirplaneFile, to_cas: ToCas) -> dict[int, StallCurve]:
    """The stall curve of each flap notch the file speaks of.

    From the stall table; a notch it lacks from the V-speeds (flaps up, flaps full); else from the ends of the green and
    white arcs, which mark the stall at maximum weight.
    """
    curves: dict[int, StallCurve] = {}
    full = len(file.flaps.notches) - 1
    rows: dict[int, list[tuple[float, float]]] = {}
    if file.performance.stall:
        for row in file.performance.stall.rows:
            if row.bank_deg == 0 and row.flap_notch <= full:
                rows.setdefault(row.flap_notch, []).append(
                    (units.from_unit(row.weight_lb, "lb"), row_cas_mps(row, row.flap_notch, to_cas))
                )
    for notch, pairs in rows.items():
        curves[notch] = _curve(pairs, table("stall speeds"))
    for name, notch in (("stall_flaps_up", 0), ("stall_flaps_full", full)):
        pairs = [
            (
                units.from_unit(row.weight_lb or file.airplane.maximum_takeoff_weight_lb, "lb"),
                row_cas_mps(row, notch, to_cas),
            )
            for row in (file.v_speeds.rows if file.v_speeds else [])
            if row.name == name
        ]
        if notch not in curves and pairs:
            curves[notch] = _curve(pairs, table("V-speeds"))
    heavy = units.from_unit(file.airplane.maximum_takeoff_weight_lb, "lb")
    for arc, notch in (("green_arc", 0), ("white_arc", full)):
        low = arc_mps(file, arc)
        if notch not in curves and low is not None:
            curves[notch] = _curve([(heavy, to_cas(low[0], notch))], f"{arc.replace('_', ' ')}, low end")
    return curves


def arc_mps(file: AirplaneFile, arc: str) -> tuple[float, float] | None:
    """[low, high] of an arc, indicated; None if the file has none. [m/s]"""
    if file.limitations is None:
        return None
    for key, unit in ((f"{arc}_kias", "kt"), (f"{arc}_indicated_mph", "mph")):
        found = getattr(file.limitations, key)
        if found is not None:
            return units.from_unit(found[0], unit), units.from_unit(found[1], unit)
    return None


def _curve(pairs: Iterable[tuple[float, float]], source: str) -> StallCurve:
    by_mass = dict(sorted(pairs, reverse=True))  # one value per mass
    mass = np.array(sorted(by_mass))
    return StallCurve(mass, np.array([by_mass[m] for m in mass]) / np.sqrt(mass), source)


def density_altitude_of(row: VSpeedRow) -> float | None:
    """Density altitude a V-speed row is for: its own key, else "density altitude N ft" in its note. [m]"""
    if row.density_altitude_ft is not None:
        return units.from_unit(row.density_altitude_ft, "ft")
    if found := _NOTE_DENSITY_ALTITUDE.search(row.note):
        return units.from_unit(float(found[1].replace(",", "")), "ft")
    return None


def v_speed(
    rows: list[tuple[float, float | None, float]], name: str, mass_kg: float, density_altitude_m: float
) -> Answer:
    """A V-speed in CAS from its rows (mass, density altitude or None, CAS): over weight, then density altitude.

    Between printed weights a straight line; beyond them √W from the nearest (a formula, marked). Density altitude only
    between printed rows. [m/s]
    """
    title = name.replace("_", " ")
    heights = sorted({h for _, h, _ in rows if h is not None})
    if not heights:
        return _over_weight([(m, v) for m, _, v in rows], name, mass_kg)
    if len(heights) > 1 and not heights[0] - 0.5 <= density_altitude_m <= heights[-1] + 0.5:
        raise OutOfRange(
            "density altitude [ft]",
            units.to_unit(density_altitude_m, "ft"),
            units.to_unit(heights[0], "ft"),
            units.to_unit(heights[-1], "ft"),
            where=f"the V-speeds, {title}",
        )
    answers = [_over_weight([(m, v) for m, h, v in rows if h == at], name, mass_kg) for at in heights]
    if len(heights) == 1:
        at = units.write(heights[0], "ft")
        return answers[0].scaled(1.0, answers[0].how, f"printed for density altitude {at} only")
    value = float(np.interp(density_altitude_m, heights, [a.value for a in answers]))
    return Answer(value, answers[0].how, answers[0].source, answers[0].note)


def _over_weight(pairs: list[tuple[float, float]], name: str, mass_kg: float) -> Answer:
    ordered = sorted(pairs)
    masses, values = np.array([m for m, _ in ordered]), np.array([v for _, v in ordered])
    source = table("V-speeds")
    if masses[0] - 0.01 <= mass_kg <= masses[-1] + 0.01:
        return Answer(float(np.interp(mass_kg, masses, values)), "handbook table", source)
    i = 0 if mass_kg < masses[0] else -1
    words = "by √W" if name in _EXACT_ROOT or name.startswith(("stall", "approach")) else "by √W, which is rough here"
    side = "lighter" if i == 0 else "heavier"
    note = f"{side} than the printed {units.write(float(masses[i]), 'lb')}, {words}"
    return Answer(float(values[i]) * math.sqrt(mass_kg / float(masses[i])), "formula", source, note)


def missing_speed(name: str, known: Iterable[str]) -> NotPossible:
    """The error for a speed the file doesn't have."""
    have = ", ".join(sorted(set(known))) or "none"
    return NotPossible(f"The airplane file has no speed {name!r} in [v_speeds] (it has: {have}). Add a row for it.")
