"""The invented airplanes of the demo as JSBSim models, made from the truth numbers in their airplane files.

Lift, drag, thrust, power and fuel follow the file, so a card computed from the file's tables can be flown and checked.
Stability derivatives are round figures of a typical light single (from memory, no source); they shape how it handles,
not what it performs.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

import airwork
from airwork.units import FT_M, HP_W
from flying.engine import Engine, Propeller

FILES = Path(airwork.__file__).parent / "demo_files" / "airplanes"
TRUTH = Path(__file__).resolve().parents[2] / "tests" / "sources" / "airplane_truth.toml"
LIFT_AT_ZERO = 0.31
KNEE = 0.82  # the lift curve is straight up to this share of its maximum
AFTER_STALL = 0.25  # share of the lift lost within 6° past the stall


@dataclass(frozen=True, slots=True)
class Invented:
    """What the simulator needs of one airplane file, printed units as in the file."""

    id: str
    file: dict[str, Any]
    truth: dict[str, Any]
    flap_deg: tuple[float, ...]
    lift_slope: float

    @property
    def lift_max(self) -> tuple[float, ...]:
        return tuple(self.truth["CLmax_by_flap_notch"])

    def lift_shift(self, notch: int) -> float:
        """Lift a flap notch adds at a given angle of attack."""
        return 1.25 * (self.lift_max[notch] - self.lift_max[0])

    def knee_rad(self, notch: int) -> float:
        """Angle of attack where the lift curve begins to bend; taken for the stall warning's. [rad]"""
        return (KNEE * self.lift_max[notch] - LIFT_AT_ZERO - self.lift_shift(notch)) / self.lift_slope

    def stall_rad(self, notch: int) -> float:
        """Angle of attack of maximum lift. [rad]"""
        return self.knee_rad(notch) + 2.0 * (1.0 - KNEE) * self.lift_max[notch] / self.lift_slope

    def lift(self, alpha_rad: float, notch: int) -> float:
        """Lift coefficient: straight, bent to the maximum, then a drop."""
        top, knee, stall = self.lift_max[notch], self.knee_rad(notch), self.stall_rad(notch)
        if alpha_rad <= knee:
            return max(-0.8, LIFT_AT_ZERO + self.lift_shift(notch) + self.lift_slope * alpha_rad)
        if alpha_rad <= stall:
            x = alpha_rad - knee
            return KNEE * top + self.lift_slope * x - self.lift_slope**2 * x * x / (4.0 * (1.0 - KNEE) * top)
        x = min(1.0, (alpha_rad - stall) / 0.10)
        return top * (1.0 - AFTER_STALL * x * x * (3.0 - 2.0 * x))

    def alpha_rad(self, lift: float, notch: int) -> float:
        """Angle of attack below the stall for a lift coefficient. [rad]"""
        grid = np.linspace(-0.2, self.stall_rad(notch), 400)
        return float(np.interp(lift, [self.lift(float(a), notch) for a in grid], grid))

    def drag_n(self, lift_n: float, tas_mps: float, density_kgpm3: float, notch: int, *, idle: bool = False) -> float:
        """CD0 + ΔCD_flap + k·CL² (and the windmilling propeller's share). [N]"""
        q_s = 0.5 * density_kgpm3 * tas_mps**2 * self.truth["wing_area_ft2"] * FT_M**2
        cd = self.truth["CD0_flaps_up"] + self.truth["delta_CD_by_flap_notch"][notch]
        cd += self.truth["CD_induced_factor_k"] * (lift_n / q_s) ** 2
        return float(q_s * (cd + (self.truth["windmilling_delta_CD"] if idle else 0.0)))

    def engine(self) -> Engine:
        truth = self.truth
        rows = self.file["performance"]["cruise"]["rows"]
        fuel = {}
        for mixture in ("full_rich", "best_power"):
            known = [(r["percent_power"], r[f"gph_{mixture}"]) for r in rows if r.get(f"gph_{mixture}") is not None]
            percent, gph = np.array(known, dtype=np.float64).T
            slope, start = np.polyfit(percent, gph, 1)
            fuel[mixture] = (float(start), float(slope))
        propeller = Propeller(
            truth["prop_diameter_ft"] * FT_M,
            tuple(truth["thrust_coefficient_poly_in_J"]),
            tuple(truth["power_coefficient_poly_in_J"]),
        )
        return Engine(
            propeller, rated_power_w=truth["rated_power_hp"] * HP_W, rated_rpm=truth["rated_rpm"],
            dropoff=truth["altitude_dropoff_C"], fuel_gph=fuel,
        )  # fmt: skip

    def calibration(self, flaps: bool) -> tuple[list[float], list[float]]:
        """(calibrated, indicated) in kt, ascending; the first slope continued downwards as the file's rules say."""
        rows = self.file["airspeed_calibration"]["flaps_down" if flaps else "flaps_up"]["rows"]
        cas, ias = [float(r["kcas"]) for r in rows], [float(r["kias"]) for r in rows]
        slope = (ias[1] - ias[0]) / (cas[1] - cas[0])
        below = ias[0] / slope  # where the line would reach zero
        if cas[0] - below > 0.0:
            return [cas[0] - below, *cas], [0.0, *ias]
        return [0.0, *cas], [0.0, *ias]

    def speed_kias(self, name: str, mass_lb: float) -> float:
        """A named speed at a mass, between the file's rows (held at the ends)."""
        found: dict[float, list[float]] = {}
        for row in self.file["v_speeds"]["rows"]:
            if row["name"] == name:  # some are given for several density altitudes: their middle
                found.setdefault(row["weight_lb"], []).append(row["kias"])
        weights = sorted(found)
        return float(np.interp(mass_lb, weights, [float(np.median(found[w])) for w in weights]))


@lru_cache
def load(airplane_id: str) -> Invented:
    """Read one of the invented airplanes' files."""
    file = tomllib.loads((FILES / f"{airplane_id}.toml").read_text(encoding="utf-8"))
    truth = tomllib.loads(TRUTH.read_text(encoding="utf-8"))[airplane_id]
    ratio = truth["wing_span_ft"] ** 2 / truth["wing_area_ft2"]
    flaps = tuple(float(n["deflection_deg"]) for n in file["flaps"]["notches"])
    return Invented(airplane_id, file, truth, flaps, 2.0 * math.pi / (1.0 + 2.2 / ratio))
