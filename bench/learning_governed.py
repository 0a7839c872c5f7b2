"""A constant-speed airplane to learn from: JSBSim's c182 airframe, its own two-blade propeller table, a governor.

JSBSim moves the airframe; the thrust comes from the thrust and power coefficients of JSBSim's `prop_81in2v` (by advance
ratio and blade angle) at the blade angle that holds the governor's RPM. The engine is a formula of its own, unlike the
law that learns from it: indicated power by manifold pressure over the exhaust's back pressure, breathing and the square
root of temperature, less a friction that grows with RPM. Below the fine-pitch stop the RPM falls off, as it does.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import jsbsim
import learning_frames as frames
import numpy as np
import performance_truth as truth
from flying.engine import Held
from flying.simulator import TICK_S

from airwork.units import FT_M, INHG_PA, KT_MPS, LBF_N

FRAME = "c182y"
RATED_HP, RATED_RPM = 230.0, 2400.0
_FULL_SHARE, _CLOSED_SHARE = 0.97, 0.30  # manifold pressure over ambient at full and closed throttle
_BACK, _FRICTION = 0.13, 0.15
LEVELS_RPM = (2400.0, 2200.0)
_FT3 = 1.0 / truth.SLUG_FT3_SEA_LEVEL


def power_hp(rpm: float, pressure_pa: float, ambient_pa: float, kelvin: float) -> float:
    """Brake power of the engine. [hp]"""
    rated_pa = 28.9 * INHG_PA
    breath = 1.0 - 0.25 * ((rpm - 2250.0) / 2400.0) ** 2
    charge = (pressure_pa - _BACK * ambient_pa) / (rated_pa - _BACK * 101325.0) * math.sqrt(288.15 / kelvin)
    friction = _FRICTION * (0.6 + 0.4 * rpm / RATED_RPM)
    return RATED_HP * rpm / RATED_RPM * ((1.0 + _FRICTION) * breath * charge - friction)


def pressure_inhg(hp: float, rpm: float, ambient_pa: float, kelvin: float) -> float:
    """Manifold pressure that gives a power: the inverse, which is a straight line. [inHg]"""
    one, two = (power_hp(rpm, x * INHG_PA, ambient_pa, kelvin) for x in (10.0, 20.0))
    return 10.0 + 10.0 * (hp - one) / (two - one)


@lru_cache
def blades() -> truth.BladeTable:
    return truth.BladeTable("prop_81in2v")


class Engine:
    """Stands in for JSBSim's engine; its nodes are read like any property."""

    def __init__(self, set_rpm: float) -> None:
        self.set_rpm = set_rpm
        self.throttle, self.rpm, self.flow_lbps, self.power = Held(0.5), Held(set_rpm), Held(), Held()
        self.pressure = Held(20.0)
        self.nodes = {
            "fcs/throttle-cmd-norm": self.throttle, "propulsion/engine/engine-rpm": self.rpm,
            "propulsion/engine/fuel-flow-rate-pps": self.flow_lbps, "propulsion/engine/power-hp": self.power,
            "propulsion/engine/map-inhg": self.pressure, "fcs/mixture-cmd-norm": Held(1.0),
        }  # fmt: skip

    def step(self, dt_s: float, tas_mps: float, density: float, ambient_pa: float, kelvin: float) -> float:
        """Move on by dt; the thrust. [N]"""
        throttle = min(max(self.throttle.value, 0.0), 1.0)
        wanted = ambient_pa * (_CLOSED_SHARE + (_FULL_SHARE - _CLOSED_SHARE) * throttle)
        pressure = self.pressure.value * INHG_PA
        pressure += (wanted - pressure) * min(dt_s / 0.3, 1.0)
        self.pressure.value = pressure / INHG_PA
        aim = RATED_RPM if throttle > 0.92 else self.set_rpm
        rpm = self.rpm.value + (aim - self.rpm.value) * min(dt_s / 0.8, 1.0)
        hp = max(power_hp(rpm, pressure, ambient_pa, kelvin), 0.0)
        rpm, thrust = self.turning(rpm, hp, tas_mps, density)
        self.rpm.value, self.power.value = rpm, hp
        self.flow_lbps.value = (0.43 * hp + 0.055 * RATED_HP * rpm / RATED_RPM) / 3600.0
        return thrust

    @staticmethod
    def turning(rpm: float, hp: float, tas_mps: float, density: float) -> tuple[float, float]:
        """(RPM the blades can hold, thrust [N]): the governor's, or slower on the fine stop."""
        table, rho, v = blades(), density / 1.225 / _FT3, tas_mps / FT_M
        d = table.diameter_ft
        for _ in range(40):
            n, j = rpm / 60.0, v / (rpm / 60.0 * d)
            takes = np.interp(j, table.c_power[:, 0], table.c_power[:, 1]) * rho * n**3 * d**5 / 550.0
            if takes <= hp or rpm < 700.0:
                break
            rpm *= 0.985
        ct = table.other("c_power", hp * 550.0 / (rho * (rpm / 60.0) ** 3 * d**5), "c_thrust", v / (rpm / 60.0 * d))
        if ct is None:
            ct = float(np.interp(v / (rpm / 60.0 * d), table.c_thrust[:, 0], table.c_thrust[:, 1]))
        return rpm, ct * rho * (rpm / 60.0) ** 2 * d**4 * LBF_N


