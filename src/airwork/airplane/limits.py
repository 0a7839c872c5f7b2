"""Limitations of an airplane in SI, from its file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from airwork import units
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.parts import flap_notches, knots_mps

# Limit load factors of the normal category, where a file gives none (14 CFR part 23 as it long stood; from memory).
NORMAL_LOAD_FACTORS = (-1.52, 3.8)
FLAPS_DOWN_LOAD_FACTORS = (0.0, 2.0)


@dataclass(frozen=True, slots=True)
class Limits:
    """The airplane's limitations; None where the file doesn't say. Load factors are (negative, positive)."""

    never_exceed_ias_mps: float | None
    max_structural_cruise_ias_mps: float | None
    max_flaps_extended_ias_mps: float | None
    load_factor_flaps_up: tuple[float, float]
    load_factor_flaps_down: tuple[float, float]
    max_crosswind_mps: float | None
    max_rpm: float | None
    max_altitude_m: float | None


def limits_of(file: AirplaneFile, ias_from_cas: Callable[[float, int], float]) -> Limits:
    """Limitations; load factors the file lacks are those of the normal category.

    Parameters
    ----------
    ias_from_cas : calibration by flap notch, for speeds printed calibrated only; NaN outside.
    """
    printed = file.limitations

    def get(key: str) -> Any:
        return None if printed is None else getattr(printed, key)

    def speed(name: str, notch: int = 0) -> float | None:
        ias = knots_mps(get(f"{name}_kias"))
        if ias is None and printed is not None and (cas := getattr(printed, f"{name}_kcas", None)) is not None:
            ias = ias_from_cas(units.from_unit(cas, "kt"), notch)
        return None if ias is None or ias != ias else ias

    def pair(key: str, default: tuple[float, float]) -> tuple[float, float]:
        found = get(key)
        return default if found is None else (float(found[0]) if len(found) > 1 else 0.0, float(found[-1]))

    crosswind, altitude = get("maximum_demonstrated_crosswind_kt"), get("maximum_operating_altitude_ft")
    by_notch = [n.max_ias_mps for n in flap_notches(file, ias_from_cas) if n.max_ias_mps is not None]
    flaps_extended = speed("maximum_flaps_extended", file.flaps.notches[-1].notch)
    if flaps_extended is None and by_notch:
        flaps_extended = min(by_notch)
    return Limits(
        never_exceed_ias_mps=speed("never_exceed"),
        max_structural_cruise_ias_mps=speed("maximum_structural_cruise"),
        max_flaps_extended_ias_mps=flaps_extended,
        load_factor_flaps_up=pair("load_factor_flaps_up_g", NORMAL_LOAD_FACTORS),
        load_factor_flaps_down=pair("load_factor_flaps_down_g", FLAPS_DOWN_LOAD_FACTORS),
        max_crosswind_mps=None if crosswind is None else units.from_unit(crosswind, "kt"),
        max_rpm=get("maximum_rpm"),
        max_altitude_m=None if altitude is None else units.from_unit(altitude, "ft"),
    )


def arc_mps(file: AirplaneFile, arc: str) -> tuple[float, float] | None:
    """[low, high] of an arc ("white_arc", "green_arc", "yellow_arc"), indicated; None if the file has none. [m/s]"""
    found = getattr(file.limitations, f"{arc}_kias", None)
    return None if found is None else (units.from_unit(found[0], "kt"), units.from_unit(found[1], "kt"))
