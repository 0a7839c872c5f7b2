"""From what a pilot knows (calibrated airspeed, flap, weight, altitude, temperature, bank) to a `State`. SI."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from airwork.airdata.airspeed import tas_from_cas_mps
from airwork.airdata.atmosphere import G0_MPS2, density_kgpm3, standard_air
from airwork.airdata.turn import load_factor
from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.state import Array, State, state


def steady_states(
    airplane: Airplane,
    cas_mps: ArrayLike,
    flap_notch: ArrayLike,
    mass_kg: ArrayLike,
    pressure_altitude_m: ArrayLike,
    temperature_k: ArrayLike,
    bank_rad: ArrayLike = 0.0,
) -> State:
    """Conditions of steady, coordinated flights; all arguments broadcast.

    Raises
    ------
    NotPossible : the file has no stall speed for a notch.
    """
    tas = tas_from_cas_mps(cas_mps, pressure_altitude_m, temperature_k)
    density = density_kgpm3(standard_air(pressure_altitude_m).pressure_pa, temperature_k)
    load = load_factor(bank_rad)
    stall = stall_cas_mps(airplane, flap_notch, mass_kg)
    share = load * (stall / np.asarray(cas_mps, dtype=float)) ** 2
    return state(tas, density, np.asarray(mass_kg, dtype=float) * G0_MPS2 * load, share, flap_notch)


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
