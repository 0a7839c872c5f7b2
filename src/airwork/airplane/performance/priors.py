"""What is known of any light piston single before a reading is taken: means and spreads of the parameters.

All values are from memory (general knowledge of propellers, polars and flaps of such airplanes), kept wide and round;
none was tuned to one airplane. `docs/performance.md` shows what each does to the errors.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.airplane.performance.constant_speed import ConstantSpeed
from airwork.airplane.performance.fixed_pitch import FixedPitch
from airwork.airplane.performance.state import Array

Law = FixedPitch | ConstantSpeed

# name: (mean, standard deviation, low, high)
_PROPELLER = {
    "a0": (0.115, 0.03, 0.02, 0.4),  # static thrust coefficient of a two-blade fixed-pitch propeller
    "j0": (1.07, 0.12, 0.5, 2.5),  # zero thrust a little above the geometric pitch, 0.75 to 0.9 diameters
    "b": (0.35, 0.35, -3.0, 3.0),  # between a line and a parabola
    "eta": (0.84, 0.06, 0.5, 1.0),  # what momentum theory leaves
}
_DRAG = {
    "cd0": (0.033, 0.009, 0.004, 0.2),  # fixed gear, struts or none
    "cl0": (0.15, 0.12, -1.0, 1.0),  # cambered section
    "q": (0.005, 0.01, -0.1, 0.6),  # rise at the stall; little, see the evidence in the docs
    "w": (0.010, 0.006, -0.03, 0.1),  # windmilling propeller on the wing's area
}
# k = factor/(π·A): an airplane efficiency of 0.75 is 1.33 for a parabola about zero lift, 1.8 about CL0 = 0.15 (CL = 1)
_INDUCED = (1.8, 0.7, 0.3, 8.0)
# Flaps full down (30–40°): 0.02 to 0.07; less deflection by its power 1.3. Shares of the mean: spread of all notches
# together, and of each by itself
_FLAP_CD, _FLAP_SHARED, _FLAP_OWN, _FLAP_POWER = 0.04, 0.60, 0.25, 1.3
_FLAP_CL_SHARED, _FLAP_CL_OWN = 0.11, 0.04


@dataclass(frozen=True)
class Prior:
    """A normal distribution of θ, and bounds that keep the formulas sane."""

    mean: Array
    cov: Array
    low: Array
    high: Array


def general_prior(law: Law, aspect_ratio: float, deflections: Array) -> Prior:
    """Prior for any light single.

    Parameters
    ----------
    deflections : shape (notches,), each notch's deflection over the greatest. The drags of the notches vary together:
        a reading at one notch tells of the others.
    """
    table = {**_PROPELLER, **_DRAG}
    scale = 1.0 / (np.pi * aspect_ratio)
    table["k"] = tuple(v * scale for v in _INDUCED)  # type: ignore[assignment]
    share = np.asarray(deflections, dtype=float) ** _FLAP_POWER
    for i, x in enumerate(share, start=1):
        table[f"flap_cd_{i}"] = (_FLAP_CD * x, 1.0, -0.02, 0.5)  # spread set below, it is shared
        table[f"flap_cl_{i}"] = (0.0, 1.0, -1.0, 1.0)
    rows = np.array([table[name] for name in law.names])
    cov = np.diag(rows[:, 1] ** 2)
    flaps = [law.names.index(f"flap_cd_{i}") for i in range(1, share.size + 1)]
    mean = rows[flaps, 0]
    cov[np.ix_(flaps, flaps)] = np.outer(mean, mean) * _FLAP_SHARED**2 + np.diag((mean * _FLAP_OWN) ** 2)
    shifts = [law.names.index(f"flap_cl_{i}") for i in range(1, share.size + 1)]
    turned = np.asarray(deflections, dtype=float)
    cov[np.ix_(shifts, shifts)] = np.outer(turned, turned) * _FLAP_CL_SHARED**2 + np.eye(share.size) * _FLAP_CL_OWN**2
    return Prior(rows[:, 0], cov, rows[:, 2], rows[:, 3])


# How one airplane differs from the one its handbook was flown with: tachometer (a mechanical one errs by 1–2 %, from
# memory), rigging, dents, an old propeller. Standard deviations, as a share of the parameter.
TACHOMETER_SHARE = 0.008
_OWN_SHARE = {"a0": 0.02, "j0": 0.01, "b": 0.0, "eta": 0.02, "cd0": 0.07, "k": 0.05}
_OWN = {"cl0": 0.02, "q": 0.004, "w": 0.001}
_OWN_FLAP = 0.07


def own_airplane(law: Law, book_mean: Array, book_cov: Array, bounds: Prior) -> Prior:
    """Prior of this airplane from the fit to its handbook: the book's answer, spread by how airplanes differ."""
    sd = np.zeros(book_mean.size)
    for i, name in enumerate(law.names):
        if name in _OWN_SHARE:
            sd[i] = _OWN_SHARE[name] * abs(book_mean[i])
        elif name in _OWN:
            sd[i] = _OWN[name]
        elif name.startswith("flap_cd"):
            sd[i] = _OWN_FLAP * abs(book_mean[i])
    cov = book_cov + np.diag(sd**2)
    if isinstance(law, FixedPitch):
        # a tachometer that shows n·(1 + e) looks like a0/(1 + 2e) and J0/(1 + e)
        along = np.zeros(book_mean.size)
        along[0], along[1] = -2.0 * book_mean[0], -book_mean[1]
        cov = cov + np.outer(along, along) * TACHOMETER_SHARE**2
    return Prior(book_mean, cov, bounds.low, bounds.high)
