"""The airplane as fitted physics: what the handbook does not print, with how sure it is.

`performance(airplane)` fits the handbook's tables and the readings in the airplane's file to one value. The modules
have the functions that answer from it, for a speed and a `Condition` (weight, air, flap, bank) and, where it matters,
a power `Setting`: `level`, `climbing`, `turning`, `speeds`, `gliding`, `throttle`, `fuel`, `brackets`.
`docs/performance.md` has the formulas, what was added on evidence, and the measured accuracy.
"""

from __future__ import annotations

from functools import lru_cache

from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.condition import FULL_THROTTLE, IDLE, Condition, Setting
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import Reading, readings_of

__all__ = ["FULL_THROTTLE", "IDLE", "Condition", "Performance", "Reading", "Setting", "performance", "readings_of"]


@lru_cache(maxsize=8)
def performance(airplane: Airplane, *, keep_outliers: bool = False) -> Performance:
    """Fit an airplane: its handbook and the readings in its file.

    Readings more than three standard deviations off are left out and listed in `.learned.outliers`. A file written by
    `airwork airplane fit` holds its parameters and is not fitted again.
    """
    learned = learn(airplane, readings_of(airplane), keep_outliers=keep_outliers, stored=not keep_outliers)
    return Performance(airplane, learned)
