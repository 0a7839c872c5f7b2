"""Altitude let slip or settled beside the one wanted, in straight and gently turning flight. [AFH] chapters 3 and 5."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.speed import power_untouched
from airwork.maneuvers.grading.causes.window import Window, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array, median
from airwork.units import KT_MPS

OFFSET_SHARE = 0.5  # of the worst deviation
STEADY_SHARE, STEADY_PERCENT = 0.45, 65.0  # of the offset: how much it may wander about it for two thirds of the time
MOSTLY = 0.7
PLATEAU_SHARE, PLATEAU_S = 0.8, 18.0  # of the farthest: settled there, no swing out and back
PLATEAU_MOST = 1.5  # of the tolerance
GONE, GONE_YET = 0.9, 0.05  # of the farthest: the drift is over; hasn't begun, though the nose may have moved
GOING_ON = 0.4  # of the rate it came at
DRIFT_MPS = 0.6  # 120 fpm: less is no nose that moved (common practice, no source)
NOT_ENOUGH_S = 40.0  # so long, the power was moved, and not by enough
TRADED_SHARE, FASTER_MPS = 0.5, 10.0 * KT_MPS  # of the height that went; the private tolerance (no source)
LET_GO_S = 15.0  # quicker, where no power is recorded, it may be a swing of the speed


def settled_off(sheet: Sheet, target_m: float, span_s: tuple[float, float]) -> Cause | None:
    """Held steadily, but beside the altitude wanted."""
    w = window(sheet, *span_s)
    altitude = w.of(sheet.evidence.altitude_m)
    judged = sheet.worst_of("altitude")
    if altitude is None or judged is None:
        return None
    off = altitude - target_m
    first, last = 0, off.size - 1
    middle = median(off)
    spread = float(np.percentile(np.abs(off - middle), STEADY_PERCENT))
    if abs(middle) < sheet.worth_telling("altitude") or spread > STEADY_SHARE * abs(middle):
        far = w.spells(np.sign(judged[0]) * off > PLATEAU_SHARE * np.abs(off).max(), PLATEAU_S)  # it came to it later
        if not far:
            return None
        first, last = max(far, key=lambda s: s[1] - s[0])
        middle = median(off[first : last + 1])
        if abs(middle) > PLATEAU_MOST * judged[1] or _still_going(np.sign(judged[0]) * off, first, last):
            return None  # so far out it was let go
    if (
        abs(middle) < sheet.worth_telling("altitude")
        or abs(middle) < OFFSET_SHARE * abs(judged[0])
        or middle * judged[0] < 0.0
    ):
        return None
    word = "above" if middle > 0.0 else "below"
    begin, end = w.seconds(first, last)
    return Cause(
        f"It settled {feet(middle)} {word} the altitude wanted and stayed there for {end - begin:.0f} s.",
        "Name the altitude wanted aloud before the exercise; go back to it at once, then trim.",
        begin, end, abs(middle) / judged[1], "settled off", "target not set", "altitude", abs(middle / judged[0]),
    )  # fmt: skip


def at_another_height(sheet: Sheet, agl_m: Array, target_m: float) -> Cause | None:
    """Flown above or below the heights above ground the task asks for, most of the time; beside the lesson's, if so."""
    finding, criterion = sheet.finding("agl"), sheet.task.criterion("agl")
    if finding is None or finding.verdict != "not held" or criterion is None:
        return None
    w = window(sheet, sheet.start_s, sheet.end_s)
    agl = w.of(agl_m)
    if agl is None or criterion.high is None or criterion.low is None:
        return None
    middle = median(agl)
    beyond = max(middle - criterion.high, criterion.low - middle)
    if beyond < 0.0:
        return None
    edge, word = (criterion.high, "most") if middle > criterion.high else (criterion.low, "least")
    lesson = sheet.evidence.lesson_target(sheet.kind, "altitude_m")
    off = 0.0 if lesson is None else target_m - lesson
    briefed = (
        f"; the lesson's altitude is {feet(off)} {'lower' if off > 0.0 else 'higher'}" if abs(off) > beyond else ""
    )
    begin, end = w.seconds(0, agl.size - 1)
    return Cause(
        f"It was flown at {feet(middle)} above the ground: {feet(edge)} is the {word}{briefed}.",
        "Add the elevation to the height wanted before the exercise, and fly that altitude.",
        begin, end, 1.0 + beyond / (criterion.high - criterion.low), "another height", "target not set", "agl", 1.0,
    )  # fmt: skip


