"""Indicated and calibrated airspeed by the airplane's own calibration table. SI."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork import units
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.speeds import CalibrationTable
from airwork.errors import OutOfRange

Array = NDArray[np.float64]

# An airspeed indicator shows little below this share of the calibration's first row; there is no answer there.
LOWEST_SHARE = 0.5


@dataclass(frozen=True)
class CalibrationCurve:
    """Piecewise straight line through the rows; the first slope continues below the first row.

    That continuation is the file format's own rule (stall speeds at low weight lie there); above the last row and below
    half the first row's indicated speed there is no answer. `ias_mps` is empty where the file has no calibration: then
    calibrated is taken as indicated, and `assumed` says so.
    """

    ias_mps: Array
    cas_mps: Array
    name: str
    assumed: bool = False

    @property
    def _slope(self) -> float:
        return float((self.cas_mps[1] - self.cas_mps[0]) / (self.ias_mps[1] - self.ias_mps[0]))

    def cas(self, ias_mps: ArrayLike) -> Array:
        """Calibrated airspeed; NaN outside. [m/s]"""
        x = np.asarray(ias_mps, dtype=float)
        if self.assumed:
            return np.where(x >= 0, x, np.nan)
        below = self.cas_mps[0] + self._slope * (x - self.ias_mps[0])
        y = np.where(x < self.ias_mps[0], below, np.interp(x, self.ias_mps, self.cas_mps))
        return np.where((x >= LOWEST_SHARE * self.ias_mps[0]) & (x <= self.ias_mps[-1]), y, np.nan)

    def ias(self, cas_mps: ArrayLike) -> Array:
        """Indicated airspeed; NaN outside. [m/s]"""
        x = np.asarray(cas_mps, dtype=float)
        if self.assumed:
            return np.where(x >= 0, x, np.nan)
        below = self.ias_mps[0] + (x - self.cas_mps[0]) / self._slope
        y = np.where(x < self.cas_mps[0], below, np.interp(x, self.cas_mps, self.ias_mps))
        return np.where((y >= LOWEST_SHARE * self.ias_mps[0]) & (x <= self.cas_mps[-1]), y, np.nan)

    def refuse(self, speed_mps: float, kind: str, unit: str) -> OutOfRange:
        """The error for a single speed without an answer, in the dial's unit."""
        column = self.ias_mps if kind == "indicated" else self.cas_mps
        low = LOWEST_SHARE * self.ias_mps[0] if kind == "indicated" else float(self.cas(LOWEST_SHARE * self.ias_mps[0]))
        return OutOfRange(
            f"{kind} airspeed [{unit}]",
            units.to_unit(speed_mps, unit),
            units.to_unit(low, unit),
            units.to_unit(float(column[-1]), unit),
            where=f"the airspeed calibration, {self.name}",
        )

    def continued(self, ias_mps: float) -> bool:
        """Does this indicated speed lie below the printed rows, on the continued first slope?"""
        return not self.assumed and ias_mps < self.ias_mps[0]


def _curve(rows: CalibrationTable, name: str) -> CalibrationCurve:
    ordered = np.array(sorted((r.kias, r.kcas) for r in rows.rows)) * units.KT_MPS
    keep = np.concatenate([[True], (np.diff(ordered[:, 0]) > 0) & (np.diff(ordered[:, 1]) > 0)])
    if keep.sum() < 2:  # nothing that rises: `airplane check` says so
        return CalibrationCurve(np.empty(0), np.empty(0), name, assumed=True)
    return CalibrationCurve(ordered[keep, 0], ordered[keep, 1], name)


def calibrations(file: AirplaneFile) -> tuple[CalibrationCurve, ...]:
    """One curve per flap notch: the notch's own, else flaps_down for any flaps, else flaps_up."""
    none = CalibrationCurve(np.empty(0), np.empty(0), "none in the file", assumed=True)
    tables = file.airspeed_calibration
    if tables is None:
        return tuple(none for _ in file.flaps.notches)
    up = _curve(tables.flaps_up, "flaps up") if tables.flaps_up else None
    down = _curve(tables.flaps_down, "flaps down") if tables.flaps_down else None
    curves = []
    for entry in file.flaps.notches:
        own = getattr(tables, f"notch_{entry.notch}", None)
        if own is not None:
            curves.append(_curve(own, f"flap notch {entry.notch}"))
        elif entry.notch == 0:
            curves.append(up or none)
        else:
            curves.append(down or none)
    return tuple(curves)
