"""Causes in the pattern: its legs, the turn to final, the bank low down. [AFH] chapter 8: parallel to the runway."""

from __future__ import annotations

import numpy as np

from airwork.airdata.angles import wrap_signed_rad
from airwork.maneuvers.episode import Cause
from airwork.maneuvers.grading.causes.off_line import carried_off, nose_rolling_rad
from airwork.maneuvers.grading.causes.window import degrees, feet, window
from airwork.maneuvers.grading.runway_line import by_the_runway, course_rad
from airwork.maneuvers.grading.sheet import Sheet
from airwork.units import FT_M, NM_M, to_unit

SEEN_STEP_S = 2.0  # fixed seldomer no turn back is seen
OVERSHOT_M, FINAL_S = 150.0 * FT_M, 150.0  # through the extended center line; so long before the touch
FAR_THROUGH_M = 400.0 * FT_M  # weighs as much as a tolerance missed; our own
THROUGH_STEP_M = 50.0 * FT_M  # half a degree of the runway's direction, a mile out
STEEP_RAD_LOW, STEEP_S, LOW_M = np.radians(33.0), 1.0, 800.0 * FT_M
FLARE_M = 12.0 * FT_M
WIDE_M = 1.5 * NM_M  # [AFH] ch. 8: half a mile to a mile; 1,000 ft at 1 in 9 are 1.5 NM, without the turn
# Beside the runway: from past the touch to what a long one measures; straight for so long; turned away from the runway
# by more it was another leg's (common practice, no source).
BESIDE_M, ROLLS_M, STRAIGHT_RAD, LEG_S, TURNED_BACK_RAD = 600.0, 2500.0, np.radians(20.0), 10.0, np.radians(50.0)
# Rolling out onto it and into base; so long a leg shows its direction, so far off is more than an eye's error (common
# practice, no source).
JOINED_S, TURNED_S, DRIFT_S, DRIFTED_RAD = 6.0, 4.0, 20.0, np.radians(9.0)
ROLL_S = 3.0
BACK_S = 20.0  # after the line was gone through farthest


def overshot(sheet: Sheet, low_s: float, sign: int) -> Cause | None:
    """The turn to final went through the extended center line.

    sign : side of the pattern's turns, right +1: coming from that side of the runway as the pilot lands.
    """
    flown, w = by_the_runway(sheet.evidence, low_s), window(sheet, low_s - FINAL_S, low_s - 8.0)
    right = None if flown is None else w.of(flown[1])
    if right is None:
        return None
    beyond = -sign * right  # a right-hand pattern comes from the right: left of the line is beyond it
    coming = np.flatnonzero(beyond < -2.0 * OVERSHOT_M)  # still on base
    if not coming.size:  # not from that side at all
        return None
    far = int(coming[-1]) + int(beyond[coming[-1] :].argmax())
    if float(beyond[far]) < OVERSHOT_M + THROUGH_STEP_M:
        return None
    begin, end = w.seconds(int(coming[-1]) + int(np.argmax(beyond[coming[-1] :] > 0.0)), far)
    through = round(float(beyond[far]) / THROUGH_STEP_M) * THROUGH_STEP_M
    step_s = sheet.evidence.step_s
    unseen = f"; how steeply it was turned back, fixes {step_s:.0f} s apart don't show" * (step_s > SEEN_STEP_S)
    return Cause(
        f"The turn to final went some {feet(through)} through the extended center line{unseen}.",
        "Begin the turn earlier with the wind on the tail of base; through the line: go around, never a steeper turn.",
        begin, max(end, begin + 1.0), float(beyond[far]) / FAR_THROUGH_M, "final overshot", "wind",
    )  # fmt: skip


