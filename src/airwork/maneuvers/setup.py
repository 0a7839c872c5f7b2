"""What a maneuver's set-up is made of: the day's conditions in, numbers and steps out. Immutable, serialisable."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.column import AirColumn
from airwork.airplane import Airplane
from airwork.airplane.performance import Performance
from airwork.standards import Standard
from airwork.units import KT_MPS
from airwork.values import Value

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Conditions:
    """The day as a maneuver meets it. SI; altitudes are indicated, above sea level."""

    air: AirColumn
    mass_kg: float
    ground_elevation_m: float
    altitude_m: float | None = None  # planned entry altitude; None lets the room choose
    floor_m: float | None = None  # practice area's or instructor's floor
    ceiling_m: float | None = None
    variation_rad: float = 0.0  # magnetic variation, east positive
    certificate: str = "private"  # names the standard
    runway_rad: float | None = None  # true heading of the runway in use, for work at the field


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be flown: in which airplane, on which day, by which standard, with which wishes of the lesson.

    performance : the airplane's fitted model, None without one. target : wishes in SI (`lesson.target`), may be empty.
    """

    airplane: Airplane
    performance: Performance | None
    conditions: Conditions
    standard: Standard
    target: Mapping[str, Any] = field(default_factory=dict)

    @property
    def side(self) -> float:
        """+1 where the lesson wants it to the right, −1 to the left and without a word."""
        return 1.0 if str(self.target.get("direction", "left")).lower() == "right" else -1.0


@dataclass(frozen=True, slots=True)
class Number:
    """One line of the set-up: a name in the trade's words and a value with its source."""

    name: str  # "entry speed"
    value: Value
    also: str = ""  # the same in the other unit, or a short remark: "(66 mph)"


# A margin over the stall to warn of, but where one is slow on purpose: stall warnings sound from some 5 kt above the
# stall on (14 CFR 23.207, amendment 23-62, from memory).
NEAR_STALL_MPS = 5.0 * KT_MPS


@dataclass(frozen=True, slots=True)
class Tolerance:
    """A tolerance of the standard, ready to print; `source` says which task of which standard."""

    name: str  # "altitude"
    text: str  # "±100 ft"
    source: str


@dataclass(frozen=True, slots=True)
class PowerUse:
    """A stretch of the maneuver for the fuel plan."""

    duration_s: float
    power_ratio: float
    mixture: str  # "full_rich" | "best_power" | "best_economy"


@dataclass(frozen=True, slots=True)
class Trace:
    """An ideal flown maneuver from the point-mass simulation. Columns carry house names (`recording.flight.COLUMNS`).

    time_s : shape (n,), from 0, twice a second.
    columns : shape (n,) each. `heading_rad` (true), `tas_mps` and `altitude_m` are the path through the AIR: who lays
    it over the ground adds the day's wind at each altitude. `east_m`, `north_m` (from the start), `track_rad` and
    `groundspeed_mps` have that wind added. Ground-reference work is flown so that, with the day's wind, the ground
    path is right: its heading may not be turned. Any other trace begins on north and may be turned to any heading.
    """

    time_s: Array
    columns: Mapping[str, Array]


class At(str):
    """A step with the events of its ideal that it belongs to, where its words don't name them (`paths.step_times`).

    events : the first of any of them that is still to come: "bank", "level", "sinking", "end" ...
    """

    events: tuple[str, ...]

    def __new__(cls, words: str, *events: str) -> At:
        one = super().__new__(cls, words)
        one.events = events
        return one


@dataclass(frozen=True, slots=True)
class SetUp:
    """The numbers and steps one maneuver is flown by, today, in this airplane."""

    kind: str
    title: str
    entry_altitude_m: float
    floor_m: float  # lowest altitude allowed, above sea level
    floor_why: str
    numbers: tuple[Number, ...]
    steps: tuple[str, ...]
    tolerances: tuple[Tolerance, ...]
    usual_errors: tuple[str, ...]
    cautions: tuple[str, ...]
    card_line: str  # the one line on the card: speed, power, bank, height in flying order
    power: tuple[PowerUse, ...]
    targets: Mapping[str, float] = field(default_factory=dict)  # SI, for the debrief: {"ias_mps": …, "bank_rad": …}
    tables: Mapping[str, tuple[tuple[str, ...], ...]] = field(default_factory=dict)  # e.g. bank by quarter of the turn
    stall_margin_mps: float | None = None  # least over the stall in its banks, on the dial; None: nothing is turned
    short_of: str = ""  # what the airplane doesn't leave of it today, in words for the verdict; "" where it does

    @property
    def duration_s(self) -> float:
        """Planned time for the maneuver. [s]"""
        return sum(use.duration_s for use in self.power)
