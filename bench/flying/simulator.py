"""A thin wrapper round JSBSim: set a day, an airplane and its loading; start; step; read; record. SI, angles in rad."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import jsbsim
import numpy as np
from numpy.typing import NDArray

from airwork.units import FT_M, HP_W, INHG_PA, KT_MPS, LB_KG, LBF_N
from flying.airplanes import Model
from flying.wind import Gusts, Wind

Array = NDArray[np.float64]
G_MPS2 = 9.80665
PSF_PA = LBF_N / FT_M**2
STEP_HZ = 60
TICK_STEPS = 3  # the pilot acts every third step, at 20 Hz
TICK_S = TICK_STEPS / STEP_HZ
WIND_RISE_S = 25.0


def standard_pressure_pa(altitude_m: float) -> float:
    """Pressure of the standard troposphere (ISO 2533). [Pa]"""
    return float(101325.0 * (1.0 - 0.0065 * altitude_m / 288.15) ** 5.255879)


def standard_altitude_m(pressure_pa: float) -> float:
    """Pressure altitude in the standard troposphere (ISO 2533). [m]"""
    return float(288.15 / 0.0065 * (1.0 - (pressure_pa / 101325.0) ** (1.0 / 5.255879)))


@dataclass(frozen=True, slots=True)
class Day:
    """Weather and place of a flight."""

    wind: Wind = field(default_factory=Wind)
    isa_deviation_k: float = 0.0
    sea_level_pressure_pa: float = 101325.0
    elevation_m: float = 300.0
    latitude_rad: float = math.radians(41.1)
    longitude_rad: float = math.radians(-101.7)
    runway_heading_rad: float = math.radians(120.0)  # true
    variation_rad: float = math.radians(6.0)  # east positive
    start_utc_s: float = 1_780_327_800.0


@dataclass(slots=True)
class State:
    """What the airplane does now. SI; truth, without any instrument error."""

    time_s: float = 0.0
    latitude_rad: float = 0.0
    longitude_rad: float = 0.0
    altitude_m: float = 0.0  # geometric, above sea level
    agl_m: float = 0.0
    pressure_pa: float = 0.0
    ias_mps: float = 0.0
    tas_mps: float = 0.0
    north_mps: float = 0.0
    east_mps: float = 0.0
    vertical_speed_mps: float = 0.0
    heading_rad: float = 0.0
    pitch_rad: float = 0.0
    bank_rad: float = 0.0
    roll_rate_radps: float = 0.0
    pitch_rate_radps: float = 0.0
    yaw_rate_radps: float = 0.0
    angle_of_attack_rad: float = 0.0
    sideslip_rad: float = 0.0
    load_factor: float = 1.0
    lateral_g: float = 0.0
    rpm: float = 0.0
    on_ground: float = 0.0


_READ: dict[str, tuple[str, float]] = {
    "time_s": ("simulation/sim-time-sec", 1.0),
    "latitude_rad": ("position/lat-geod-rad", 1.0),
    "longitude_rad": ("position/long-gc-rad", 1.0),
    "altitude_m": ("position/h-sl-ft", FT_M),
    "agl_m": ("position/h-agl-ft", FT_M),
    "pressure_pa": ("atmosphere/P-psf", PSF_PA),
    "ias_mps": ("velocities/vc-kts", KT_MPS),
    "tas_mps": ("velocities/vt-fps", FT_M),
    "north_mps": ("velocities/v-north-fps", FT_M),
    "east_mps": ("velocities/v-east-fps", FT_M),
    "vertical_speed_mps": ("velocities/h-dot-fps", FT_M),
    "heading_rad": ("attitude/psi-rad", 1.0),
    "pitch_rad": ("attitude/theta-rad", 1.0),
    "bank_rad": ("attitude/phi-rad", 1.0),
    "roll_rate_radps": ("velocities/p-rad_sec", 1.0),
    "pitch_rate_radps": ("velocities/q-rad_sec", 1.0),
    "yaw_rate_radps": ("velocities/r-rad_sec", 1.0),
    "angle_of_attack_rad": ("aero/alpha-rad", 1.0),
    "sideslip_rad": ("aero/beta-rad", 1.0),
    "load_factor": ("accelerations/Nz", 1.0),
    "lateral_g": ("accelerations/Ny", 1.0),
    "rpm": ("propulsion/engine/engine-rpm", 1.0),
    "on_ground": ("gear/wow", 1.0),
}
_RECORD_TOO: dict[str, tuple[str, float]] = {
    "oat_k": ("atmosphere/T-R", 5.0 / 9.0),
    "density_kgpm3": ("atmosphere/rho-slugs_ft3", LBF_N / FT_M**4),
    "manifold_pressure_pa": ("propulsion/engine/map-inhg", INHG_PA),
    "fuel_flow_kgps": ("propulsion/engine/fuel-flow-rate-pps", LB_KG),
    "power_w": ("propulsion/engine/power-hp", HP_W),
    "flap_deg": ("fcs/flap-pos-deg", 1.0),
    "mass_kg": ("inertia/weight-lbs", LB_KG),
    "wind_north_mps": ("atmosphere/total-wind-north-fps", FT_M),
    "wind_east_mps": ("atmosphere/total-wind-east-fps", FT_M),
    "wind_down_mps": ("atmosphere/total-wind-down-fps", FT_M),
    "throttle": ("fcs/throttle-cmd-norm", 1.0),
    "elevator": ("fcs/elevator-cmd-norm", 1.0),
    "aileron": ("fcs/aileron-cmd-norm", 1.0),
    "rudder": ("fcs/rudder-cmd-norm", 1.0),
    "trim": ("fcs/pitch-trim-cmd-norm", 1.0),
}


def _finder(fdm: jsbsim.FGFDMExec) -> Callable[[str], jsbsim.FGPropertyNode]:
    """A finder of property nodes that says which one a model lacks."""

    def find(path: str) -> jsbsim.FGPropertyNode:
        node = fdm.get_property_manager().get_node(path)
        if node is None:
            raise RuntimeError(f"the JSBSim model has no property {path}")
        return node

    return find


class Simulator:
    """One airplane on one day. `tick()` moves it 1/20 s (three steps of 1/60 s) and records at `record_hz`."""

    def __init__(
        self, model: Model, day: Day, *, seed: int = 0, payload_kg: float = 0.0, fuel_kg: float | None = None,
        record_hz: float = 10.0,
    ) -> None:  # fmt: skip
        self.model, self.day = model, day
        self._load = (payload_kg, model.fuel_kg if fuel_kg is None else fuel_kg)
        fdm = self._new_airplane()
        self.fdm = fdm
        self.state = State()
        self._gusts = Gusts(day.wind, seed)
        self._record_every = max(1, round(1.0 / (record_hz * TICK_S)))
        self.record_hz = 1.0 / (self._record_every * TICK_S)
        self.rows: list[list[float]] = []
        self.flap_notch = 0
        self.tank = 3  # 0 off, 1 left, 2 right, 3 both
        self._ticks = 0
        self._known: dict[tuple[int, int, int, int], float] = {}
        self._second: jsbsim.FGFDMExec | None = None
        self._wind_share = 1.0
        self.recording = True
        node_of = _finder(fdm)
        self._state_nodes = [(name, node_of(path), scale) for name, (path, scale) in _READ.items()]
        self._record_nodes = [(node_of(path), scale) for path, scale in _RECORD_TOO.values()]
        self._wind_nodes = [node_of(f"atmosphere/wind-{axis}-fps") for axis in ("north", "east", "down")]
        self._control_nodes = {
            "elevator": node_of("fcs/elevator-cmd-norm"),
            "aileron": node_of("fcs/aileron-cmd-norm"),
            "rudder": node_of("fcs/rudder-cmd-norm"),
            "trim": node_of("fcs/pitch-trim-cmd-norm"),
            "throttle": node_of("fcs/throttle-cmd-norm"),
        }
        self._mixture_node = node_of("fcs/mixture-cmd-norm")
        self._tanks = [node_of(f"propulsion/tank[{i}]/contents-lbs") for i in range(model.tank_count)]
        self.setting_pa = 0.0

    def _new_airplane(self) -> jsbsim.FGFDMExec:
        model, day, (payload_kg, fuel_kg) = self.model, self.day, self._load
        fdm = jsbsim.FGFDMExec(None)
        fdm.set_debug_level(0)
        if not fdm.load_model(model.jsbsim_name):
            raise RuntimeError(f"JSBSim has no model {model.jsbsim_name}")
        fdm.set_dt(1.0 / STEP_HZ)
        fdm["atmosphere/delta-T"] = day.isa_deviation_k * 1.8
        fdm["atmosphere/P-sl-psf"] = day.sea_level_pressure_pa / PSF_PA
        for index, share in model.payload_shares:
            node = "inertia/pointmass-weight-lbs" + (f"[{index}]" if index else "")
            fdm[node] = payload_kg * share / LB_KG
        for index in range(model.tank_count):
            fdm[f"propulsion/tank[{index}]/contents-lbs"] = fuel_kg / model.tank_count / LB_KG
        fdm["ic/terrain-elevation-ft"] = day.elevation_m / FT_M
        fdm["propulsion/magneto_cmd"] = 3
        fdm["fcs/mixture-cmd-norm"] = model.mixture
        fdm["fcs/advance-cmd-norm"] = 1.0
        return fdm

    # --- starting -----------------------------------------------------------------------------------------------

    def start_airborne(self, altitude_m: float, ias_mps: float, heading_rad: float) -> None:
        """In trimmed level flight (flaps up) at a geometric altitude, in calm air: the wind comes up within 25 s.

        Nothing is recorded until `recording` is set true, once the pilot has settled.
        """
        fdm = self.fdm
        self._start(altitude_m=altitude_m, ias_mps=ias_mps, heading_rad=heading_rad)
        fdm["fcs/throttle-cmd-norm"] = 0.7
        fdm.run_ic()
        fdm.get_propulsion().init_running(-1)
        try:
            fdm["simulation/do_simple_trim"] = 1
        except jsbsim.TrimFailureError:
            fdm.run_ic()
        self._wind_share, self.recording = 0.0, False
        self._read()

    def start_on_runway(self) -> None:
        """At the runway's start, engine idling, stopped, lined up."""
        fdm = self.fdm
        height_m = self.day.elevation_m + self.model.standing_height_m
        self._start(altitude_m=height_m, ias_mps=0.0, heading_rad=self.day.runway_heading_rad)
        fdm["ic/theta-deg"] = self.model.standing_pitch_deg
        fdm["fcs/throttle-cmd-norm"] = 0.0
        fdm["fcs/left-brake-cmd-norm"] = fdm["fcs/right-brake-cmd-norm"] = 1.0
        fdm.run_ic()
        fdm.get_propulsion().init_running(-1)
        for _ in range(STEP_HZ * 5):  # let the wheels settle before time counts
            fdm.run()
        fdm["simulation/sim-time-sec"] = 0.0
        self._read()

    def _start(self, *, altitude_m: float, ias_mps: float, heading_rad: float) -> None:
        fdm, day = self.fdm, self.day
        fdm["ic/lat-geod-rad"] = day.latitude_rad
        fdm["ic/long-gc-rad"] = day.longitude_rad
        fdm["ic/h-sl-ft"] = altitude_m / FT_M
        fdm["ic/psi-true-rad"] = heading_rad
        fdm["ic/gamma-deg"] = 0.0
        fdm["ic/vc-kts"] = ias_mps / KT_MPS
        # What a tower would report: the setting with which an altimeter on the field reads its elevation.
        temperature_k = 288.15 + day.isa_deviation_k
        ratio = 1.0 - 0.0065 * day.elevation_m / temperature_k
        field_pa = day.sea_level_pressure_pa * ratio ** (G_MPS2 / (287.05287 * 0.0065))
        self.set_altimeter(field_pa)

    def set_altimeter(self, field_pressure_pa: float) -> None:
        """Setting that makes the altimeter read the field's elevation at the field's pressure."""
        sea_level_m = standard_altitude_m(field_pressure_pa) - self.day.elevation_m
        self.setting_pa = standard_pressure_pa(sea_level_m)

    def known_throttle(self, ias_mps: float, *, notch: int = 0, path_rad: float = 0.0) -> float:
        """Throttle for steady flight at this speed about here: what a pilot knows from having flown it before.

        Found by trimming a second airplane in calm air; 1 when full power is not enough, 0 when idle is too much.
        """
        key = (round(ias_mps), notch, round(self.state.altitude_m / 300.0), round(math.degrees(path_rad)))
        if key not in self._known:
            fdm = self._second_airplane()
            fdm["ic/h-sl-ft"] = max(self.state.altitude_m, self.day.elevation_m + 300.0) / FT_M
            fdm["ic/vc-kts"] = ias_mps / KT_MPS
            fdm["ic/gamma-rad"] = path_rad
            fdm["fcs/flap-cmd-norm"] = self.model.flap_deg[notch] / self.model.flap_deg[-1]
            fdm["fcs/flap-pos-deg"] = self.model.flap_deg[notch]
            fdm["fcs/throttle-cmd-norm"] = 0.7
            fdm.run_ic()
            fdm.get_propulsion().init_running(-1)
            try:
                fdm["simulation/do_simple_trim"] = 1
                self._known[key] = float(fdm["fcs/throttle-cmd-norm"])
            except jsbsim.TrimFailureError:
                self._known[key] = 1.0 if path_rad >= 0.0 else 0.0
        return self._known[key]

    def _second_airplane(self) -> jsbsim.FGFDMExec:
        if self._second is None:
            self._second = self._new_airplane()
        return self._second

    # --- flying -------------------------------------------------------------------------------------------------

    def control(self, **positions: float) -> None:
        """Set elevator, aileron, rudder, trim (−1 to 1; elevator positive pushes) or throttle (0 to 1)."""
        for name, value in positions.items():
            self._control_nodes[name].set_double_value(value)

    def set_flaps(self, notch: int) -> None:
        self.flap_notch = notch
        self.fdm["fcs/flap-cmd-norm"] = self.model.flap_deg[notch] / self.model.flap_deg[-1]

    def set_brakes(self, share: float) -> None:
        self.fdm["fcs/left-brake-cmd-norm"] = self.fdm["fcs/right-brake-cmd-norm"] = share

    def set_steering(self, share: float) -> None:
        self.fdm["fcs/steer-cmd-norm"] = share

    def select_tank(self, tank: int) -> None:
        """0 off, 1 left, 2 right, 3 both."""
        self.tank = tank
        if self.model.tank_count == 2:
            self.fdm["propulsion/tank[0]/priority"] = 1 if tank in (1, 3) else 0
            self.fdm["propulsion/tank[1]/priority"] = 1 if tank in (2, 3) else 0

    def tick(self) -> State:
        """Move 1/20 s on; record when due."""
        state = self.state
        self._set_wind(state.agl_m, state.tas_mps)
        run = self.fdm.run
        for _ in range(TICK_STEPS):
            run()
        self._read()
        self._ticks += 1
        if self._ticks % 20 == 0:  # lean with height, as a pilot would
            self._mixture_node.set_double_value(
                self.model.mixture * (state.pressure_pa / 101325.0) ** self.model.lean_exponent
            )
        if self.recording and self._ticks % self._record_every == 0:
            self._record()
        return state

    def _set_wind(self, agl_m: float, tas_mps: float) -> None:
        from_rad, speed_mps = self.day.wind.mean(agl_m)
        north, east, up = self._gusts.step(TICK_S, tas_mps, max(agl_m, 0.0))
        if self._wind_share < 1.0:  # after a start in the air, trimmed in calm air, the wind comes up gently
            self._wind_share = min(1.0, self._wind_share + TICK_S / WIND_RISE_S)
            speed_mps, north, east, up = (x * self._wind_share for x in (speed_mps, north, east, up))
        if agl_m < 3.0:
            up = 0.0
        parts = (-speed_mps * math.cos(from_rad) + north, -speed_mps * math.sin(from_rad) + east, -up)
        for node, part in zip(self._wind_nodes, parts, strict=True):
            node.set_double_value(part / FT_M)

    def _read(self) -> None:
        state = self.state
        for name, node, scale in self._state_nodes:
            setattr(state, name, node.get_double_value() * scale)

    @property
    def wing_loading_pa(self) -> float:
        """Weight over wing area. [Pa]"""
        return self.fdm["inertia/weight-lbs"] / self.fdm["metrics/Sw-sqft"] * PSF_PA

    @property
    def indicated_altitude_m(self) -> float:
        """What a perfect altimeter shows with the setting used."""
        return standard_altitude_m(self.state.pressure_pa) - standard_altitude_m(self.setting_pa)

    def _record(self) -> None:
        state = self.state
        row = [getattr(state, name) for name in _READ]
        row += [node.get_double_value() * scale for node, scale in self._record_nodes]
        tanks = [node.get_double_value() * LB_KG for node in self._tanks]
        row += [tanks[0], tanks[1] if len(tanks) > 1 else math.nan, float(self.tank)]
        row.append(
            1.0 if state.angle_of_attack_rad > self.model.stall_warning_alpha_rad and not state.on_ground else 0.0
        )
        self.rows.append(row)

    def columns(self) -> dict[str, Array]:
        """Everything recorded, by name; each shape (n,)."""
        names = [*_READ, *_RECORD_TOO, "fuel_left_kg", "fuel_right_kg", "tank", "stall_warning"]
        table = np.array(self.rows, dtype=float)
        out = {name: np.ascontiguousarray(table[:, i]) for i, name in enumerate(names)}
        return complete(out, self.setting_pa, self.day.variation_rad)


