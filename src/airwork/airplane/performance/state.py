"""What a steady flight is asked with: true airspeed, air density, lift and flap, as arrays of one shape. SI."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

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
    """

    tas_mps: Array
    density_kgpm3: Array
    lift_n: Array
    stall_share: Array
    notch: Ints

    def __len__(self) -> int:
        return int(self.tas_mps.size)

    def faster(self, factor: float) -> State:
        """The same flights at a speed changed by a factor."""
        return State(self.tas_mps * factor, self.density_kgpm3, self.lift_n, self.stall_share / factor**2, self.notch)

    def take(self, index: NDArray[np.bool_] | NDArray[np.int64]) -> State:
        """The flights at these indices or where the mask holds."""
        return State(
            self.tas_mps[index],
            self.density_kgpm3[index],
            self.lift_n[index],
            self.stall_share[index],
            self.notch[index],
        )


def state(
    tas_mps: ArrayLike, density_kgpm3: ArrayLike, lift_n: ArrayLike, stall_share: ArrayLike, notch: ArrayLike = 0
) -> State:
    """A `State` from scalars or arrays, broadcast against each other and flattened."""
    parts = np.broadcast_arrays(
        np.asarray(tas_mps, dtype=float),
        np.asarray(density_kgpm3, dtype=float),
        np.asarray(lift_n, dtype=float),
        np.asarray(stall_share, dtype=float),
        np.asarray(notch, dtype=float),
    )
    flat = [np.atleast_1d(p).ravel() for p in parts]
    return State(flat[0], flat[1], flat[2], flat[3], flat[4].astype(np.int64))
