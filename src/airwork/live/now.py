"""What the numbers of a moment are worked out from: the lesson, planned, the readings, the air as it is now."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from airwork.airdata.column import AirColumn, WindLayer
from airwork.airplane import Airplane
from airwork.jobs.files import load_airplane, load_lesson
from airwork.lesson.lesson import Lesson
from airwork.lesson.plan import Planned, plan_lesson
from airwork.live.watch import Watch

Level = Literal["plain", "look", "act"]


@dataclass(frozen=True, slots=True)
class Item:
    """One number to show. why : where it is from, or the reason behind a word. level : how it is to be looked at."""

    key: str
    label: str
    text: str
    why: str = ""
    level: Level = "plain"


@dataclass(frozen=True, slots=True)
class Moment:
    """What is known of the flight now. SI; NaN not known.

    wind_from_rad, wind_mps : as last found. exercise : the lesson's in hand, else its next, by place; None over.
    """

    watch: Watch
    now_s: float  # on the receiver's clock
    utc_s: float
    elapsed_s: float  # since the engine started, or since the first sample
    wind_from_rad: float = math.nan
    wind_mps: float = math.nan
    wind_how: str = ""
    burned_m3: float = 0.0  # since the start, added up
    exercise: int | None = None

    def value(self, name: str) -> float:
        """A reading that may be reckoned with now; NaN else."""
        return self.watch.value(name, self.now_s)


def altitude_m(at: Moment) -> float:
    """Altitude as the altimeter shows it, else by satellite. [m]"""
    for name in ("indicated_altitude_m", "gps_altitude_m", "pressure_altitude_m"):
        if math.isfinite(value := at.value(name)):
            return value
    return math.nan


def air_now(plan: Planned, at: Moment) -> AirColumn:
    """The day's air, with what is measured now in place of what was briefed."""
    air, here = plan.day.air, altitude_m(at)
    setting, oat = at.value("setting_pa"), at.value("oat_k")
    if math.isfinite(setting):
        air = replace(air, setting_pa=setting)
    if math.isfinite(oat) and math.isfinite(here):
        air = replace(air, temperature_k=oat, temperature_altitude_m=here)
    if math.isfinite(at.wind_mps) and math.isfinite(here):
        air = replace(air, winds=(WindLayer(here, at.wind_from_rad, at.wind_mps),))
    return air


def live_plan(lesson: str | Path | Lesson, *, airplane: str | Path | Airplane | None = None) -> Planned:
    """What `follow` needs of a lesson. Raises as `brief_lesson` does."""
    read = load_lesson(lesson)
    return plan_lesson(read, load_airplane(read.airplane_path if airplane is None else airplane))
