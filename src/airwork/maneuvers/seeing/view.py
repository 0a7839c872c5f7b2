"""The light look at a Flight every recognizer works on: few signals, smoothed, on an even time base, made once.

What is not recorded is worked out from what is, roughly: bank from the turn rate, airspeed from ground speed and wind.
`speed_from` says which; recognizers lower their score when it is only an estimate. Grading goes back to the samples.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, TypeVar

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.seeing.signal import Array, Mask

if TYPE_CHECKING:  # a briefing loads no reader of recordings
    from airwork.recording.flight import Flight

STEP_S = 0.25  # fine enough for a stall's break, a fortieth of a 10 Hz file's work
CALM_CLIMB_MPS = 2.0  # less than about 400 fpm: near enough level to take a cruising speed from
USUAL_PERCENT = 75.0  # of the speeds flown
NEAR_GROUND_S = 45.0  # this close to the wheels leaving or touching, slow and turning are normal

T = TypeVar("T")
SpeedFrom = Literal["airspeed", "ground speed and wind", "ground speed"]


def one_g_root(load: Array) -> Array:
    """What a speed is divided by to be comparable at 1 g; a jolt is no load. [1]"""
    return np.sqrt(np.clip(load, 0.6, 4.0))


@dataclass(frozen=True)
class View:
    """Signals on an even base; every array has the same length. SI, radians, right and up positive.

    speed_mps : calibrated airspeed where the airplane's table is known, else indicated, else the equivalent estimate.
    known : False in gaps of the recording and where altitude or position is missing.
    agl_m : NaN where no ground height is known.
    stall_mps : 1 g stall speed for the flaps of the moment, on the same scale as `speed_mps`.
    stall_from : how `stall_mps` is known, in words.
    stall_most : times `stall_mps` the true one may be.
    """

    flight: Flight
    time_s: Array
    known: Mask
    airborne: Mask
    altitude_m: Array
    climb_mps: Array
    speed_mps: Array
    tas_mps: Array
    heading_rad: Array
    track_rad: Array
    turn_rate_radps: Array
    bank_rad: Array
    east_m: Array
    north_m: Array
    groundspeed_mps: Array
    agl_m: Array
    pitch_rad: Array | None
    power: Array | None
    load_factor: Array
    stall_mps: Array
    stall_from: str
    stall_most: float
    speed_from: SpeedFrom
    bank_measured: bool
    air_track_rad: Array | None  # direction of the path through the air, from ground speed and wind
    heading_from: Literal["heading", "track and wind", "track"]
    wind_mps: tuple[Array, Array] | None = None  # east and north, on the flight's own samples
    warned: Mask | None = None  # the stall warning is on; None where it isn't recorded or never came on aloft

    @cached_property
    def n(self) -> int:
        """Number of samples."""
        return int(self.time_s.size)

    def samples(self, seconds: float) -> int:
        """Seconds as a count of samples."""
        return round(seconds / STEP_S)

    def at(self, time_s: float) -> int:
        """Nearest index to a time."""
        return int(np.clip(round((time_s - float(self.time_s[0])) / STEP_S), 0, self.n - 1))

    @cached_property
    def turn_known(self) -> bool:
        """A heading or a track was recorded, so that turning shows; without them `turn_rate_radps` is 0 throughout."""
        return self.heading_from != "track" or bool(np.isfinite(self.track_rad).any())

    @cached_property
    def turn_bank_rad(self) -> Array:
        """Bank of a coordinated turn at the flown rate: what the path shows, whatever the wings did. [rad]

        Where no turn can be seen the recorded bank stands in: nothing is known of a slip then.
        """
        if not self.turn_known:
            return self.bank_rad
        return np.arctan(self.tas_mps * self.turn_rate_radps / G0_MPS2)

    @cached_property
    def energy_m(self) -> Array:
        """Altitude plus V²/2g. [m]"""
        return self.altitude_m + self.tas_mps**2 / (2.0 * G0_MPS2)

    @cached_property
    def one_g_speed_mps(self) -> Array:
        """Speed taken back to 1 g: comparable with the 1 g stall speed in a turn or a pull. [m/s]"""
        return self.speed_mps / one_g_root(self.load_factor)

    @cached_property
    def cruise_mps(self) -> float:
        """A usual speed of this flight: the upper quartile of near-level flight. NaN when it never flew level. [m/s]"""
        calm = self.airborne & self.known & (np.abs(self.climb_mps) < CALM_CLIMB_MPS)
        if calm.sum() < self.samples(20.0):
            calm = self.airborne & self.known
        return float(np.percentile(self.speed_mps[calm], USUAL_PERCENT)) if calm.any() else float("nan")

    @cached_property
    def lowest_m(self) -> float:
        """Lowest altitude of the flight. [m]"""
        return float(self.altitude_m.min())

    @cached_property
    def _made(self) -> dict[Callable[[View], Any], Any]:
        return {}

    def once(self, make: Callable[[View], T]) -> T:
        """What a function finds in this view (its turns, legs, contacts, slow stretches), worked out once."""
        if make not in self._made:
            self._made[make] = make(self)
        found: T = self._made[make]
        return found

    @cached_property
    def clean_stall_mps(self) -> float:
        """Highest stall speed of the flight: flaps up. NaN when not known. [m/s]"""
        return float(np.nanmax(self.stall_mps)) if np.isfinite(self.stall_mps).any() else float("nan")

    @cached_property
    def _last_ground(self) -> Array:
        at = np.where(self.airborne, -np.inf, np.arange(self.n))
        return np.maximum.accumulate(at)

    @cached_property
    def _next_ground(self) -> Array:
        at = np.where(self.airborne, np.inf, np.arange(self.n))
        return np.minimum.accumulate(at[::-1])[::-1]

    def near_ground(self, first: int, last: int) -> bool:
        """The wheels left the ground shortly before, or meet it shortly after."""
        return min(self.seconds_since_ground(first), self.seconds_to_ground(last)) < NEAR_GROUND_S

    def seconds_since_ground(self, index: int) -> float:
        """Time since the wheels left the ground; infinite when the recording starts in the air. [s]"""
        return float(index - self._last_ground[index]) * STEP_S

    def seconds_to_ground(self, index: int) -> float:
        """Time until the wheels touch; infinite when the recording ends in the air. [s]"""
        return float(self._next_ground[index] - index) * STEP_S
