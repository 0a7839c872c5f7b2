"""Climbs, descents and level flight as states of the vertical speed; what those three rooms share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from airwork.maneuvers.seeing.signal import Array, over, smooth, stretches
from airwork.maneuvers.seeing.view import STEP_S, View

CLIMB_SMOOTH_S = 5.0  # rides over a gust and a moment's slackness
LEAVING_MPS = 0.9  # 180 fpm: less is holding altitude badly
HEIGHT_M, LASTS_S, SURE = 105.0, 26.0, 0.9  # 340 ft; any flight has some that nobody meant
PAUSE_S = 12.0  # levelling for a moment on the way is one climb still


@dataclass(frozen=True, slots=True)
class Leg:
    """A climb (state +1) or descent (−1) from sample to sample; score : how surely it is one that was meant."""

    state: int
    first: int
    last: int
    height_m: float
    seconds: float
    score: float


def leg_state(view: View) -> Array:
    """−1 descending, 0 level, +1 climbing, 9 on the ground or not known."""
    climb = smooth(view.climb_mps, view.samples(CLIMB_SMOOTH_S))
    state = np.where(climb > LEAVING_MPS, 1, np.where(climb < -LEAVING_MPS, -1, 0))
    return np.where(view.airborne & view.known, state, 9)


def legs(view: View) -> list[Leg]:
    """Climbs and descents in order, short pauses inside one closed."""
    state = leg_state(view)
    parts = stretches(state)
    for before, (kind, first, end), after in zip(parts, parts[1:], parts[2:], strict=False):
        if kind == 0 and end - first <= view.samples(PAUSE_S) and before[0] == after[0] in (-1, 1):
            state[first:end] = before[0]
    out = []
    for kind, first, end in stretches(state):
        if kind in (-1, 1):
            height, seconds = abs(float(view.altitude_m[end - 1] - view.altitude_m[first])), (end - first) * STEP_S
            out.append(
                Leg(kind, first, end - 1, height, seconds, SURE * over(height, HEIGHT_M) * over(seconds, LASTS_S))
            )
    return out
