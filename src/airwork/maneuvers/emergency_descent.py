"""Emergency descent: down as fast as is safe, usually turning with 30 to 45° of bank at a high permitted speed.

In the data: a sustained sink of well over 1,000 fpm with bank or with speed far above a glide's. Not it: a steep spiral
(three turns at a glide speed), an ordinary descent (500 fpm), a dive of aerobatics (over in seconds, pulled out hard).
Judged by the task `emergency_descent`: bank 30 to 45°, airspeed +0/−10 kt, level-off altitude.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode
from airwork.maneuvers.signal import bridged, ramp, runs
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.view import View

KIND = "emergency_descent"
TITLE = "Emergency descent"

SINK_MPS = 4.2  # 830 fpm: below it nothing of the kind begins
LITTLE_SINK_MPS, SURE_SINK_MPS = 5.0, 7.5  # mean
LITTLE_LOSS_M, SURE_LOSS_M = 120.0, 240.0
SHORTEST_S, SURE_S = 14.0, 24.0  # an aerobatic dive is shorter
AT_MOST_MPS = 30.0  # 6,000 fpm
LEVEL_MPS = 1.0
ENTRY_S = 12.0


def propose(view: View) -> list[Episode]:
    """Every long fast descent."""
    out = []
    for a, b in runs(bridged((view.climb_mps < -SINK_MPS) & view.airborne, view.samples(4.0))):
        seconds = (b - a) * 0.25
        part = slice(a, b)
        if seconds < SHORTEST_S or view.climb_mps[part].min() < -AT_MOST_MPS:
            continue
        sink = -float(view.climb_mps[part].mean())
        loss = float(view.altitude_m[a] - view.altitude_m[b - 1])
        bank = float(np.degrees(np.median(np.abs(view.bank_rad[part]))))
        speed = float(np.median(view.speed_mps[part])) / max(view.cruise_mps, 1.0)
        fast = ramp(speed, 0.92, 1.12)
        score = (
            ramp(sink, LITTLE_SINK_MPS, SURE_SINK_MPS)
            * ramp(loss, LITTLE_LOSS_M, SURE_LOSS_M)
            * ramp(seconds, SHORTEST_S, SURE_S)
            * max(ramp(bank, 8.0, 22.0), 0.8 * fast)
            * (0.5 + 0.5 * max(fast, ramp(sink, 7.0, 9.0)))
            * all_known(view, a, b - 1)
        )
        if score < LEAST_SCORE:
            continue
        start, end = _extent(view, a, b - 1)
        evidence = (f"{to_unit(loss, 'ft'):.0f} ft lost at {to_unit(sink, 'fpm'):.0f} fpm", f"{bank:.0f}° of bank")
        out.append(episode(KIND, view, start, end, score, evidence=evidence,
                           phases=(("entry", start, a), ("established", a, b - 1), ("recovery", b - 1, end)),
                           facts={"level_off_s": float(view.time_s[end])}))  # fmt: skip
    return out


def _extent(view: View, a: int, b: int) -> tuple[int, int]:
    """From leaving level flight to level flight."""
    before = view.climb_mps[max(a - view.samples(ENTRY_S), 0) : a + 1] > -LEVEL_MPS
    start = a - int(before[::-1].argmax()) if before.any() else a
    after = view.climb_mps[b : b + view.samples(ENTRY_S)] > -LEVEL_MPS
    return start, (b + int(after.argmax()) if after.any() else b)
