"""Causes in turns: altitude and bank, roll-in, roll-out, the ball. [AFH] chapters 3 and 10."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import degrees, feet, window
from airwork.maneuvers.seeing.signal import Array, mean_over, median, percentile
from airwork.units import FT_M

if TYPE_CHECKING:
    from airwork.maneuvers.grading.sheet import Sheet

TOLERANCE_M = 100.0 * FT_M  # the weight's measure: private and commercial steep turns
GREW_RAD, GREW_S = np.radians(3.0), 1.5
LOST_M = 40.0 * FT_M  # less is within an altimeter's needle
AFTER_S = 6.0  # altitude follows bank within seconds
ROLL_IN_S = 7.0
ROLL_OUT_S = 5.0
OFF_RAD = np.radians(6.0)
LATE_SHARE, EARLY_SHARE = 0.6, 1.5  # of half the bank
OVER_RAD, OVER_S = np.radians(5.0), 3.0
BALL_RAD, BALL_ALONE_RAD, BALL_S = np.radians(4.0), np.radians(7.0), 5.0
BALL_G = 0.035  # half a ball or more


def altitude_with_bank(sheet: Sheet, target_bank_rad: float) -> Cause | None:
    """Altitude lost while the bank grew past the target."""
    w = window(sheet, sheet.start_s, sheet.end_s)
    altitude, bank = w.of(sheet.evidence.altitude_m), w.of(sheet.evidence.bank_rad)
    if altitude is None or bank is None:
        return None
    size = np.abs(bank)
    best: Cause | None = None
    for a, b in w.spells(size > target_bank_rad + GREW_RAD, GREW_S):
        end = w.after(b, AFTER_S)
        low = a + int(altitude[a : end + 1].argmin())
        lost = float(altitude[a] - altitude[low])
        if lost < LOST_M or (best is not None and lost / TOLERANCE_M <= best.weight):
            continue
        start_s, end_s = w.seconds(a, low)
        most = degrees(float(size[a : b + 1].max()))
        best = Cause(
            f"Bank grew to {most} and the nose was not raised with it: {feet(lost)} lost.",
            f"Hold the bank at {degrees(target_bank_rad)}; when altitude goes, take off a little bank before you pull.",
            start_s, end_s, lost / TOLERANCE_M,
        )  # fmt: skip
    return best


def altitude_at_roll_in(sheet: Sheet) -> Cause | None:
    """Altitude lost (or gained) in the first seconds of the turn."""
    w = window(sheet, sheet.start_s, min(sheet.start_s + ROLL_IN_S, sheet.end_s))
    altitude = w.of(sheet.evidence.altitude_m)
    if altitude is None:
        return None
    change = float(altitude[-1] - altitude[0])
    if abs(change) < LOST_M:
        return None
    start_s, end_s = w.seconds(0, altitude.size - 1)
    if change < 0:
        text = f"{feet(change)} went during the roll-in: the back pressure came late."
        advice = "Bring the nose up with the bank, most of it as you pass 30°."
    else:
        text = f"{feet(change)} were gained during the roll-in: back pressure came before the bank needed it."
        advice = "Roll first, then add the back pressure the bank asks for."
    return Cause(text, advice, start_s, end_s, abs(change) / TOLERANCE_M)


def altitude_at_roll_out(sheet: Sheet) -> Cause | None:
    """Altitude gained as the wings came level: the back pressure was kept."""
    w = window(sheet, sheet.end_s - ROLL_OUT_S, sheet.end_s + ROLL_OUT_S)
    altitude = w.of(sheet.evidence.altitude_m)
    if altitude is None:
        return None
    low = int(altitude[: altitude.size // 2 + 1].argmin())
    gained = float(altitude[low:].max() - altitude[low])
    if gained < 1.5 * LOST_M or sheet.end_s - sheet.start_s < 4.0 * ROLL_OUT_S:
        return None
    start_s, end_s = w.seconds(low, low + int(altitude[low:].argmax()))
    return Cause(
        f"{feet(gained)} were gained in the roll-out: the back pressure of the turn was kept.",
        "Let the nose down with the bank as the wings come level, and take off the extra power.",
        start_s, end_s, 0.8 * gained / TOLERANCE_M,
    )  # fmt: skip


def roll_out_timing(sheet: Sheet, error_rad: float) -> Cause | None:
    """Late or early roll-out against the lead of half the bank.

    error_rad : turned beyond the heading (positive) or short of it.
    """
    evidence, sign = sheet.evidence, sheet.episode.facts.get("sign", 1.0)
    heading, bank = evidence.heading_rad, evidence.bank_rad
    if heading is None or bank is None or abs(error_rad) < OFF_RAD:
        return None
    w = window(sheet, sheet.start_s, sheet.end_s)
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
    weight = abs(error_rad) / np.radians(10.0)
    if error_rad > 0 and lead < LATE_SHARE * wanted:
        text = (
            f"The roll-out began {degrees(max(lead, 0.0))} before the heading; half the bank would have been "
            f"{degrees(wanted)}: {degrees(error_rad)} too far."
        )
        return Cause(text, "Begin to roll out half the bank before the heading.", start_s, end_s, weight)
    if error_rad < 0 and lead > EARLY_SHARE * wanted:
        text = (
            f"The roll-out began {degrees(lead)} before the heading; half the bank would have been {degrees(wanted)}: "
            f"{degrees(error_rad)} short."
        )
        return Cause(text, "Hold the bank until half the bank is left to turn.", start_s, end_s, weight)
    return None


def overbanking(sheet: Sheet, target_bank_rad: float) -> Cause | None:
    """The bank grew by itself and was not stopped."""
    w = window(sheet, sheet.start_s, sheet.end_s)
    bank = w.of(sheet.evidence.bank_rad)
    if bank is None:
        return None
    size = np.abs(bank)
    spells = w.spells(size > target_bank_rad + OVER_RAD, OVER_S)
    if not spells:
        return None
    a, b = max(spells, key=lambda s: s[1] - s[0])
    before = max(a - round(6.0 / sheet.evidence.step_s), 0)
    top = a + int(size[a : b + 1].argmax())
    # Grew slowly, as the tendency does; a roll past the bank at the entry is a different thing.
    rate = float(size[top] - size[before]) / max(float(w.time_s[top] - w.time_s[before]), 0.5)
    if rate > np.radians(6.0):
        return None
    start_s, end_s = w.seconds(before, b)
    return Cause(
        f"The bank crept up to {degrees(float(size[top]))} and stayed over {degrees(target_bank_rad + OVER_RAD)} for "
        f"{w.time_s[b] - w.time_s[a]:.0f} s: the overbanking tendency was not stopped.",
        "In a steep turn hold a little opposite aileron; look at the bank at every sweep of the instruments.",
        start_s, end_s, float(size[top] - target_bank_rad) / (2.0 * OVER_RAD),
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
    ball_out = None if lateral is None else np.abs(_smoothed(lateral, sheet)) > BALL_G
    best: tuple[int, int] | None = None
    for kind in (1.0, -1.0):
        mask = (kind * off > limit) & steady
        if ball_out is not None:
            mask &= ball_out
        for a, b in w.spells(mask, BALL_S, gap_s=1.5):
            if best is None or b - a > best[1] - best[0]:
                best = (a, b)
    if best is None:
        return None
    a, b = best
    mean = float(off[a : b + 1].mean())
    begin, end = w.seconds(a, b)
    weight = 0.6 * abs(mean) / limit
    if mean > 0:
        text = f"Slipping for {end - begin:.0f} s: {degrees(mean)} more bank than the turn used."
        return Cause(
            text, "Rudder into the turn until the ball is centered; the ball is on the low side.", begin, end, weight
        )
    text = f"Skidding for {end - begin:.0f} s: the turn was {degrees(mean)} faster than the bank gives."
    return Cause(text, "Less rudder into the turn; the ball is on the high side. Near the stall a skid is dangerous.",
                 begin, end, weight)  # fmt: skip


def _smoothed(values: Array, sheet: Sheet) -> Array:
    return mean_over(values, round(2.0 / sheet.evidence.step_s))
