"""Slow flight: at altitude, 5 to 10 kt above the stall, level or in gentle turns, climbs and descents, then recovered.

In the data: the speed falls from a cruising speed to a low one, is held there for a while without much climb or sink,
and is regained. The episode runs from the slowing down to the recovery's end. Not it: the approach to a landing (near
the ground), a stall's entry (not held), a glide (sinks), the slow end of a chandelle or lazy eight (not held).
A stall may follow inside it.
Judged by the task `slow_flight`: altitude, heading, airspeed (+10/−0 kt), bank, no stall warning.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, mean_agl_m, speed_trust
from airwork.maneuvers.signal import ramp
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.slow import SlowStretch
    from airwork.maneuvers.view import View

KIND = "slow_flight"
TITLE = "Slow flight"

SHORTEST_S, SURE_S = 12.0, 30.0  # held this long; shorter is a stall's entry or a slow moment
LEAST_SLOWING, SURE_SLOWING = 0.93, 0.82  # slow speed over the speed before


def propose(view: View) -> list[Episode]:
    """Every stretch of slow flight held for a while."""
    out = []
    for stretch in view.slow_stretches:
        score = _score(view, stretch)
        if score < LEAST_SCORE or stretch.settled is None:
            continue
        a, b = stretch.settled
        speed = to_unit(float(np.median(view.speed_mps[a : b + 1])), "kt")
        evidence = (
            f"about {speed:.0f} kt held for {view.time_s[b] - view.time_s[a]:.0f} s",
            f"slowed from {to_unit(stretch.speed_before_mps, 'kt'):.0f} kt",
        )
        phases = (("entry", stretch.start, a), ("established", a, b), ("recovery", b, stretch.end))
        out.append(episode(KIND, view, stretch.start, stretch.end, score, evidence=evidence, phases=phases))
    return out


def _score(view: View, stretch: SlowStretch) -> float:
    if stretch.settled is None:
        return 0.0
    a, b = stretch.settled
    held = float(view.time_s[b] - view.time_s[a])
    speed = float(np.median(view.speed_mps[a : b + 1]))
    around = min(stretch.speed_before_mps, float(view.speed_mps[stretch.end]))
    climb = float(abs(view.altitude_m[b] - view.altitude_m[a])) / max(held, 1.0)
    agl = mean_agl_m(view, a, b)
    # Kept slow on purpose: held for a while, at a near-constant height, well below the speeds around it.
    return (
        ramp(held, SHORTEST_S, SURE_S)
        * ramp(speed / max(stretch.speed_before_mps, 1.0), LEAST_SLOWING, SURE_SLOWING)
        * ramp(speed / max(around, 1.0), 1.0, 0.93)
        * ramp(climb, 3.0, 1.6)
        * (1.0 if not np.isfinite(agl) else ramp(agl, 150.0, 270.0))
        * all_known(view, stretch.start, stretch.end)
        * speed_trust(view)
    )
