"""Steady states of light airplanes of the flight dynamics library JSBSim, and readings an instructor could take.

`tests/sources/jsbsim_trims.csv` was written by `bench/performance_truth.py` (see there for what each row is). Here the
rows become arrays, an airplane file with a stall table and nothing else a handbook holds, and noisy readings at one
weight and altitude: level points, one climb, one glide.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from airwork.airplane.airplane import Airplane
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.performance.condition import Condition
from airwork.units import FT_M, KT_MPS, LB_KG

SOURCE = Path(__file__).parent / "sources" / "jsbsim_trims.csv"
FIXED_PITCH = ("c172p", "c172x", "c172y", "c172r", "c182y", "j3cub")
CONSTANT_SPEED = ("c182v",)
FLAPS = {0.0: 0, 0.333: 1, 1.0: 2}  # flap of the trims -> notch of the airplane file

# wing area [ft²], span [ft], propeller [in], rated power [hp], rated RPM: of the JSBSim models' own files
SIZES = {
    "c172p": (174, 35.8, 75, 160, 2700),
    "c172x": (174, 36.0, 75, 160, 2700),
    "c172y": (174, 35.8, 75, 160, 2700),
    "c172r": (174, 36.1, 75, 180, 2700),
    "c182y": (174, 35.8, 75, 235, 2700),
    "j3cub": (178.5, 35.25, 75, 65, 2300),
    "c182v": (174, 35.8, 81, 230, 2400),
}


@dataclass(frozen=True)
class Noise:
    """Standard deviations of what is read in the cockpit; the tachometer is then read to 10 RPM, the dial to 1 kt."""

    rpm: float = 12.0
    kt: float = 1.0
    climb_fpm: float = 30.0
    glide_fpm: float = 30.0
    inhg: float = 0.3


@lru_cache(maxsize=1)
def rows() -> Mapping[str, Mapping[str, Mapping[str, np.ndarray]]]:
    """airplane -> kind -> column -> array."""
    found: dict[str, dict[str, list[dict[str, Any]]]] = {}
    with SOURCE.open(newline="") as file:
        for row in csv.DictReader(file):
            found.setdefault(row.pop("airplane"), {}).setdefault(row.pop("kind"), []).append(row)
    return {
        name: {
            kind: {column: np.array([float(r[column]) for r in table]) for column in table[0]}
            for kind, table in kinds.items()
        }
        for name, kinds in found.items()
    }


def stall_kcas(name: str, weight_lb: np.ndarray, flap: np.ndarray) -> np.ndarray:
    """True stall speed of each state, from the power-off trims by √W."""
    table = rows()[name]["stall"]
    out = np.empty(np.shape(weight_lb))
    for one in np.unique(flap):
        here = table["flap"] == one
        ratio = np.mean(table["kcas"][here] / np.sqrt(table["weight_lb"][here]))
        out[flap == one] = ratio * np.sqrt(weight_lb[flap == one])
    return out


def usable(name: str, kind: str, *, flaps: tuple[float, ...] = (0.0, 1.0)) -> dict[str, np.ndarray]:
    """States of a kind at or above 1.05 times the stall speed, within 2 % over the rated RPM, at these flaps."""
    table = rows()[name][kind]
    stall = stall_kcas(name, table["weight_lb"] * table["load_factor"], table["flap"])
    keep = (table["kcas"] >= 1.05 * stall) & (table["rpm"] < 1.02 * SIZES[name][4]) & np.isin(table["flap"], flaps)
    out = {column: values[keep] for column, values in table.items()}
    out["over_stall"] = out["kcas"] / stall[keep]
    return out


def asked(table: Mapping[str, np.ndarray]) -> tuple[np.ndarray, Condition]:
    """The states as the performance model is asked: calibrated speed, and the rest. [m/s]"""
    notch = np.array([FLAPS[f] for f in table["flap"]], dtype=int)
    at = Condition(table["weight_lb"] * LB_KG, table["pressure_altitude_ft"] * FT_M, table["oat_c"] + 273.15, notch)
    return table["kcas"] * KT_MPS, at


def airplane(name: str, observations: list[dict[str, Any]]) -> Airplane:
    """A file that holds what such an airplane's papers would: sizes, rating, stall speeds, and the readings."""
    area, span, propeller, power, rpm = SIZES[name]
    stalls = rows()[name]["stall"]
    heavy = float(np.max(rows()[name]["level"]["weight_lb"]))
    notches = sorted(FLAPS[f] for f in np.unique(stalls["flap"]))
    constant = name in CONSTANT_SPEED
    data: dict[str, Any] = {
        "airplane": {
            "schema_version": 1, "id": name, "name": f"JSBSim {name}", "maximum_takeoff_weight_lb": heavy,
            "wing_area_ft2": area, "wing_span_ft": span, "airspeed_indicator_unit": "kt",
        },
        "engine": {"rated_power_hp": power, "rated_rpm": rpm, "fuel_system": "carburetor"},
        "propeller": {"type": "constant_speed" if constant else "fixed_pitch", "diameter_in": propeller},
        "flaps": {"notches": [{"notch": n, "deflection_deg": (0, 10, 30)[n]} for n in notches]},
        "performance": {
            "stall": {
                "rows": [
                    {"weight_lb": float(w), "flap_notch": FLAPS[f], "kcas": float(round(v))}
                    for w, f, v in zip(stalls["weight_lb"], stalls["flap"], stalls["kcas"], strict=True)
                ]
            }
        },
        "observations": observations,
    }  # fmt: skip
    if constant:
        data["performance"]["power_chart"] = {
            "rows": [
                {
                    "pressure_altitude_ft": float(h), "rpm": float(n), "manifold_pressure_inhg": float(p),
                    "percent_power": round(100 * power_share(p, n, h, rpm), 0),
                }
                for h in (0, 4000, 8000) for n in (2100, 2400) for p in range(14, 28, 2)
            ]
        }  # fmt: skip
    return Airplane(AirplaneFile.model_validate(data))


