"""Approaches broken off: low points near the ground without contact, where one is begun and climbed away from."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.seeing.contacts import FIELD_M, ROLL_S, ROLLS_S
from airwork.maneuvers.seeing.propose_tools import (
    HARDLY_POWERED,
    IDLE,
    LEAST_SCORE,
    THROUGH_MPS,
    all_known,
    speed_trust,
)
from airwork.maneuvers.seeing.signal import SHARP, Array, first_true, last_true, median, over, under
from airwork.maneuvers.seeing.view import View
from airwork.masks import runs

LOW_M = 102.0  # 340 ft: AFH ch. 9 decides by 300 ft; higher is a pass, or no approach yet
APPROACH_SPEED = 1.84  # times the clean stall: by instruments some 90 kt; low passes are flown at cruise
SLOWED_S = 15.0  # the slow part of it: the climb away is flown faster
BROKEN = 0.5  # of the approach's sink is gone: the decision shows
AFTER_M = 122.0  # 400 ft
SPARSE_S, SINKS_MPS, UNSEEN = 4.0, 2.6, 0.6  # 3° at 97 kt: what it sinks between two rows


def approach_score(view: View, k: int) -> float:
    """How much the low point `k` looks like an approach broken off, 0 to 1."""
    before, after = _around(view, k)
    bottom = float(view.altitude_m[k])
    speed = float(np.median(view.speed_mps[max(k - view.samples(SLOWED_S), 0) : k + 1])) / view.clean_stall_mps
    if _from_sink_to_full_power(view, k):  # no pass: the stall's speed may be as much higher as it is not known
        speed /= view.stall_most
    return (
        under(float(view.agl_m[k]), LOW_M)
        * over(float(before.max()) - bottom, FIELD_M)
        * over(float(after.max()) - bottom, FIELD_M)
        * under(speed, APPROACH_SPEED, SHARP)
        * all_known(view, k - before.size + 1, k + after.size - 1)
        * speed_trust(view)
        * (UNSEEN if may_have_touched(view, k) else 1.0)
    )


def may_have_touched(view: View, k: int) -> bool:
    """Rows so far apart and so low that the wheels may have met the runway between two of them."""
    return view.flight.step_s > SPARSE_S and float(view.agl_m[k]) < SINKS_MPS * view.flight.step_s


def _from_sink_to_full_power(view: View, k: int) -> bool:
    """Sinking with the power back right up to the low point, then full power: a fast approach broken off, too."""
    if view.power is None:
        return False
    before = slice(max(k - view.samples(SLOWED_S), 0), k + 1)
    full = float(view.power[k : k + view.samples(SLOWED_S)].max())
    return (
        median(view.power[before]) < HARDLY_POWERED
        and full > 1.0 - IDLE
        and median(view.climb_mps[before]) < -THROUGH_MPS
    )


def broken_off(view: View) -> list[int]:
    """The low points that look like an approach broken off."""
    return [k for k in low_points(view) if approach_score(view, k) >= LEAST_SCORE]


def low_points(view: View) -> list[int]:
    """Indices at which a low stretch near the ground is lowest, without contact."""
    lows = [a + int(np.argmin(view.altitude_m[a:b])) for a, b in runs(view.airborne & (view.agl_m < 2.0 * LOW_M))]
    return [k for k in lows if view.seconds_to_ground(k) >= ROLLS_S and view.seconds_since_ground(k) >= ROLLS_S]


def _around(view: View, k: int) -> tuple[Array, Array]:
    reach = view.samples(ROLL_S)
    return view.altitude_m[max(k - reach, 0) : k + 1], view.altitude_m[k : k + reach]


def decided(view: View, k: int) -> int:
    """Where the go-around begins: half of the approach's sink is gone. Index."""
    low = max(k - view.samples(SLOWED_S), 0)
    before = view.climb_mps[low : k + 1]
    return low + last_true(before < BROKEN * median(before), k - low)


def climbed_away(view: View, k: int) -> int:
    """Where it is over: some 400 ft above the lowest point. Index."""
    _, after = _around(view, k)
    return min(k + first_true(after > view.altitude_m[k] + AFTER_M, after.size - 1), view.n - 1)
