"""Floor and entry altitude of a maneuver: the highest of standard, handbook or practice, and lesson. SI.

Altitudes are above sea level as the altimeter shows them; heights asked for are above the ground here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from airwork import units
from airwork.errors import NotPossible
from airwork.maneuvers.setup import Conditions
from airwork.standards import Standard

FT = units.FT_M
STALL_FLOOR_M = 1500 * FT  # [AFH] ch. 5: recovery from a stall not below 1,500 ft above ground, single engine
PRACTICE_FLOOR_M = 1500 * FT  # where the standard prints none: common practice, no source
PRACTICE = "1,500 ft above ground: common practice, no source"


@dataclass(frozen=True, slots=True)
class Heights:
    """Where a maneuver begins. SI.

    above_floor_m : above the floor, where the lesson names no altitude; may hang on the lesson's wishes.
    least_agl_m : floor above ground that the room itself asks for, with its reason; the standard's counts too.
    at_field_m : flown at the aerodrome: begins so far above it, no floor.
    change_m : from where it begins to where it ends, up positive; an altitude the lesson names is where it ends.
    """

    above_floor_m: float | Callable[[Mapping[str, Any]], float] = 150.0
    least_agl_m: float = 0.0
    why: str = ""
    at_field_m: float | None = None
    change_m: Callable[[Mapping[str, Any]], float] | None = None

    def begin(
        self, conditions: Conditions, standard: Standard, task: str, target: Mapping[str, Any], title: str
    ) -> tuple[float, str, float]:
        """(floor [m], why, entry altitude [m])."""
        if self.at_field_m is not None:
            ground = conditions.ground_elevation_m
            return ground, "the field", ground + self.at_field_m
        floor = floor_of(conditions, standard, task, self.least_agl_m, self.why)
        above = self.above_floor_m(target) if callable(self.above_floor_m) else self.above_floor_m
        if self.change_m is not None and (ends_m := named_m(conditions, target)) is not None:
            return *floor, _entry_for(conditions, target, title, floor[0], ends_m, self.change_m(target))
        return *floor, entry_of(conditions, target, title, floor, above)


def named_m(conditions: Conditions, target: Mapping[str, Any]) -> float | None:
    """The altitude the lesson names, by itself or as a height above the ground; None where it names none. [m]"""
    if "altitude_m" not in target and "height_agl_m" in target:
        return conditions.ground_elevation_m + float(target["height_agl_m"])
    return None if target.get("altitude_m") is None else float(target["altitude_m"])


def _entry_for(
    conditions: Conditions, target: Mapping[str, Any], title: str, floor_m: float, ends_m: float, change_m: float
) -> float:
    """Where a climb or descent to an altitude begins: so far from it, less where floor or ceiling leave less. [m]

    Raises
    ------
    NotPossible : the altitude, or where a change of height the lesson names begins, lies beyond floor or ceiling.
    """
    ceiling_m = math.inf if conditions.ceiling_m is None else conditions.ceiling_m
    entry_m = ends_m - change_m
    if "altitude_change_m" not in target:
        entry_m = min(max(entry_m, floor_m), ceiling_m)
    low_m, high_m = sorted((entry_m, ends_m))
    if low_m < floor_m - 0.5 or high_m > ceiling_m + 0.5 or (ends_m - entry_m) * change_m <= 0.0:
        band = f"between {units.write(floor_m, 'ft')} and " + (
            "the ceiling" if math.isinf(ceiling_m) else f"{units.write(ceiling_m, 'ft')}"
        )
        raise NotPossible(
            f"{title}: from {units.write(entry_m, 'ft')} to {units.write(ends_m, 'ft')} does not lie {band}; name "
            "another altitude to level off at."
        )
    return entry_m


def round_up_m(altitude_m: float, step_ft: float = 100.0) -> float:
    """An altitude rounded up to a step a pilot can fly. [m]"""
    return math.ceil(round(altitude_m / FT, 3) / step_ft) * step_ft * FT


def floor_of(
    conditions: Conditions, standard: Standard, task_name: str, least_agl_m: float = 0.0, least_why: str = ""
) -> tuple[float, str]:
    """(lowest altitude allowed [m], why): the lesson's as typed, one worked out rounded up to 100 ft.

    Parameters
    ----------
    least_agl_m : height above ground the room itself asks for, with its reason; the standard's counts too.
    """
    ground, task = conditions.ground_elevation_m, standard.task(task_name)
    reasons = [(ground, "the ground")]
    if task.min_agl_m is not None:
        reasons.append(
            (round_up_m(ground + task.min_agl_m), f"{task.code}, {units.write(task.min_agl_m, 'ft')} above ground")
        )
    if least_agl_m:
        reasons.append((round_up_m(ground + least_agl_m), least_why))
    if conditions.floor_m is not None:
        reasons.append((conditions.floor_m, "the lesson's floor"))
    return max(reasons, key=lambda pair: pair[0])


def entry_of(
    conditions: Conditions, target: Mapping[str, Any], title: str, floor: tuple[float, str], above_floor_m: float
) -> float:
    """Entry altitude: the lesson's, else airwork's own, so far above the floor, at a full 500 ft. [m]

    Raises
    ------
    NotPossible : below the floor, or above the area's ceiling.
    """
    wanted = named_m(conditions, target)
    wanted = conditions.altitude_m if wanted is None else wanted
    chosen = wanted is None
    entry = round_up_m(floor[0] + above_floor_m, 500.0) if wanted is None else float(wanted)
    ceiling = conditions.ceiling_m
    if chosen and ceiling is not None and entry > ceiling:  # height to spare is wanted, the ceiling is not to be passed
        entry = max(floor[0], math.floor(round(ceiling / FT, 3) / 100.0) * 100.0 * FT)
    if entry < floor[0] - 0.5:
        raise NotPossible(
            f"{title}: entry at {units.write(entry, 'ft')} is below {units.write(floor[0], 'ft')} "
            f"({floor[1]}); begin higher."
        )
    if ceiling is not None and entry > ceiling + 0.5:
        raise NotPossible(
            f"{title}: needs {units.write(entry, 'ft')}, above the area's ceiling {units.write(ceiling, 'ft')}; "
            "find a higher area or a lower floor."
        )
    return entry
