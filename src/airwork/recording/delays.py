"""Satellite columns that come late: found by holding the track's turning against the heading's, and put back.

A receiver's output is often a second behind the attitude and air data written in the same row. In coordinated flight
heading and track turn together whatever the wind (it changes how fast the track turns, not when), so the shift at which
the two rates agree best is the delay. Only a clear one is acted on; what a rudder or a gust does is a fraction of that.
"""

from __future__ import annotations

import math

import numpy as np

from airwork.recording.recorded import Array, Recorded
from airwork.recording.smooth import Window, unwrapped
from airwork.recording.time_base import typical_step_s

SHORTEST_S, LONGEST_S = 0.6, 3.0
_STEP_S = 0.4
_HALF_S = 1.2
_TURNING_RADPS = 0.05
_AGREEMENT = 0.9
_LATE = ("latitude_rad", "longitude_rad", "gps_altitude_m", "groundspeed_mps", "track_rad")


def mend_delays(recorded: Recorded) -> None:
    """Shift the satellite columns back by their delay, in place, where heading and track clearly show one."""
    columns = recorded.columns
    heading = recorded.first("heading_mag_rad", "heading_rad")
    track, speed = columns.get("track_rad"), columns.get("groundspeed_mps")
    if heading is None or track is None or speed is None or typical_step_s(recorded.time_s) > 1.05:
        return
    late = delay_s(recorded.time_s, heading, track, speed)
    if not SHORTEST_S <= late <= LONGEST_S:
        return
    t = recorded.time_s
    for name in _LATE:
        if name not in columns:
            continue
        values = unwrapped(columns[name]) if name == "track_rad" else columns[name]
        good = np.isfinite(values)
        if good.sum() < 10:
            continue
        moved = np.interp(t + late, t[good], values[good])
        after = np.interp(t + late, t, good.astype(float)) > 0.99  # a gap stays a gap
        columns[name] = np.where(after, moved, np.nan)
    recorded.facts["satellite_delay_s"] = round(late, 2)
    what = f"satellite columns came {late:.1f} s behind the heading; put back"
    recorded.say(what, np.arange(t.size))


def delay_s(time_s: Array, heading_rad: Array, track_rad: Array, speed_mps: Array) -> float:
    """How far the track lags the heading, by the shift at which their rates agree best; 0 when not clear. [s]"""
    every = max(int(_STEP_S / typical_step_s(time_s) + 1e-6), 1)
    at = np.arange(0, time_s.size, every)
    t = time_s[at] - time_s[0]
    step = typical_step_s(t)
    window = Window(t, max(_HALF_S, 1.05 * step))
    one, two = (window.slope(unwrapped(values[at])) for values in (heading_rad, track_rad))
    flying = np.nan_to_num(speed_mps[at]) > 20.0
    use = flying & np.isfinite(one) & np.isfinite(two)
    turning = use & (np.abs(np.nan_to_num(one)) > _TURNING_RADPS)
    if turning.sum() * step < 40.0:
        return 0.0
    a, b = np.where(use, one, 0.0), np.where(use, two, 0.0)
    # the rates' own changes, not their levels, tell when: roll-ins and roll-outs
    reach = math.ceil(LONGEST_S / step) + 1
    if a.size < 8 * reach:
        return 0.0
    inner = a[reach : a.size - reach]
    size = float(np.sqrt(inner @ inner))
    score = np.empty(2 * reach + 1)
    for k in range(-reach, reach + 1):
        other = b[reach + k : a.size - reach + k]
        score[k + reach] = float(inner @ other) / max(size * float(np.sqrt(other @ other)), 1e-12)
    best = int(np.argmax(score))
    if not 0 < best < 2 * reach or score[best] < _AGREEMENT:
        return 0.0
    left, middle, right = score[best - 1 : best + 2]
    curve = left - 2.0 * middle + right
    peak = 0.5 * (left - right) / curve if curve < 0 else 0.0
    return (best - reach + float(peak)) * step
