"""A small kinematic flight builder: a point mass in the wind, flown by an imprecise pilot, with its true episodes.

It knows the trade's shape of each maneuver and nothing of the recognizers. Bank, climb and speed follow what is asked
with a lag and the pilot's wander; pitch, angle of attack and power follow from a plain drag polar. Not a simulator:
`bench/flying` has one.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2, density_ratio, standard_air
from airwork.airdata.ground_reference import ground_reference_bank_rad
from airwork.recording.flight import Column, Flight, GroundContact
from airwork.units import FT_M, KT_MPS

DT = 0.1
STALL_KT = 48.0
FLAPS_STALL_KT = 42.0
WARNING = 1.1  # the warning comes on this much above the stall
CRUISE_KT = 100.0
CLIMB_KT = 75.0
APPROACH_KT = 65.0
MANEUVER_KT = 95.0
COLUMNS = 18


# What a tenth of a second of a clumsy hand adds to bank [rad], climb and speed [m/s].
SHAKE = (math.sqrt(DT) * math.radians(1.6), math.sqrt(DT) * 0.35, math.sqrt(DT) * 0.35)


def _hands(seed: int) -> Iterator[list[float]]:
    """Three normal numbers for each tick, drawn many at a time."""
    rng = np.random.default_rng(seed)
    while True:
        yield from rng.normal(size=(1000, 3)).tolist()


def _between(value: float, low: float, high: float) -> float:
    """NumPy's own takes ten times as long for one number, and half of these tests' time went there."""
    return low if value < low else high if value > high else value


@dataclass
class True_:
    """One maneuver truly flown."""

    kind: str
    start_s: float
    end_s: float = 0.0


@dataclass
class Builder:
    """Flies maneuvers one after another; `flight()` gives what was recorded, `truth` what was flown."""

    wind_kt: float = 0.0
    wind_from_deg: float = 270.0
    skill: float = 1.0  # 1 precise, 0 poor
    seed: int = 1
    heading_deg: float = 30.0
    field_ft: float = 800.0
    altitude_ft: float = 800.0
    speed_kt: float = 0.0
    mirror: float = 1.0  # −1 flies everything to the other side
    truth: list[True_] = field(default_factory=list)
    ticks: array[float] = field(default_factory=lambda: array("d"))  # COLUMNS numbers for each
    contacts: list[GroundContact] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.hands = _hands(self.seed)
        self._key = self._sigma = math.nan
        self.t = 0.0
        self.h = self.altitude_ft * FT_M
        self.v = self.speed_kt * KT_MPS  # true
        self.vs = 0.0
        self.bank = 0.0
        self.psi = math.radians(self.heading_deg)
        self.x = self.y = 0.0
        self.ground = self.altitude_ft <= self.field_ft + 1.0
        self.flap = 0.0
        self.tank = 1.0
        self.slip = 0.0  # bank carried without turning, rad
        self.pitch_extra = 0.0
        self.wander = (0.0, 0.0, 0.0)
        wd = math.radians(self.wind_from_deg)
        self.wx, self.wy = -self.wind_kt * KT_MPS * math.sin(wd), -self.wind_kt * KT_MPS * math.cos(wd)

    # ---- the air and the hands

    @property
    def ias_kt(self) -> float:
        """Indicated (= equivalent here). [kt]"""
        return self.v * self._root_sigma() / KT_MPS

    @property
    def alt_ft(self) -> float:
        return self.h / FT_M

    @property
    def rows(self) -> np.ndarray:
        """What was flown, a row for each tick."""
        return np.array(self.ticks).reshape(-1, COLUMNS)

    @property
    def track(self) -> float:
        return math.atan2(self.v * math.sin(self.psi) + self.wx, self.v * math.cos(self.psi) + self.wy)

    @property
    def groundspeed(self) -> float:
        return math.hypot(self.v * math.sin(self.psi) + self.wx, self.v * math.cos(self.psi) + self.wy)

    def _root_sigma(self) -> float:
        key = round(self.h / 10.0)
        if self._key != key:
            self._key = key
            self._sigma = float(np.sqrt(density_ratio(self.h, standard_air(self.h).temperature_k)))
        return self._sigma

    def tick(self, bank: float, vs: float, ias_kt: float, *, accel: float = 0.9, roll: float = 0.26) -> None:
        """A tenth of a second toward a bank [rad], a climb [m/s] and a speed."""
        lack = 1.0 - self.skill
        (wing, swing, surge), (a, b, c) = self.wander, next(self.hands)
        wing += DT * (-wing / 4.0) + a * lack * SHAKE[0]
        swing += DT * (-swing / 4.0) + b * lack * SHAKE[1]
        surge += DT * (-surge / 4.0) + c * lack * SHAKE[2]
        self.wander = (wing, swing, surge)
        in_air = 0.0 if self.ground else 1.0
        wanted = self.mirror * (bank + wing * in_air)
        rolling = (wanted - self.bank) / 0.6  # held between limits here: a call for each takes longer than all the rest
        self.bank += (-roll if rolling < -roll else roll if rolling > roll else rolling) * DT
        lifting = (vs + swing * in_air - self.vs) / 1.2
        self.vs += (-3.0 if lifting < -3.0 else 3.0 if lifting > 3.0 else lifting) * DT
        target = ias_kt * KT_MPS / self._root_sigma() + surge * in_air
        push = (target - self.v) / 3.0
        before = self.v
        self.v = max(0.0, self.v + (-accel if push < -accel else accel if push > accel else push) * DT)
        if self.v > 15.0 and not self.ground:
            self.psi += G0_MPS2 * math.tan(self.bank) / self.v * DT
        self.h += self.vs * DT
        if self.ground:
            self.h, self.vs = self.field_ft * FT_M, 0.0
        wind = 0.0 if self.ground else 1.0
        gx = self.v * math.sin(self.psi) + self.wx * wind
        gy = self.v * math.cos(self.psi) + self.wy * wind
        self.x, self.y = self.x + gx * DT, self.y + gy * DT
        self.ticks.extend((
            self.t, self.x, self.y, self.h, self.v * self._root_sigma(), self.v, gx, gy, self.psi, self.pitch_extra,
            self.bank, self.slip, self.vs, before, self.flap, self.tank, self.ground, ias_kt,
        ))  # fmt: skip
        self.t += DT

    def hold(self, seconds: float, *, ft: float | None = None, kt: float | None = None, bank_deg: float = 0.0) -> None:
        """Keep an altitude and a speed; wings level unless a bank is given."""
        heading = self.psi
        for _ in range(round(seconds / DT)):
            bank = math.radians(bank_deg) or self.mirror * _between(0.8 * (heading - self.psi), -0.25, 0.25)
            self.tick(bank, self.toward(ft), self.now(kt))

    def toward(self, ft: float | None) -> float:
        """Climb that holds an altitude. [m/s]"""
        if ft is None:
            ft = self.level_ft
        self.level_ft = ft
        return _between(0.25 * (ft * FT_M - self.h), -3.5, 3.5)

    level_ft: float = 0.0
    kt: float = CRUISE_KT

    def now(self, kt: float | None) -> float:
        if kt is not None:
            self.kt = kt
        return self.kt

    def until(self, done: Callable[[], bool], bank: float = 0.0, vs: float | None = None, kt: float | None = None,
              most_s: float = 600.0, **more: float) -> None:  # fmt: skip
        """Fly so until something is true."""
        for _ in range(round(most_s / DT)):
            if done():
                return
            self.tick(bank, self.toward(None) if vs is None else vs, self.now(kt), **more)

    def turn(self, degrees: float, bank_deg: float, *, by_track: bool = False, lead: float = 0.5,
             vs: Callable[[float], float] | None = None) -> None:  # fmt: skip
        """Turn through an angle (right positive), leading the roll-out by half the bank."""
        sign = math.copysign(1.0, degrees)
        turned, last = 0.0, self.track if by_track else self.psi
        bank = sign * math.radians(bank_deg)
        for _ in range(6000):
            now = self.track if by_track else self.psi
            turned += math.atan2(math.sin(now - last), math.cos(now - last)) * sign * self.mirror
            last = now
            if math.degrees(turned) >= abs(degrees) - lead * bank_deg:
                break
            self.tick(bank, self.toward(None) if vs is None else vs(turned), self.kt)
        self.until(lambda: abs(self.bank) < math.radians(2.0), 0.0, None if vs is None else vs(turned), most_s=10.0)

    @contextmanager
    def mark(self, kind: str) -> Iterator[True_]:
        """Note the true extent of what is flown inside."""
        one = True_(kind, self.t)
        self.truth.append(one)
        yield one
        if not one.end_s:
            one.end_s = self.t

    # ---- maneuvers

    def takeoff(self, *, to_ft: float = 300.0) -> None:
        self.hold_on_ground(15.0)
        with self.mark("takeoff"):
            self.until(lambda: self.ias_kt > 55.0, 0.0, 0.0, 80.0, accel=1.9)
            self.contacts.append(GroundContact("takeoff", self.t))
            self.ground = False
            self.level_ft = self.field_ft
            self.until(lambda: self.alt_ft > self.field_ft + to_ft, 0.0, 3.8, CLIMB_KT)

    def hold_on_ground(self, seconds: float, kt: float = 0.0) -> None:
        for _ in range(round(seconds / DT)):
            self.tick(0.0, 0.0, kt, accel=1.6)

    def climb(self, ft: float, kt: float = CLIMB_KT) -> None:
        with self.mark("climb"):
            self.until(lambda: self.alt_ft > ft - 40.0, 0.0, 3.6, kt)
            self.until(lambda: abs(self.vs) < 0.3, 0.0, 0.0, most_s=15.0)
        self.hold(25.0, ft=ft, kt=CRUISE_KT)

    def descend(self, ft: float, kt: float = CRUISE_KT, vs: float = -2.6) -> None:
        with self.mark("descent"):
            self.until(lambda: self.alt_ft < ft + 40.0, 0.0, vs, kt)
            self.until(lambda: abs(self.vs) < 0.3, 0.0, 0.0, most_s=15.0)
        self.hold(15.0, ft=ft)

    def level_turn(self, degrees: float, bank_deg: float = 25.0) -> None:
        with self.mark("level_turn"):
            self.turn(degrees, bank_deg)
        self.hold(8.0)

    def clearing_turn(self) -> None:
        with self.mark("clearing_turn"):
            self.turn(90.0, 25.0)
            self.hold(3.0)
            self.turn(-90.0, 25.0)
        self.hold(6.0)

    def steep_turn(self, direction: float = 1.0, bank_deg: float = 45.0, degrees: float = 360.0) -> None:
        lack = 1.0 - self.skill
        with self.mark("steep_turn"):
            sink = -lack * 1.5
            self.turn(direction * degrees, bank_deg, lead=0.5 - 0.4 * lack,
                      vs=lambda turned: self.toward(None) + (sink if turned < 4.0 else 0.0))  # fmt: skip
        self.hold(4.0)

    def slow_flight(self, kt: float = 56.0, seconds: float = 60.0) -> None:
        with self.mark("slow_flight"):
            self.until(lambda: self.ias_kt < kt + 1.0, 0.0, None, kt, accel=0.7)
            self.flap = 0.5
            self.hold(seconds / 3, kt=kt)
            self.turn(60.0, 14.0)
            self.hold(seconds / 3, kt=kt)
            self.turn(-60.0, 14.0)
            self.hold(seconds / 3, kt=kt)
            self.flap = 0.0
            self.until(lambda: self.ias_kt > MANEUVER_KT - 6.0, 0.0, None, MANEUVER_KT, accel=0.8)
        self.hold(15.0, kt=MANEUVER_KT)

    def _break(self, sink: float, safe_kt: float, drop: float = 0.3) -> None:
        lack = 1.0 - self.skill
        hold = round((0.8 + 1.5 * lack) / DT)
        for k in range(hold):
            self.pitch_extra = -drop * k / hold
            self.tick(0.0, sink, self.ias_kt - 1.0)
        for _ in range(round(30.0 / DT)):
            self.pitch_extra *= 0.9
            if self.ias_kt > safe_kt:
                break
            self.tick(0.0, sink * 0.8, safe_kt + 12.0, accel=2.2)
        self.pitch_extra = 0.0
        self.until(lambda: self.vs > 0.6, 0.0, 2.5, CLIMB_KT)

    def power_off_stall(self) -> None:
        entry = self.alt_ft
        with self.mark("power_off_stall"):
            self.until(lambda: self.ias_kt < APPROACH_KT + 1.0, 0.0, None, APPROACH_KT, accel=0.8)
            self.flap = 1.0
            self.until(lambda: self.alt_ft < entry - 150.0, 0.0, -2.6, APPROACH_KT)
            self.until(lambda: self.ias_kt < FLAPS_STALL_KT + 1.0, 0.0, -0.7, FLAPS_STALL_KT - 4.0, accel=0.8)
            self._break(-6.5, 58.0)
            self.flap = 0.0
        self.until(lambda: self.alt_ft > entry - 40.0, 0.0, 3.0, CLIMB_KT)
        self.hold(25.0, ft=entry, kt=MANEUVER_KT)

    def power_on_stall(self) -> None:
        entry = self.alt_ft
        with self.mark("power_on_stall"):
            self.until(lambda: self.ias_kt < 61.0, 0.0, None, 60.0, accel=0.8)
            self.until(lambda: self.ias_kt < STALL_KT - 1.0, 0.0, 3.6, STALL_KT - 4.0, accel=0.6)
            self._break(-5.5, 60.0)
        self.until(lambda: abs(self.alt_ft - entry) < 60.0, 0.0, math.copysign(2.5, entry - self.alt_ft), CLIMB_KT + 5)
        self.hold(25.0, ft=entry, kt=MANEUVER_KT)

    def accelerated_stall(self, direction: float = 1.0) -> None:
        entry = self.alt_ft
        with self.mark("accelerated_stall"):
            self.until(lambda: self.ias_kt < 74.0, 0.0, None, 72.0, accel=0.8)
            bank = direction * math.radians(45.0)
            self.until(lambda: self.ias_kt < STALL_KT * 1.19, bank, 0.3, STALL_KT * 1.19 - 4.0, accel=0.9)
            self._break(-4.0, 68.0, 0.15)
        self.until(lambda: self.alt_ft > entry - 40.0, 0.0, 3.0, CLIMB_KT)
        self.hold(25.0, ft=entry, kt=MANEUVER_KT)

    def unusual_attitude(self, direction: float = 1.0, *, low: bool = True, in_order: bool = True) -> None:
        """Nose low or high in a bank and back; in order, or pulled while banked (low), leveled first (high)."""
        bank = direction * math.radians(45.0 if low else 28.0)
        sink, far_kt = (-16.0, 128.0) if low else (9.0, 66.0)
        before = self.ias_kt
        with self.mark("unusual_attitude"):
            begun = self.t
            self.until(lambda: self.t - begun > 7.0, bank, sink, far_kt, accel=4.0)
            if low == in_order:
                self.until(lambda: abs(self.bank) < math.radians(3.0), 0.0, sink if low else 0.6 * sink, far_kt)
            else:
                self.until(lambda: abs(self.vs) < 2.0, bank, 0.0, before)
            self.until(lambda: abs(self.bank) < math.radians(3.0) and abs(self.vs) < 1.5, 0.0, 0.0, before)
            self.until(lambda: abs(self.ias_kt - before) < 6.0, 0.0, 0.0, before)
        self.level_ft = self.alt_ft
        self.hold(20.0, ft=self.alt_ft, kt=before)

    def spiral_dive(self, falls_s: float = 5.0, held_s: float = 2.0) -> None:
        """57° of bank, the nose down 20 m/s in so many seconds and held; then wings level, then the nose up."""
        begun, bank = self.t, math.radians(57.0)
        with self.mark("unusual_attitude"):
            while self.t - begun < falls_s + held_s:
                self.tick(bank, -20.0 * min((self.t - begun) / falls_s, 1.0), 122.0, accel=3.0)
            self.until(lambda: abs(self.bank) < math.radians(3.0), 0.0, -20.0, 122.0)
            self.until(lambda: abs(self.vs) < 1.5, 0.0, 0.0, 110.0)
        self.level_ft = self.alt_ft

    def chandelle(self, direction: float = 1.0) -> None:
        self.hold(10.0, kt=MANEUVER_KT)
        with self.mark("chandelle"):
            turned, last = 0.0, self.psi
            while turned < math.pi - 0.02:
                share = turned / math.pi
                bank = math.radians(30.0) * (1.0 if share < 0.5 else max(0.1, 2.0 * (1.0 - share)))
                kt = MANEUVER_KT - (MANEUVER_KT - STALL_KT - 5.0) * share
                self.tick(direction * bank, 5.5 * min(1.0, 4 * share + 0.15) * (1.0 - 0.5 * share), kt)
                turned += abs(self.psi - last)
                last = self.psi
            self.until(lambda: abs(self.bank) < 0.03, 0.0, 0.3, STALL_KT + 5.0)
        self.level_ft = self.alt_ft
        self.hold(25.0, ft=self.alt_ft, kt=MANEUVER_KT)

    def lazy_eight(self) -> None:
        self.hold(10.0, kt=MANEUVER_KT)
        with self.mark("lazy_eight"):
            for direction in (1.0, -1.0):
                turned, last = 0.0, self.psi
                while turned < math.pi - 0.03:
                    share = max(turned / math.pi, 0.02)
                    bank = max(math.radians(30.0) * math.sin(math.pi * share), math.radians(4.0))
                    kt = MANEUVER_KT - (MANEUVER_KT - 62.0) * math.sin(math.pi * share) ** 2
                    self.tick(direction * bank, 5.0 * math.sin(2 * math.pi * share + 0.25), kt, accel=2.0)
                    turned += abs(self.psi - last)
                    last = self.psi
        self.hold(15.0, ft=self.alt_ft)

    def steep_spiral(self, turns: float = 3.0, direction: float = 1.0) -> None:
        self.hold(8.0, kt=80.0)
        with self.mark("steep_spiral"):
            self.turn(direction * 360.0 * turns, 40.0, vs=lambda turned: -5.6)
        self.level_ft = self.alt_ft
        self.hold(20.0, ft=self.alt_ft, kt=CRUISE_KT)

    def emergency_descent(self, ft: float) -> None:
        with self.mark("emergency_descent"):
            self.kt = 120.0
            self.until(lambda: self.alt_ft < ft + 150.0, math.radians(38.0), -9.5, 120.0)
            self.until(lambda: abs(self.vs) < 0.5, 0.0, 0.0, 110.0, most_s=15.0)
        self.hold(20.0, ft=self.alt_ft, kt=CRUISE_KT)

    def glide(self, ft: float, kt: float = 68.0) -> None:
        with self.mark("glide"):
            self.until(lambda: self.ias_kt < kt + 2.0, 0.0, -0.5, kt, accel=0.9)
            self.until(lambda: self.alt_ft < ft + 60.0, 0.0, -3.9, kt)
            self.until(lambda: self.vs > -0.3, 0.0, 1.0, kt + 5.0, most_s=15.0)
        self.hold(20.0, ft=self.alt_ft, kt=CRUISE_KT)

    def forward_slip(self, seconds: float = 20.0) -> None:
        with self.mark("forward_slip"):
            for k in range(round(seconds / DT)):
                self.slip = math.radians(18.0) * min(1.0, k * DT / 3.0, (seconds - k * DT) / 3.0)
                self.tick(0.0, -5.0, APPROACH_KT)
            self.slip = 0.0

    def _circle(self, sign: float, radius: float, done: Callable[[float], bool]) -> float:
        turned, last = 0.0, self.track
        wind_from = math.radians(self.wind_from_deg)
        while not done(math.degrees(turned)):
            angle = self.mirror * sign * (self.track - wind_from)
            bank = float(ground_reference_bank_rad(self.v, self.wind_kt * KT_MPS, radius, angle))
            self.tick(sign * bank, self.toward(None), self.kt)
            now = self.track
            turned += math.atan2(math.sin(now - last), math.cos(now - last)) * sign * self.mirror
            last = now
        return turned

    def turns_around_point(self, turns: float = 2.0, direction: float = 1.0, radius: float = 450.0) -> None:
        with self.mark("turns_around_point"):
            self._circle(direction, radius, lambda d: d > 360.0 * turns - 8.0)
            self.until(lambda: abs(self.bank) < 0.03, 0.0, most_s=8.0)
        self.hold(15.0)

    def s_turns(self, halves: int = 4, radius: float = 450.0) -> None:
        with self.mark("s_turns"):
            sign = 1.0
            for _ in range(halves):
                self._circle(sign, radius, lambda d: d > 176.0)
                sign = -sign
            self.until(lambda: abs(self.bank) < 0.03, 0.0, most_s=8.0)
        self.hold(15.0)

    def eights_along_road(self, eights: int = 1, radius: float = 420.0) -> None:
        with self.mark("eights_along_road"):
            sign = 1.0
            for _ in range(2 * eights):
                self._circle(sign, radius, lambda d: d > 352.0)
                self.until(lambda: abs(self.bank) < 0.03, 0.0, most_s=8.0)
                sign = -sign
        self.hold(15.0)

    def eights_on_pylons(self, eights: int = 1, radius: float = 380.0) -> None:
        with self.mark("eights_on_pylons"):
            sign = 1.0
            for _ in range(2 * eights):
                self._circle(sign, radius, lambda d: d > 255.0)
                self.until(lambda: abs(self.bank) < 0.03, 0.0, most_s=8.0)
                self.hold(4.0)
                sign = -sign
        self.hold(15.0)

    def rectangular_course(self, legs: int = 5) -> None:
        with self.mark("rectangular_course"):
            self.hold(22.0)
            for leg in range(legs):
                self.turn(90.0, 25.0, by_track=True)
                self.hold(22.0 if leg < legs - 1 else 8.0)

    def pattern_to(self, touch_s: float | None = None) -> None:
        """Downwind, base, final, landing (or touch and go when `touch_s` is given). Starts on a downwind heading."""
        pattern = self.field_ft + 1000.0
        around = self.circuit_began
        with self.mark("traffic_pattern") as circuit:
            self.hold(45.0, ft=pattern, kt=85.0)
            self._base_and_final(pattern)
            self.until(lambda: self.alt_ft < self.field_ft + 200.0, 0.0, -2.6, APPROACH_KT)
        circuit.start_s = circuit.start_s if around is None else around
        self.circuit_began = None
        with self.mark("landing" if touch_s is None else "touch_and_go"):
            self.until(lambda: self.alt_ft < self.field_ft + 20.0, 0.0, -2.6, APPROACH_KT)
            self.until(lambda: self.alt_ft < self.field_ft + 1.5, 0.0, -0.7, 50.0)
            self.contacts.append(GroundContact("landing" if touch_s is None else "touch_and_go", self.t))
            self.ground = True
            if touch_s is None:
                self.until(lambda: self.ias_kt < 4.0, 0.0, 0.0, 0.0, accel=1.8)
            else:
                self.hold_on_ground(touch_s, 45.0)
                self.until(lambda: self.ias_kt > 54.0, 0.0, 0.0, 80.0, accel=1.8)
                self.ground, self.flap = False, 0.0
                self.until(lambda: self.alt_ft > self.field_ft + 300.0, 0.0, 3.6, CLIMB_KT)
        if touch_s is None:
            self.hold_on_ground(15.0)

    def _base_and_final(self, pattern: float) -> None:
        self.until(lambda: self.alt_ft < pattern - 200.0, 0.0, -2.5, 75.0)
        self.kt = 70.0
        self.flap = 0.5
        self.turn(-90.0, 22.0, vs=lambda turned: -2.5)
        self.until(lambda: self.alt_ft < pattern - 520.0, 0.0, -2.5, 70.0)
        self.turn(-90.0, 22.0, vs=lambda turned: -2.4)
        self.flap = 1.0

    circuit_began: float | None = None

    def closed_circuit(self) -> None:
        """From climb-out round to a downwind heading; the circuit counts from here."""
        pattern = self.field_ft + 1000.0
        self.circuit_began = self.t
        self.until(lambda: self.alt_ft > pattern - 300.0, 0.0, 3.6, CLIMB_KT)
        self.turn(-90.0, 22.0, vs=lambda turned: 2.5)
        self.until(lambda: self.alt_ft > pattern - 60.0, 0.0, 2.5, CLIMB_KT, most_s=30.0)
        self.level_ft, self.kt = pattern, 85.0
        self.turn(-90.0, 22.0)

    def go_around(self) -> None:
        """From a downwind heading: base, final, and away again from 80 ft."""
        pattern = self.field_ft + 1000.0
        around = self.circuit_began
        with self.mark("traffic_pattern") as circuit:
            self.hold(30.0, ft=pattern, kt=85.0)
            self._base_and_final(pattern)
            self.until(lambda: self.alt_ft < self.field_ft + 150.0, 0.0, -2.6, APPROACH_KT)
        circuit.start_s = circuit.start_s if around is None else around
        self.circuit_began = None
        with self.mark("go_around"):
            self.until(lambda: self.alt_ft < self.field_ft + 80.0, 0.0, -2.6, APPROACH_KT)
            self.flap = 0.0
            self.until(lambda: self.alt_ft > self.field_ft + 500.0, 0.0, 3.4, CLIMB_KT)
        self.level_ft = pattern

    def tank_change(self) -> None:
        with self.mark("tank_change") as one:
            one.start_s, one.end_s = self.t - 5.0, self.t + 5.0
        self.tank = 3.0 - self.tank
        self.hold(8.0)

    # ---- what was recorded

    def flight(self, *, gps_only: bool = False, rate_hz: float = 10.0, start_utc_s: float = 1.75e9,
               drop: tuple[str, ...] = (), with_wind: bool = True) -> Flight:  # fmt: skip
        """The recording: everything, or position alone (with the wind known as the recording package would)."""
        t, x, y, h, eas, v, gx, gy, psi, nose, bank, slip, vs, before, flap, tank, ground, asked_kt = self.rows[
            :: round(1.0 / (DT * rate_hz))
        ].T
        n, rng = len(t), np.random.default_rng(self.seed + 1)
        noise = rng.normal
        measured: dict[str, np.ndarray] = {
            "east_m": x + noise(0, 0.3, n), "north_m": y + noise(0, 0.3, n), "gps_altitude_m": h + noise(0, 0.4, n),
            "groundspeed_mps": np.hypot(gx, gy) + noise(0, 0.1, n),
            "track_rad": np.mod(np.arctan2(gx, gy) + noise(0, 0.005, n), 2 * np.pi),
        }  # fmt: skip
        if not gps_only:
            load = 1.0 / np.cos(np.clip(bank, -1.3, 1.3))
            stall, slow = (STALL_KT + (FLAPS_STALL_KT - STALL_KT) * flap) * KT_MPS, np.maximum(eas, 8.0)
            lift = np.minimum(1.4 * load * (stall / slow) ** 2, 1.8)
            alpha = lift / 5.0 - 0.04 - 0.05 * flap
            drag = v * (0.034 + 0.03 * flap + 0.055 * lift**2) / np.maximum(lift, 0.15) * load
            flown = np.clip((vs + before * (v - before) / DT / G0_MPS2 + drag) / 8.0, 0.03, 1.05)
            power = np.where(ground > 0.0, 0.3 + 0.7 * (asked_kt > 30), flown)
            warning = (ground == 0.0) & (slow < WARNING * stall * np.sqrt(load))
            pitch = vs / np.maximum(v, 5.0) + alpha + nose
            measured |= {
                "indicated_altitude_m": np.round((h + noise(0, 0.3, n)) / FT_M) * FT_M,
                "ias_mps": eas + noise(0, 0.2, n), "tas_mps": v + noise(0, 0.2, n),
                "heading_rad": np.mod(psi + noise(0, 0.005, n), 2 * np.pi),
                "pitch_rad": pitch + noise(0, 0.003, n), "bank_rad": bank + self.mirror * slip + noise(0, 0.004, n),
                "vertical_speed_mps": vs + noise(0, 0.2, n), "load_factor": load + noise(0, 0.02, n),
                "angle_of_attack_rad": alpha + noise(0, 0.004, n), "power_ratio": power,
                "rpm": 700.0 + 1900.0 * np.cbrt(power), "flap_notch": np.round(flap * 3.0), "tank": tank,
                "stall_warning": warning.astype(float), "on_ground": ground,
                "lateral_g": np.sin(slip) * self.mirror + noise(0, 0.01, n),
            }  # fmt: skip
        columns = {k: Column(v, "measured") for k, v in measured.items() if k not in drop}
        altitude = measured["gps_altitude_m" if gps_only else "indicated_altitude_m"]
        columns["altitude_m"] = Column(altitude, "derived" if gps_only else "measured")
        columns["agl_m"] = Column(altitude - self.field_ft * FT_M, "derived")
        if with_wind:
            columns["wind_from_rad"] = Column(np.full(n, np.radians(self.wind_from_deg)), "derived")
            columns["wind_mps"] = Column(np.full(n, self.wind_kt * KT_MPS), "derived")
        columns = {k: v for k, v in columns.items() if k not in drop}
        return Flight(start_utc_s, t, columns, contacts=tuple(self.contacts), source={"name": "built"})


def lesson(**more: float) -> Builder:
    """A private lesson: clearing turns, slow flight, stalls, steep turns, back to a landing."""
    b = Builder(**more)  # type: ignore[arg-type]
    b.takeoff()
    b.climb(3500.0)
    b.clearing_turn()
    b.slow_flight()
    b.power_off_stall()
    b.power_on_stall()
    b.hold(20.0)
    b.steep_turn(-1.0)
    b.steep_turn(1.0)
    b.hold(30.0)
    b.descend(b.field_ft + 1000.0)
    b.hold(30.0, kt=85.0)
    b.pattern_to()
    return b
