"""An invented light single as physics: polar, propeller, engine, wheels. SI. Speeds are true unless named.

Written for the bench alone and apart from airwork's own laws: drag of a parabola with a rise near the stall, propeller
by coefficients (fixed pitch) or by an efficiency that grows with speed (constant speed), engine by the power law of
Gagg and Ferrar, takeoff by stepping the equation of motion.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import numpy as np

G = 9.80665
RHO0 = 1.225


def air(height_m: float, deviation_k: float = 0.0) -> tuple[float, float]:
    """(density [kg/m³], temperature [K]) of the standard atmosphere, so much warmer."""
    standard = 288.15 - 0.0065 * height_m
    pressure = 101325.0 * (standard / 288.15) ** 5.25588
    return pressure / (287.053 * (standard + deviation_k)), standard + deviation_k


@dataclass(frozen=True)
class Machine:
    """The invented airplane."""

    mass_kg: float
    area_m2: float
    span_m: float
    cd0: float
    oswald: float
    lift: tuple[float, ...]  # greatest lift coefficient by notch
    flap_drag: tuple[float, ...]
    power_w: float
    rpm: float
    fixed_pitch: bool
    diameter_m: float
    pitch: float  # J at which the fixed propeller's thrust ends
    efficiency: float
    consumption: float  # kg/J at best power
    braking: float
    friction: float
    diesel: bool
    error: tuple[float, float]  # position error at 30 m/s indicated and its slope

    # --- air ---

    def drag_n(self, v: float, mass: float, rho: float, notch: int = 0, load: float = 1.0) -> float:
        q = 0.5 * rho * v * v * self.area_m2
        lift = mass * G * load / q
        k = 1.0 / (math.pi * self.oswald * self.span_m**2 / self.area_m2)
        near = max(lift - 0.8 * self.lift[notch], 0.0)
        return q * (self.cd0 + self.flap_drag[notch] + k * lift**2 + 0.25 * near**2)

    def stall(self, mass: float, notch: int, load: float = 1.0) -> float:
        """Calibrated stall speed. [m/s]"""
        return math.sqrt(2 * mass * G * load / (RHO0 * self.area_m2 * self.lift[notch]))

    # --- engine ---

    def full_power_w(self, rho: float, rpm: float, temperature_k: float) -> float:
        if self.diesel:  # its turbocharger holds the power to about 8,000 ft
            return self.power_w * min(1.0, 1.0 - 0.45 * (0.78 - rho / RHO0))
        sigma = rho / RHO0
        return self.power_w * (1.132 * sigma - 0.132) * min(rpm / self.rpm, 1.06)

    def thrust(self, v: float, n: float, rho: float) -> tuple[float, float]:
        """(thrust [N], power [W]) of the fixed propeller at n rev/s."""
        j = v / (n * self.diameter_m)
        ct = self._ct_scale * (1 - j / self.pitch) * (1 + 0.25 * j)
        scale = self._cp_scale
        cp = scale * (0.052 + 0.012 * j - 0.040 * j**2)
        return rho * n**2 * self.diameter_m**4 * ct, rho * n**3 * self.diameter_m**5 * max(cp, 0.005)

    @property
    def _ct_scale(self) -> float:
        """So that its efficiency there is `efficiency`."""
        j, n = 0.62 * self.pitch, self.rpm / 60
        cp = self.power_w / (RHO0 * n**3 * self.diameter_m**5)
        return self.efficiency * cp / j / ((1 - 0.62) * (1 + 0.25 * j))

    @property
    def _cp_scale(self) -> float:
        """So that the propeller takes rated power at rated RPM at about 0.62 of its pitch."""
        j, n = 0.62 * self.pitch, self.rpm / 60
        return self.power_w / (RHO0 * n**3 * self.diameter_m**5 * (0.052 + 0.012 * j - 0.040 * j**2))

    def full_thrust_n(self, v: float, rho: float, temperature_k: float) -> tuple[float, float]:
        """(thrust [N], rpm) at full throttle."""
        if not self.fixed_pitch:
            power = self.full_power_w(rho, self.rpm, temperature_k)
            static = 0.80 * (2 * rho * math.pi / 4 * self.diameter_m**2 * power**2) ** (1 / 3)
            return min(self.efficiency * power / max(v, 1.0), static / (1 + (v / 55.0) ** 1.9)), self.rpm
        low, high = 10.0, 60.0
        for _ in range(40):
            n = 0.5 * (low + high)
            if self.thrust(v, n, rho)[1] < self.full_power_w(rho, 60 * n, temperature_k):
                low = n
            else:
                high = n
        return self.thrust(v, low, rho)[0], 60 * low

    def climb(self, mass: float, rho: float, temperature_k: float) -> tuple[float, float]:
        """(best rate [m/s], its calibrated speed [m/s])."""
        slow = 1.15 * self.stall(mass, 0) / math.sqrt(rho / RHO0)
        speeds = np.linspace(slow, 2.1 * slow, 45)
        rates = [
            (self.full_thrust_n(v, rho, temperature_k)[0] - self.drag_n(v, mass, rho)) * v / (mass * G) for v in speeds
        ]
        best = int(np.argmax(rates))
        return rates[best], float(speeds[best]) * math.sqrt(rho / RHO0)

    def steepest(self, mass: float, rho: float, temperature_k: float) -> float:
        """Calibrated speed of the steepest climb. [m/s]"""
        slow = 1.12 * self.stall(mass, 0) / math.sqrt(rho / RHO0)
        speeds = np.linspace(slow, 1.9 * slow, 60)
        slopes = [self.full_thrust_n(v, rho, temperature_k)[0] - self.drag_n(v, mass, rho) for v in speeds]
        return float(speeds[int(np.argmax(slopes))]) * math.sqrt(rho / RHO0)

    def glide(self, mass: float) -> tuple[float, float]:
        """(ratio, calibrated speed [m/s])."""
        speeds = np.linspace(1.1 * self.stall(mass, 0), 2.2 * self.stall(mass, 0), 200)
        ratios = [mass * G / (1.10 * self.drag_n(v, mass, RHO0)) for v in speeds]
        best = int(np.argmax(ratios))
        return ratios[best], float(speeds[best])

    def level(self, rpm: float, mass: float, rho: float, temperature_k: float) -> tuple[float, float] | None:
        """(true speed [m/s], power [W]) level at an RPM of the fixed propeller; None where it can't."""
        fast = 1.15 * self.stall(mass, 0) / math.sqrt(rho / RHO0)
        speeds = np.linspace(fast, 110.0, 300)
        n = rpm / 60
        spare = np.array([self.thrust(v, n, rho)[0] - self.drag_n(v, mass, rho) for v in speeds])
        above = np.nonzero(spare > 0)[0]
        if len(above) == 0 or above[-1] + 1 >= len(speeds):
            return None
        i = above[-1]
        v = float(speeds[i] + (speeds[i + 1] - speeds[i]) * spare[i] / (spare[i] - spare[i + 1]))
        power = self.thrust(v, n, rho)[1]
        return (v, power) if power <= self.full_power_w(rho, rpm, temperature_k) * 1.005 else None

    def level_at_power(self, power_w: float, mass: float, rho: float) -> float:
        """True speed level at a power, constant speed. [m/s]"""
        speeds = np.linspace(1.2 * self.stall(mass, 0) / math.sqrt(rho / RHO0), 130.0, 400)
        spare = np.array([self.efficiency * power_w - v * self.drag_n(v, mass, rho) for v in speeds])
        i = int(np.nonzero(spare > 0)[0][-1])
        return float(speeds[i] + (speeds[i + 1] - speeds[i]) * spare[i] / (spare[i] - spare[i + 1]))

    def manifold_power(self, inhg: float, rpm: float, height_m: float) -> float:
        """Share of rated power at a manifold pressure and RPM in standard air."""
        return (rpm / self.rpm) ** 0.85 * ((inhg - 6.2) / (28.6 - 6.2) + 0.0056 * height_m / 304.8)

    def flow_kgps(self, share: float, mixture: str) -> float:
        if self.diesel:  # 0.22 kg for each kilowatt-hour, a little more at low load
            return 0.22 / 3.6e6 * (1.0 + 0.12 * (0.75 - share) ** 2) * share * self.power_w
        base = self.consumption * (1.0 + 0.12 * (0.70 - share) ** 2 / 0.05 * 0.3)
        rich = {"best_economy": 0.90, "best_power": 1.0, "full_rich": 1.17}[mixture]
        return base * rich * share * self.power_w

    # --- runway ---

    def takeoff(self, mass: float, notch: int, height_m: float, deviation_k: float) -> tuple[float, float]:
        """(ground roll [m], total over 15.24 m [m])."""
        rho, temperature = air(height_m, deviation_k)
        root = math.sqrt(RHO0 / rho)
        lift_off = 1.13 * self.stall(mass, notch) * root
        distance = 0.0
        step = lift_off / 60
        for k in range(60):
            here = (k + 0.5) * step
            q = 0.5 * rho * here**2 * self.area_m2
            drag = q * (self.cd0 + self.flap_drag[notch] + 0.02)
            net = self.full_thrust_n(here, rho, temperature)[0] - drag
            net -= self.friction * max(mass * G - 0.45 * q, 0.0)
            distance += here * step / max(net / mass, 0.05)
        climb_v = 1.25 * self.stall(mass, notch) * root
        thrust = self.full_thrust_n(climb_v, rho, temperature)[0]
        slope = max((thrust - self.drag_n(climb_v, mass, rho, notch)) / (mass * G), 0.02)
        rising = (climb_v**2 - lift_off**2) / (2 * G) / slope
        return distance, distance + 1.1 * lift_off + rising + 15.24 / slope

    def landing(self, mass: float, notch: int, height_m: float, deviation_k: float) -> tuple[float, float]:
        """(ground roll [m], total over 15.24 m [m])."""
        rho, _ = air(height_m, deviation_k)
        root = math.sqrt(RHO0 / rho)
        approach, touch = 1.3 * self.stall(mass, notch) * root, 1.13 * self.stall(mass, notch) * root
        slope = self.drag_n(approach, mass, rho, notch) / (mass * G)
        air_m = 15.24 / slope + (approach**2 - touch**2) / (2 * G) / max(slope, 0.08)
        roll = touch * 1.0 + touch**2 / (2 * self.braking * G)
        return roll, roll + air_m

    # --- airspeed indicator ---

    def indicated(self, calibrated: float, notch: int = 0) -> float:
        """Indicated airspeed of a calibrated one. [m/s]"""
        low, high = 10.0, 150.0
        for _ in range(50):
            middle = 0.5 * (low + high)
            if self.calibrated(middle, notch) < calibrated:
                low = middle
            else:
                high = middle
        return low

    def calibrated(self, indicated: float, notch: int = 0) -> float:
        """The system reads low near the stall, a little high fast."""
        start, slope = self.error
        return indicated + start * math.exp(-(indicated - 25.0) / 14.0) * (1.15 if notch else 1.0) - slope * indicated


