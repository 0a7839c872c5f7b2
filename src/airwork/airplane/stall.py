"""Stall speeds for today's weight and load, scaled in calibrated airspeed. SI.

Vs is proportional to √W and √n in calibrated airspeed ([PHAK] FAA-H-8083-25C ch. 5 and 11); scaling indicated airspeed
instead errs by 2–3 kt at low weight.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork import units
from airwork.airplane.answer import Answer, table
from airwork.airplane.file.base import SpeedRow
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import printed_unit
from airwork.airplane.limits import arc_mps
from airwork.airplane.parts import knots_mps

Array = NDArray[np.float64]
ToCas = Callable[[float, int], float]  # (ias_mps, flap_notch) -> cas_mps


def row_cas_mps(row: SpeedRow, notch: int, to_cas: ToCas) -> float:
    """Calibrated airspeed of a row: as printed, else its indicated speed through the calibration. [m/s]"""
    if row.kcas is not None:
        return units.from_unit(row.kcas, "kt")
    return to_cas(knots_mps(row.kias) or 0.0, notch)


@dataclass(frozen=True)
class StallCurve:
    """Printed stall speeds of one flap notch, wings level: masses rising, and Vs/√m for each."""

    mass_kg: Array
    ratio: Array  # CAS / √mass
    source: str
    weight_unit: str = "lb"  # the book's

    def cas(self, mass_kg: ArrayLike, load_factor: ArrayLike) -> Array:
        """Stall speed: Vs/√m between the printed weights on a straight line, held beyond them; times √n. [m/s]"""
        m, n = np.asarray(mass_kg, dtype=float), np.asarray(load_factor, dtype=float)
        with np.errstate(invalid="ignore"):
            return np.interp(m, self.mass_kg, self.ratio) * np.sqrt(m) * np.sqrt(n)

    def answer(self, mass_kg: float, load_factor: float) -> Answer:
        """One stall speed, saying how it was had. [m/s]"""
        note = self._note(mass_kg)
        if load_factor != 1.0:
            note = "; ".join(filter(None, [note, f"× √{load_factor:.2f}"]))
        value = float(self.cas(mass_kg, load_factor))
        return Answer(value, "formula" if note else "handbook table", self.source, note)

    def _note(self, mass_kg: float) -> str:
        """Where today's weight lies among the printed ones; empty at a printed weight."""
        low, high = float(self.mass_kg[0]), float(self.mass_kg[-1])
        if np.any(np.abs(self.mass_kg - mass_kg) < 0.01):
            return ""
        if len(self.mass_kg) > 1 and low < mass_kg < high:
            return "√W between printed weights"
        side, printed = ("lighter", low) if mass_kg < low else ("heavier", high)
        return f"√W, {side} than the printed {units.write(printed, self.weight_unit)}"


def stall_curves(file: AirplaneFile, to_cas: ToCas) -> dict[int, StallCurve]:
    """The stall curve of each flap notch the file speaks of, flaps up first.

    From the stall table; a notch it lacks from the V-speeds (flaps up, flaps full); else from the ends of the green and
    white arcs, which mark the stall at maximum weight.
    """
    curves: dict[int, StallCurve] = {}
    full = len(file.flaps.notches) - 1
    rows: dict[int, list[tuple[float, float]]] = {}
    for row in file.performance.stall.rows if file.performance.stall else []:
        if row.bank_deg == 0 and row.flap_notch <= full:
            pair = (units.from_unit(row.weight_lb, "lb"), row_cas_mps(row, row.flap_notch, to_cas))
            rows.setdefault(row.flap_notch, []).append(pair)
    for notch, pairs in rows.items():
        _keep(curves, notch, pairs, table("stall speeds"))
    heavy_lb = file.airplane.maximum_takeoff_weight_lb
    for name, notch in (("stall_flaps_up", 0), ("stall_flaps_full", full)):
        found = [r for r in (file.v_speeds.rows if file.v_speeds else []) if r.name == name]
        pairs = [(units.from_unit(r.weight_lb or heavy_lb, "lb"), row_cas_mps(r, notch, to_cas)) for r in found]
        _keep(curves, notch, pairs, table("V-speeds"))
    for arc, notch in (("green_arc", 0), ("white_arc", full)):
        if (low := arc_mps(file, arc)) is not None:
            pairs = [(units.from_unit(heavy_lb, "lb"), to_cas(low[0], notch))]
            _keep(curves, notch, pairs, f"{arc.replace('_', ' ')}, low end")
    unit = printed_unit(file.printed, "airplane", "maximum_takeoff_weight_lb")
    return {notch: replace(curve, weight_unit=unit) for notch, curve in sorted(curves.items())}


def _keep(curves: dict[int, StallCurve], notch: int, pairs: Iterable[tuple[float, float]], source: str) -> None:
    """Make a curve of the pairs (mass, CAS) unless the notch has one; one value per mass."""
    by_mass = {m: v for m, v in sorted(pairs, reverse=True) if v == v}
    if notch in curves or not by_mass:
        return
    mass = np.array(sorted(by_mass))
    curves[notch] = StallCurve(mass, np.array([by_mass[m] for m in mass]) / np.sqrt(mass), source)
