"""Steep turn: 360° at 45° of bank (50° commercial), altitude and speed held, rolled out on the entry heading.

In the data: one turn one way through most of a circle or more, much bank, no great climb or descent. Each direction is
an episode. A poor one stays at 30°, stops at 300° or loses 300 ft: it is still an attempt, above all beside one to the
other side. Not it: turns around a point (low, radius over the ground constant), a steep spiral (descends on purpose),
a medium level turn (20 to 30° of bank, alone).
Judged by the task `steep_turn` of the standard: altitude, airspeed, bank, roll-out heading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from airwork.maneuvers.propose_tools import LEAST_SCORE, all_known, episode, high_score, mean_agl_m, side
from airwork.maneuvers.signal import ramp

if TYPE_CHECKING:
    from airwork.maneuvers.episode import Episode
    from airwork.maneuvers.turns import Turn
    from airwork.maneuvers.view import View

KIND = "steep_turn"
TITLE = "Steep turn"

SHALLOW_DEG, STEEP_DEG = 24.0, 38.0  # a GPS sees a poor "45°" turn at 29 to 36°; a medium turn has 20 to 30°
LEAST_CHANGE_DEG, FULL_CHANGE_DEG = 190.0, 320.0  # given up after half a circle it can't be told from a turn back
MOST_CHANGE_DEG = 780.0  # two circles in one go are flown; more is something else
SINKING_MPS, DIVING_MPS = 3.5, 8.0  # 700 fpm happens to poor pilots; 1,600 fpm is a descent
PARTNER_S = 60.0  # time to the turn the other way
PARTNER_BONUS = 0.25


def propose(view: View) -> list[Episode]:
    """Every steep turn or attempt at one."""
    candidates = [(turn, _score(view, turn)) for turn in view.turns]
    out: list[Episode] = []
    for k, (turn, parts) in enumerate(candidates):
        if parts is None:
            continue
        bank, rest = parts
        partner = any(
            0 <= j < len(candidates) and candidates[j][1] is not None and candidates[j][0].sign != turn.sign
            and abs(candidates[j][0].first - turn.first) < (turn.last - turn.first) + view.samples(PARTNER_S)
            for j in (k - 1, k + 1)
        )  # fmt: skip
        score = min(1.0, bank + (PARTNER_BONUS if partner and turn.change_deg > 250.0 else 0.0)) * rest
        if score < LEAST_SCORE:
            continue
        evidence = (
            f"{turn.change_deg:.0f}° {side(turn.sign)} at {turn.bank_deg:.0f}° of bank",
            *(("with one to the other side",) if partner else ()),
        )
        rolled_in, rolled_out = _established(view, turn)
        phases = (("entry", turn.first, rolled_in), ("established", rolled_in, rolled_out),
                  ("recovery", rolled_out, turn.last))  # fmt: skip
        out.append(episode(KIND, view, turn.first, turn.last, score, evidence=evidence, phases=phases,
                           facts={"sign": turn.sign, "change_rad": turn.change_rad}))  # fmt: skip
    return out


def _score(view: View, turn: Turn) -> tuple[float, float] | None:
    """(bank's part, the rest), None when it can't be one."""
    if turn.change_deg < LEAST_CHANGE_DEG or turn.change_deg > MOST_CHANGE_DEG:
        return None
    bank = ramp(turn.bank_deg, SHALLOW_DEG, STEEP_DEG)
    if bank <= 0.0:
        return None
    rest = ramp(turn.change_deg, LEAST_CHANGE_DEG - 40.0, FULL_CHANGE_DEG) * ramp(
        -turn.climb_mps, DIVING_MPS, SINKING_MPS
    )
    rest *= ramp(turn.climb_mps, 5.0, 2.5) * all_known(view, turn.first, turn.last)
    # Low down, and round a constant circle over the ground, it is more likely turns around a point.
    rest *= 0.45 + 0.55 * high_score(mean_agl_m(view, turn.first, turn.last))
    return bank, rest


def _established(view: View, turn: Turn) -> tuple[int, int]:
    """First and last sample at four fifths of the settled bank."""
    part = abs(view.turn_bank_rad[turn.first : turn.last + 1]) >= 0.8 * turn.settled_bank_rad
    if not part.any():
        return turn.first, turn.last
    return turn.first + int(part.argmax()), turn.last - int(part[::-1].argmax())
