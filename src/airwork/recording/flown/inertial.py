"""True airspeed without the gusts: the ground velocity less a wind that changes slowly. SI.

In a gust the airspeed jumps while the airplane's energy does not. The kinetic energy that thrust and drag change is
that of the motion through the mean air: |ground velocity − W|, with W the flight's wind moved by what makes it agree
with the airspeed over a minute and a half either side. This halves the noise of the energy's rate in gusts.
"""

from __future__ import annotations

import numpy as np

from airwork.recording.flight import Array
from airwork.recording.flown.seconds import Seconds

_HALF_S = 90
_WIND_SD_MPS = 1.5  # how far the wind here may stand from the flight's wind
_GUST_SD_MPS = 1.0
_FAR_MPS = 4.0


def quiet_tas_mps(s: Seconds) -> Array:
    """|ground velocity − W|, or true airspeed where the ground velocity or the wind is not known. [m/s]"""
    east, north = s.ground_east_mps - s.wind_east_mps, s.ground_north_mps - s.wind_north_mps
    speed = np.hypot(east, north)
    off = s.tas_mps - speed
    good = np.isfinite(off) & (speed > 15.0) & (np.abs(off) < _FAR_MPS + 6.0)
    if good.sum() < 60:
        return s.tas_mps
    ue, un = np.where(good, east / np.maximum(speed, 1.0), 0.0), np.where(good, north / np.maximum(speed, 1.0), 0.0)
    wind_e = wind_n = np.zeros(s.time_s.size)
    for _ in range(3):  # robust: far ones count less with each pass
        left = np.where(good, off, 0.0) + ue * wind_e + un * wind_n
        weight = np.where(good, 1.0 / (1.0 + (left / (2.0 * _GUST_SD_MPS)) ** 2), 0.0)
        aee, ann, aen = (_around(weight * a * b) for a, b in ((ue, ue), (un, un), (ue, un)))
        be, bn = _around(-weight * ue * np.where(good, off, 0.0)), _around(-weight * un * np.where(good, off, 0.0))
        damp = 8.0 * (_GUST_SD_MPS / _WIND_SD_MPS) ** 2  # gusts hang together over some seconds
        det = (aee + damp) * (ann + damp) - aen**2
        wind_e, wind_n = (be * (ann + damp) - bn * aen) / det, (bn * (aee + damp) - be * aen) / det
    quiet = np.hypot(east - wind_e, north - wind_n)
    # what is left on average over the same time is the airspeed's own: keep the airspeed's level
    level = _around(np.where(good, s.tas_mps - quiet, 0.0)) / np.maximum(_around(good.astype(float)), 1.0)
    quiet = quiet + level
    # judged over the same time: changing from one speed to the other in mid-gust would be a jump of its own
    apart = _around(np.where(good, np.abs(s.tas_mps - quiet), 0.0)) / np.maximum(_around(good.astype(float)), 1.0)
    return np.where(np.isfinite(quiet) & (apart < _FAR_MPS), quiet, s.tas_mps)


def _around(values: Array) -> Array:
    """Sum over ± 90 s."""
    running = np.concatenate([[0.0], np.cumsum(values)])
    index = np.arange(values.size)
    return running[np.minimum(index + _HALF_S + 1, values.size)] - running[np.maximum(index - _HALF_S, 0)]
