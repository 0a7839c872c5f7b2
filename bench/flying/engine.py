"""Engine and fixed-pitch propeller of the invented airplanes: thrust, speed, power and fuel from their truth numbers.

Full-throttle torque does not depend on engine speed and falls with density by (σ − C)/(1 − C); propeller coefficients
are quadratics in the advance ratio (reference file performance-model.md, sections 2 to 4). Part throttle is a share of
that torque, down to the share that idles on the ground: ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from airwork.units import HP_W

SEA_LEVEL_KGPM3 = 1.225
FRICTION = 0.06  # of the rated torque, always lost
IDLE = 0.14  # share of the indicated torque that is left with the throttle closed
INERTIA_KGM2 = 1.4
SUBSTEPS = 5


@dataclass(slots=True)
class Held:
    """Stands in for a property node of the simulator."""

    value: float = 0.0

    def get_double_value(self) -> float:
        return self.value

    def set_double_value(self, value: float) -> None:
        self.value = value


@dataclass(frozen=True, slots=True)
class Propeller:
    """Fixed pitch; CT and CP as quadratics in J."""

    diameter_m: float
    thrust_poly: tuple[float, float, float]
    power_poly: tuple[float, float, float]

    def thrust_n(self, rev_ps: float, tas_mps: float, density_kgpm3: float) -> float:
        """ρ n² d⁴ CT(J), multiplied out so that a standing propeller is no trouble. [N]"""
        d, (a0, a1, a2) = self.diameter_m, self.thrust_poly
        return density_kgpm3 * d**2 * (a0 * (rev_ps * d) ** 2 + a1 * rev_ps * d * tas_mps + a2 * tas_mps**2)

    def torque_nm(self, rev_ps: float, tas_mps: float, density_kgpm3: float) -> float:
        """ρ n² d⁵ CP(J) / 2π. [N·m]"""
        d, (c0, c1, c2) = self.diameter_m, self.power_poly
        inner = c0 * (rev_ps * d) ** 2 + c1 * rev_ps * d * tas_mps + c2 * tas_mps**2
        return density_kgpm3 * d**3 * inner / (2.0 * math.pi)

    def rev_for_thrust(self, thrust_n: float, tas_mps: float, density_kgpm3: float) -> float:
        """Revolutions per second that give a thrust. [1/s]"""
        d, (a0, a1, a2) = self.diameter_m, self.thrust_poly
        b, c = a1 * tas_mps / d, a2 * (tas_mps / d) ** 2 - thrust_n / (density_kgpm3 * d**4)
        return (-b + math.sqrt(max(0.0, b * b - 4.0 * a0 * c))) / (2.0 * a0)


class Engine:
    """State: revolutions per second. Its nodes are read by the simulator like any other property."""

    def __init__(
        self, propeller: Propeller, *, rated_power_w: float, rated_rpm: float, dropoff: float,
        fuel_gph: dict[str, tuple[float, float]],
    ) -> None:  # fmt: skip
        self.propeller, self.rated_power_w, self.dropoff = propeller, rated_power_w, dropoff
        self.fuel_gph = fuel_gph  # mixture -> (at no power, per percent of power)
        self.mixture = "full_rich"
        self.rated_torque_nm = rated_power_w / (2.0 * math.pi * rated_rpm / 60.0)
        self.rev_ps = 11.0
        self.throttle, self.rpm, self.flow_lbps, self.power_hp = Held(), Held(self.rev_ps * 60.0), Held(), Held()
        self.nodes = {
            "fcs/throttle-cmd-norm": self.throttle, "propulsion/engine/engine-rpm": self.rpm,
            "propulsion/engine/fuel-flow-rate-pps": self.flow_lbps, "propulsion/engine/power-hp": self.power_hp,
            "propulsion/engine/map-inhg": Held(math.nan), "fcs/mixture-cmd-norm": Held(1.0),
        }  # fmt: skip

    def _full(self, density_kgpm3: float) -> float:
        return (density_kgpm3 / SEA_LEVEL_KGPM3 - self.dropoff) / (1.0 - self.dropoff)

    def torque_nm(self, throttle: float, density_kgpm3: float) -> float:
        """Brake torque at a throttle position (0 to 1). [N·m]"""
        share = IDLE + (1.0 - IDLE) * throttle
        return self.rated_torque_nm * ((self._full(density_kgpm3) + FRICTION) * share - FRICTION)

    def throttle_for(self, thrust_n: float, tas_mps: float, density_kgpm3: float) -> float:
        """Throttle for a steady thrust, 0 to 1."""
        rev_ps = self.propeller.rev_for_thrust(thrust_n, tas_mps, density_kgpm3)
        torque = self.propeller.torque_nm(rev_ps, tas_mps, density_kgpm3)
        share = (torque / self.rated_torque_nm + FRICTION) / (self._full(density_kgpm3) + FRICTION)
        return max(0.0, min(1.0, (share - IDLE) / (1.0 - IDLE)))

    def settle(self, tas_mps: float, density_kgpm3: float) -> float:
        """Let the speed settle at the present throttle; the thrust. [N]"""
        thrust = 0.0
        for _ in range(200):
            thrust = self.step(0.05, tas_mps, density_kgpm3)
        return thrust

    def step(self, dt_s: float, tas_mps: float, density_kgpm3: float) -> float:
        """Move on by dt; the thrust now. [N]"""
        torque = self.torque_nm(max(0.0, min(1.0, self.throttle.value)), density_kgpm3)
        for _ in range(SUBSTEPS):
            load = self.propeller.torque_nm(self.rev_ps, tas_mps, density_kgpm3)
            self.rev_ps += (torque - load) / (2.0 * math.pi * INERTIA_KGM2) * dt_s / SUBSTEPS
            self.rev_ps = max(self.rev_ps, 8.0)
        power_w = max(0.0, torque) * 2.0 * math.pi * self.rev_ps
        percent = 100.0 * power_w / self.rated_power_w
        still, per_percent = self.fuel_gph[self.mixture if percent <= 75.0 else "full_rich"]
        self.rpm.value = self.rev_ps * 60.0
        self.power_hp.value = power_w / HP_W
        self.flow_lbps.value = (
            (still + per_percent * percent) * 6.0 / 3600.0
        )  # 6 lb/US gal, the airplane file's density
        return self.propeller.thrust_n(self.rev_ps, tas_mps, density_kgpm3)