@lru_cache
def _drag() -> dict[int, tuple[np.ndarray, np.ndarray]]:
    """notch -> (KCAS over √lb, drag over weight) of the frame in level flight, from JSBSim's trims."""
    t = frames.trims_of(frames.SETUPS[FRAME])["level"]
    out = {}
    for notch in np.unique(t["notch"]):
        here = t["notch"] == notch
        x, y = t["kcas"][here] / np.sqrt(t["weight_lb"][here]), t["thrust_lbf"][here] / t["weight_lb"][here]
        order = np.argsort(x)
        out[int(notch)] = x[order], y[order]
    return out


class GovernedSimulator(frames.BenchSimulator):
    """The c182 frame without its engine, pulled by `Engine`."""

    def _load_model(self, fdm: jsbsim.FGFDMExec) -> bool:
        if not hasattr(self, "engine"):
            rng = np.random.default_rng(round(self._load[0] * 10))
            self.engine = Engine(float(rng.choice([2100.0, 2200.0, 2300.0, 2400.0])))
        return super()._load_model(fdm)

    def _finder(self, fdm: jsbsim.FGFDMExec) -> Any:
        find = super()._finder(fdm)
        self._thrust = find("external_reactions/thrust/magnitude")
        self._density, self._kelvin = find("atmosphere/rho-slugs_ft3"), find("atmosphere/T-R")
        return lambda path: self.engine.nodes.get(path) or find(path)

    def _air(self) -> tuple[float, float]:
        return self._density.get_double_value() * LBF_N / FT_M**4, self._kelvin.get_double_value() / 1.8

    def _run_engine(self, fdm: jsbsim.FGFDMExec, throttle: float) -> None:
        fdm.run_ic()
        self.engine.throttle.value = throttle

    def _trim(self) -> None:
        fdm = self.fdm
        fdm.run_ic()
        self._read()
        t = frames.trims_of(frames.SETUPS[FRAME])["level"]
        here = t["notch"] == 0
        x = t["kcas"][here] / np.sqrt(t["weight_lb"][here])
        order = np.argsort(x)
        now = self.state.cas_mps / KT_MPS / math.sqrt(fdm["inertia/weight-lbs"])
        fdm["ic/alpha-rad"] = fdm["ic/theta-rad"] = math.radians(
            float(np.interp(now, x[order], t["alpha_deg"][here][order]))
        )
        self._run_engine(fdm, self.known_throttle(self.state.cas_mps))
        for _ in range(40):
            self._push()

    def known_throttle(self, ias_mps: float, *, notch: int = 0, path_rad: float = 0.0) -> float:
        density, kelvin = self._air()
        weight = self.fdm["inertia/weight-lbs"]
        x, y = _drag()[notch]
        share = float(np.interp(ias_mps / KT_MPS / math.sqrt(weight), x, y)) + math.sin(path_rad)
        if share <= 0.01:
            return 0.0
        v, rho = ias_mps * math.sqrt(1.225 / density) / FT_M, density / 1.225 / _FT3
        n, d = self.engine.set_rpm / 60.0, blades().diameter_ft
        cp = blades().other("c_thrust", share * weight / (rho * n**2 * d**4), "c_power", v / (n * d))
        if cp is None:
            return 0.25 if share < 0.1 else 1.0
        wanted = cp * rho * n**3 * d**5 / 550.0
        ambient = density * 287.05287 * kelvin
        low, high = 0.0, 1.0
        for _ in range(20):
            middle = 0.5 * (low + high)
            pressure = ambient * (_CLOSED_SHARE + (_FULL_SHARE - _CLOSED_SHARE) * middle)
            low, high = (middle, high) if power_hp(60.0 * n, pressure, ambient, kelvin) < wanted else (low, middle)
        return high

    def _push(self) -> None:
        density, kelvin = self._air()
        ambient = density * 287.05287 * kelvin
        self._thrust.set_double_value(self.engine.step(TICK_S, self.state.tas_mps, density, ambient, kelvin) / LBF_N)

    def _before_step(self) -> None:
        self._push()
        burned = self.engine.flow_lbps.value * TICK_S
        for tank in self._tanks:
            tank.set_double_value(max(0.0, tank.get_double_value() - burned / len(self._tanks)))

    def select_tank(self, tank: int) -> None:
        self.tank = tank


