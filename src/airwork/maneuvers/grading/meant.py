"""Another speed or heading held than before: a change that was meant, by its look. Nobody tells a recording."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.grading.judge import PROMPT
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array
from airwork.masks import runs

NEAR_MPS = 2.6  # 5 kt, half the tolerance
HELD_ANEW_S = 20.0
HALFWAY = 0.5  # to the limit: what lies farther off all along is another value
POWER_NUDGED = 0.03  # the least that holds another speed; with the power as it was a new speed wasn't meant


def another_speed_meant(sheet: Sheet, held_mps: float, window: tuple[float, float]) -> None:
    """Not asked, where one speed was held and with other power another: slowing for the pattern on the way down."""
    ias = sheet.evidence.ias_mps
    if ias is None or sheet.given("ias") or power_moved(sheet, window) <= POWER_NUDGED:
        return
    if held_anew(sheet, "ias", ias - held_mps, NEAR_MPS):
        sheet.not_asked("ias", "one speed was held and then another: a change that was meant, by its look")


def held_anew(sheet: Sheet, quantity: str, off: Array, spread: float) -> bool:
    """Whenever it was off for longer it was steady at another value: nobody says that was not meant."""
    found, criterion = sheet.finding(quantity), sheet.task.criterion(quantity)
    if found is None or found.verdict in {"held", "can't be judged"} or criterion is None or criterion.high is None:
        return False
    off, step = off[sheet.evidence.flight.span(sheet.start_s, sheet.end_s)], sheet.evidence.step_s
    prompt_s = sheet.judging[PROMPT[quantity]]
    spells = [off[a:b] for a, b in runs(np.abs(off) > HALFWAY * criterion.high) if (b - a) * step > prompt_s]
    spells = [x for x in spells if np.abs(x).max() > criterion.high]  # to and fro about the limit is one spell
    steady = all(np.subtract(*np.percentile(x, [85, 15])) < spread for x in spells)
    return steady and max((x.size * step for x in spells), default=0.0) > HELD_ANEW_S


def power_moved(sheet: Sheet, window: tuple[float, float]) -> float:
    """How far the power was moved, of rated; 0 where it isn't known."""
    power = sheet.evidence.some_power
    part = np.empty(0) if power is None else power[sheet.evidence.flight.span(*window)]
    part = part[np.isfinite(part)]
    return float(np.percentile(part, 95.0) - np.percentile(part, 5.0)) if part.size else 0.0
