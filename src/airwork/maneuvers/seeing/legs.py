"""Climbs, descents and level flight as states of the vertical speed; what those three rooms share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.seeing.signal import Array, smooth, stretches

if TYPE_CHECKING:
    from airwork.maneuvers.seeing.view import View

CLIMB_SMOOTH_S = 5.0  # rides over a gust and a moment's slackness
LEAVING_MPS = 0.9  # 180 fpm: less is holding altitude badly
PAUSE_S = 12.0  # levelling for a moment on the way is one climb still


def leg_state(view: View) -> Array:
    """−1 descending, 0 level, +1 climbing, 9 on the ground or not known."""
    climb = smooth(view.climb_mps, view.samples(CLIMB_SMOOTH_S))
    state = np.where(climb > LEAVING_MPS, 1, np.where(climb < -LEAVING_MPS, -1, 0))
    return np.where(view.airborne & view.known, state, 9)


def legs(view: View) -> list[tuple[int, int, int]]:
    """(state, first, one past the last), short pauses inside a climb or descent closed."""
    state = leg_state(view)
    pause = view.samples(PAUSE_S)
    parts = stretches(state)
    for k in range(1, len(parts) - 1):
        kind, first, end = parts[k]
        if kind == 0 and end - first <= pause and parts[k - 1][0] == parts[k + 1][0] in (-1, 1):
            state[first:end] = parts[k - 1][0]
    return stretches(state)