def level_truth() -> dict[str, dict[str, np.ndarray]]:
    """Level flight at two RPM (power), full-throttle climbs, stalls: the frame's trims behind this propeller."""
    frame = frames.trims_of(frames.SETUPS[FRAME])
    t, d = frame["level"], blades().diameter_ft
    rows: dict[str, list[dict[str, float]]] = {"level": [], "climb": []}
    for i in range(t["kcas"].size):
        row = {c: float(v[i]) for c, v in t.items()}
        v = row["ktas"] * KT_MPS / FT_M
        rho = truth.SLUG_FT3_SEA_LEVEL * (row["kcas"] / row["ktas"]) ** 2
        kelvin = row["oat_c"] + 273.15
        ambient = rho * _FT3 * 1.225 * 287.05287 * kelvin
        full = power_hp(RATED_RPM, _FULL_SHARE * ambient, ambient, kelvin)
        for rpm in LEVELS_RPM:
            n = rpm / 60.0
            cp = blades().other("c_thrust", row["thrust_lbf"] / (rho * n**2 * d**4), "c_power", v / (n * d))
            hp = math.inf if cp is None else cp * rho * n**3 * d**5 / 550.0
            if hp < 0.95 * power_hp(rpm, _FULL_SHARE * ambient, ambient, kelvin):
                inhg = pressure_inhg(hp, rpm, ambient, kelvin)
                rows["level"].append({**row, "rpm": rpm, "hp": hp, "inhg": inhg})
        n = RATED_RPM / 60.0
        ct = blades().other("c_power", full * 550.0 / (rho * n**3 * d**5), "c_thrust", v / (n * d))
        if ct is not None and (excess := ct * rho * n**2 * d**4 - row["thrust_lbf"]) > 0:
            rate = 60.0 * v * excess / row["weight_lb"]
            rows["climb"].append({**row, "rpm": RATED_RPM, "hp": full, "rate_of_climb_fpm": rate})
    found = {k: {c: np.array([r[c] for r in v]) for c in v[0]} for k, v in rows.items()}
    for table in found.values():
        table["notch"] = table["notch"].astype(int)
    return {**found, "stall": frame["stall"]}


def chart() -> list[dict[str, float]]:
    """The power chart a book would print of this engine, rounded to 1 %."""
    rows = []
    for feet in (2000.0, 4000.0, 6000.0, 8000.0):
        kelvin = 288.15 - 0.0065 * feet * FT_M
        ambient = 101325.0 * (kelvin / 288.15) ** 5.25588
        for rpm in (2100.0, 2200.0, 2300.0, 2400.0):
            for inhg in (15.0, 17.0, 19.0, 21.0, 23.0, 25.0, 27.0):
                share = power_hp(rpm, inhg * INHG_PA, ambient, kelvin) / RATED_HP
                if inhg * INHG_PA < 0.98 * ambient and 0.3 < share < 1.0:
                    rows.append({"pressure_altitude_ft": feet, "rpm": rpm, "manifold_pressure_inhg": inhg,
                                 "percent_power": float(round(100 * share))})  # fmt: skip
    return rows