def let_slip(
    sheet: Sheet, target_m: float, span_s: tuple[float, float], *, by_power: bool = False, quantity: str = "altitude",
    chased: Cause | None = None,
) -> Cause | None:  # fmt: skip
    """The largest drift from the altitude wanted; with `by_power` only where the power stayed as it was.

    by_power : flight on the back side of the power curve, where power holds the altitude.
    chased : the swings of the speed told of the same stretch: in one of them the nose goes up and down, too.
    """
    w = window(sheet, *span_s)
    altitude, judged = w.of(sheet.evidence.altitude_m), sheet.worst_of(quantity)
    if altitude is None or judged is None:
        return None
    off = altitude - target_m
    k = int(np.abs(off).argmax())
    size, sign = abs(float(off[k])), 1.0 if off[k] > 0.0 else -1.0
    k = int(np.argmax(sign * off > GONE * size))  # it had gone there; what it wandered about afterwards is no drift
    if size < sheet.worth_telling(quantity) or size < OFFSET_SHARE * abs(judged[0]) or k < 3:
        return None
    j = _left_at(sign * off, k)
    change = sign * float(off[k] - off[j])
    begin, end = w.seconds(j, k)
    if change < 0.5 * size or end - begin < 4.0:
        return None
    word, weight, share = "lost" if sign < 0.0 else "gained", size / judged[1], change / abs(judged[0])
    if by_power:
        mostly = j + int(np.argmax(sign * off[j : k + 1] > MOSTLY * size))  # before the power that stopped it
        untouched = power_untouched(w, j, mostly)
        advice = "Add" if sign < 0.0 else "Take off"
        if traded := _traded(sheet, w, (_left_at(sign * off, k, GONE_YET), k), sign, change):
            begin, end = w.seconds(*traded)
            if chased is not None and begin < chased.end_s and end > chased.start_s:
                return None
            moved, turned = ("let down", "speed") if sign < 0.0 else ("raised", "height")
            return Cause(
                f"The nose was {moved}: {feet(altitude[traded[1]] - altitude[traded[0]])} {word} in "
                f"{end - begin:.0f} s, turned into {turned}.",
                "The nose where it holds the speed, by the horizon and trimmed; only then power for the altitude.",
                begin, end, weight, f"nose {moved}", "back pressure", "altitude", min(share, 1.0),
            )  # fmt: skip
        if untouched is not True:
            if size < judged[1] or end - begin < (LET_GO_S if untouched is None else NOT_ENOUGH_S):
                return None  # inside the limit it may be a swing that was being stopped
            moved = "" if untouched is None else f": too {'little' if sign < 0.0 else 'much'} power"
            return Cause(
                f"{feet(change)} {word} in {end - begin:.0f} s and not stopped{moved}.",
                f"Slow flight lives on the back side of the power curve: power holds the altitude. {advice} power "
                "at the first 20 ft, and hold the speed with pitch.",
                begin, end, weight, "altitude let go", "power", "altitude", min(share, 1.0),
            )  # fmt: skip
        return Cause(
            f"{feet(change)} {word} in {end - begin:.0f} s with the power left where it was.",
            f"Slow flight lives on the back side of the power curve: power holds the altitude. {advice} power "
            "at the first 20 ft, and hold the speed with pitch.",
            begin, end, weight, "power left alone", "power", "altitude", min(share, 1.0),
        )  # fmt: skip
    slow = change / (end - begin) < DRIFT_MPS
    if slow and size < judged[1]:
        return None  # no nose moved, and it stayed inside: nothing to teach
    low = "dropped" if sign < 0.0 else "rose"
    how = "a slow drift" if slow else f"the nose {low}"
    return Cause(
        f"{feet(change)} {word} in {end - begin:.0f} s: {how} that was not put right.",
        "Outside, altimeter, outside: at every quarter of the turn; correct at the first 20 ft.",
        begin, end, weight, "nose low" if sign < 0.0 else "nose high", "back pressure", quantity, min(share, 1.0),
    )  # fmt: skip


def _traded(sheet: Sheet, w: Window, drift: tuple[int, int], sign: float, change_m: float) -> tuple[int, int] | None:
    """Where a drift's height was turned into speed, or speed into height, by the nose; None where it wasn't.

    From where it was left to the greatest speed. With too little power alone it gets slower, if anything.
    """
    j, k = drift
    ias, altitude = w.of(sheet.evidence.ias_mps), w.of(sheet.evidence.altitude_m)
    if ias is None or altitude is None:
        return None
    peak = j + int(np.argmax(-sign * ias[j : k + 1]))
    faster, gone = -sign * float(ias[peak] - ias[j]), sign * float(altitude[peak] - altitude[j])
    return (j, peak) if faster > sheet.tolerance("ias", FASTER_MPS) and gone > TRADED_SHARE * change_m else None


def _still_going(off: Array, first: int, last: int) -> bool:
    """Within a stretch it went on as it had come there: no settling."""
    left = _left_at(off, first) if first > 0 else 0
    came = float(off[first] - off[left]) / max(first - left, 1)
    return float(off[last] - off[first]) > GOING_ON * came * (last - first) > 0.0


def _left_at(off: Array, k: int, near_it: float = 0.25) -> int:
    """Where the drift to sample k began: last near the altitude, else the turning point before."""
    near = np.flatnonzero(off[:k] <= near_it * off[k])
    return int(near[-1]) if near.size else int(np.argmin(off[:k]))
