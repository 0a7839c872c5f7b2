"""A second way to make flights, independent of the simulator and of its pilot: a point that is driven, not flown.

Bank, vertical speed and airspeed follow commands through simple lags; the errors are laid on as smooth waves and late
steps, not as what a controller makes of noise. Angle of attack, pitch, load factor, engine speed and fuel are then
worked out from the path and the airplane's numbers. Every 0.1 s.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import numpy as np
from numpy.typing import NDArray

from airwork.units import FT_M, KT_MPS
from flying.columns import standard_altitude_m, standard_pressure_pa
from flying.hands import hands
from flying.invented import load
from flying.simulator import G_MPS2
from flying.state import Day
from flying.truth import Mark
from flying.wind import Gusts

Array = NDArray[np.float64]
STEP_S = 0.1
ROLLING_MPS = 12.0  # slower on its wheels, neither the wind nor a dial's lowest mark carries it along
PULLED_RAD = math.radians(20.0)
EARTH_M = 6_371_000.0
Command = float | Callable[[], float]


def _now(command: Command) -> float:
    return command() if callable(command) else command


class Driver:
    """State of the driven point and what it has left behind. `lack` is 0 for a precise flight, 1 for a poor one."""

    def __init__(self, airplane_id: str, day: Day, seed: int, lack: float, mass_lb: float, make: str = "waves") -> None:
        self.airplane, self.day, self.lack = load(airplane_id), day, lack
        self.rng = np.random.default_rng([seed, 31])
        self.hands = hands(make, np.random.default_rng([seed, 32]), lack)
        self.gusts = Gusts(day.wind, seed + 9)
        self.time_s = 0.0
        self.east_m = self.north_m = 0.0
        self.height_m = day.elevation_m
        self.heading_rad = day.runway_heading_rad
        self.bank_rad = self._bank_rate = 0.0
        self.ias_mps = 0.0
        self.climb_mps = 0.0
        self.flap_notch = 0
        self.ground = True
        self.slip_rad = 0.0  # heading less course through the air
        self.straight = False  # banked without turning, as in a slip
        self.tank = 1
        self.mass_kg = mass_lb * 0.45359237
        self.idle = True  # throttle closed: no thrust however the speed changes
        self.marks: list[Mark] = []
        self.rows: list[tuple[float, ...]] = []
        wander = self.hands.wander
        self.bank_wave, self.height_wave = wander(self.rng, 6.0, 17.0), wander(self.rng, 25.0, 80.0)
        self.speed_wave, self.heading_wave = wander(self.rng, 15.0, 50.0), wander(self.rng, 20.0, 60.0)
        self.stall_kias = self.airplane.speed_kias("stall_flaps_up", mass_lb)
        self.roll_limit = math.radians(float(self.rng.uniform(10.0, 22.0)))
        self.height_size_m = (12.0 + 90.0 * lack * float(self.rng.uniform(0.6, 1.4))) * FT_M
        self.speed_size_mps = (0.8 + 4.0 * lack) * KT_MPS
        self.bank_size_rad = (0.5 + 0.5 * self.hands.restless) * math.radians(0.5 + 3.5 * lack)
        # Back pressure never fits the bank of the moment: height and speed are traded to and fro in every turn.
        self.pull_wave = wander(np.random.default_rng([seed, 9]), 7.0, 20.0)
        self.pull_size_mps = self.hands.restless * (1.1 + 1.6 * lack)
        field_pa = (
            day.sea_level_pressure_pa * (1.0 - 0.0065 * day.elevation_m / (288.15 + day.isa_deviation_k)) ** 5.2559
        )
        self.setting_pa = standard_pressure_pa(standard_altitude_m(field_pa) - day.elevation_m)
        self._set_m = standard_altitude_m(self.setting_pa)

    # --- air ----------------------------------------------------------------------------------------------------

    def pressure_pa(self, height_m: float) -> float:
        base_k = 288.15 + self.day.isa_deviation_k
        return float(self.day.sea_level_pressure_pa * (1.0 - 0.0065 * height_m / base_k) ** 5.2559)

    def density(self, height_m: float) -> float:
        return self.pressure_pa(height_m) / (287.05287 * (288.15 + self.day.isa_deviation_k - 0.0065 * height_m))

    @property
    def altitude_m(self) -> float:
        """What a perfect altimeter shows."""
        return standard_altitude_m(self.pressure_pa(self.height_m)) - self._set_m

    @property
    def agl_m(self) -> float:
        return self.height_m - self.day.elevation_m

    def cas_mps(self, ias_mps: float) -> float:
        cas, ias = self.airplane.calibration(self.flap_notch > 0)
        kias = ias_mps / KT_MPS
        if kias > ias[-1]:
            return (cas[-1] + kias - ias[-1]) * KT_MPS
        return float(np.interp(kias, ias, cas)) * KT_MPS

    @property
    def tas_mps(self) -> float:
        return self.cas_mps(self.ias_mps) * math.sqrt(1.225 / self.density(self.height_m))

    # --- moving -------------------------------------------------------------------------------------------------

    def drive(
        self, until: float | Callable[[], bool], *, bank: Command = 0.0, climb: Command = 0.0, ias: Command,
        speed_lag_s: float = 5.0, climb_lag_s: float = 1.3, at_most_s: float = 900.0,
    ) -> None:  # fmt: skip
        """Follow commands for some seconds, or until a test holds."""
        left = until if isinstance(until, float) else at_most_s
        while left > 0.0 and not (callable(until) and until()):
            self._step(_now(bank), _now(climb), _now(ias), speed_lag_s, climb_lag_s)
            left -= STEP_S

    def hold(self, altitude_m: float, *, quick_s: float = 6.0, limit_mps: float = 4.0) -> Callable[[], float]:
        """Vertical speed that keeps an altitude, as well as this flight keeps one."""

        def climb() -> float:
            meant = altitude_m + self.height_size_m * self.height_wave(self.time_s)
            return max(-limit_mps, min(limit_mps, (meant - self.altitude_m) / quick_s))

        return climb

    def about(self, ias_mps: float) -> Callable[[], float]:
        """An airspeed, as well as this flight keeps one."""
        return lambda: ias_mps + self.speed_size_mps * self.speed_wave(self.time_s)

    def steer(self, heading_rad: float, *, limit_rad: float = math.radians(20.0)) -> Callable[[], float]:
        """Bank that keeps a heading."""

        def bank() -> float:
            meant = heading_rad + math.radians(0.6 + 4.0 * self.lack) * self.heading_wave(self.time_s)
            return max(-limit_rad, min(limit_rad, math.remainder(meant - self.heading_rad, 2.0 * math.pi)))

        return bank

    def _step(self, bank: float, climb: float, ias: float, speed_lag_s: float, climb_lag_s: float) -> None:
        north_gust, east_gust, up_gust = self.gusts.step(STEP_S, max(self.tas_mps, 5.0), self.agl_m)
        if self.ground:
            north_gust = east_gust = up_gust = 0.0
        meant = bank + (self.bank_size_rad * self.bank_wave(self.time_s) if not self.ground else 0.0)
        self._bank_rate = self.hands.roll_rate(meant, self.bank_rad, self._bank_rate, self.roll_limit, STEP_S)
        climb = climb if self.ground else self.hands.climb(climb, self.bank_rad, STEP_S)
        pull = 0.0
        if not self.ground and not self.straight:
            pull = self.pull_size_mps * min(1.0, abs(self.bank_rad) / PULLED_RAD) * self.pull_wave(self.time_s)
            if self.ias_mps < self.stall_kias * KT_MPS:
                pull = min(pull, 0.0)  # a stalled wing carries no higher
        climb += pull
        self.bank_rad += self._bank_rate * STEP_S
        self.climb_mps += (climb - self.climb_mps) * STEP_S / climb_lag_s
        self.ias_mps += max(-2.5, min(2.5, (ias - self.ias_mps) / speed_lag_s)) * STEP_S
        self.ias_mps -= pull * G_MPS2 / max(self.tas_mps, 15.0) * STEP_S
        self.ias_mps = max(self.ias_mps, 0.0)
        tas = self.tas_mps
        if self.ground:
            self.bank_rad, self.climb_mps = 0.0, max(self.climb_mps, 0.0)
        elif not self.straight:
            self.heading_rad += G_MPS2 * math.tan(self.bank_rad) / max(tas, 15.0) * STEP_S
        from_rad, speed = self.day.wind.mean(self.agl_m)
        wind_n, wind_e = -speed * math.cos(from_rad) + north_gust, -speed * math.sin(from_rad) + east_gust
        flat = math.sqrt(max(tas**2 - self.climb_mps**2, 0.0))
        course = self.heading_rad - self.slip_rad
        north, east = flat * math.cos(course) + wind_n, flat * math.sin(course) + wind_e
        if self.ground:  # the wheels keep it on the runway's line
            blown = wind_n * math.cos(self.heading_rad) + wind_e * math.sin(self.heading_rad)
            along = max(0.0, flat + blown) * min(1.0, self.ias_mps / ROLLING_MPS)  # standing, no wind moves it
            north, east = along * math.cos(self.heading_rad), along * math.sin(self.heading_rad)
        self.north_m += north * STEP_S
        self.east_m += east * STEP_S
        rise = self.climb_mps + (0.5 * up_gust if not self.ground else 0.0)
        self.height_m = max(self.day.elevation_m, self.height_m + rise * STEP_S)
        self.time_s = round(self.time_s + STEP_S, 3)
        self.rows.append((
            self.time_s, self.east_m, self.north_m, self.height_m, self.ias_mps, tas, north, east, rise,
            self.heading_rad, self.bank_rad, float(self.flap_notch), float(self.ground), self.slip_rad,
            float(self.tank), float(self.idle), wind_n, wind_e,
        ))  # fmt: skip

    @contextmanager
    def marking(self, kind: str, targets: dict[str, float] | None = None) -> Iterator[Mark]:
        """Note a maneuver's extent."""
        mark = Mark(kind, self.time_s, math.nan, targets=targets or {})
        yield mark
        if math.isnan(mark.end_s):
            mark.end_s = self.time_s
        self.marks.append(mark)

    def ground_velocity(self) -> tuple[float, float]:
        """East and north over the ground now. [m/s]"""
        from_rad, speed = self.day.wind.mean(self.agl_m)
        tas = self.tas_mps
        east = tas * math.sin(self.heading_rad) - speed * math.sin(from_rad)
        return east, tas * math.cos(self.heading_rad) - speed * math.cos(from_rad)