def invent(seed: int, kind: str) -> Machine:
    """An airplane of a kind: "light two", "four", "strong four", "ultralight"."""
    draw = random.Random(f"{seed} {kind}")
    u = draw.uniform
    mass, power_hp, loading = {
        "light two": (u(680, 790), u(95, 118), u(52, 62)),
        "four": (u(1000, 1150), u(148, 180), u(64, 74)),
        "strong four": (u(1180, 1400), u(195, 240), u(75, 88)),
        "ultralight": (u(472, 600), u(80, 100), u(42, 52)),
        "diesel": (u(1080, 1200), u(133, 156), u(66, 74)),
        "old four": (u(950, 1060), u(140, 155), u(58, 68)),
    }[kind]
    fixed = kind not in {"strong four", "diesel"}
    area = mass / loading
    clean = {"strong four": (0.024, 0.029), "ultralight": (0.027, 0.034)}.get(kind, (0.031, 0.037))
    notches = draw.choice((3, 4)) if kind != "ultralight" else 3
    top = u(1.85, 2.2)
    base = u(1.35, 1.52)
    share = [0.0, 0.45, 1.0] if notches == 3 else [0.0, 0.35, 0.7, 1.0]
    rpm = {"ultralight": 2300, "diesel": 2300}.get(kind) or draw.choice((2400, 2550, 2700))
    return Machine(
        mass_kg=mass,
        area_m2=area,
        span_m=math.sqrt(area * u(6.8, 8.8)),
        cd0=u(*clean),
        oswald=u(0.68, 0.8),
        lift=tuple(base + (top - base) * s for s in share),
        flap_drag=tuple(0.045 * s**1.3 for s in share),
        power_w=power_hp * 745.7,
        rpm=rpm,
        fixed_pitch=fixed,
        diameter_m=u(1.72, 1.92) * (2500 / rpm) ** 0.3,
        pitch=u(0.92, 1.08) * (0.86 if kind == "ultralight" else 1.0),
        efficiency=u(0.78, 0.83) if not fixed else u(0.72, 0.77),
        consumption=u(0.44, 0.48) * 0.45359237 / (745.7 * 3600),
        braking=u(0.24, 0.36),
        friction=u(0.02, 0.035),
        diesel=kind == "diesel",
        error=(0.2, 0.0) if kind == "old four" else (u(0.6, 2.2), u(0.0, 0.012)),
    )
