"""Causes in turns: altitude and bank, roll-in, roll-out, the ball. [AFH] chapters 3 and 10."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import Window, degrees, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import Array, Mask, mean_over, median, percentile
from airwork.units import FPM_MPS

ROLL_IN_S, BEFORE_S, AFTER_S = 4.0, 1.0, 6.0  # after the bank is there; before the roll-out; altitude follows bank
# 200 fpm as the wings come level; a climb begun on purpose lasts longer, or gets power (common practice, no source)
ZOOM_MPS, ZOOM_S, POWER_ADDED = 200.0 * FPM_MPS, 15.0, 0.1
NEARLY, MOSTLY = 0.95, 0.7  # of the settled bank: rolled in; on the way
STILL_RADPS = np.radians(2.5)
LEVEL_RAD, NEARLY_LEVEL_RAD, NEARLY_BY_RATE_RAD = np.radians(4.0), np.radians(8.0), np.radians(11.0)
STOPPED_RAD, ROLLED_OUT_S = np.radians(1.5), 2.0  # so little more in so long: the roll has stopped
BANK_SLACK_RAD = np.radians(3.0)
OFF_RAD, OFF_BY_TRACK_RAD = np.radians(5.0), np.radians(7.5)
LATE_SHARE, EARLY_SHARE = 0.75, 1.1  # of half the bank
OVER_RAD, OVER_S = np.radians(5.0), 3.0
GREW_FROM_RAD = np.radians(4.5)  # nearer the bank wanted than the limit
SET_RAD = np.radians(3.0)  # bank set wrong rather than let go: from the first seconds on, and steadily
FIRST_S, UNSTEADY_RAD = 4.0, np.radians(4.0)
BALL_RAD, BALL_ALONE_RAD, BALL_S = np.radians(4.0), np.radians(7.0), 5.0
BALL_LONG_S = 10.0
BALL_G = 0.035  # half a ball or more
BALL_FAR_G, BALL_LITTLE_RAD = 0.055, np.radians(2.5)  # a ball and more out is a slip, however little the turn shows


def banked(sheet: Sheet) -> tuple[float, float]:
    """From the end of the roll-in to the start of the roll-out: while the bank is near what it settled on. [s]"""
    part = sheet.evidence.flight.span(sheet.start_s, sheet.end_s)
    size = sheet.evidence.bank_size_rad
    settled = sheet.evidence.median(size, *sheet.window("established"))
    if size is None or not np.isfinite(settled) or size[part].size < 2:  # a gap in the recording
        return sheet.window("established")
    step = sheet.evidence.step_s
    rate = np.abs(mean_over(np.gradient(size[part], step), round(1.0 / step)))
    # There: near what was settled on, or no longer rolling well on the way to it.
    there = np.flatnonzero((size[part] >= NEARLY * settled) | ((size[part] >= MOSTLY * settled) & (rate < STILL_RADPS)))
    if there.size < 2:
        return sheet.window("established")
    times = sheet.time_s[part]
    return float(times[there[0]]), float(times[there[-1]])


def wings_level(sheet: Sheet, after_s: float) -> float:
    """When the roll-out ended: the wings level, or nearly so and rolling no further; the episode's end without. [s]

    What is turned after it, with a little bank, puts the heading right and is no part of the roll-out.
    """
    size = sheet.evidence.bank_size_rad
    if size is None:
        return sheet.end_s
    part = sheet.evidence.flight.span(after_s, sheet.end_s + ROLLED_OUT_S)
    bank, length = size[part], max(round(ROLLED_OUT_S / sheet.evidence.step_s), 1)
    if bank.size <= length:
        return sheet.end_s
    soon = sliding_window_view(bank, length + 1).min(axis=1)
    nearly = NEARLY_LEVEL_RAD if sheet.evidence.bank_measured else NEARLY_BY_RATE_RAD
    ended = bank[:-length] < np.maximum(LEVEL_RAD, np.minimum(soon + STOPPED_RAD, nearly))
    found = np.flatnonzero(ended)
    return min(float(sheet.time_s[part][found[0]]), sheet.end_s) if found.size else sheet.end_s


def zoomed_s(sheet: Sheet) -> tuple[float, float]:
    """The top of what the pull kept through the roll-out gained, and when that was lost again: the turn's end, twice.

    The load of the bank with the wings level climbs at once; what ends by itself within seconds, with no power added,
    is no climb anybody began. [s]
    """
    evidence, end = sheet.evidence, sheet.end_s
    power, climb, times = evidence.some_power, evidence.climb_mps, sheet.time_s
    turning_power, after = evidence.mean(power, sheet.start_s, end), evidence.flight.span(end, end + ZOOM_S)
    over = np.flatnonzero(climb[after] < 0.0)
    added = power is not None and evidence.mean(power, end, end + AFTER_S) > turning_power + POWER_ADDED
    if added or not over.size or not evidence.mean(climb, end - 1.0, end + 1.0) > ZOOM_MPS:
        return end, end
    top = float(times[after][over[0]])
    down = evidence.flight.span(top, top + ZOOM_S)
    half_m = 0.5 * (evidence.altitude_m[down.start] + evidence.mean(evidence.altitude_m, end - 0.5, end + 0.5))
    back = np.flatnonzero(evidence.altitude_m[down] < half_m)
    return top, float(times[down][back[0] if back.size else -1])


def altitude_in_turn(
    sheet: Sheet, target_m: float, bank_rad: float, banked: tuple[float, float], *, any_bank: bool = False
) -> Cause | None:
    """The largest loss or gain of altitude in a turn, and whether bank or back pressure made it.

    The vertical acceleration of a turn is g·(n·cos φ − 1). What it would have been at the bank wanted with the same
    pull is known too: the height the extra bank cost is g·∬n·(cos φ − cos φ_wanted) dt². The rest is the pull.

    Parameters
    ----------
    target_m : altitude to hold; bank_rad : bank wanted; banked : (end of the roll-in, start of the roll-out). [s]
    any_bank : whatever bank was flown was right (a level turn, a turn around a point): only the pull can be wrong.
    """
    until = max(sheet.end_s + 1.0, zoomed_s(sheet)[0])
    w = window(sheet, sheet.start_s, until)
    altitude, bank = w.of(sheet.evidence.altitude_m), w.of(sheet.evidence.bank_size_rad)
    judged = sheet.worst_of("altitude")
    if altitude is None or bank is None or judged is None:
        return None
    off, tolerance = altitude - target_m, judged[1]
    sign = 1.0 if judged[0] > 0.0 else -1.0
    inside = w.time_s <= (until if sign > 0.0 else sheet.end_s + 1.0)
    k = int(np.argmax(np.where(inside, sign * off, -np.inf)))
    size = sign * float(off[k])
    if size < sheet.worth_telling("altitude") or k < 2:
        return None
    near = np.flatnonzero(sign * off[:k] <= 0.2 * size)
    j = int(near[-1]) if near.size else int(np.argmin(sign * off[:k]))
    change = sign * float(off[k] - off[j])
    if change < 0.5 * size:
        return None
    rate = sign * np.gradient(mean_over(altitude, round(1.0 / sheet.evidence.step_s)), sheet.evidence.step_s)[j : k + 1]
    onset = float(w.time_s[j + int(np.argmax(rate > 0.35 * rate.max()))])
    begin, end = w.seconds(j, k)
    by_bank = 0.0 if any_bank or sign > 0.0 else _lost_to_bank(sheet, w, j, k, bank_rad)
    share, weight = change / size, size / tolerance
    if by_bank >= 0.5 * change:
        most = degrees(float(bank[j : k + 1].max()))
        return Cause(
            f"The bank came to {most} and the nose was not raised with it: {feet(change)} lost.",
            f"Hold the bank at {degrees(bank_rad)}; when altitude goes, take off a little bank before you pull.",
            begin, end, weight, "altitude with bank", "back pressure", "altitude", min(1.0, by_bank / size),
        )  # fmt: skip
    when = "out" if onset > banked[1] - BEFORE_S else "in" if onset < banked[0] + ROLL_IN_S else "turn"
    said, do, name = _PULL[when, sign > 0.0]
    said = said.format(feet=feet(change), seconds=end - begin)
    return Cause(said, do, begin, end, weight, name, "back pressure", "altitude", share)


_SWEEP = "Nose against the horizon at every sweep; altitude called each 30° of turn; correct at the first 20 ft."
_PULL = {  # (when it began, gained): what is said of the pull, what to do, its name
    ("in", False): (
        "{feet} lost from the roll-in on: the back pressure came late.",
        "Bring the nose up with the bank, most of it as you pass 30°.", "back pressure late",
    ),
    ("in", True): (
        "{feet} gained from the roll-in on: back pressure came before the bank needed it.",
        "Roll first, then add the back pressure the bank asks for.", "back pressure early",
    ),
    ("turn", False): (
        "{feet} lost in mid-turn at the same bank: the nose dropped and stayed there for {seconds:.0f} s.",
        _SWEEP, "nose low",
    ),
    ("turn", True): (
        "{feet} gained in mid-turn at the same bank: the nose rose and stayed there for {seconds:.0f} s.",
        _SWEEP, "nose high",
    ),
    ("out", False): (
        "{feet} lost in the roll-out: the back pressure was let go before the bank was off.",
        "Ease the back pressure with the bank, not before it.", "back pressure let go",
    ),
    ("out", True): (
        "{feet} gained in the roll-out: the back pressure of the turn was kept.",
        "Let the nose down with the bank as the wings come level, and take off the extra power.", "back pressure kept",
    ),
}  # fmt: skip


def _lost_to_bank(sheet: Sheet, w: Window, first: int, last: int, bank_rad: float) -> float:
    """Height the bank beyond the one wanted cost between two samples, by the pull flown. [m]"""
    size = w.of(sheet.evidence.bank_size_rad)
    load = w.of(sheet.evidence.flight.get("load_factor"))
    if size is None:
        return 0.0
    part = slice(first, last + 1)
    pull = np.full(size[part].size, 1.0 / np.cos(bank_rad)) if load is None else np.clip(load[part], 0.5, 3.0)
    wanted = bank_rad + BANK_SLACK_RAD
    lost = np.where(size[part] > wanted, pull * (np.cos(size[part]) - np.cos(bank_rad)), 0.0) * G0_MPS2
    step = sheet.evidence.step_s
    return float(-np.cumsum(np.cumsum(lost) * step)[-1] * step)


def bank_set(sheet: Sheet, target_rad: float, banked: tuple[float, float]) -> Cause | None:
    """The bank settled on was another than the one wanted."""
    judged = sheet.worst_of("bank")
    size = sheet.evidence.bank_size_rad
    if judged is None or size is None:
        return None
    held = sheet.evidence.median(size, *banked)
    off = held - target_rad
    if abs(off) < max(SET_RAD, sheet.worth_telling("bank")) or off * judged[0] <= 0.0:
        return None
    first = sheet.evidence.median(size, banked[0], banked[0] + FIRST_S) - target_rad
    part = size[sheet.evidence.flight.span(*banked)]
    wander = float(np.nanpercentile(part, 80.0) - np.nanpercentile(part, 20.0))
    if first * off < 0.0 or abs(first) < 0.5 * abs(off) or wander > max(abs(off), UNSTEADY_RAD):
        return None  # it came to this bank later: let go, not set
    steep = off > 0.0
    text = f"The turn was held at {degrees(held)} of bank, {degrees(off)} {'steeper' if steep else 'shallower'} than "
    return Cause(
        f"{text}the {degrees(target_rad)} wanted.",
        "Roll to the bank by the attitude indicator once, then hold that picture of cowling against horizon.",
        *banked, abs(off) / judged[1], "too steep" if steep else "too shallow", "target not set", "bank",
        min(1.0, abs(off) / max(abs(judged[0]), 1e-6)),
    )  # fmt: skip


def roll_out_timing(sheet: Sheet, error_rad: float, out_s: float) -> Cause | None:
    """Late or early roll-out against the lead of half the bank.

    error_rad : turned beyond the heading (positive) or short of it; out_s : when the wings were level. [s]
    """
    evidence, sign = sheet.evidence, sheet.episode.facts.get("sign", 1.0)
    heading, bank = evidence.heading_rad, evidence.bank_rad
    least = OFF_RAD if evidence.view.heading_from == "heading" else OFF_BY_TRACK_RAD
    if heading is None or bank is None or abs(error_rad) < least:
        return None
    w = window(sheet, sheet.start_s, out_s)
    size, course = w.of(evidence.bank_size_rad), w.of(heading)
    if size is None or course is None:
        return None
    settled = median(size[size > 0.8 * percentile(size, 90.0)])
    held = np.flatnonzero(size > 0.9 * settled)
    if not held.size:
        return None
    began = int(held[-1])
    lead = sign * (float(course[-1]) - float(course[began])) - error_rad
    wanted = settled / 2.0
    start_s, end_s = w.seconds(began, size.size - 1)
    weight, limit = abs(error_rad) / sheet.tolerance("rollout_heading", np.radians(10.0)), degrees(wanted)
    if not evidence.bank_measured:  # a turn rate doesn't show when the roll began; that it came late or early it does
        late = error_rad > 0.0
        return Cause(
            f"The roll-out came {'late' if late else 'early'}: {degrees(error_rad)} {'too far' if late else 'short'}.",
            "Begin to roll out half the bank before the heading.",
            start_s, end_s, weight, f"roll-out {'late' if late else 'early'}", "late", "rollout_heading", 1.0,
        )  # fmt: skip
    if error_rad > 0 and lead < LATE_SHARE * wanted:
        when = f"{degrees(lead)} before" if lead > 0.0 else f"{degrees(lead)} past"
        return Cause(
            f"The roll-out began {when} the heading; half the bank would have been {limit} before: "
            f"{degrees(error_rad)} too far.",
            "Begin to roll out half the bank before the heading.",
            start_s, end_s, weight, "roll-out late", "late", "rollout_heading", 1.0,
        )  # fmt: skip
    if error_rad < 0 and lead > EARLY_SHARE * wanted:
        return Cause(
            f"The roll-out began {degrees(lead)} before the heading; half the bank would have been {limit}: "
            f"{degrees(error_rad)} short.",
            "Hold the bank until half the bank is left to turn.",
            start_s, end_s, weight, "roll-out early", "late", "rollout_heading", 1.0,
        )  # fmt: skip
    return None


def overbanking(sheet: Sheet, target_bank_rad: float, banked: tuple[float, float]) -> Cause | None:
    """The bank grew by itself from about the one wanted and was not stopped."""
    w = window(sheet, *banked)
    size, judged = w.of(sheet.evidence.bank_size_rad), sheet.worst_of("bank")
    if size is None or judged is None:
        return None
    spells = w.spells(size > target_bank_rad + OVER_RAD, OVER_S)
    if not spells:
        return None
    a, b = max(spells, key=lambda s: s[1] - s[0])
    before = max(a - round(6.0 / sheet.evidence.step_s), 0)
    was = median(size[before : max(a - round(1.0 / sheet.evidence.step_s), before + 1)])
    top = a + int(size[a : b + 1].argmax())
    # Grew slowly, as the tendency does; a roll past the bank at the entry is a different thing.
    rate = float(size[top] - size[before]) / max(float(w.time_s[top] - w.time_s[before]), 0.5)
    if rate > np.radians(6.0) or was > target_bank_rad + GREW_FROM_RAD:
        return None
    start_s, end_s = w.seconds(before, b)
    over = float(size[top] - target_bank_rad)
    return Cause(
        f"The bank grew to {degrees(float(size[top]))} and stayed over {degrees(target_bank_rad + OVER_RAD)} for "
        f"{w.time_s[b] - w.time_s[a]:.0f} s: the overbanking tendency was not stopped.",
        "In a steep turn hold a little opposite aileron; look at the bank at every sweep of the instruments.",
        start_s, end_s, over / judged[1], "bank grew", "back pressure", "bank",
        min(1.0, over / max(abs(judged[0]), 1e-6)),
    )  # fmt: skip


def uncoordinated(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """Skid or slip in a turn: the rate of turn does not go with the bank; the ball confirms it where it is recorded."""
    evidence = sheet.evidence
    if not evidence.bank_measured:
        return None
    w = window(sheet, start_s, end_s)
    bank, turn = w.of(evidence.bank_rad), w.of(evidence.turn_bank_rad)
    if bank is None or turn is None:
        return None
    side = np.sign(median(bank))
    turning = side * turn
    off = side * bank - turning  # positive: more bank than turn, a slip
    lateral = w.of(evidence.flight.get("lateral_g"))
    limit = BALL_RAD if lateral is not None else BALL_ALONE_RAD
    steady = side * bank > np.radians(12.0)
    ball = None if lateral is None else np.abs(_smoothed(lateral, sheet))
    ball_out = None if ball is None else ball > BALL_G
    ball_far = np.zeros(bank.size, dtype=bool) if ball is None else ball > BALL_FAR_G
    best: tuple[int, int] | None = None
    for kind in (1.0, -1.0):
        mask = (kind * off > limit) & steady
        if ball_out is not None:
            mask = (kind * off > limit) & steady & ball_out | (kind * off > BALL_LITTLE_RAD) & steady & ball_far
        for a, b in w.spells(mask, BALL_S, gap_s=1.5):
            if best is None or b - a > best[1] - best[0]:
                best = (a, b)
    if best is None:
        return _ball_far_out(w, ball_far & steady)
    a, b = best
    mean = float(off[a : b + 1].mean())
    begin, end = w.seconds(a, b)
    weight = 0.6 * abs(mean) / limit
    if mean > 0:
        text = f"Slipping for {end - begin:.0f} s: {degrees(mean)} more bank than the turn used."
        return Cause(
            text, "Rudder into the turn until the ball is centered; the ball is on the low side.",
            begin, end, weight, "ball out", "feet",
        )  # fmt: skip
    text = f"Skidding for {end - begin:.0f} s: the turn was {degrees(mean)} faster than the bank gives."
    return Cause(text, "Less rudder into the turn; the ball is on the high side. Near the stall a skid is dangerous.",
                 begin, end, weight, "ball out", "feet")  # fmt: skip


def _ball_far_out(w: Window, out: Mask) -> Cause | None:
    """The ball well out for long, whatever turn and bank say of it: it is what the seat feels."""
    spells = w.spells(out, BALL_LONG_S, gap_s=1.5)
    if not spells:
        return None
    begin, end = w.seconds(*max(spells, key=lambda s: s[1] - s[0]))
    return Cause(
        f"The ball was out by its width or more for {end - begin:.0f} s.",
        "Step on the ball: rudder on the side it lies on until it is centered, then hold what that takes.",
        begin, end, 1.0, "ball out", "feet",
    )  # fmt: skip


def _smoothed(values: Array, sheet: Sheet) -> Array:
    return mean_over(values, round(2.0 / sheet.evidence.step_s))
