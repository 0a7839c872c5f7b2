"""A thin wrapper round JSBSim: set a day, an airplane and its loading; start; step; read; record. SI, angles in rad."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Protocol

import jsbsim
import numpy as np
from numpy.typing import NDArray

from airwork.units import FT_M, KT_MPS, LB_KG
from flying.airplanes import Model
from flying.columns import complete, standard_altitude_m, standard_pressure_pa
from flying.state import PSF_PA, READ, RECORD_TOO, Day, State
from flying.wind import Gusts

Array = NDArray[np.float64]
G_MPS2 = 9.80665


class Crashed(RuntimeError):
    """The airplane was bent: it touched the ground steeply banked, or left the equations behind."""


class Node(Protocol):
    """A property of the simulation, or something standing in for one."""

    def get_double_value(self) -> float: ...
    def set_double_value(self, value: float) -> object: ...


STEP_HZ = 60
TICK_STEPS = 3  # the pilot acts every third step, at 20 Hz
TICK_S = TICK_STEPS / STEP_HZ
WIND_RISE_S = 25.0


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
        node_of = self._finder(fdm)
        self._state_nodes = [(name, node_of(path), scale) for name, (path, scale) in READ.items()]
        self._record_nodes = [(node_of(path), scale) for path, scale in RECORD_TOO.values()]
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

    def _finder(self, fdm: jsbsim.FGFDMExec) -> Callable[[str], Node]:
        """A finder of property nodes that says which one a model lacks."""

        def find(path: str) -> Node:
            node = fdm.get_property_manager().get_node(path)
            if node is None:
                raise RuntimeError(f"the JSBSim model has no property {path}")
            return node

        return find

    def _new_airplane(self) -> jsbsim.FGFDMExec:
        model, day, (payload_kg, fuel_kg) = self.model, self.day, self._load
        fdm = jsbsim.FGFDMExec(None)
        fdm.set_debug_level(0)
        if not self._load_model(fdm):
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
        return fdm

    # --- what an airplane with an engine of our own does otherwise (see invented_flight.py) -----------------------

    def _load_model(self, fdm: jsbsim.FGFDMExec) -> bool:
        return bool(fdm.load_model(self.model.jsbsim_name))

    def _run_engine(self, fdm: jsbsim.FGFDMExec, throttle: float) -> None:
        """Initial conditions with the engine running."""
        fdm["propulsion/magneto_cmd"] = 3
        fdm["fcs/mixture-cmd-norm"] = self.model.mixture
        fdm["fcs/advance-cmd-norm"] = 1.0
        fdm["fcs/throttle-cmd-norm"] = throttle
        fdm.run_ic()
        fdm.get_propulsion().init_running(-1)

    def _trim(self) -> None:
        """Balance for steady level flight after `_start`."""
        self._run_engine(self.fdm, 0.7)
        try:
            self.fdm["simulation/do_simple_trim"] = 1
        except jsbsim.TrimFailureError:
            self.fdm.run_ic()

    def _before_step(self) -> None:
        """Once a tick, before the airplane moves."""
        if self._ticks % 20 == 0:  # lean with height, as a pilot would
            share = (self.state.pressure_pa / 101325.0) ** self.model.lean_exponent
            self._mixture_node.set_double_value(self.model.mixture * share)

    def _indicated(self, cas_mps: float) -> float:
        """What the airspeed indicator shows: these models have no position error. [m/s]"""
        return cas_mps

    # --- starting -----------------------------------------------------------------------------------------------

    def start_airborne(self, altitude_m: float, ias_mps: float, heading_rad: float) -> None:
        """In trimmed level flight (flaps up) at a geometric altitude, in calm air: the wind comes up within 25 s.

        Nothing is recorded until `recording` is set true, once the pilot has settled.
        """
        self._start(altitude_m=altitude_m, ias_mps=ias_mps, heading_rad=heading_rad)
        self._trim()
        self._wind_share, self.recording = 0.0, False
        self._read()

    def start_on_runway(self) -> None:
        """At the runway's start, engine idling, stopped, lined up."""
        fdm = self.fdm
        height_m = self.day.elevation_m + self.model.standing_height_m
        self._start(altitude_m=height_m, ias_mps=0.0, heading_rad=self.day.runway_heading_rad)
        fdm["ic/theta-deg"] = self.model.standing_pitch_deg
        fdm["fcs/left-brake-cmd-norm"] = fdm["fcs/right-brake-cmd-norm"] = 1.0
        self._run_engine(fdm, 0.0)
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
            fdm["fcs/flap-cmd-norm"] = self._flap_share(notch)
            fdm["fcs/flap-pos-deg"] = self.model.flap_deg[notch]
            self._run_engine(fdm, 0.7)
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

    def _flap_share(self, notch: int) -> float:
        full = self.model.flap_deg[-1]
        return self.model.flap_deg[notch] / full if full else 0.0

    @property
    def flaps_move(self) -> bool:
        """The flaps are on their way to the notch set."""
        return abs(self.fdm["fcs/flap-pos-deg"] - self.model.flap_deg[self.flap_notch]) > 0.5

    def set_flaps(self, notch: int) -> None:
        self.flap_notch = notch
        self.fdm["fcs/flap-cmd-norm"] = self._flap_share(notch)

    def set_brakes(self, share: float) -> None:
        self.fdm["fcs/left-brake-cmd-norm"] = self.fdm["fcs/right-brake-cmd-norm"] = share

    def set_steering(self, share: float) -> None:
        self.fdm["fcs/steer-cmd-norm"] = share

    def set_fuel(self, *tanks_kg: float) -> None:
        """Fuel in each tank, left first."""
        for node, kg in zip(self._tanks, tanks_kg, strict=True):
            node.set_double_value(kg / LB_KG)

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
        self._before_step()
        run = self.fdm.run
        for _ in range(TICK_STEPS):
            run()
        self._read()
        self._ticks += 1
        if not state.altitude_m < 1e5 or (state.on_ground and abs(state.bank_rad) > 0.9):
            raise Crashed(f"at {state.time_s:.0f} s")
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
        state.ias_mps = self._indicated(state.cas_mps)

    @property
    def warning_alpha_rad(self) -> float:
        """Angle of attack of the stall warning with the flaps as they are. [rad]"""
        return self.model.stall_warning_alpha_rad[min(self.flap_notch, len(self.model.stall_warning_alpha_rad) - 1)]

    @property
    def stall_alpha_rad(self) -> float:
        """Angle of attack past which it stalls with the flaps as they are. [rad]"""
        return self.model.stall_alpha_rad[min(self.flap_notch, len(self.model.stall_alpha_rad) - 1)]

    @property
    def throttle(self) -> float:
        """Throttle position, 0 to 1."""
        return float(self._control_nodes["throttle"].get_double_value())

    @property
    def stick_back(self) -> bool:
        """Elevator and trim together at their stop."""
        return bool(
            self._control_nodes["elevator"].get_double_value() + self._control_nodes["trim"].get_double_value() < -0.97
        )

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
        row = [getattr(state, name) for name in READ]
        row += [node.get_double_value() * scale for node, scale in self._record_nodes]
        tanks = [node.get_double_value() * LB_KG for node in self._tanks]
        row.append(state.ias_mps)
        row += [tanks[0], tanks[1] if len(tanks) > 1 else math.nan, float(self.tank)]
        row.append(1.0 if state.angle_of_attack_rad > self.warning_alpha_rad and not state.on_ground else 0.0)
        self.rows.append(row)

    def columns(self) -> dict[str, Array]:
        """Everything recorded, by name; each shape (n,)."""
        names = [*READ, *RECORD_TOO, "ias_mps", "fuel_left_kg", "fuel_right_kg", "tank", "stall_warning"]
        table = np.array(self.rows, dtype=float)
        out = {name: np.ascontiguousarray(table[:, i]) for i, name in enumerate(names)}
        return complete(out, self.setting_pa, self.day.variation_rad)
