"""A point mass flown through the air as it should be flown: speed, path and bank with realistic rates. SI.

dV/dt = (T − D)/m − g·sin γ;  dh/dt = V·sin γ;  dψ/dt = g·n·sin φ/(V·cos γ);  n = (cos γ + V·(dγ/dt)/g)/cos φ.
Thrust less drag is the fitted performance model's, laid out on a table once for each power setting. Coordinated; the
wind is steady at each height and moves only the ground below (its change with height is left out of dV/dt).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from functools import lru_cache
from itertools import accumulate, repeat
from math import cos, sin
from typing import Any

import numpy as np

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.performance import Performance
from airwork.airplane.performance.climbing import excess_thrust_n
from airwork.airplane.performance.condition import Condition, Setting
from airwork.errors import NotPossible
from airwork.maneuvers.paths.flown_trace import Simulated, make_trace
from airwork.maneuvers.setup import Array, Conditions, Order, SetUp, Trace


class Line:
    """y over x by straight lines, held beyond both ends: as numpy.interp to the last bit, at a tenth of its cost.

    xs, ys : shape (n,), x rising. Called with one finite number.
    """

    __slots__ = ("slopes", "xs", "ys")

    def __init__(self, xs: Array, ys: Array) -> None:
        self.xs, self.ys = xs.tolist(), ys.tolist()
        pairs = zip(self.xs, self.xs[1:], self.ys, self.ys[1:], strict=False)
        self.slopes = [(y1 - y0) / (x1 - x0) for x0, x1, y0, y1 in pairs]

    def __call__(self, x: float) -> float:
        j = bisect_right(self.xs, x) - 1
        if j < 0:
            return float(self.ys[0])
        if j >= len(self.slopes):
            return float(self.ys[-1])
        return float(self.slopes[j] * (x - self.xs[j]) + self.ys[j])


STEP_S = 0.1
ROLL_RADPS = math.radians(10.0)  # mean rate of rolling in and out; 45° in 4.5 s: common practice, no source
PATH_S = 1.5  # time constant of a change of path with the speed held
PULL_G = 0.15  # load factor above or below the steady one while the path changes: gentle, our own choice
FASTEST_CHANGE_MPS2 = 0.8  # of speed while climbing or sinking; of a climb's excess at most six tenths: our own choice
LONGEST_S = 3600.0
Force = Callable[[float, float, float], float]


class Thrust:
    """Thrust less drag of one power setting as a table over true airspeed, load factor and altitude. [N]

    Called with (true airspeed [m/s], load factor, altitude [m]); held at the table's edges.
    """

    SPEEDS = np.linspace(14.0, 98.0, 57)
    LOADS = np.linspace(0.0, 3.5, 15)

    def __init__(
        self,
        performance: Performance | None,
        conditions: Conditions,
        low_m: float,
        high_m: float,
        notch: int = 0,
        **setting: Any,
    ) -> None:
        if performance is None:
            raise NotPossible("no performance model for this airplane: its path can't be simulated.")
        self.low_m, self.span_m = low_m, max(high_m - low_m, 1.0)
        tas, load = np.meshgrid(self.SPEEDS, self.LOADS, indexing="ij")
        heights = np.array([low_m, low_m + self.span_m])[:, None, None]
        pressure, temperature = conditions.air.pressure_altitude_m(heights), conditions.air.temperature_at_k(heights)
        at = Condition(conditions.mass_kg, pressure, temperature, notch)
        self.low, self.high = excess_thrust_n(performance, tas, at, Setting(**setting), load_factor=load).tolist()
        self.speed_0, self.speed_step = float(self.SPEEDS[0]), float(self.SPEEDS[1] - self.SPEEDS[0])
        self.load_step = float(self.LOADS[1])

    def __call__(self, tas_mps: float, load: float, altitude_m: float) -> float:
        x = min(max((tas_mps - self.speed_0) / self.speed_step, 0.0), len(self.SPEEDS) - 1.001)
        y = min(max(load / self.load_step, 0.0), len(self.LOADS) - 1.001)
        z = min(max((altitude_m - self.low_m) / self.span_m, 0.0), 1.0)
        i, j = int(x), int(y)
        u, v = x - i, y - j

        u_, v_ = 1 - u, 1 - v
        a, b = self.low[i], self.low[i + 1]
        low = (a[j] * u_ + b[j] * u) * v_ + (a[j + 1] * u_ + b[j + 1] * u) * v
        a, b = self.high[i], self.high[i + 1]
        high = (a[j] * u_ + b[j] * u) * v_ + (a[j + 1] * u_ + b[j + 1] * u) * v
        return low * (1.0 - z) + high * z


@lru_cache(maxsize=256)
def _mean_tan(bank: float) -> float:
    """Mean of tan φ while the bank grows from nothing as half a cosine."""
    x = (np.arange(40) + 0.5) / 40
    return float(np.mean(np.tan(bank * 0.5 * (1.0 - np.cos(np.pi * x)))))


class FlownIdeal:
    """The airplane being flown: state, moves, and the samples so far. Starts wings level, heading true north.

    Parameters
    ----------
    altitude_m, ias_mps, notch : state at the start.
    """

    def __init__(self, order: Order, altitude_m: float, ias_mps: float, notch: int = 0) -> None:
        airplane, conditions = order.airplane, order.conditions
        self.airplane, self.performance, self.conditions = airplane, order.performance, conditions
        self.mass_kg = conditions.mass_kg
        self.time, self.heading, self.altitude = 0.0, 0.0, altitude_m
        self.bank = self.path = 0.0
        self.load, self.notch = 1.0, notch
        heights = altitude_m + np.linspace(-2500.0, 2500.0, 11)
        pressure, temperature = conditions.air.pressure_altitude_m(heights), conditions.air.temperature_at_k(heights)
        cas = float(airplane.cas_from_ias_mps(ias_mps, notch))
        self._ratio = Line(heights, tas_from_cas_mps(cas, pressure, temperature) / cas)
        self.tas = self.tas_of(cas)
        self.rows: list[tuple[float, ...]] = []
        self._record()

    # --- speeds ---

    def tas_of(self, cas_mps: float) -> float:
        """True airspeed of a calibrated one at the present altitude. [m/s]"""
        return cas_mps * self._ratio(self.altitude)

    @property
    def cas(self) -> float:
        """Calibrated airspeed now. [m/s]"""
        return self.tas / self._ratio(self.altitude)

    def cas_of(self, ias_mps: float) -> float:
        """Calibrated speed of an indicated one with the present flap. [m/s]"""
        return float(self.airplane.cas_from_ias_mps(ias_mps, self.notch))

    def thrust(self, up_m: float = 600.0, down_m: float = 1500.0, **setting: Any) -> Thrust:
        """Thrust less drag of a setting around the present altitude with the present flap."""
        return Thrust(
            self.performance, self.conditions, self.altitude - down_m, self.altitude + up_m, self.notch, **setting
        )

    # --- one step ---

    def step(self, bank: float, path: float, force: Force | None = None, tas: float | None = None) -> None:
        """Fly a tenth of a second to a bank and a path angle. [rad]

        force : thrust less drag; without it the speed is held, or goes to `tas`.
        """
        v = self.tas
        straight = bank == path == self.bank == self.path == 0.0  # most steps: nothing turns, rises or loads
        load = 1.0
        middle_bank = middle_path = 0.0
        if not straight:
            middle_bank, middle_path = 0.5 * (self.bank + bank), 0.5 * (self.path + path)
            load = (cos(middle_path) + v * (path - self.path) / (STEP_S * G0_MPS2)) / cos(middle_bank)
        if force is not None:
            pull = force(v, load, self.altitude) / self.mass_kg - G0_MPS2 * sin(middle_path)
            self.tas = max(v + STEP_S * pull, 5.0)
        elif tas is not None:
            self.tas = tas
        if not straight:
            mean = 0.5 * (v + self.tas)
            self.heading += STEP_S * G0_MPS2 * load * sin(middle_bank) / (mean * cos(middle_path))
            self.altitude += STEP_S * mean * sin(middle_path)
            self.bank, self.path = bank, path
        self.load = load
        self.time += STEP_S
        self._record()
        if self.time > LONGEST_S:
            self._require_an_end()

    def _require_an_end(self) -> None:
        if self.time > LONGEST_S:
            raise NotPossible("this maneuver does not come to an end today: the airplane can't fly it as set up.")

    def _record(self) -> None:
        self.rows.append((self.time, self.heading, self.tas, self.altitude, self.bank, self.load, self.notch))

    # --- moves with the speed held ---

    def hold(self, seconds: float) -> None:
        """Straight on as it is, speed held."""
        left = round(seconds / STEP_S)
        while left and not self.bank == self.path == 0.0:
            self.step(0.0, self.path)
            left -= 1
        if left:  # nothing changes but the time
            times = list(accumulate(repeat(STEP_S, left), initial=self.time))[1:]
            self.rows.extend((t, self.heading, self.tas, self.altitude, 0.0, 1.0, self.notch) for t in times)
            self.time, self.load = times[-1], 1.0
            self._require_an_end()

    def turn(self, turn_rad: float, bank_rad: float) -> None:
        """Turn through an angle (right positive) at a bank, speed and path held; ends exactly on the heading."""
        sign = math.copysign(1.0, turn_rad)
        bank = abs(bank_rad)
        left = abs(turn_rad)
        while self._rolled(bank) * self._roll_s(bank) * 2.0 > 0.98 * left and bank > math.radians(2.0):
            bank *= 0.93  # too short a turn for that bank
        seconds = self._roll_s(bank)
        end = self.heading + turn_rad
        self._roll(sign * bank, seconds)
        while abs(end - self.heading) - self._rolled(bank) * seconds > 0.5 * self._rate(bank) * STEP_S:
            self.step(sign * bank, self.path)
        self._roll(0.0, abs(end - self.heading) / self._rolled(bank))
        self.heading = end

    def _rate(self, bank: float) -> float:
        return G0_MPS2 * math.tan(bank) / self.tas

    def _rolled(self, bank: float) -> float:
        """Heading change of a roll between level and a bank, for each second that it takes. [rad/s]"""
        return _mean_tan(bank) * G0_MPS2 / self.tas

    @staticmethod
    def _roll_s(bank: float, roll_radps: float = ROLL_RADPS) -> float:
        return max(bank / roll_radps, 1.0)

    def _roll(self, to_rad: float, seconds: float) -> None:
        start, count = self.bank, max(1, round(seconds / STEP_S))
        for k in range(1, count + 1):
            self.step(start + (to_rad - start) * 0.5 * (1.0 - math.cos(math.pi * k / count)), self.path)

    def roll_to(self, bank_rad: float, roll_radps: float = ROLL_RADPS) -> None:
        """Roll to a bank and stay in the turn."""
        self._roll(bank_rad, self._roll_s(abs(bank_rad - self.bank), roll_radps))

    # --- moves with power ---

    def change_speed(self, ias_mps: float) -> None:
        """Level to another indicated speed, throttle closed to slow, full to accelerate; three minutes at most."""
        goal = self.tas_of(self.cas_of(ias_mps))  # level: the same true airspeed all the way
        slower = goal < self.tas
        force = self.thrust(idle=True) if slower else self.thrust()
        start = self.time
        while (self.tas > goal if slower else self.tas < goal) and self.time - start < 180.0:
            self.step(0.0, 0.0, force)
        if (self.tas < goal) == slower:
            self.tas = goal

    def set_flap(self, notch: int, ias_mps: float) -> None:
        """Flaps to a notch, then level to an indicated speed evenly within six seconds."""
        self.notch = notch
        begin, goal, count = self.tas, self.tas_of(self.cas_of(ias_mps)), round(6.0 / STEP_S)
        for k in range(1, count + 1):
            self.step(0.0, 0.0, tas=begin + (goal - begin) * 0.5 * (1.0 - math.cos(math.pi * k / count)))

    def steady(self, climb_mps: float) -> Force:
        """The force under which a held speed gives this rate of climb."""
        return lambda tas, load, altitude: self.mass_kg * G0_MPS2 * climb_mps / tas

    def gliding(self, ratio: float) -> Force:
        """Drag of a glide ratio at one load factor, growing with the square of the load by its induced half."""
        weight = self.mass_kg * G0_MPS2
        return lambda tas, load, altitude: -weight / math.hypot(1.0, ratio) * 0.5 * (1.0 + load**2)

    def climb(
        self, force: Force, until: Callable[[FlownIdeal], bool], *, bank_rad: float = 0.0, ias_mps: float | None = None
    ) -> None:
        """Climb or sink at a calibrated speed, reached at 0.8 m/s² at most, the path as the power gives it."""
        cas = self.cas if ias_mps is None else self.cas_of(ias_mps)
        roll = ROLL_RADPS * STEP_S
        while not until(self):
            bank = self.bank + min(max(bank_rad - self.bank, -roll), roll)
            pull = force(self.tas, 1.0 / math.cos(bank), self.altitude) / self.mass_kg
            most_gain = FASTEST_CHANGE_MPS2 if pull <= 0.0 else min(FASTEST_CHANGE_MPS2, 0.6 * pull)
            faster = min(max((self.tas_of(cas) - self.tas) / STEP_S, -FASTEST_CHANGE_MPS2), most_gain)
            along = (pull - faster) / G0_MPS2
            goal = math.asin(min(max(along, -0.5), 0.5))
            most = PULL_G * G0_MPS2 * STEP_S / self.tas
            path = self.path + min(max((goal - self.path) * STEP_S / PATH_S, -most), most)
            self.step(bank, path, tas=self.tas + faster * STEP_S)

    def level_off(self, altitude_m: float) -> None:
        """From a climb or descent to level at an altitude, exactly; the speed is held and the wings come level."""
        start_bank, start, rate = self.bank, self.altitude, self.tas * math.sin(self.path)
        gap = altitude_m - start
        seconds = min(max(2.0 * abs(gap) / max(abs(rate), 0.1), 2.0), 30.0)
        count = max(2, round(seconds / STEP_S))
        for k in range(1, count + 1):
            x = k / count
            height = start + rate * count * STEP_S * (x - x * x * 0.5)  # sink fades in a straight line
            share = height + (gap - 0.5 * rate * count * STEP_S) * x * x * (3.0 - 2.0 * x)
            climb = (share - self.altitude) / STEP_S
            path = math.asin(min(max(climb / self.tas, -0.6), 0.6))
            self.step(start_bank * (1.0 - x), path)
            self.altitude = share
        self.path, self.altitude = 0.0, altitude_m

    # --- the whole ---

    def trace(self) -> Trace:
        """What was flown."""
        time, heading, tas, altitude, bank, load, notch = np.array(self.rows).T
        return make_trace(self.airplane, self.conditions, Simulated(time, heading, tas, altitude, bank, load, notch))


def straight(set_up: SetUp, order: Order) -> Trace:
    """Straight and level at the speed for as long as the set-up says."""
    flown = FlownIdeal(order, set_up.entry_altitude_m, set_up.targets["ias_mps"])
    flown.hold(set_up.targets["duration_s"])
    return flown.trace()
