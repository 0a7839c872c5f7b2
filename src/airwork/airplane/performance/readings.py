"""Readings of steady flight, and how they enter the fit: conditions, control, standard deviations. SI."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airdata.turn import load_factor
from airwork.airplane.airplane import Airplane
from airwork.airplane.file.model import ObservationRow
from airwork.airplane.performance.condition import Condition, steady_states
from airwork.airplane.performance.engine import Engine
from airwork.airplane.performance.fit import Block, Evidence
from airwork.airplane.performance.state import State
from airwork.airplane.stall import row_cas_mps
from airwork.errors import NotPossible
from airwork.units import FPM_MPS, INHG_PA, KT_MPS, from_unit

Kind = Literal["level", "full_throttle_climb", "idle_glide"]
KINDS: tuple[Kind, ...] = ("level", "full_throttle_climb", "idle_glide")

# Standard deviations of one reading (tachometer, manifold gauge and airspeed indicator read by eye, steadiness)
RPM_SD, MP_SD_PA, SPEED_SD_MPS = 15.0, 0.3 * INHG_PA, 1.0 * KT_MPS
CLIMB_SD_MPS, GLIDE_SD_MPS = 30.0 * FPM_MPS, 60.0 * FPM_MPS
POWER_SHARE_SD = 0.01  # of rated power, what the manifold-pressure table leaves


@dataclass(frozen=True, slots=True)
class Reading:
    """One steady flight as noted in the cockpit, or found in a recording.

    climb_rate_mps : by altimeter and stopwatch, positive up, negative in a glide.
    recording : name of the recording it was found in; empty for a reading by eye.
    left_out : why the file says it is not to be used; empty if it is.
    """

    kind: Kind
    mass_kg: float
    pressure_altitude_m: float
    temperature_k: float
    flap_notch: int
    cas_mps: float
    rpm: float | None = None
    manifold_pressure_pa: float | None = None
    climb_rate_mps: float | None = None
    fuel_flow_m3ps: float | None = None
    pitch_rad: float | None = None
    bank_rad: float = 0.0
    mixture: str = "full_rich"
    recording: str = ""
    left_out: str = ""
    note: str = ""

    @property
    def condition(self) -> Condition:
        """What was flown, all but the speed."""
        return Condition(self.mass_kg, self.pressure_altitude_m, self.temperature_k, self.flap_notch, self.bank_rad)


def readings_of(airplane: Airplane) -> tuple[Reading, ...]:
    """The readings in the airplane's file."""
    return tuple(_reading(airplane, row) for row in airplane.file.observations)


def _reading(airplane: Airplane, row: ObservationRow) -> Reading:
    climb = row.rate_of_climb_fpm
    if climb is None and row.rate_of_descent_fpm is not None:
        climb = -row.rate_of_descent_fpm
    notch = min(row.flap_notch, airplane.flaps_full)
    pressure, flow = row.manifold_pressure_inhg, row.fuel_flow_gph
    return Reading(
        kind=row.kind,
        mass_kg=from_unit(row.weight_lb, "lb"),
        pressure_altitude_m=from_unit(row.pressure_altitude_ft, "ft"),
        temperature_k=from_unit(row.oat_c, "°C"),
        flap_notch=notch,
        cas_mps=row_cas_mps(row, notch, lambda ias, notch: float(airplane.calibration[notch].cas(ias))),
        rpm=row.rpm,
        manifold_pressure_pa=None if pressure is None else from_unit(pressure, "inHg"),
        climb_rate_mps=None if climb is None else climb * FPM_MPS,
        fuel_flow_m3ps=None if flow is None else from_unit(flow, "gph"),
        pitch_rad=None if row.pitch_deg is None else from_unit(row.pitch_deg, "deg"),
        bank_rad=from_unit(row.bank_deg, "deg"),
        mixture=row.mixture,
        recording=row.recording,
        left_out=row.left_out,
        note=row.note,
    )


@dataclass(frozen=True)
class Sorted:
    """Readings as evidence; `order` names the reading of each residual of the fit, `unusable` the rest and why."""

    evidence: Evidence
    order: tuple[int, ...]
    unusable: tuple[tuple[int, str], ...]


def as_evidence(airplane: Airplane, readings: Sequence[Reading], engine: Engine) -> Sorted:
    """Readings as the fit takes them."""
    why = [reading.left_out or why_unusable(airplane, reading) for reading in readings]
    blocks, order = [], []
    for kind in KINDS:
        index = [i for i, reading in enumerate(readings) if reading.kind == kind and not why[i]]
        blocks.append(_block(airplane, [readings[i] for i in index], kind, engine))
        order += index
    unusable = tuple((i, text) for i, text in enumerate(why) if text)
    return Sorted(Evidence(*blocks), tuple(order), unusable)


def states_of(airplane: Airplane, readings: Sequence[Reading]) -> State:
    """Conditions of the readings, in order."""
    at = Condition(
        np.array([r.mass_kg for r in readings]),
        np.array([r.pressure_altitude_m for r in readings]),
        np.array([r.temperature_k for r in readings]),
        np.array([r.flap_notch for r in readings], dtype=int),
        np.array([r.bank_rad for r in readings]),
    )
    return steady_states(airplane, np.array([r.cas_mps for r in readings]), at)


def why_unusable(airplane: Airplane, reading: Reading) -> str:
    """Why a reading can't be used, were it not marked as left out; empty if it can."""
    if reading.kind != "idle_glide" and reading.rpm is None:
        return "no RPM"
    if reading.kind == "level" and not airplane.fixed_pitch and reading.manifold_pressure_pa is None:
        return "no manifold pressure"
    if reading.kind != "level" and reading.climb_rate_mps is None:
        return "no rate of climb or descent"
    if not np.isfinite(reading.cas_mps) or reading.cas_mps <= 0:
        return "no airspeed within the calibration"
    try:
        stall = airplane.stall_cas_mps(reading.mass_kg, reading.flap_notch)
    except NotPossible:
        return f"no stall speed for flap notch {reading.flap_notch}"
    load = float(load_factor(reading.bank_rad))
    if reading.cas_mps < stall * np.sqrt(load):
        return "slower than the stall speed: check the unit of the airspeed"
    return ""


def _block(airplane: Airplane, readings: Sequence[Reading], kind: Kind, engine: Engine) -> Block:
    if not readings:
        return Block()
    at = states_of(airplane, readings)
    one, zero, none = np.ones(len(readings)), np.zeros(len(readings)), np.empty(0)
    # true rate over the altimeter's: warm air stands taller than the altimeter's standard
    rate = (
        np.array([r.climb_rate_mps or 0.0 for r in readings]) * at.temperature_k / standard_temperature_k(at.altitude_m)
    )
    if kind == "idle_glide":
        return Block(at, none, -rate, one * GLIDE_SD_MPS, zero, none, one)
    rpm = np.array([r.rpm for r in readings], dtype=float)  # NaN for None
    pressure = np.array([r.manifold_pressure_pa for r in readings], dtype=float)
    control = engine.set_to(rpm, pressure, at)
    control_sd = engine.set_sd(rpm, pressure, at, RPM_SD, MP_SD_PA, POWER_SHARE_SD * engine.rated_power_w)
    if kind == "full_throttle_climb":
        return Block(at, control, rate, one * CLIMB_SD_MPS, zero, control_sd, one)
    speed_sd = SPEED_SD_MPS * at.tas_mps / np.array([r.cas_mps for r in readings])
    return Block(at, control, control, control_sd, speed_sd, none, one)