def power_share(inhg: float, rpm: float, altitude_ft: float, rated_rpm: float) -> float:
    """Share of rated power of the made-up engine that stands before the constant-speed propeller."""
    return float(rpm / rated_rpm * ((inhg - 4.0) / 24.9 + 0.006 * altitude_ft / 1000.0))


def pressure_for(share: float, rpm: float, altitude_ft: float, rated_rpm: float) -> float:
    """Manifold pressure of a share; inverse of `power_share`. [inHg]"""
    return float(4.0 + 24.9 * (share * rated_rpm / rpm - 0.006 * altitude_ft / 1000.0))


@dataclass(frozen=True)
class Training:
    """Readings at one weight and altitude, and the level states they were taken of (indices into `usable`)."""

    observations: list[dict[str, Any]]
    level_index: np.ndarray


# Shares of the way from 1.12 Vs to the fastest level speed within 96 % of rated RPM, flaps up; times Vs with full flaps
CLEAN, FULL = (0.0, 0.2, 0.45, 0.7, 1.0), (1.2, 1.8)
CLOSE = (1.15, 1.45)  # full-flap readings closer together than airwork asks for


def choose(
    name: str, weight_lb: float, altitude_ft: float, clean: tuple[float, ...] = CLEAN, full: tuple[float, ...] = FULL
) -> np.ndarray:
    """Indices of the level states an instructor would fly at one weight and altitude."""
    table = usable(name, "level")
    here = (np.abs(table["weight_lb"] - weight_lb) < 20) & (np.abs(table["pressure_altitude_ft"] - altitude_ft) < 100)
    if name in CONSTANT_SPEED:
        here &= table["rpm"] == 2100
    stall = table["kcas"] / table["over_stall"]

    def nearest(flap: float, kcas: float) -> int:
        index = np.flatnonzero(here & (table["flap"] == flap))
        return int(index[np.argmin(np.abs(table["kcas"][index] - kcas))])

    up = here & (table["flap"] == 0) & (table["rpm"] < 0.96 * SIZES[name][4])
    slow, fast = 1.12 * stall[up].mean(), table["kcas"][up].max()
    chosen = [nearest(0.0, slow + share * (fast - slow)) for share in clean]
    down = here & (table["flap"] == 1.0)
    if down.any():
        chosen += [nearest(1.0, factor * stall[down].mean()) for factor in full]
    return np.array(chosen)


