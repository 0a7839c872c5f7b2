"""The airplane as fitted physics: what the handbook does not print, with how sure it is.

`performance(airplane)` fits the handbook's tables and the readings in the airplane's file to one value. The modules
have the functions that answer from it, for a speed and a `Condition` (weight, air, flap, bank) and, where it matters,
a power `Setting`: `level`, `climbing`, `turning`, `speeds`, `gliding`, `throttle`, `fuel`, `changing`, `brackets`.
`docs/performance.md` has the formulas, what was added on evidence, and the measured accuracy.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from airwork.airplane.airplane import Airplane
from airwork.airplane.performance.condition import FULL_THROTTLE, IDLE, Condition, Setting
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import Reading, readings_of

__all__ = ["FULL_THROTTLE", "IDLE", "Condition", "Performance", "Reading", "Setting", "performance", "readings_of"]


def performance(
    airplane: Airplane, more_readings: Sequence[Reading] = (), *, keep_outliers: bool = False
) -> Performance:
    """Fit an airplane: its handbook, the readings in its file, and more readings (from recordings).

    Readings more than three standard deviations off are left out and listed in `.learned.outliers`. A file written by
    `airwork airplane fit` holds its parameters and is not fitted again.
    """
    return _performance(airplane, tuple(more_readings), keep_outliers)


@lru_cache(maxsize=8)
def _performance(airplane: Airplane, more: tuple[Reading, ...], keep_outliers: bool) -> Performance:
    readings = [*readings_of(airplane), *more]
    stored = not more and not keep_outliers
    return Performance(airplane, learn(airplane, readings, keep_outliers=keep_outliers, stored=stored))
