"""What a steady flight is asked with: true airspeed, the air, lift and flap, as arrays of one shape. SI."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.airdata.atmosphere import T0_K

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class State:
    """Conditions of steady flights. Not compared (arrays).

    tas_mps : shape (n,). True airspeed. [m/s]
    density_kgpm3 : air density. [kg/m³]
    lift_n : weight times load factor. [N]
    stall_share : lift coefficient over the greatest of this flap setting, = load factor·(Vs/V)²; 1 at the stall. [1]
    notch : flap notch. [count]
    altitude_m, temperature_k : pressure altitude and temperature of the air, as an engine breathes it.
    """

    tas_mps: Array
    density_kgpm3: Array
    lift_n: Array
    stall_share: Array
    notch: Ints
    altitude_m: Array
    temperature_k: Array

    def __len__(self) -> int:
        return int(self.tas_mps.size)

    def faster(self, factor: float) -> State:
        """The same flights at a speed changed by a factor."""
        return replace(self, tas_mps=self.tas_mps * factor, stall_share=self.stall_share / factor**2)

    def loaded(self, factor: Array | float) -> State:
        """The same flights with the lift times a factor."""
        return replace(self, lift_n=self.lift_n * factor, stall_share=self.stall_share * factor)

    def take(self, index: NDArray[np.bool_] | NDArray[np.int64]) -> State:
        """The flights at these indices or where the mask holds."""
        return State(*(getattr(self, f.name)[index] for f in fields(self)))


def state(
    tas_mps: ArrayLike, density_kgpm3: ArrayLike, lift_n: ArrayLike, stall_share: ArrayLike, notch: ArrayLike = 0,
    altitude_m: ArrayLike = 0.0, temperature_k: ArrayLike = T0_K,
) -> State:  # fmt: skip
    """A `State` from scalars or arrays, broadcast against each other and flattened."""
    given = (tas_mps, density_kgpm3, lift_n, stall_share, notch, altitude_m, temperature_k)
    parts = np.broadcast_arrays(*(np.asarray(x, dtype=float) for x in given))
    tas, density, lift, share, notches, height, temp = (np.atleast_1d(p).ravel() for p in parts)
    return State(tas, density, lift, share, notches.astype(np.int64), height, temp)
