"""Launched and landed on foot: the feet are on the ground longer than who taxies slower than he flies would say.

Who runs down a slope flies when the wing carries him, near the speed it flies with soon after; who has come down to the
height he then stays at, slower than that, has landed. Thresholds are our own choice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from airwork.masks import runs
from airwork.recording.flight import Array
from airwork.recording.unit_evidence import resolution

_CARRIES = 0.65  # of the usual speed of the flight's minute beside it
_MINUTE_S, _RUNS_S = 60.0, 8.0
_SLOPE, _STEP_M = 0.5, 0.5  # no slope is steeper that one runs down; so much of a height is none


def on_foot(t: Array, on_ground: NDArray[np.bool_], altitude: Array, speed: Array) -> NDArray[np.bool_]:
    """Phases on the ground with the runs before and after them. [s, m, m/s]"""
    out = on_ground.copy()
    for a, b in runs(on_ground):
        if b < t.size:
            out[b : _run(t, altitude, speed, int(b), -_SLOPE)] = True
        if a > 0:
            back = _run(-t[::-1], altitude[::-1], speed[::-1], t.size - int(a), 0.0)
            out[t.size - back : a] = True
    return out


def _run(t: Array, altitude: Array, speed: Array, first: int, slope: float) -> int:
    """One past the last sample of the run that goes on at `first`; it keeps its height, or sinks by the slope."""
    minute = speed[first : np.searchsorted(t, t[first] + _MINUTE_S)]
    carries = _CARRIES * float(np.nanmedian(minute))
    step = max(_STEP_M, 0.6 * resolution(altitude))
    k = first
    while k < t.size and t[k] - t[first - 1] < _RUNS_S and speed[k] < carries:
        way = float(np.trapezoid(speed[first - 1 : k + 1], t[first - 1 : k + 1]))
        rise = float(altitude[k] - altitude[first - 1])
        if not slope * way - step < rise < step:
            break
        k += 1
    return k
