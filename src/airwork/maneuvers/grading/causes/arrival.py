"""Causes on final and in the flare. [AFH] chapter 9: a path of about 3°, the flare begun at 10 to 20 ft."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.window import degrees, feet, window
from airwork.units import FPM_MPS, FT_M, to_unit

if TYPE_CHECKING:
    from airwork.maneuvers.grading.sheet import Sheet

STEEP_RAD, FLAT_RAD = np.radians(6.5), np.radians(1.7)  # from the gate to the flare, over the ground
HARD_MPS = 360.0 * FPM_MPS  # at the wheels
BALLOON_M, FLOAT_S, LOW_M = 5.0 * FT_M, 9.0, 12.0 * FT_M
FLARE_S = 14.0


def path_on_final(sheet: Sheet, start_s: float, end_s: float) -> Cause | None:
    """High or low on final: the path from the gate to the flare was steep or flat."""
    evidence = sheet.evidence
    ground = evidence.mean(evidence.flight.get("groundspeed_mps"), start_s, end_s)
    sink = -evidence.mean(evidence.climb_mps, start_s, end_s)
    if not np.isfinite(ground) or ground < 10.0 or end_s - start_s < 8.0:
        return None
    path = float(np.arctan2(sink, ground))
    if FLAT_RAD <= path <= STEEP_RAD:
        return None
    steep = path > STEEP_RAD
    return Cause(
        f"The path on final was {degrees(path)}: {'high, and steep down to it' if steep else 'low, and dragged in'}.",
        "Judge the aiming point at base: moving up the glass is low, down is high; power and flaps before the turn.",
        start_s, end_s, path / STEEP_RAD if steep else FLAT_RAD / max(path, 0.005),
        "approach high" if steep else "approach low", "target not set",
    )  # fmt: skip


def flare(sheet: Sheet, touch_s: float, sink_mps: float) -> Cause | None:
    """Flared late, or early: the sink at the wheels, a balloon, a long float."""
    w = window(sheet, touch_s - FLARE_S, touch_s)
    altitude = w.of(sheet.evidence.altitude_m)
    if altitude is None:
        return None
    above = altitude - sheet.evidence.mean(sheet.evidence.altitude_m, touch_s - 0.2, touch_s + 0.8)
    low = int(np.argmin(above[: max(above.size - round(1.0 / sheet.evidence.step_s), 1)]))
    gained = float(above[low:].max() - above[low])
    if gained > BALLOON_M and above[low] < 2.0 * LOW_M:
        begin, end = w.seconds(low, low + int(above[low:].argmax()))
        return Cause(
            f"It ballooned {feet(gained)} in the flare, begun at {feet(float(above[low]))}.",
            "Look down the runway; raise the nose only as fast as the airplane sinks.",
            begin, end, gained / BALLOON_M * 0.8, "flare early", "too big",
        )  # fmt: skip
    floated = np.flatnonzero(above > LOW_M)
    seconds = float(touch_s - w.time_s[floated[-1]]) if floated.size else FLARE_S
    if seconds > FLOAT_S:
        return Cause(
            f"It floated {seconds:.0f} s below {feet(LOW_M)}.",
            "Be on speed by the gate: each knot too many is runway.",
            touch_s - seconds, touch_s, seconds / FLOAT_S * 0.8, "floated", "target not set",
        )  # fmt: skip
    if sink_mps > HARD_MPS:
        return Cause(
            f"It touched at {to_unit(sink_mps, 'fpm'):.0f} fpm: the flare came late, or too little of it.",
            "Shift your eyes to the far end at 20 ft and begin to round out there.",
            touch_s - 2.0, touch_s, sink_mps / HARD_MPS, "flare late", "late",
        )  # fmt: skip
    return None
