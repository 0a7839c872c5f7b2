"""What was truly flown: marks set while flying, and what the clean columns say of each of them.

Extents (start → end) are those of the debrief's contract; where it is silent the rule is ours and stands in README.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.units import to_unit

Array = NDArray[np.float64]


@dataclass(slots=True)
class Mark:
    """One maneuver flown: kind, extent, what was asked for. Targets carry their unit in the name (printed units)."""

    kind: str
    start_s: float
    end_s: float
    intended: bool = True  # flown as an exercise; False: it only happened on the way (a climb between two exercises)
    targets: dict[str, float] = field(default_factory=dict)
    phases: dict[str, float] = field(default_factory=dict)  # phase -> time it began
    notes: dict[str, object] = field(default_factory=dict)


def _ft(value_m: float) -> float:
    return round(to_unit(float(value_m), "ft"), 1)


def _kt(value_mps: float) -> float:
    return round(to_unit(float(value_mps), "kt"), 2)


def _deg(value_rad: float) -> float:
    return round(math.degrees(float(value_rad)), 2)


def steady_bank_rad(bank_rad: Array) -> float:
    """Mean size of the bank while it is within 80 % of its 90th percentile or more. [rad]"""
    size = np.abs(bank_rad)
    high = float(np.percentile(size, 90.0))
    return float(size[size >= 0.8 * high].mean()) if high > 0.0 else 0.0


def measure(columns: dict[str, Array], start_s: float, end_s: float, targets: dict[str, float]) -> dict[str, float]:
    """True extremes of a stretch, in printed units; altitudes as a perfect altimeter shows them."""
    time_s = columns["time_s"]
    part = slice(int(np.searchsorted(time_s, start_s)), max(int(np.searchsorted(time_s, end_s, side="right")), 1))
    pick = {name: values[part] for name, values in columns.items()}
    altitude, ias, bank = pick["indicated_altitude_m"], pick["ias_mps"], pick["bank_rad"]
    if altitude.size < 2:
        return {}
    heading = np.unwrap(pick["heading_rad"])
    entry_m = float(altitude[0])
    east, north = float(pick["wind_east_mps"].mean()), float(pick["wind_north_mps"].mean())
    out = {
        "entry_altitude_ft": _ft(entry_m), "exit_altitude_ft": _ft(altitude[-1]),
        "max_altitude_ft": _ft(altitude.max()),
        "min_altitude_ft": _ft(altitude.min()), "max_altitude_error_ft": _ft(altitude.max() - entry_m),
        "min_altitude_error_ft": _ft(altitude.min() - entry_m),
        "altitude_lost_from_entry_ft": _ft(max(0.0, entry_m - float(altitude.min()))),
        "entry_ias_kt": _kt(ias[0]), "max_ias_kt": _kt(ias.max()), "min_ias_kt": _kt(ias.min()),
        "mean_ias_kt": _kt(ias.mean()), "mean_tas_kt": _kt(pick["tas_mps"].mean()),
        "max_bank_deg": _deg(np.abs(bank).max()), "steady_mean_bank_deg": _deg(steady_bank_rad(bank)),
        "heading_change_deg": _deg(heading[-1] - heading[0]),
        "max_load_factor": round(float(pick["load_factor"].max()), 3),
        "min_agl_ft": _ft(pick["agl_m"].min()),
        "wind_from_deg": _deg(math.atan2(-east, -north) % (2.0 * math.pi)), "wind_kt": _kt(math.hypot(east, north)),
        "stall_warning_s": round(float(pick["stall_warning"].mean()) * (end_s - start_s), 1),
        "max_rpm": round(float(pick["rpm"].max())), "mean_rpm": round(float(pick["rpm"].mean())),
        "fuel_used_kg": round(float(pick["mass_kg"][0] - pick["mass_kg"][-1]), 3),
    }  # fmt: skip
    if "altitude_ft" in targets:
        out["max_altitude_error_from_target_ft"] = round(out["max_altitude_ft"] - targets["altitude_ft"], 1)
        out["min_altitude_error_from_target_ft"] = round(out["min_altitude_ft"] - targets["altitude_ft"], 1)
    return out


def _runs(inside: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Stretches of true samples as (first, one past last)."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def incidental(columns: dict[str, Array], marks: list[Mark]) -> list[Mark]:
    """Climbs, descents, level turns and level stretches that happened outside the marked maneuvers.

    They are neither hits nor false alarms for a recognizer. Found in the true state with our own simple thresholds.
    """
    time_s, climb = columns["time_s"], columns["vertical_speed_mps"]
    dt_s = float(np.median(np.diff(time_s)))
    free = columns["on_ground"] < 0.5
    for mark in marks:
        if mark.kind != "tank_change":
            free &= ~((time_s >= mark.start_s) & (time_s <= mark.end_s))
    width = max(1, round(10.0 / dt_s))
    smooth = np.convolve(
        np.pad(climb, (width // 2, width - 1 - width // 2), mode="edge"), np.ones(width) / width, "valid"
    )
    short = max(1, round(3.0 / dt_s))
    bank = np.convolve(columns["bank_rad"], np.ones(short) / short, "same")
    turning = np.abs(bank) > math.radians(6.0)
    heading = np.unwrap(columns["heading_rad"])
    found: list[Mark] = []

    def add(kind: str, inside: NDArray[np.bool_], least_s: float) -> None:
        for first, last in _runs(inside & free):
            if time_s[last - 1] - time_s[first] < least_s:
                continue
            if kind == "level_turn" and abs(heading[last - 1] - heading[first]) < math.radians(45.0):
                continue
            found.append(
                Mark(kind, float(time_s[first]), float(time_s[last - 1]), intended=False, notes={"incidental": True})
            )

    add("climb", smooth > 1.0, 20.0)
    add("descent", smooth < -1.0, 20.0)
    add("level_turn", turning & (np.abs(smooth) < 2.5), 6.0)
    add("straight_and_level", ~turning & (np.abs(smooth) < 0.8), 20.0)
    return found
