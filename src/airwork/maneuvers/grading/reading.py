"""What a recorder resolves: the allowance given on top of a tolerance, from each column itself.

An examiner reads a dial; a recorder rounds. Half of the column's own rounding and its stated error, no more; none where
the standard has a hard floor. Common practice, no source: no standard prints an allowance.
"""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.signal import Array

LOOKED_AT = 4000  # samples looked at for the rounding
FEW = 0.6  # a rounded column has fewer different values than this share of its samples
NEARLY = 0.04  # of a step: how well the values must lie on a ruler
# The columns a criterion is read from, first known first.
READ_FROM: dict[str, tuple[str, ...]] = {
    "altitude": ("indicated_altitude_m", "pressure_altitude_m", "altitude_m"),
    "ias": ("ias_mps", "cas_mps"),
    "bank": ("bank_rad",),
    "heading": ("heading_mag_rad", "heading_rad"),
}


def kind_of(quantity: str) -> str:
    """What instrument a criterion is read from: altitude, ias, bank or heading; "" for anything else."""
    for name in ("altitude", "ias", "bank", "heading"):
        if quantity == name or quantity.endswith(f"_{name}") or quantity.startswith(f"{name}_"):
            return name
    return ""


def allowance(evidence: Evidence, quantity: str) -> float:
    """Half the rounding of the column a quantity is read from, and its stated error, both if measured. [SI]"""
    for name in READ_FROM.get(kind_of(quantity), ()):
        column = evidence.flight.columns.get(name)
        if column is None:
            continue
        if column.known != "measured":
            return 0.0  # worked out: its error decides whether it can be judged at all
        if name not in evidence.roundings:
            evidence.roundings[name] = rounding(column.values)
        return 0.5 * evidence.roundings[name] + (column.error or 0.0)
    return 0.0


def rounding(values: Array) -> float:
    """The step a column was rounded to; 0 when none shows.

    >>> round(rounding(np.round(np.linspace(50.0, 80.0, 900))), 3)
    1.0
    >>> rounding(np.linspace(50.0, 80.0, 900))
    0.0
    """
    seen = values[np.isfinite(values)][:LOOKED_AT]
    different = np.unique(np.round(seen, 9))
    if seen.size < 20 or different.size < 3 or different.size > FEW * seen.size:
        return 0.0
    gaps = np.diff(different)
    step = float(np.median(gaps[gaps < 1.5 * gaps.min()]))
    off = np.abs(gaps / step - np.round(gaps / step))
    return step if float(np.percentile(off, 90.0)) < NEARLY else 0.0
