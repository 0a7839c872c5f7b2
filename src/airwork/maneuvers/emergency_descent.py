"""Emergency descent: down as fast as is safe, usually turning with 30 to 45° of bank at a high permitted speed.

In the data: a sustained sink of well over 1,000 fpm with bank or with speed far above a glide's. Not it: a steep spiral
(three turns at a glide speed), an ordinary descent (500 fpm), a dive of aerobatics (over in seconds, pulled out hard).
Judged by the task `emergency_descent`: bank 30 to 45°, airspeed +0/−10 kt, level-off altitude.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.leg_grade import level_off
from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode
from airwork.maneuvers.sheet import NO_AIRSPEED, NO_BANK, SETTLED, Sheet
from airwork.maneuvers.signal import bridged, ramp, runs
from airwork.maneuvers.slow_flight import best_band
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode, Grade
    from airwork.maneuvers.evidence import Evidence
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


def grade(episode: Episode, evidence: Evidence) -> Grade:
    """Bank and speed while established, and the level-off."""
    sheet = Sheet(episode, evidence)
    window = sheet.window("established")
    bank, ias = evidence.bank_rad, evidence.ias_mps
    if bank is None:
        sheet.cannot("bank_range", NO_BANK)
    else:
        sheet.over("bank_range", np.abs(bank), _banked(sheet, window), error=evidence.bank_error_rad)
    late = (0.5 * (window[0] + window[1]), window[1])
    part = np.empty(0) if ias is None else ias[evidence.flight.span(*late)]
    part = part[np.isfinite(part)]
    if not part.size:
        sheet.cannot("ias", NO_AIRSPEED)
    else:
        criterion = sheet.task.criterion("ias")
        low = criterion.low if criterion is not None and criterion.low is not None else -5.0
        high = criterion.high if criterion is not None and criterion.high is not None else 0.0
        sheet.speed_held(best_band(part, low, high), late, f"{SETTLED}: the best fitting band")
    level_off(sheet, episode.end_s, -1.0)
    return sheet.grade()


def _banked(sheet: Sheet, window: tuple[float, float]) -> tuple[float, float]:
    """From the first to the last time the bank is at four fifths of what it settled on."""
    bank = sheet.evidence.bank_rad
    part = sheet.evidence.flight.span(*window)
    if bank is None or not np.isfinite(bank[part]).any():
        return window
    size, times = np.abs(bank[part]), sheet.time_s[part]
    high = np.flatnonzero(size >= 0.8 * np.nanpercentile(size, 75))
    return (float(times[high[0]]), float(times[high[-1]])) if high.size else window