def wide_downwind(sheet: Sheet, low_s: float, start_s: float, end_s: float) -> Cause | None:
    """The downwind leg so far out that no glide reaches the runway.

    A leg straight beside the runway, and base the next: what only ran that way, toward home, was none.
    """
    flown, w = by_the_runway(sheet.evidence, low_s), window(sheet, start_s, end_s)
    along, right, track = (None,) * 3 if flown is None else map(w.of, (*flown, sheet.evidence.flight.get("track_rad")))
    course = course_rad(sheet.evidence, low_s)
    if along is None or right is None or track is None or course is None:
        return None
    beside = (along > -BESIDE_M) & (along < ROLLS_M) & (np.abs(wrap_signed_rad(track - course - np.pi)) < STRAIGHT_RAD)
    spells = [s for s in w.spells(beside, LEG_S) if np.ptp(np.unwrap(track[s[0] : s[1] + 1])) < STRAIGHT_RAD]
    if not spells or _turned_back(sheet, low_s, end_s, course):
        return None
    first, last = max(spells, key=lambda s: s[1] - s[0])
    out = float(np.median(np.abs(right[first : last + 1])))
    if not out > WIDE_M:
        return None
    return Cause(
        f"The downwind leg was {to_unit(out, 'NM'):.1f} NM out; from the usual half a mile to a mile a glide "
        "reaches the runway.",
        "Set the distance by a mark on the wing or the strut, abeam; the glide from there must reach the runway.",
        *w.seconds(first, last), out / WIDE_M, "downwind wide", "target not set",
    )  # fmt: skip


def _turned_back(sheet: Sheet, low_s: float, from_s: float, course_rad: float) -> bool:
    """Between leg and runway it was turned away from it again: the leg didn't lead to base."""
    track = window(sheet, from_s, low_s).of(sheet.evidence.flight.get("track_rad"))
    if track is None:
        return False
    to_turn = np.abs(wrap_signed_rad(track - course_rad))
    return bool((to_turn - np.minimum.accumulate(to_turn)).max() > TURNED_BACK_RAD)


def drifted_downwind(sheet: Sheet, low_s: float, start_s: float, end_s: float) -> Cause | None:
    """The downwind leg flown on the runway's heading and carried across by the wind ([AFH] ch. 8: parallel to it).

    The nose beside the nose of the roll after the touch, whatever the compass says; without one nothing is said.
    """
    flown, course = by_the_runway(sheet.evidence, low_s), course_rad(sheet.evidence, low_s)
    worked_out = sheet.evidence.view.heading_from == "track and wind"  # by no compass
    nose = course if worked_out else nose_rolling_rad(sheet, low_s, low_s + ROLL_S)
    w = window(sheet, start_s + JOINED_S, end_s - TURNED_S)
    if flown is None or course is None or nose is None or w.time_s.size < 3:
        return None
    found, right = carried_off(w, (course + np.pi, nose + np.pi), DRIFTED_RAD, DRIFT_S), w.of(flown[1])
    if found is None or right is None:
        return None
    off = abs(found.off_rad)
    farther = abs(float(right[found.last])) - abs(float(right[found.first]))
    return Cause(
        f"The downwind leg ran {degrees(off)} off the runway's line and ended {feet(abs(farther))} "
        f"{'farther out' if farther > 0.0 else 'nearer'}: the nose on the runway's heading, nothing against the wind.",
        "On downwind the wind's side of the runway heading, until the runway keeps its place on the wing.",
        *w.seconds(found.first, found.last), off / DRIFTED_RAD, "downwind drifted", "wind",
    )  # fmt: skip


def steep_near_the_ground(sheet: Sheet, low_s: float, overshot: Cause | None = None) -> Cause | None:
    """A steep turn in the pattern, low and slow; the lower, the worse. overshot : the line it was turned back to."""
    evidence = sheet.evidence
    above = evidence.altitude_m - evidence.mean(evidence.altitude_m, low_s - 0.5, low_s + 0.5)
    w = window(sheet, sheet.start_s, low_s)
    size, height = w.of(evidence.bank_size_rad), w.of(above)
    if size is None or height is None:
        return None
    spells = w.spells((size > STEEP_RAD_LOW + 2.0 * evidence.bank_error_rad) & (height < LOW_M), STEEP_S)
    if not spells:
        return None
    a, b = max(spells, key=lambda s: float(size[s[0] : s[1] + 1].max()))
    k = a + int(size[a : b + 1].argmax())
    begin, end = w.seconds(a, b)
    back = overshot is not None and overshot.start_s <= end + BACK_S and begin <= overshot.end_s + BACK_S
    why = ", turning back to the center line" if back else ""
    weight = float(size[k]) / STEEP_RAD_LOW * min(LOW_M / max(float(height[k]), FLARE_M), 2.0)
    return Cause(
        f"{degrees(float(size[k]))} of bank {feet(float(height[k]))} above the field{why}.",
        "At most 30° in the pattern, speed and ball first; what a turn of 30° doesn't reach, a go-around does.",
        begin, end, weight, "steep in the pattern", "decision", grave=True,
    )  # fmt: skip
