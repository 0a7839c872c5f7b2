"""Causes in chandelles and lazy eights: the bank let out too soon or late, unlike halves. [AFH] chapter 10."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import degrees, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.units import KT_MPS

QUARTER, HALF_WAY = np.radians(90.0), np.radians(135.0)
ABOVE_MPS = 10.0 * KT_MPS  # "just above a stall airspeed" (FAA-S-ACS-7B, V.C); so many is airwork's own
HALF = 0.5  # of the bank at 90° is left at 135° where it is let out evenly


def bank_let_out(sheet: Sheet, error_rad: float, level_s: float) -> Cause | None:
    """A chandelle's wings level before or past 180°: the bank at 135° against half of that at 90°.

    error_rad : turned beyond 180° (positive) or short of it; level_s : when the wings came level. [s]
    """
    finding, sign = sheet.finding("turn180_heading"), sheet.episode.facts["sign"]
    w = window(sheet, sheet.start_s, level_s)
    heading, bank = w.of(sheet.evidence.heading_rad), w.of(sheet.evidence.bank_size_rad)
    if finding is None or finding.verdict != "not held" or heading is None or bank is None:
        return None
    turned = sign * (heading - heading[0])
    at = [int(np.argmax(turned >= angle)) for angle in (QUARTER, HALF_WAY)]
    if not 0 < at[0] < at[1]:
        return None
    there, left = (float(bank[k]) for k in at)
    early = error_rad < 0.0
    if early != (left < HALF * there):
        return None
    begin, end = w.seconds(at[0], heading.size - 1)
    return Cause(
        f"The wings came level {degrees(error_rad)} {'short of' if early else 'past'} 180°: at 135° {degrees(left)} of "
        f"bank were left of the {degrees(there)} at 90°, half would have been {degrees(HALF * there)}.",
        "From 90° on let the bank out at one rate, so that half of it is left at 135°.",
        begin, end, abs(error_rad) / sheet.tolerance("turn180_heading", np.radians(10.0)),
        "roll-out early" if early else "roll-out late", "late", "turn180_heading", 1.0,
    )  # fmt: skip


def ended_fast(sheet: Sheet, level_s: float) -> Cause | None:
    """A chandelle that came to 180° well above the stall: it ends just above it.

    level_s : when the wings came level. [s]
    """
    margins = sheet.evidence.stall_margin_mps(sheet.evidence.flight.span(level_s - 1.0, level_s + 1.0))
    margin = float("nan") if margins is None or not margins.size else float(np.median(margins))
    if not margin > ABOVE_MPS:
        return None
    return Cause(
        f"It came to 180° {sheet.speed_text(margin)} above the stall; a chandelle ends just above it.",
        "From 90° on keep the nose where it is, with more and more pull, until the wings are level at the first sign.",
        level_s - 5.0, level_s + 1.0, margin / ABOVE_MPS, "ended fast", "back pressure",
    )  # fmt: skip


def halves_unlike(sheet: Sheet, points_s: Sequence[float], off_m: Sequence[float]) -> Cause | None:
    """A lazy eight that came back to another altitude: what was climbed to the top against what was lost from it.

    points_s : the 180° points [s]; off_m : altitude beside the entry's at each. [m]
    """
    finding = sheet.finding("turn180_altitude")
    if finding is None or finding.verdict != "not held":
        return None
    steps = np.diff([0.0, *off_m])
    k = int(np.argmax(np.sign(finding.worst or 0.0) * steps))
    start = sheet.start_s if k == 0 else points_s[k - 1]
    w = window(sheet, start, points_s[k])
    altitude = w.of(sheet.evidence.altitude_m)
    if altitude is None:
        return None
    top = int(altitude.argmax())
    up, down = float(altitude[top] - altitude[0]), float(altitude[top] - altitude[-1])
    lost = down > up
    begin, end = w.seconds(top if lost else 0, altitude.size - 1 if lost else top)
    return Cause(
        f"{feet(up)} were climbed to the top of a half and {feet(down)} lost from it: the nose was "
        f"{'lower or longer down after 90°' if lost else 'higher or longer up before 90°'}.",
        "Nose as far below the horizon at 135° as it was above it at 45°; look at the altimeter at each 90° point.",
        begin, end, abs(down - up) / sheet.tolerance("turn180_altitude", 100.0), "halves unlike", "back pressure",
        "turn180_altitude", min(1.0, abs(float(steps[k])) / max(abs(off_m[k]), 1.0)),
    )  # fmt: skip
