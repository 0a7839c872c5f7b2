"""A second stall in the recovery from the first, or a warning back in it: the nose raised too soon. [AFH] chapter 5."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.stalling import RETURNING_MPS, sign_or_break
from airwork.maneuvers.grading.causes.window import Window, degrees, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array
from airwork.maneuvers.seeing.slow import AT_STALL
from airwork.units import FPM_MPS, KT_MPS

SECOND_S = 20.0  # another break so soon after is the same recovery's
Spell = tuple[int, int]  # first and last sample
AGAIN, AGAIN_S = "again", 1.0
BREAK_S, LOWERED_RAD = 6.0, np.radians(5.0)  # the break may be taken for the second one
AGAIN_LASTS_S, OFF_S = 0.6, 1.0  # a gust may sound the warning for a moment; off so long, the first one was over
# A warning again for less is answered at once, unless the nose went down so far once more (common practice, no source).
STALL_NEAR_MPS, SINK_STOPPED_MPS = 2.0 * KT_MPS, 500.0 * FPM_MPS  # beside the break's; common practice, no source
LOADED_G = 1.2  # a pull: the break itself has none
MOMENT_S, DOWN_AGAIN_RAD, DOWN_WITHIN_S = 3.0, np.radians(12.0), 5.0


def second_stall(sheet: Sheet, break_s: float, lost_m: float) -> Cause | None:
    """The warning came on again in the recovery, after it had stopped: the nose was raised too soon.

    lost_m : height the whole recovery cost; NaN where not known.
    """
    cost = f" {feet(lost_m)} were lost in the recovery." if lost_m > 0.0 else ""
    since = sign_or_break(sheet)
    broke_again = [
        e.facts["break_s"]
        for e in sheet.evidence.episodes
        if break_s + 1.0 < e.facts.get("break_s", -np.inf) < break_s + SECOND_S and e.start_s < sheet.end_s + 2.0
    ]
    fell_again = broke_again[0] if broke_again else _fell_again(sheet, break_s)
    if fell_again is not None:
        return Cause(
            f"It stalled again {fell_again - break_s:.0f} s after {since}: the nose came up too soon.{cost}",
            "Let the speed come back before raising the nose, and raise it smoothly.",
            break_s, fell_again, 2.0, AGAIN, "too big", grave=True,
        )  # fmt: skip
    if pulled := _pulled_to_it(sheet, break_s, cost):
        return pulled
    w = window(sheet, break_s - BREAK_S, sheet.end_s)
    on, pitch = w.of(sheet.evidence.flight.get("stall_warning")), w.of(sheet.evidence.pitch_rad)
    if on is None:
        return None
    # A sample that is off is a second and more at one a second.
    spells = w.spells(on > 0.5, AGAIN_LASTS_S, gap_s=AGAIN_S - 0.6 * sheet.evidence.step_s)
    again = [
        (one, two) for one, two in pairwise(spells)
        if w.time_s[two[1]] > break_s and float(w.time_s[two[0]] - w.time_s[one[1]]) >= OFF_S
        and (w.time_s[one[1]] > break_s or _lowered(pitch, one[1], two[0]))
    ]  # fmt: skip
    found = [_came_on_again(w, pitch, one, two, cost) for one, two in again]
    return max(found, key=lambda c: c.weight, default=None)


def _fell_again(sheet: Sheet, break_s: float) -> float | None:
    """When the nose, raised again in the recovery, fell out of the speed of the break into a new sink. [s]

    Seen without a warning too. Slow alone, or the nose lowered alone, is neither.
    """
    w = window(sheet, break_s, break_s + SECOND_S)
    ias, pitch, climb = w.of(sheet.evidence.ias_mps), w.of(sheet.evidence.pitch_rad), w.of(sheet.evidence.climb_mps)
    if ias is None or pitch is None or climb is None:
        return None
    slow = ias < float(ias[: w.after(0, 1.0) + 1].min()) + STALL_NEAR_MPS
    returned = np.maximum.accumulate(ias) - ias > RETURNING_MPS
    raised = pitch - np.minimum.accumulate(pitch) > DOWN_AGAIN_RAD
    raised &= climb - np.minimum.accumulate(climb) > SINK_STOPPED_MPS
    for k in np.flatnonzero(slow & returned & raised):
        after = slice(int(k), w.after(int(k), DOWN_WITHIN_S) + 1)
        sink = float(climb[after].min())
        fell = pitch[k] - pitch[after].min() > DOWN_AGAIN_RAD and sink < min(0.0, climb[k] - SINK_STOPPED_MPS)
        if fell and ias[k] == ias[after].min():
            return float(w.time_s[k])
    return None


def _pulled_to_it(sheet: Sheet, break_s: float, cost: str) -> Cause | None:
    """The nose pulled up under load until the wing was at its stall again, and fallen once more.

    A wing stalls at its 1 g speed times the root of the load ([PHAK] ch. 5). A brisk pull-out comes as near and flies
    away from it, faster and faster: what lost speed and sank again didn't.
    """
    view, w = sheet.evidence.view, window(sheet, break_s, break_s + SECOND_S)
    ias, pitch, climb = w.of(sheet.evidence.ias_mps), w.of(sheet.evidence.pitch_rad), w.of(sheet.evidence.climb_mps)
    load = w.of(sheet.evidence.flight.get("load_factor"))
    if load is None or ias is None or pitch is None or climb is None:
        return None
    share = np.interp(w.time_s, view.time_s, view.one_g_speed_mps) / view.clean_stall_mps
    back = round(DOWN_WITHIN_S / sheet.evidence.step_s)
    for k in np.flatnonzero(np.maximum.accumulate(ias) - ias > RETURNING_MPS):
        led, after = slice(max(int(k) - back, 0), int(k) + 1), slice(int(k), w.after(int(k), DOWN_WITHIN_S) + 1)
        top = led.start + int(pitch[led].argmax())
        raised, fell = pitch[top] - float(pitch[: top + 1].min()), pitch[top] - float(pitch[after].min())
        sank = float(climb[led].max() - climb[after].min()) > SINK_STOPPED_MPS and float(climb[after].min()) < 0.0
        under = np.where(load[led] > LOADED_G, share[led], np.inf)
        if min(raised, fell) > DOWN_AGAIN_RAD and sank and float(under.min()) < AT_STALL:
            pull = led.start + int(under.argmin())
            after_s, felt = w.time_s[pull] - break_s, f"{load[pull]:.1f} g at {sheet.speed_text(ias[pull])}"
            return Cause(
                f"It was pulled to the edge of the stall again {after_s:.0f} s after {sign_or_break(sheet)}, {felt}, "
                f"and the nose fell {degrees(fell)} once more: it came up too soon.{cost}",
                "Let the speed come back before raising the nose, and raise it smoothly.",
                float(w.time_s[pull]), float(w.time_s[k]), 2.0, AGAIN, "too big", grave=True,
            )  # fmt: skip
    return None


def _came_on_again(w: Window, pitch: Array | None, one: Spell, two: Spell, cost: str) -> Cause:
    """The warning off after `one` and on again in `two`; for a moment, or with the nose down once more."""
    begin, end = w.seconds(*two)
    quiet = begin - w.seconds(*one)[1]
    text = f"The stall warning came on again {quiet:.0f} s after it had stopped"
    down = 0.0 if pitch is None else _down_again(pitch[two[0] : w.after(two[0], DOWN_WITHIN_S) + 1])
    fell = down >= DOWN_AGAIN_RAD
    weight = 1.2 + (float(down / np.radians(30.0)) if fell else 0.0)
    moment = end - begin + w.sheet.evidence.step_s < MOMENT_S and not fell
    if fell:
        text += f" and the nose went down {degrees(down)} once more: it came up too soon.{cost}"
    else:
        text += ", for a moment." if moment else ": the nose came up too soon."
    return Cause(
        text, "Let the speed come back before raising the nose, and raise it smoothly.",
        begin, max(end, begin + 0.5), 0.5 if moment else weight, AGAIN, "too big", grave=not moment,
    )  # fmt: skip


def _down_again(pitch: Array) -> float:
    """How far the nose went down from its highest to its lowest after that. [rad]"""
    return float((np.maximum.accumulate(pitch) - pitch).max())


def _lowered(pitch: Array | None, first: int, last: int) -> bool:
    """The nose went down between two samples: a recovery begun, no gust on the way to the stall."""
    return pitch is not None and float(pitch[first] - pitch[first : last + 1].min()) > LOWERED_RAD
