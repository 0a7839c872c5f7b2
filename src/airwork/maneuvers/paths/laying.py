"""Laying an ideal over what was flown: what the set-up is asked for, and where the ideal begins. SI."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.maneuvers.episode import Episode
from airwork.maneuvers.setup import Trace
from airwork.units import from_unit

BEFORE_S = 8.0  # of an ideal begun earlier than the flown maneuver
STEADY_RAD = 0.01
ROLLED_RAD = 0.05
LEAST_CHANGE_M = 60.0  # a climb or descent through less is a correction


@dataclass(frozen=True, slots=True)
class Flown:
    """A flown maneuver as a room looks at it to lay its ideal.

    target : what it was held against, SI. measured : of the grade, printed units. lesson : the lesson's targets.
    first_side : of the first turn in it, right positive; 0 where no bank is known.
    """

    episode: Episode
    target: Mapping[str, float]
    measured: Mapping[str, float]
    lesson: Mapping[str, Any]
    altitude_m: float | None
    level_off_m: float | None
    first_side: float

    @property
    def direction(self) -> str:
        """To which side it was flown as a whole."""
        turned = self.measured.get("heading_change_deg")
        return "left" if (turned or self.episode.facts.get("sign", 1.0)) < 0 else "right"

    def number(self, name: str, unit: str) -> float | None:
        """A measured number in SI."""
        value = self.measured.get(name)
        return None if value is None else from_unit(float(value), unit)


def as_the_lesson(flown: Flown) -> dict[str, Any]:
    """What the lesson asks for, to the side flown."""
    return {**flown.lesson, "direction": flown.direction}


def first_side_first(flown: Flown) -> dict[str, Any]:
    """What the lesson asks for, begun to the side flown first: turns to both sides have none as a whole."""
    side = {1.0: "right", -1.0: "left"}.get(flown.first_side, flown.direction)
    return {**as_the_lesson(flown), "direction": side}


def as_settled(flown: Flown, speed: str = "mean_ias_kt") -> dict[str, Any]:
    """For plain flying: the speed the pilot settled on, to the side flown."""
    ias = flown.target.get("ias_mps", flown.number(speed, "kt"))
    return {"direction": flown.direction, **({} if ias is None else {"ias_mps": ias})}


def through_height(flown: Flown) -> dict[str, Any] | None:
    """A climb or descent: from the flown entry to where it leveled off; None where that is a mere correction."""
    entry = flown.number("entry_altitude_ft", "ft")
    end = flown.level_off_m if flown.level_off_m is not None else flown.number("exit_altitude_ft", "ft")
    if entry is None or end is None or abs(end - entry) < LEAST_CHANGE_M:
        return None
    change = 0.0 if flown.altitude_m is None else abs(end - flown.altitude_m)
    return {**as_settled(flown), "altitude_change_m": change, "bank_rad": 0.0}


def whole(trace: Trace, episode: Episode) -> Trace:
    """As it is."""
    return trace


def from_the_roll_in(trace: Trace, episode: Episode) -> Trace:
    """Without the straight stretch before it."""
    return _from(trace, np.abs(trace.columns["bank_rad"]) > ROLLED_RAD)


def from_the_change_of_path(trace: Trace, episode: Episode) -> Trace:
    """Without the level stretch before it."""
    return _from(trace, np.abs(trace.columns["flight_path_rad"]) > STEADY_RAD)


def at_the_break(trace: Trace, episode: Episode) -> Trace:
    """In time so that both stalls break at the same moment: the ideal's where it is slowest."""
    if "break_s" not in episode.facts:
        return trace
    time = np.asarray(trace.time_s, dtype=float)
    break_s = float(episode.facts["break_s"]) - episode.start_s
    moved = time + break_s - time[int(np.nanargmin(trace.columns["ias_mps"]))]
    first = int(np.searchsorted(moved, -BEFORE_S))
    return Trace(moved[first:], {n: np.asarray(c)[first:] for n, c in trace.columns.items()})


def as_long(trace: Trace, episode: Episode) -> Trace:
    """A steady state held as long as the flown one."""
    time = np.array([0.0, max(episode.end_s - episode.start_s, 1.0)])
    return Trace(time, {n: np.full(2, np.asarray(c, dtype=float)[0]) for n, c in trace.columns.items()})


def _from(trace: Trace, begun: NDArray[np.bool_]) -> Trace:
    there = np.flatnonzero(begun)
    first = max(int(there[0]) - 1, 0) if there.size else 0
    return Trace(trace.time_s[first:] - trace.time_s[first], {n: c[first:] for n, c in trace.columns.items()})
