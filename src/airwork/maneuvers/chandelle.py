"""Chandelle: a 180° climbing turn, most height for the speed, rolled out just above the stall on the opposite heading.

In the data: one turn through about 180° in which the height only rises, the speed only falls, the bank is greatest in
the first half. Not it: half a lazy eight (comes down again to the entry height and speed), a climbing turn (speed
held), a power-on stall (a break, little turn).
Judged by the task `chandelle`: roll-out at 180°, altitude kept after it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, high_score, mean_agl_m, side, speed_trust
from airwork.maneuvers.signal import ramp
from airwork.maneuvers.slow import recovered
from airwork.units import to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "chandelle"
TITLE = "Chandelle"

TURN_DEG = 180.0
OFF_DEG, GONE_DEG = 25.0, 55.0  # this far from 180° it still is one; this far it is none
LITTLE_GAIN_M, SURE_GAIN_M = 25.0, 80.0
LITTLE_SLOWING, SURE_SLOWING = 0.92, 0.78  # speed at the end over speed at the start
ENTRY_S = 6.0


def propose(view: View) -> list[Episode]:
    """Every 180° turn that trades speed for height to the end."""
    out = []
    for turn in view.turns:
        score = _score(view, turn)
        if score < LEAST_SCORE:
            continue
        start = turn.first
        end = min(recovered(view, turn.last), turn.last + view.samples(20.0))
        gained = to_unit(float(view.altitude_m[turn.last] - view.altitude_m[start]), "ft")
        evidence = (
            f"{turn.change_deg:.0f}° {side(turn.sign)}, {gained:.0f} ft gained",
            f"speed from {to_unit(turn.speed_in_mps, 'kt'):.0f} to {to_unit(turn.speed_out_mps, 'kt'):.0f} kt",
        )
        half = start + int(
            np.argmax(np.abs(view.heading_rad[start : turn.last + 1] - view.heading_rad[start]) > np.pi / 2)
        )
        out.append(episode(KIND, view, start, end, score, evidence=evidence,
                           phases=(("first 90°", start, half), ("second 90°", half, turn.last),
                                   ("recovery", turn.last, end)),
                           facts={"sign": turn.sign, "turned_s": float(view.time_s[turn.last])}))  # fmt: skip
    return out


def _score(view: View, turn: Turn) -> float:
    off = abs(turn.change_deg - TURN_DEG)
    if off > GONE_DEG:
        return 0.0
    altitude = view.altitude_m[turn.first : turn.last + 1]
    gain = float(altitude[-1] - altitude[0])
    fell_back = float(altitude.max() - altitude[-1]) / max(gain, 1.0)  # a lazy eight comes all the way down
    entry = float(view.speed_mps[max(turn.first - view.samples(ENTRY_S), 0) : turn.first + 1].max())
    seconds = float(view.time_s[turn.last] - view.time_s[turn.first])
    climbing = float(view.climb_mps[max(turn.first - view.samples(ENTRY_S), 0) : turn.first + 1].mean())
    return (
        ramp(off, GONE_DEG, OFF_DEG)
        * ramp(gain, LITTLE_GAIN_M, SURE_GAIN_M)
        * ramp(fell_back, 0.6, 0.25)
        * ramp(turn.speed_out_mps / max(entry, 1.0), LITTLE_SLOWING, SURE_SLOWING)
        * ramp(seconds, 75.0, 55.0)
        * ramp(climbing, 3.5, 2.0)  # entered from level flight, or a little fast and down, never from a climb
        * ramp(float(np.degrees(turn.top_bank_rad)), 10.0, 17.0)
        * high_score(mean_agl_m(view, turn.first, turn.last))
        * all_known(view, turn.first, turn.last)
        * speed_trust(view)
    )
