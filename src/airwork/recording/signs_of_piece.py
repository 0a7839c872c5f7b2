"""Signs of pitch and bank in a piece of seconds, where physics tells them: a simulator may count both the other way.

No wing of a light airplane that flies fast stands 20° and more to its way, and in a coordinated turn the rate of turn
is g·tan φ / V (derived here). Longer recordings are told by how they agree row by row (`units_check`). Limits are
our own.
"""

from __future__ import annotations

import math

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.recording.recorded import Array, Recorded
from airwork.recording.smooth import Window, slow_rate, unwrapped

PIECE_S = 40.0
_ROWS, _LASTS_S, _ALWAYS = 10, 3.0, 0.9
_FAST_MPS, _TILTED_RAD = 40.0, math.radians(5.0)  # 78 kt; nose and way so far from level
_STALLED_RAD, _DIVES_RAD = math.radians(20.0), math.radians(-12.0)  # to the way: no wing carries so
_CARRIES_RAD = math.radians(-6.0), math.radians(14.0)
_CLIMB_S, _TURN_S, _BANKED_RAD = 3.0, 1.5, math.radians(7.0)
_SLOPE, _AGREES = (-1.6, -0.5), -0.7
_SPEEDS = ("tas_mps", "cas_mps", "ias_mps", "groundspeed_mps")
_HEIGHTS = ("pressure_altitude_m", "indicated_altitude_m", "gps_altitude_m")


def check_signs_of_piece(recorded: Recorded) -> None:
    """Turn over a pitch counted nose-down, a bank counted to the left, in place; each is said in one line."""
    speed = recorded.first(*_SPEEDS)
    if speed is None:
        return
    if _nose_down(recorded, speed):
        _turn_over(recorded, "pitch_rad", "pitch was recorded nose-down-positive: else no wing carries it; turned over")
    if _to_the_left(recorded, speed):
        _turn_over(recorded, "bank_rad", "bank was recorded left-positive: it turns the other way; turned over")


def _turn_over(recorded: Recorded, name: str, what: str) -> None:
    recorded.columns[name] = -recorded.columns[name]
    recorded.say(what, recorded.columns[name].size, name)


def _nose_down(recorded: Recorded, speed: Array) -> bool:
    """With the sign recorded it flies stalled, or pushed over, all the time; with the other it flies."""
    pitch, height = recorded.columns.get("pitch_rad"), recorded.first(*_HEIGHTS)
    if pitch is None or height is None:
        return False
    climb = Window(recorded.time_s, 0.5 * _CLIMB_S).slope(height)
    path = np.arcsin(np.clip(climb / np.maximum(speed, 1.0), -1.0, 1.0))
    tilted = (speed > _FAST_MPS) & (np.abs(pitch) > _TILTED_RAD) & (np.abs(path) > _TILTED_RAD)
    at = np.flatnonzero(tilted)
    if at.size < _ROWS or recorded.time_s[at[-1]] - recorded.time_s[at[0]] < _LASTS_S:
        return False
    as_said, turned = (pitch - path)[at], (-pitch - path)[at]
    wrong = (as_said > _STALLED_RAD) | (as_said < _DIVES_RAD)
    right = (turned > _CARRIES_RAD[0]) & (turned < _CARRIES_RAD[1])
    return float((wrong & right).mean()) > _ALWAYS


def _to_the_left(recorded: Recorded, speed: Array) -> bool:
    """It turns as fast as its bank says, to the other side."""
    bank, direction = recorded.columns.get("bank_rad"), recorded.first("heading_mag_rad", "heading_rad", "track_rad")
    if bank is None or direction is None:
        return False
    turning = slow_rate(recorded.time_s, unwrapped(direction), _TURN_S)
    said = G0_MPS2 * np.tan(np.clip(bank, -1.2, 1.2)) / np.maximum(speed, 1.0)
    good = (speed > _FAST_MPS) & np.isfinite(said) & np.isfinite(turning)
    t, a, b = recorded.time_s[good], said[good], turning[good]
    if a.size < _ROWS or t[-1] - t[0] < _LASTS_S or float(np.sqrt(np.mean(bank[good] ** 2))) < _BANKED_RAD:
        return False
    product, turned = float(a @ b), float(np.sqrt((a @ a) * (b @ b)))
    return turned > 0.0 and product / turned < _AGREES and _SLOPE[0] < product / float(a @ a) < _SLOPE[1]
