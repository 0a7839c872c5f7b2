"""The simulator for an invented airplane: JSBSim moves the airframe, our own engine pulls it."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable

import jsbsim

from airwork.units import FT_M, KT_MPS, LBF_N
from flying.columns import standard_pressure_pa
from flying.invented import load
from flying.invented_xml import model_folder
from flying.simulator import TICK_S, Node, Simulator


class InventedSimulator(Simulator):
    """Same controls and columns as `Simulator`; indicated airspeed by the airplane file's calibration."""

    def _load_model(self, fdm: jsbsim.FGFDMExec) -> bool:
        if not hasattr(self, "engine"):
            self.airplane = load(self.model.jsbsim_name)
            self.engine = self.airplane.engine()
            self._dials = (self.airplane.calibration(False), self.airplane.calibration(True))
        folder = str(model_folder())
        return bool(fdm.load_model_with_paths(self.model.jsbsim_name, folder, folder, folder, True))

    def _finder(self, fdm: jsbsim.FGFDMExec) -> Callable[[str], Node]:
        find = super()._finder(fdm)
        self._thrust_nodes = [find("external_reactions/thrust/magnitude"), find("sim/thrust-lbs")]
        self._windmill_node = find("sim/windmill-cd")
        self._density_node = find("atmosphere/rho-slugs_ft3")

        def find_or_stand_in(path: str) -> Node:
            held = self.engine.nodes.get(path)
            return held if held is not None else find(path)

        return find_or_stand_in

    def density_kgpm3(self) -> float:
        """Density of the air here. [kg/m³]"""
        return float(self._density_node.get_double_value()) * LBF_N / FT_M**4

    def _run_engine(self, fdm: jsbsim.FGFDMExec, throttle: float) -> None:
        fdm.run_ic()
        self.engine.throttle.value = throttle
        self._read()
        self._push(self.engine.settle(self.state.tas_mps, self.density_kgpm3()))

    def _trim(self) -> None:
        """Level flight by the airplane's own numbers: angle of attack for the weight, elevator for no moment."""
        fdm, airplane = self.fdm, self.airplane
        fdm.run_ic()
        self._read()
        density, tas = self.density_kgpm3(), self.state.tas_mps
        weight_n = fdm["inertia/weight-lbs"] * LBF_N
        q_s = 0.5 * density * tas**2 * airplane.truth["wing_area_ft2"] * FT_M**2
        alpha = airplane.alpha_rad(weight_n / q_s, 0)
        fdm["ic/alpha-rad"] = alpha
        fdm["ic/theta-rad"] = alpha
        drag_n = airplane.drag_n(weight_n, tas, density, 0)
        throttle = self.engine.throttle_for(drag_n, tas, density)
        self._run_engine(fdm, throttle)
        elevator_rad = (0.07 - 1.1 * alpha) / 1.25
        limit_deg = 26.0 if elevator_rad < 0.0 else 22.0
        fdm["fcs/pitch-trim-cmd-norm"] = math.degrees(elevator_rad) / limit_deg

    def known_throttle(self, ias_mps: float, *, notch: int = 0, path_rad: float = 0.0) -> float:
        """Throttle for steady flight at this speed about here, from the airplane's own drag and propeller."""
        pressure_pa = max(self.state.pressure_pa, standard_pressure_pa(4000.0))
        density = pressure_pa / (287.05287 * (288.15 + self.day.isa_deviation_k - 0.0065 * self.state.altitude_m))
        cas = self._calibrated(ias_mps, flaps=notch > 0)
        tas = cas * math.sqrt(1.225 / density)
        weight_n = self.fdm["inertia/weight-lbs"] * LBF_N
        drag = self.airplane.drag_n(weight_n * math.cos(path_rad), tas, density, notch)
        return self.engine.throttle_for(drag + weight_n * math.sin(path_rad), tas, density)

    def _before_step(self) -> None:
        engine = self.engine
        thrust = engine.step(TICK_S, self.state.tas_mps, self.density_kgpm3())
        density_altitude_m = 44330.0 * (1.0 - (self.density_kgpm3() / 1.225) ** 0.235)
        engine.mixture = "best_power" if density_altitude_m > 1500.0 and engine.throttle.value < 0.95 else "full_rich"
        idle = max(0.0, 1.0 - engine.throttle.value / 0.06)
        self._windmill_node.set_double_value(self.airplane.truth["windmilling_delta_CD"] * idle)
        self._push(thrust)
        burned_lb = engine.flow_lbps.value * TICK_S
        feeding = [t for i, t in enumerate(self._tanks) if self.tank in (i + 1, 3)] or self._tanks[:1]
        for tank in feeding:
            tank.set_double_value(max(0.0, tank.get_double_value() - burned_lb / len(feeding)))

    def select_tank(self, tank: int) -> None:
        self.tank = tank

    def _push(self, thrust_n: float) -> None:
        for node in self._thrust_nodes:
            node.set_double_value(thrust_n / LBF_N)

    def _indicated(self, cas_mps: float) -> float:
        cas, ias = self._dials[self.flap_notch > 0]
        return _between(cas_mps / KT_MPS, cas, ias) * KT_MPS

    def _calibrated(self, ias_mps: float, *, flaps: bool) -> float:
        cas, ias = self._dials[flaps]
        return _between(ias_mps / KT_MPS, ias, cas) * KT_MPS


def _between(x: float, xs: list[float], ys: list[float]) -> float:
    """Straight lines between points, the last one continued."""
    i = max(0, min(bisect_right(xs, x) - 1, len(xs) - 2))
    return ys[i] + (x - xs[i]) * (ys[i + 1] - ys[i]) / (xs[i + 1] - xs[i]) if x > xs[0] else ys[0]