def training(
    name: str,
    weight_lb: float,
    altitude_ft: float,
    rng: np.random.Generator,
    noise: Noise = Noise(),
    clean: tuple[float, ...] = CLEAN,
    full: tuple[float, ...] = FULL,
) -> Training:
    """Level readings, one full-throttle climb at about 1.45 Vs, one idle glide at about 1.35 Vs, with noise."""
    table = usable(name, "level")
    index = choose(name, weight_lb, altitude_ft, clean, full)
    out = [_noted(name, "level", {c: float(v[i]) for c, v in table.items()}, rng, noise) for i in index]
    for kind, factor in (("climb", 1.45), ("glide", 1.35)):
        steady = usable(name, kind, flaps=(0.0,))
        near = np.abs(steady["weight_lb"] - weight_lb) < 20
        if kind == "climb":
            near &= np.abs(steady["pressure_altitude_ft"] - altitude_ft) < 100
        where = np.flatnonzero(near)
        i = int(where[np.argmin(np.abs(steady["over_stall"][where] - factor))])
        out.append(_noted(name, kind, {c: float(v[i]) for c, v in steady.items()}, rng, noise))
    return Training(out, index)


def _noted(name: str, kind: str, at: dict[str, float], rng: np.random.Generator, noise: Noise) -> dict[str, Any]:
    """One reading as it would be typed: read with an error, rounded as the dial allows."""
    level = kind == "level"
    kcas = float(round(at["kcas"] + (rng.normal(0.0, noise.kt) if level else 0.0)))
    row: dict[str, Any] = {
        "weight_lb": at["weight_lb"], "pressure_altitude_ft": at["pressure_altitude_ft"], "oat_c": at["oat_c"],
        "flap_notch": FLAPS[round(at["flap"], 3)], "kcas": kcas,
        "kind": {"level": "level", "climb": "full_throttle_climb", "glide": "idle_glide"}[kind],
    }  # fmt: skip
    if kind == "glide":
        row["rate_of_descent_fpm"] = float(
            round((-at["rate_of_climb_fpm"] + rng.normal(0.0, noise.glide_fpm)) / 10) * 10
        )
        return row
    if name in CONSTANT_SPEED:
        row["rpm"] = at["rpm"]
        share = at["hp"] / SIZES[name][3]
        inhg = pressure_for(share, at["rpm"], at["pressure_altitude_ft"], SIZES[name][4])
        row["manifold_pressure_inhg"] = float(round(inhg + rng.normal(0.0, noise.inhg), 1))
    else:
        row["rpm"] = float(round((at["rpm"] + rng.normal(0.0, noise.rpm)) / 10) * 10)
    if kind == "climb":
        row["rate_of_climb_fpm"] = float(round((at["rate_of_climb_fpm"] + rng.normal(0.0, noise.climb_fpm)) / 10) * 10)
    return row


def conditions(name: str) -> list[tuple[float, float]]:
    """(weight, altitude) pairs readings are taken at: each weight, low and high, where full flaps hold level too."""
    table = usable(name, "level")
    weights = sorted({round(w / 10) * 10 for w in table["weight_lb"]})
    pairs = [(float(w), h) for w in weights for h in (1500.0, 6500.0)]
    full = np.isin(1.0, table["flap"])
    near = lambda w, h: (np.abs(table["weight_lb"] - w) < 20) & (np.abs(table["pressure_altitude_ft"] - h) < 100)  # noqa: E731
    return [(w, h) for w, h in pairs if not full or np.sum(near(w, h) & (table["flap"] == 1.0)) >= 5]
