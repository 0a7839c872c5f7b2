"""Suspicions about limits by physics: structural, flap and crosswind speeds against the stall."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from airwork.airplane.check.book import KT_PER_MPS, Book, Complaint, each, guess
from airwork.airplane.check.physics import LIMITS, SPEEDS, STALL, middle, off

CRUISE_STALL = (1.9, 3.6)  # structural cruise over stall flaps up
# Vno at most 0.89 Vne; Vne at most 0.9 of a Vd that is made 1.4 Vc, 1.55 aerobatic, hardly more: 0.9 · 1.55 = 1.40,
# with rounding (14 CFR 23.335, 23.1505 as they long stood; from memory)
NEVER_CRUISE = (1.10, 1.45)
FLAPS_STALL = (1.45, 2.85)  # flap speed over stall, full flaps: 1.8 at least by 14 CFR 23.345 (from memory), rounding
NOTCH_STALL = (1.6, 3.2)  # of a single notch; the lower end by the same rule
SAME_KT = 0.7  # the same number printed twice, by its place in two tables
CALIBRATED_KT = 2.0  # once indicated, once calibrated
OTHER_UNIT = 0.11  # ln: mph and knots are 0.14 apart
FLAPS_DESIGN, CRUISE_DESIGN = 1.93, 1.04  # usual flap speed over stall, structural cruise over its least
CROSSWIND = (0.15, 0.55)  # of the stall speed, full flaps: 0.2 at least by 14 CFR 23.233


def complaints(book: Book) -> Iterator[Complaint]:
    """Every suspicion about limits."""
    yield from each(book, _limits)


def _limits(book: Book) -> Iterator[Complaint]:
    a, limits = book.airplane, book.airplane.limits
    cruise, top = limits.max_structural_cruise_ias_mps, limits.max_flaps_extended_ias_mps
    clean, full = _stall_mps(book, 0), _stall_mps(book, a.flaps_full)
    rows = (
        ("maximum_structural_cruise", "structural cruise", cruise, clean, CRUISE_STALL, "stall flaps up"),
        ("never_exceed", "never exceed", limits.never_exceed_ias_mps, cruise, NEVER_CRUISE, "structural cruise"),
        ("maximum_flaps_extended", "flaps extended", top, full, FLAPS_STALL, "stall with full flaps"),
        ("maximum_demonstrated_crosswind", "crosswind", limits.max_crosswind_mps, full, CROSSWIND,
         "stall with full flaps"),
    )  # fmt: skip
    for key, words, value, against, usual, what in rows:
        if value and against and off(value / against, usual):
            yield book.doubt(
                LIMITS,
                f"{words} {book.speed(value * KT_PER_MPS)} is {value / against:.2f} times the {what}",
                f"{usual[0]:g} to {usual[1]:g} times is usual.{guess(value, against * middle(usual), 'kias', 0.07)}",
                key=key,
                leans=(STALL, SPEEDS, "airplane"),
            )
    notches = [(i, n.max_ias_mps) for i, n in enumerate(a.flap_notches) if n.max_ias_mps is not None]
    printed = book.file.limitations
    given = printed is not None and (printed.maximum_flaps_extended_kias or printed.maximum_flaps_extended_kcas)
    same = SAME_KT if printed is None or printed.maximum_flaps_extended_kcas is None else CALIBRATED_KT
    if (
        notches
        and top is not None
        and given
        and min(abs(end(v for _, v in notches) - top) for end in (min, max)) * KT_PER_MPS > same
    ):
        i, nearest = min(notches, key=lambda n: abs(n[1] - top))
        if flap_limit_at_fault(book, nearest, top) == LIMITS:
            said = f"flaps extended {book.speed(top * KT_PER_MPS)}, [flaps] has {book.speed(nearest * KT_PER_MPS)}"
            why = f"The limit and the speeds of the notches disagree.{guess(top, nearest, 'kias')}"
            yield book.doubt(LIMITS, said, why, column="maximum_flaps_extended", leans=("flaps",), whole=True)
            return
        yield _of_notch(
            book, i,
            f"{book.speed(nearest * KT_PER_MPS)}, [limitations] has {book.speed(top * KT_PER_MPS)} for flaps extended",
            f"The limit and the speeds of the notches disagree.{guess(nearest, top, 'kias')}",
            leans=(LIMITS,), whole=len(notches) > 1,
        )  # fmt: skip
    for i, speed in notches:
        if cruise and speed > 1.03 * cruise:
            yield _of_notch(
                book, i, f"{book.speed(speed * KT_PER_MPS)}, structural cruise is {book.speed(cruise * KT_PER_MPS)}",
                "Flaps are never allowed faster than the structural cruising speed; a digit is wrong.",
            )  # fmt: skip
    for i, speed in notches:
        if full and off(speed / full, NOTCH_STALL):
            yield _of_notch(
                book, i, f"{book.speed(speed * KT_PER_MPS)} is {speed / full:.1f} times the stall",
                "Flaps are allowed to about twice the stall with full flaps; a digit or the unit is wrong.",
                leans=(STALL, "airplane"),
            )  # fmt: skip


def _stall_mps(book: Book, notch: int) -> float | None:
    """The stall at maximum weight; None where only a color arc tells of it."""
    curve = book.airplane.stall_curves.get(notch)
    if curve is None or "arc" in curve.source:
        return None
    return float(curve.cas(book.airplane.max_takeoff_mass_kg, 1.0))


def flap_limit_at_fault(book: Book, notch_mps: float, top_mps: float) -> str:
    """Which of two flap limits that disagree is likelier wrong: "flaps", or "limitations" with its other speeds,
    or "" where they are no unit apart.

    Flaps are designed for 1.8 times the stall with full flaps and little more, the structural cruise for 33 √(lb/ft²)
    kt (14 CFR 23.345, 23.335 as they long stood; from memory): what is typed in another unit is off in both.
    """
    stall = _stall_mps(book, book.airplane.flaps_full)
    area, cruise = book.file.airplane.wing_area_ft2, book.airplane.limits.max_structural_cruise_ias_mps
    off_by = [] if stall is None else [math.log(top_mps / (FLAPS_DESIGN * stall))]
    if area and cruise:
        least = 33.0 * math.sqrt(book.file.airplane.maximum_takeoff_weight_lb / area) / KT_PER_MPS
        off_by.append(math.log(cruise / (CRUISE_DESIGN * least)))
    apart = math.log(top_mps / notch_mps)
    if not off_by or abs(apart) < OTHER_UNIT:
        return ""
    return LIMITS if sum(off_by) / (apart * len(off_by)) > 0.5 else "flaps"


def _of_notch(book: Book, i: int, said: str, hint: str, **more: Any) -> Complaint:
    return Complaint(book.place("flaps", i, rows="notches"), said, hint, table="flaps", rows=(i,), **more)
