"""Spiral dives: a bank beyond any maneuver's with the nose low.

By an instructor's hand it is an unusual attitude, which is a maneuver where the bank was recorded. From positions alone
it can't be told from one, and is said as either. Sizes are judgment (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from airwork.debrief.margin import CLASS_LIMIT, Margin, during
from airwork.maneuvers import room
from airwork.maneuvers.declared import Family
from airwork.maneuvers.episode import Episode
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.signal import Array, Mask
from airwork.masks import runs
from airwork.units import FPM_MPS, to_unit, write

DIVING_MPS = 1500.0 * FPM_MPS
SPIRAL_RAD, SPIRAL_S = np.radians(55.0), 3.0  # a steep turn's 45° and 5°, badly flown
# By positions, which round the top off: past the 45° of steep turns and emergency descents (FAA-S-ACS-6C, V.A, IX.A),
# on a path of half as much again as an upset's 10° ([AFH] ch. 5, from memory).
BY_PATH_RAD, PATH_RAD = np.radians(45.0), np.radians(15.0)
SET_UP_S = 10.0


def spirals(evidence: Evidence, episodes: Sequence[Episode]) -> Iterator[Margin]:
    """Nose low in such a bank, by no instructor's hand; what an unusual attitude is practiced for."""
    bank = evidence.bank_size_rad
    if bank is None:
        return
    time = evidence.flight.time_s
    for a, b in runs(_diving(evidence, bank, episodes)):
        if (b - a) * evidence.step_s < SPIRAL_S:
            continue
        start, end = float(time[a]), float(time[b - 1])
        kind = during(episodes, start, end)
        sink = to_unit(-float(np.nanmin(evidence.climb_mps[a:b])), "fpm")
        size = f"{np.degrees(float(np.nanmax(bank[a:b]))):.0f}° of bank"
        if not evidence.bank_measured:
            part = evidence.flight.span(start - SET_UP_S, end + SET_UP_S)
            lost = write(float(np.ptp(evidence.altitude_m[part])), "ft")
            either = "a spiral dive, or one set up to recover from"
            text = f"{size} by the turn, sinking {sink:,.0f} fpm, {lost} lost: {either}."
            yield Margin(text, start, end, CLASS_LIMIT, kind=kind)
            continue
        text = f"A spiral dive: {size}, sinking {sink:,.0f} fpm"
        if evidence.ias_mps is not None:
            text += f", at up to {evidence.speed_text(float(np.nanmax(evidence.ias_mps[a : b + 1])))}"
        brief = "a spiral dive {in}" * bool(kind)
        yield Margin(f"{text}.", start, end, CLASS_LIMIT * 2.0, "back pressure", kind, brief=brief)


def _diving(evidence: Evidence, bank_rad: Array, episodes: Sequence[Episode]) -> Mask:
    """Sample by sample: so steep and so low, in no maneuver that is flown so."""
    bank = np.nan_to_num(bank_rad) - evidence.bank_error_rad
    if evidence.bank_measured:
        diving = (bank > SPIRAL_RAD) & (evidence.climb_mps < -DIVING_MPS)
    else:
        speed = np.interp(evidence.flight.time_s, evidence.view.time_s, evidence.view.tas_mps)
        diving = (bank > BY_PATH_RAD) & (evidence.climb_mps < -np.sin(PATH_RAD) * speed)
    for e in episodes:
        one = room(e.kind)
        if one.family is Family.INSTRUMENT or (one.idle_power and not evidence.bank_measured):
            diving[evidence.flight.span(e.start_s - SET_UP_S, e.end_s)] = False
    return diving & evidence.airborne
