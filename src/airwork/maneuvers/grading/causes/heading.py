"""Heading let go at high angle of attack: a wing held low, or yaw no bank explains. [AFH] chapter 5."""

from __future__ import annotations

import numpy as np

from airwork.airdata.atmosphere import G0_MPS2
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import degrees, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.grading.straights import heading_error_rad
from airwork.maneuvers.seeing.signal import Array

AWAY_RAD, AWAY_S = np.radians(4.0), 1.0
YAW_SHARE = 0.6  # of the change of heading that no bank explains: the feet
LOW_WING_RAD = np.radians(1.5)  # less shows on no horizon
WITH_POWER = 0.45
WALLOWED = "wallowed"


def heading_let_go(
    sheet: Sheet, start_s: float, end_s: float, target_rad: float, *, least: float = 0.45, until: str = ""
) -> Cause | None:
    """The heading went away in a straight entry: by a wing held low, or by yaw no bank explains.

    A coordinated turn changes the heading by ∫g·tan φ / V dt; what is left over is the feet's. until : what ends the
    entry, as it is said.
    """
    evidence = sheet.evidence
    w = window(sheet, start_s, end_s)
    heading, bank, tas = w.of(evidence.heading_rad), w.of(evidence.bank_rad), w.of(evidence.tas_mps)
    judged = sheet.worst_of("heading")
    if heading is None or bank is None or tas is None or judged is None:
        return None
    off = heading - target_rad
    k = int(np.abs(off).argmax())
    size = abs(float(off[k]))
    if size < least * judged[1] or size < AWAY_RAD or k < 3:
        return None
    near = np.flatnonzero(np.abs(off[:k]) <= 0.25 * size)
    begin, end = w.seconds(int(near[-1]) if near.size else 0, k)
    if end - begin < AWAY_S:
        return None
    if not evidence.bank_measured:  # from positions a bank and a yaw look the same
        if size < least * judged[1] + 2.0 * heading_error_rad(sheet):
            return None
        side = "right" if off[k] > 0.0 else "left"
        return Cause(
            f"The heading went {degrees(size)} to the {side}.",
            f"Wings level with aileron{until}, the nose on its point with rudder.",
            begin, end, size / judged[1], "turned away", "feet", "heading", 1.0,
        )  # fmt: skip
    went = slice(int(near[-1]) if near.size else 0, k + 1)
    share = 1.0 - _yawed_share(sheet, bank[went], tas[went], off[went])
    if share >= 1.0 - YAW_SHARE:
        low, mean = ("right" if off[k] > 0.0 else "left"), abs(float(bank[went].mean()))
        how = "with that wing low: " if mean > LOW_WING_RAD else "little by little, the wings all but level: "
        return Cause(
            f"The heading went {degrees(size)} to the {low} {how}"
            f"{degrees(mean) if mean > LOW_WING_RAD else '1° or less'} of bank for {end - begin:.0f} s.",
            f"Look at the wing tips, not at the nose: wings level with aileron{until}, the heading held with rudder.",
            begin, end, size / judged[1], "turned away", "feet", "heading", min(1.0, max(share, 0.5)),
        )  # fmt: skip
    side = "left" if off[k] < 0.0 else "right"
    powered = w.of(evidence.some_power)
    with_power = powered is not None and float(np.median(powered[max(k - 20, 0) : k + 1])) > WITH_POWER
    why = " with power on" if with_power else ""
    return Cause(
        f"The heading yawed {degrees(size)} to the {side}{why}; the bank explains {degrees(share * size)} of it.",
        "High angle of attack and power pull to the left: right rudder as the nose comes up, ball centered."
        if with_power and off[k] < 0.0 else "Hold the nose on its point with rudder; ball centered.",
        begin, end, size / judged[1], "torque", "feet", "heading", min(1.0, 1.0 - share),
    )  # fmt: skip


def wallowed(sheet: Sheet, part: slice) -> Cause | None:
    """The heading went to and fro, over this part of it, with no leg held."""
    heading, judged = sheet.evidence.heading_rad, sheet.worst_of("heading")
    if heading is None or judged is None:
        return None
    begin, end = (float(x) for x in sheet.time_s[[part.start, part.stop - 1]])
    swung = float(np.nanmax(heading[part]) - np.nanmin(heading[part]))
    return Cause(
        f"The heading went to and fro over {degrees(swung)} for {end - begin:.0f} s, no leg of it held.",
        "Eyes on a point far ahead: wings level with small pressures, the nose held on it with rudder.",
        begin, end, 0.5 * swung / judged[1], WALLOWED, "feet", "heading", 1.0,
    )  # fmt: skip


def _yawed_share(sheet: Sheet, bank: Array, tas: Array, off: Array) -> float:
    """Share of the change of heading over a stretch that the bank doesn't explain."""
    rate = G0_MPS2 * np.tan(np.clip(bank, -1.2, 1.2)) / np.clip(tas, 15.0, None)
    changed = float(off[-1] - off[0])
    return float(np.clip((changed - float(rate.sum()) * sheet.evidence.step_s) / changed, 0.0, 1.0))
