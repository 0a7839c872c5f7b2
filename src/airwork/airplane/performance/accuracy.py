"""What the law itself leaves, whatever the readings: standard deviations added to those of the fitted parameters.

Set once from six airplanes of an independent flight model together (`bench/performance_accuracy.py`), so that the 90 %
bands hold 85–97 % of what was not fitted; they are not worked out per airplane.
"""

from __future__ import annotations

import numpy as np

from airwork.airplane.performance.state import Array, State
from airwork.units import FPM_MPS

LOWEST_SPEED = 1.05  # times the stall speed; the law gives no answer below

_RPM, _RPM_NEAR_STALL = 11.0, 16.0
_POWER_SHARE = 0.02  # of the power itself
_RATE, _RATE_SHARE = 15.0 * FPM_MPS, 0.04
_LOAD = 0.015


def rpm_sd(at: State) -> Array:
    """Of level RPM: more near the stall, where the drag rises in ways a formula misses. [rev/min]"""
    return _RPM + _RPM_NEAR_STALL * np.minimum(at.stall_share, 1.0) ** 4


def power_share_sd(power_ratio: Array) -> Array:
    """Of the power over rated power. [1]"""
    return _POWER_SHARE * np.abs(power_ratio) + 0.005


def climb_rate_sd_mps(climb_rate_mps: Array) -> Array:
    """Of a rate of climb. [m/s]"""
    return np.hypot(_RATE, _RATE_SHARE * np.abs(climb_rate_mps))


def load_sd(load_factor: Array) -> Array:
    """Of the load factor that power sustains. [1]"""
    return _LOAD * load_factor
