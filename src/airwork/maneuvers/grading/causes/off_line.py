"""Carried off a line by the wind, the nose left along it: no crab. After the lift-off and on the downwind leg."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from airwork.airdata.angles import wrap_signed_rad
from airwork.maneuvers.grading.causes.window import Window, window
from airwork.maneuvers.grading.sheet import Sheet
from airwork.maneuvers.seeing.signal import median

ROLLING_MPS = 12.0  # below it a nose wheel being lined up says nothing
BANKED_RAD = np.radians(10.0)
CRABBED_SHARE = 0.5  # a nose turned by more of it was turned into the wind, or off on course (no source)


class OffLine(NamedTuple):
    """From one sample of a window to another; off_rad : the track, right of the line positive."""

    first: int
    last: int
    off_rad: float


def nose_rolling_rad(sheet: Sheet, start_s: float, end_s: float) -> float | None:
    """Where the nose pointed rolling on the runway, as the compass reads; None where no heading or no roll was seen."""
    evidence, w = sheet.evidence, window(sheet, start_s, end_s)
    nose, ground = w.of(evidence.heading_rad), w.of(evidence.flight.get("groundspeed_mps"))
    if evidence.view.heading_from != "heading" or nose is None or ground is None or ground.min() < ROLLING_MPS:
        return None
    return median(np.unwrap(nose))


def carried_off(w: Window, line_rad: tuple[float, float], least_rad: float, least_s: float) -> OffLine | None:
    """The longest stretch off the line by more, for longer; None for none.

    Parameters
    ----------
    line_rad : the line as a track, and as the nose pointed along it.
    """
    evidence = w.sheet.evidence
    track, nose, bank = map(w.of, (evidence.flight.get("track_rad"), evidence.heading_rad, evidence.bank_size_rad))
    if track is None or nose is None or bank is None:
        return None
    off, turned = wrap_signed_rad(track - line_rad[0]), np.abs(wrap_signed_rad(nose - line_rad[1]))
    side = 1.0 if median(off) > 0.0 else -1.0
    along = (turned < CRABBED_SHARE * side * off) & (bank < BANKED_RAD)
    spells = w.spells((side * off > least_rad) & along, least_s)
    if not spells:
        return None
    first, last = max(spells, key=lambda s: s[1] - s[0])
    return OffLine(first, last, median(off[first : last + 1]))