def complete(raw: dict[str, Array], setting_pa: float, variation_rad: float) -> dict[str, Array]:
    """Add what follows from the raw columns: altitudes by pressure, groundspeed, track, turn rate, wind, lateral g."""
    out = dict(raw)
    pressure_altitude_m = 288.15 / 0.0065 * (1.0 - (raw["pressure_pa"] / 101325.0) ** (1.0 / 5.255879))
    out["pressure_altitude_m"] = pressure_altitude_m
    out["indicated_altitude_m"] = pressure_altitude_m - standard_altitude_m(setting_pa)
    # The wheels' springs ring for a step or two when they touch: spikes of the simulation, not of any airplane.
    touched = np.convolve(raw["on_ground"], np.ones(7), "same") > 0.0
    out["load_factor"] = np.where(touched, np.clip(raw["load_factor"], 0.4, 2.2), raw["load_factor"])
    out["lateral_g"] = np.where(touched, np.clip(raw["lateral_g"], -0.5, 0.5), raw["lateral_g"])
    out["groundspeed_mps"] = np.hypot(raw["north_mps"], raw["east_mps"])
    out["track_rad"] = np.mod(np.arctan2(raw["east_mps"], raw["north_mps"]), 2.0 * math.pi)
    out["heading_mag_rad"] = np.mod(raw["heading_rad"] - variation_rad, 2.0 * math.pi)
    heading = np.unwrap(raw["heading_rad"])
    out["turn_rate_radps"] = np.gradient(heading, raw["time_s"]) if heading.size > 1 else np.zeros_like(heading)
    out["wind_mps"] = np.hypot(raw["wind_north_mps"], raw["wind_east_mps"])
    out["wind_from_rad"] = np.mod(np.arctan2(-raw["wind_east_mps"], -raw["wind_north_mps"]), 2.0 * math.pi)
    return out


def ticks(seconds: float) -> Iterator[int]:
    """As many ticks as the seconds hold."""
    yield from range(round(seconds / TICK_S))
