"""Flights asked about: flattened for the law, and held to where the law knows an answer. SI.

Arrays of questions give NaN outside the law's validity (below 1.05 times the stall speed, above the never-exceed
speed); a single question outside raises `OutOfRange`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from airwork.airdata.atmosphere import G0_MPS2
from airwork.airplane.performance import accuracy
from airwork.airplane.performance.condition import Condition, steady_states
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.state import Array, State
from airwork.errors import OutOfRange
from airwork.units import to_unit


@dataclass(frozen=True, slots=True)
class Question:
    """Flights asked about, flattened: conditions and what else the answers need; `shape` is the question's."""

    at: State
    cas_mps: Array
    weight_n: Array
    shape: tuple[int, ...]

    @property
    def too_slow(self) -> NDArray[np.bool_]:
        """Below 1.05 times the stall speed."""
        return self.at.stall_share * accuracy.LOWEST_SPEED**2 > 1.0 + 1e-9


def question(performance: Performance, cas_mps: ArrayLike, at: Condition) -> Question:
    """Flights as the law takes them."""
    shape = at.shape(cas_mps)

    def flat(x: ArrayLike) -> Array:
        return np.broadcast_to(np.asarray(x, dtype=float), shape).ravel()

    return Question(steady_states(performance.airplane, cas_mps, at), flat(cas_mps), flat(at.mass_kg) * G0_MPS2, shape)


def too_fast(performance: Performance, q: Question) -> NDArray[np.bool_]:
    """Above the never-exceed speed."""
    return q.cas_mps > performance.never_exceed_cas_mps * (1.0 + 1e-9)


def answerable(performance: Performance, q: Question, what: str) -> NDArray[np.bool_]:
    """Mask of flights with an answer; a single one without raises `OutOfRange`."""
    bad = q.too_slow | too_fast(performance, q) | ~np.isfinite(q.at.tas_mps)
    if q.shape == () and bad[0]:
        unit, cas = performance.airplane.dial_unit, float(q.cas_mps[0])
        low = cas * accuracy.LOWEST_SPEED * float(np.sqrt(q.at.stall_share[0]))
        found, least, most = (round(to_unit(x, unit), 1) for x in (cas, low, performance.never_exceed_cas_mps))
        raise OutOfRange(
            f"calibrated airspeed [{unit}]", found, least, most,
            where=f"what {what} is known for, 1.05 times the stall speed to the never-exceed speed",
        )  # fmt: skip
    return ~bad
