"""Level-off too late or too soon. [AFH] chapter 3: lead by a tenth of the vertical speed."""

from __future__ import annotations

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import Window, feet, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.units import FPM_MPS, FT_M

OFF_M = 70.0 * FT_M


def level_off_lead(sheet: Sheet, wanted_m: float, direction: float) -> Cause | None:
    """The level-off began late for the vertical speed and went through the altitude, or came too soon.

    direction : +1 climbing, −1 descending.
    """
    end = sheet.end_s
    w = window(sheet, end - 40.0, end + 4.0)
    altitude, climb = w.of(sheet.evidence.altitude_m), w.of(sheet.evidence.climb_mps)
    if altitude is None or climb is None:
        return None
    beyond = float((direction * (altitude - wanted_m)).max())
    steady = direction * float(np.median(climb[: climb.size // 2]))
    if steady < 250.0 * FPM_MPS:
        return None
    if beyond < OFF_M:
        return _stopped_short(sheet, w, -beyond, steady)
    held = np.flatnonzero(direction * climb > 0.85 * steady)
    if not held.size:
        return None
    began = int(held[-1])
    lead = direction * (wanted_m - float(altitude[began]))
    rule = steady / FPM_MPS / 10.0 * FT_M
    if lead > rule:
        return None
    start_s, end_s = w.seconds(began, int(np.argmax(direction * altitude)))
    said = f"{feet(lead)} before" if lead > 0 else f"{feet(lead)} beyond"
    return Cause(
        f"The level-off began {said} the altitude at {steady / FPM_MPS:,.0f} fpm and went {feet(beyond)} through it.",
        f"Lead the level-off by a tenth of the vertical speed: here {feet(rule)}.",
        start_s, max(end_s, start_s + 1.0), beyond / sheet.tolerance("level_off_altitude", 100.0 * FT_M),
        "level-off late", "late", "level_off_altitude",
    )  # fmt: skip


def _stopped_short(sheet: Sheet, w: Window, short_m: float, rate_mps: float) -> Cause | None:
    """Leveled off before the altitude wanted, and not flown on to it."""
    finding = sheet.finding("level_off_altitude")
    if finding is None or finding.verdict != "not held" or short_m < OFF_M:
        return None
    start_s, end_s = w.seconds(w.time_s.size // 2, w.time_s.size - 1)
    return Cause(
        f"It was leveled off {feet(short_m)} before the altitude wanted, from {rate_mps / FPM_MPS:,.0f} fpm, and not "
        "flown on to it.",
        "Lead the level-off by a tenth of the vertical speed, look at the altimeter as the nose comes level, fly on to "
        "the altitude.",
        start_s, end_s, short_m / sheet.tolerance("level_off_altitude", 100.0 * FT_M), "level-off early", "late",
        "level_off_altitude", 1.0,
    )  # fmt: skip
