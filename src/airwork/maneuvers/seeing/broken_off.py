"""Approaches broken off: low points near the ground without contact, where one is begun and climbed away from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.seeing.propose_tools import LEAST_SCORE, all_known, speed_trust
from airwork.maneuvers.seeing.signal import Array, ramp, runs

if TYPE_CHECKING:
    from airwork.maneuvers.seeing.view import View

LOW_M, TOO_HIGH_M = 85.0, 120.0  # 280 and 390 ft: AFH ch. 9 decides by 300 ft; higher is a pass, or no approach yet
CAME_DOWN_M, CLIMBED_M = 60.0, 60.0
APPROACH_SPEED, TOO_FAST = 1.7, 1.98  # times the clean stall: by instruments some 90 kt; low passes are flown at cruise
AROUND_S = 90.0
GROUND_S = 8.0
BEFORE_M = 20.0  # the episode begins this far above the lowest point, the decision
AFTER_M = 120.0


def approach_score(view: View, k: int) -> float:
    """How much the low point `k` looks like an approach broken off, 0 to 1."""
    before, after = _around(view, k)
    bottom = float(view.altitude_m[k])
    # The slow part is the approach: the climb away is flown faster.
    speed = float(np.median(view.speed_mps[max(k - view.samples(15.0), 0) : k + 1])) / view.clean_stall_mps
    sinking = float(view.climb_mps[max(k - view.samples(50.0), 0) : k + 1].mean())
    return (
        ramp(float(view.agl_m[k]), TOO_HIGH_M, LOW_M)
        * ramp(float(before.max()) - bottom, 0.5 * CAME_DOWN_M, 1.5 * CAME_DOWN_M)
        * ramp(float(after.max()) - bottom, 0.5 * CLIMBED_M, 1.5 * CLIMBED_M)
        * ramp(speed, TOO_FAST, APPROACH_SPEED)
        * ramp(-sinking, 0.3, 1.0)
        * all_known(view, max(k - 100, 0), min(k + 100, view.n - 1))
        * speed_trust(view)
    )


def broken_off(view: View) -> list[int]:
    """The low points that look like an approach broken off."""
    return [k for k in low_points(view) if approach_score(view, k) >= LEAST_SCORE]


def low_points(view: View) -> list[int]:
    """Indices at which a low descent near the ground turns into a climb without contact."""
    out = []
    for a, b in runs(view.airborne & (view.agl_m < TOO_HIGH_M)):
        k = a + int(np.argmin(view.altitude_m[a:b]))
        if view.seconds_to_ground(k) >= GROUND_S and view.seconds_since_ground(k) >= GROUND_S:
            before, after = _around(view, k)
            bottom = float(view.altitude_m[k])
            if before.max() - bottom > 0.5 * CAME_DOWN_M and after.max() - bottom > 0.5 * CLIMBED_M:
                out.append(k)
    return out


def _around(view: View, k: int) -> tuple[Array, Array]:
    reach = view.samples(AROUND_S)
    return view.altitude_m[max(k - reach, 0) : k + 1], view.altitude_m[k : k + reach]


def decided(view: View, k: int) -> int:
    """Where the go-around begins: the last time some 65 ft above its lowest point. Index."""
    before, _ = _around(view, k)
    down = np.flatnonzero(before > view.altitude_m[k] + BEFORE_M)
    return k - (before.size - 1 - int(down[-1])) if down.size else max(k - view.samples(6.0), 0)


def climbed_away(view: View, k: int) -> int:
    """Where it is over: some 400 ft above the lowest point. Index."""
    _, after = _around(view, k)
    up = np.flatnonzero(after > view.altitude_m[k] + AFTER_M)
    return k + int(up[0]) if up.size else min(k + after.size - 1, view.n - 1)
