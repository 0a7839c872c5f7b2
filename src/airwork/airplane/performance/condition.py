"""What a pilot knows of a steady flight (weight, air, flap, bank), how the power is set, and the `State` of it. SI."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import G0_MPS2, density_kgpm3, standard_air
from airwork.airdata.turn import load_factor
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.state import Array, Ints, State, state


@dataclass(frozen=True, slots=True)
class Condition:
    """What an answer is asked for, all but the speed; numbers or arrays that broadcast. Not compared where arrays.

    temperature_k : of the outside air. flap_notch : 0 is up. bank_rad : of a steady, coordinated turn.
    """

    mass_kg: float | Array
    pressure_altitude_m: float | Array
    temperature_k: float | Array
    flap_notch: int | Ints = 0
    bank_rad: float | Array = 0.0

    @property
    def parts(self) -> tuple[float | Array, float | Array, float | Array, int | Ints, float | Array]:
        """The fields in order."""
        return self.mass_kg, self.pressure_altitude_m, self.temperature_k, self.flap_notch, self.bank_rad

    def with_flaps(self, flap_notch: int | Ints) -> Condition:
        """The same with another flap setting."""
        return replace(self, flap_notch=flap_notch)

    def banked(self, bank_rad: float | Array) -> Condition:
        return replace(self, bank_rad=bank_rad)

    def shape(self, *more: ArrayLike) -> tuple[int, ...]:
        """Shape of an answer, with what else is asked."""
        return np.broadcast_shapes(*(np.shape(x) for x in (*self.parts, *more)))


@dataclass(frozen=True, slots=True)
class Setting:
    """How the power is set, by one of these; none of them: full throttle within the maximum RPM.

    rpm : what the tachometer shows (fixed pitch), what the propeller is set to (constant speed).
    manifold_pressure_pa : constant speed, at `rpm` or the usual one. power_ratio : share of rated power.
    idle : closed, windmilling.
    """

    rpm: ArrayLike | None = None
    manifold_pressure_pa: ArrayLike | None = None
    power_ratio: ArrayLike | None = None
    idle: bool = False


FULL_THROTTLE, IDLE = Setting(), Setting(idle=True)


def steady_states(airplane: Airplane, cas_mps: ArrayLike, at: Condition) -> State:
    """Steady, coordinated flights at a calibrated airspeed, broadcast and flattened.

    Raises
    ------
    NotPossible : the file has no stall speed for a notch.
    """
    tas = tas_from_cas_mps(cas_mps, at.pressure_altitude_m, at.temperature_k)
    density = density_kgpm3(standard_air(at.pressure_altitude_m).pressure_pa, at.temperature_k)
    load = load_factor(at.bank_rad)
    share = load * (stall_cas_mps(airplane, at.flap_notch, at.mass_kg) / np.asarray(cas_mps, dtype=float)) ** 2
    lift = np.asarray(at.mass_kg, dtype=float) * G0_MPS2 * load
    return state(tas, density, lift, share, at.flap_notch, at.pressure_altitude_m, at.temperature_k)


def stall_cas_mps(airplane: Airplane, flap_notch: ArrayLike, mass_kg: ArrayLike) -> Array:
    """Power-idle stall speed for arrays of notches and masses, calibrated, wings level. [m/s]"""
    notch = np.asarray(flap_notch)
    if notch.ndim == 0:
        return np.asarray(airplane.stall_cas_mps(np.asarray(mass_kg, dtype=float), int(notch)))
    notches, mass = np.broadcast_arrays(notch, np.asarray(mass_kg, dtype=float))
    out = np.empty(mass.shape)
    for one in set(notches.ravel().tolist()):  # np.unique would load numpy.ma, as dear as the whole fit
        here = notches == one
        out[here] = airplane.stall_cas_mps(mass[here], int(one))
    return out
